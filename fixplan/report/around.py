"""The parts of the page round the construct: what the templates of context, after surgery and trade-offs are given."""

from __future__ import annotations

from collections.abc import Callable, Sequence
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
    return {"tradeoff_charts": charts_of(plan.tradeoffs)}


def charts_of(found: Sequence[TradeOff]) -> list[tuple[TradeOff, Markup]]:
    """Each trade-off beside its picture."""
    return [(t, tradeoff_chart(t, f"tradeoff-{t.name}")) for t in found]


def table_rows(t: TradeOff) -> list[tuple[float, list[float | None]]]:
    """The points of all curves by abscissa: one row for each x, None where a curve has no point."""
    points = [dict(zip(c.x, c.y)) for c in t.curves]
    return [(x, [p.get(x) for p in points]) for x in sorted({x for p in points for x in p})]


AROUND_FILTERS: dict[str, Callable[..., Any]] = {
    "published": published,
    "chart_value": shown,
    "table_rows": table_rows,
}
