"""What the section on the straight corridor is given beside the plan: its picture, and signed numbers with a side."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fixplan.plan.types import Plan
from fixplan.report.formats import NARROW, number
from fixplan.report.tradeoff_charts import tradeoff_chart


def toward(value: float, unit: str, positive: str, negative: str) -> str:
    """A signed number as its size and the side it points to: '0.3 mm lateral'; no side where it rounds to 0."""
    text = f"{number(abs(value), 1)}{unit.replace(' ', NARROW)}"
    return f"{text} {positive if value > 0 else negative}" if float(f"{abs(value):.1f}") else text


def corridor_views(plan: Plan) -> dict[str, Any]:
    """What `corridor.j2` needs beside the plan itself."""
    part = plan.corridor
    return {"corridor_chart": None if part is None else tradeoff_chart(part.depth, "corridor-depth")}


CORRIDOR_FILTERS: dict[str, Callable[..., Any]] = {"toward": toward}
