"""What would change the plate: the nearest value of each measured input at which the first choice gets worse."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fixplan.kits import Plate
from fixplan.plan.inputs import Parameter
from fixplan.plan.plates import Bed
from fixplan.plan.resolve import Resolved
from fixplan.plan.types import Change
from fixplan.plan.words import RULES
from fixplan.sizing.plate import StockPlate, best_placement
from fixplan.sizing.rules import FAIL

STEPS = 41
SPREAD = 2.0
# field of the bed, and the parameter it comes from
INPUTS = ("room_proximal", "room_distal", "surface_width", "standoff")


def plate_changes(resolved: Resolved, where: Bed, plate: Plate, most: int = 3) -> tuple[Change, ...]:
    """Inputs whose own uncertainty is enough to give the chosen plate a worse verdict, nearest first."""
    stock = StockPlate(plate.holes, plate.hole_spacing, plate.length, plate.width)
    now = best_placement(stock, where.sizing, where.limits).code
    found = []
    for name in INPUTS:
        p = resolved.parameters.get(name)
        if p is None or p.origin != "measured":
            continue
        sd = p.sd or resolved.thresholds["length_reading_sd"].value
        scale = getattr(where.sizing, name) / p.value if p.value else 1.0
        grid = np.linspace(max(p.value - SPREAD * sd, 0.0), p.value + SPREAD * sd, STEPS)
        for value in sorted(grid, key=lambda v: abs(v - p.value)):
            bed = replace(where.sizing, **{name: float(value) * scale})  # type: ignore[arg-type]
            placed = best_placement(stock, bed, where.limits)
            if placed.code > now:
                rules = [RULES[r].label for r, h in placed.held.items() if int(h.code) == placed.code]
                found.append((abs(float(value) - p.value) / sd, _change(p, float(value), placed.code, rules)))
                break
    found.sort(key=lambda pair: pair[0])
    return tuple(change for _, change in found[:most])


def _change(p: Parameter, at: float, code: int, rules: list[str]) -> Change:
    side = "or more" if at > p.value else "or less"
    becomes = "fails" if code == FAIL else "carries a caution"
    what = f"this plate {becomes}: {', '.join(rules)}"
    text = f"{p.label}: at {at:.1f} {p.unit} {side} {what} (used here: {p.value:.1f} {p.unit}, {p.origin})."
    return Change(p.name, p.label, text, at, p.unit)
