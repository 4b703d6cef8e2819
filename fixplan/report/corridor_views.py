"""What the section on the straight corridor is given beside the plan: its picture."""

from __future__ import annotations

from typing import Any

from fixplan.plan.types import Plan
from fixplan.report.tradeoff_charts import tradeoff_chart


def corridor_views(plan: Plan) -> dict[str, Any]:
    """What `corridor.j2` needs beside the plan itself."""
    part = plan.corridor
    return {"corridor_chart": None if part is None else tradeoff_chart(part.depth, "corridor-depth")}
