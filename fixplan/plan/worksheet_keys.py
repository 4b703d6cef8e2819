"""The numbers of limits and findings by the keys under which worked lines show them, and the sources behind them."""

from __future__ import annotations

import numpy as np

from fixplan.plan.types import Finding, Limit
from fixplan.plan.words import RULES
from fixplan.plan.worksheet_line import Shown


def value(x: object) -> float:
    """A number of a single (not drawn) frame."""
    return float(np.asarray(x))


def found(findings: tuple[Finding, ...], rule: str, field: str) -> Shown:
    """The number of a finding by its key; empty where the rule was not held."""
    label = RULES[rule].label
    return {f"finding:{label}:{field}": getattr(f, field) for f in findings if f.label == label}


def limit_of(limits: tuple[Limit, ...], name: str, thread: str = "") -> Shown:
    """A limit of the windows by its key; empty where there is none."""
    return {f"limit:{name}:{thread}": m.value_mm for m in limits if m.name == name and m.thread == thread}


def behind(rows: tuple[Limit, ...] | tuple[Finding, ...], name: str) -> str:
    """Sources of a limit, or of a rule's finding: where the threshold put in comes from, and what was assumed."""
    named = (r.source for r in rows if (r.name if isinstance(r, Limit) else r.rule) == name)
    return next(named, "")
