"""The parts of the page round the construct: what the templates of context, after surgery and trade-offs are given."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fixplan.plan.types import Plan
from fixplan.report.formats import NARROW, PLUS_MINUS, number


def published(value: float, unit: str, sd: float | None = None) -> str:
    """A published number as printed, to one decimal where it has one, with its unit and standard deviation."""
    text = number(value, 0 if value == round(value) else 1)
    if sd is not None:
        text += f"{NARROW}{PLUS_MINUS}{NARROW}{number(sd, 0 if sd == round(sd) else 1)}"
    words = {"week": "weeks", "1": ""}.get(unit, unit)
    return f"{text}{NARROW}{words}" if words else text


def around_views(plan: Plan) -> dict[str, Any]:
    """What `around.j2` needs beside the plan itself."""
    return {}


AROUND_FILTERS: dict[str, Callable[..., str]] = {"published": published}
