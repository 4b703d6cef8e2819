"""The parts of the page round the construct: what the templates of context, after surgery and trade-offs are given."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape

from fixplan.plan.types import Plan, TradeOff, WorkedLine
from fixplan.report.formats import NARROW, PLUS_MINUS, number, significant
from fixplan.report.tradeoff_charts import printed, shown, tradeoff_chart
from fixplan.report.views import HELD_BEYOND


def published(value: float, unit: str, sd: float | None = None) -> str:
    """A published number as printed, to one decimal where it has one, with its unit and standard deviation."""
    text = number(value, 0 if value == round(value) else 1)
    if sd is not None:
        text += f"{NARROW}{PLUS_MINUS}{NARROW}{number(sd, 0 if sd == round(sd) else 1)}"
    words = {"week": "weeks", "1": ""}.get(unit, unit)
    return f"{text}{NARROW}{words}" if words else text


def around_views(plan: Plan) -> dict[str, Any]:
    """What `around.j2` needs beside the plan itself."""
    return {
        "tradeoff_charts": charts_of(plan.tradeoffs),
        "links": {key: w.id for w in plan.worked for key in w.shows},
    }


def charts_of(found: Sequence[TradeOff]) -> list[tuple[TradeOff, Markup]]:
    """Each trade-off beside its picture."""
    return [(t, tradeoff_chart(t, f"tradeoff-{t.name}")) for t in found]


def table_rows(t: TradeOff) -> list[tuple[float, list[float | None]]]:
    """The points of all curves by abscissa: one row for each x, None where a curve has no point."""
    points = [dict(zip(c.x, c.y)) for c in t.curves]
    return [(x, [p.get(x) for p in points]) for x in sorted({x for p in points for x in p})]


MARGINS = {
    "thread past the fracture and its run-out margin": "screw:margin_run_out_mm",
    HELD_BEYOND: "screw:margin_run_out_mm",
    "tip short of the bow and its clearance": "screw:margin_tip_mm",
    "diameter above the least with the wanted bite": "screw:margin_bite_mm",
    "diameter below the most that leaves the wall": "screw:margin_wall_mm",
}
"""A margin as the first page names it -> its key in `WorkedLine.shows`."""


def worked(text: str, links: Mapping[str, str], key: str) -> str:
    """A number as a link to the worked line that gives it, by its key in `WorkedLine.shows`; else as it is."""
    target = links.get(key)
    return text if target is None else Markup('<a href="#worked-{}">{}</a>').format(target, text)


def worked_under(text: str, links: Mapping[str, str], kind: str) -> str:
    """The sentence on yield with each activity's factor as a link to its worked line."""
    found = Markup(escape(text))
    for key, target in links.items():
        if key.startswith(f"{kind}:under:"):
            activity = re.escape(key.rpartition(":")[2])
            link = rf'\1<a href="#worked-{target}">\2</a>'
            found = Markup(re.sub(rf"({activity}(?: before union)? )([0-9]+(?:[.][0-9]+)?)", link, str(found), count=1))
    return found


def grouped(lines: Sequence[WorkedLine]) -> list[tuple[str, list[WorkedLine]]]:
    """Worked lines under their headings, in the order in which the headings first come."""
    parts: dict[str, list[WorkedLine]] = {}
    for w in lines:
        parts.setdefault(w.part, []).append(w)
    return list(parts.items())


def result(value: float, unit: str) -> str:
    """A result to three digits, in the unit in which the tables of the page give it."""
    factor, shown = {"N·mm": (1e-3, "N·m"), "N·mm²": (1e-6, "N·m²")}.get(unit, (1.0, unit))
    text = significant(value * factor, 3)
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{text}{NARROW}{shown}" if shown else text


def lettered(symbol: str) -> Markup:
    """A symbol as a letter with its subscript."""
    base, _, below = symbol.partition("_")
    return Markup("<i>{}</i><sub>{}</sub>").format(base, below) if below else Markup("<i>{}</i>").format(base)


AROUND_FILTERS: dict[str, Callable[..., Any]] = {
    "published": published,
    "margin_key": MARGINS.__getitem__,
    "worked": worked,
    "worked_under": worked_under,
    "grouped": grouped,
    "result": result,
    "lettered": lettered,
    "chart_value": shown,
    "mark_value": printed,
    "table_rows": table_rows,
}
