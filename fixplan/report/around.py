"""The parts of the page round the construct: what the templates of context, after surgery and trade-offs are given."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Any

from markupsafe import Markup

from fixplan.plan.types import Plan, TradeOff
from fixplan.report.formats import NARROW, PLUS_MINUS, number
from fixplan.report.tradeoff_charts import shown, tradeoff_chart


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
        "worked_ids": frozenset(w.id for w in plan.worked),
    }


def charts_of(found: Sequence[TradeOff]) -> list[tuple[TradeOff, Markup]]:
    """Each trade-off beside its picture."""
    return [(t, tradeoff_chart(t, f"tradeoff-{t.name}")) for t in found]


def table_rows(t: TradeOff) -> list[tuple[float, list[float | None]]]:
    """The points of all curves by abscissa: one row for each x, None where a curve has no point."""
    points = [dict(zip(c.x, c.y)) for c in t.curves]
    return [(x, [p.get(x) for p in points]) for x in sorted({x for p in points for x in p})]


WORKED = {
    "run_out": "length-low",
    "purchase": "length-low",
    "tip": "length-high",
    "bite": "diameter-low",
    "wall": "wall",
    "moment": "moment",
    "stress": "stress",
    "yield_factor": "yield",
    "gap_strain": "strain",
    "thread past the fracture and its run-out margin": "length-low",
    "tip short of the bow and its clearance": "length-high",
    "diameter above the least with the wanted bite": "diameter-low",
    "diameter below the most that leaves the wall": "wall",
}
"""Rule, quantity or label on the page -> the worked line that shows its formula with the numbers put in."""


def why(text: str, key: str, worked_ids: Collection[str], kind: str = "") -> str:
    """The text as a link to its worked line where the plan has one; else the text as it is.

    `kind` "plate" looks for the plate's own line.
    """
    plate = kind.lower().startswith("plate")
    target = f"plate-{WORKED[key]}" if plate and key in WORKED else WORKED.get(key)
    if target is None or target not in worked_ids:
        return text
    return Markup('<a href="#worked-{}">{}</a>').format(target, text)


AROUND_FILTERS: dict[str, Callable[..., Any]] = {
    "published": published,
    "why": why,
    "chart_value": shown,
    "table_rows": table_rows,
}
