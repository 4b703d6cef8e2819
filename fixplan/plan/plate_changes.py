"""What would change the plate: the nearest value of each measured input at which the first choice gets worse."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from fixplan.kits import KitSet, Plate
from fixplan.plan.inputs import Parameter
from fixplan.plan.plates import Bed, label, on_bone, ranked, stock_plate
from fixplan.plan.resolve import Resolved
from fixplan.plan.response import Setting
from fixplan.plan.types import Change
from fixplan.plan.words import RULES
from fixplan.sizing.plate import best_placement
from fixplan.sizing.rules import FAIL, PASS

STEPS = 41
SPREAD = 2.0
# field of the bed, and the parameter it comes from
INPUTS = ("room_proximal", "room_distal", "surface_width", "standoff")


def plate_changes(
    resolved: Resolved, kits: KitSet, forces: Setting, where: Bed, plate: Plate, most: int = 3
) -> tuple[Change, ...]:
    """Inputs whose own uncertainty is enough to give the chosen plate a worse verdict, nearest first."""
    stock = stock_plate(plate)
    now = on_bone(best_placement(stock, where.sizing, where.limits), plate, where, kits).code
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
            placed = on_bone(best_placement(stock, bed, where.limits), plate, replace(where, sizing=bed), kits)
            if placed.code > now:
                rules = [RULES[r].label for r, h in placed.held.items() if int(h.code) == placed.code]
                found.append((abs(float(value) - p.value) / sd, p, float(value), placed.code, rules, bed))
                break
    found.sort(key=lambda row: row[0])
    return tuple(
        _change(p, at, code, rules, _instead(resolved, kits, forces, replace(where, sizing=bed), plate))
        for _, p, at, code, rules, bed in found[:most]
    )


def _instead(resolved: Resolved, kits: KitSet, forces: Setting, there: Bed, plate: Plate) -> str:
    """The plate that is the first choice on another bed."""
    _, codes, order = ranked(kits, there, forces, resolved.thresholds)
    if codes[order[0]] >= FAIL:
        return "No plate is left then."
    then = kits.plates[order[0]]
    if then.item == plate.item:
        return "No other plate does better then."
    words = "A plate that passes" if codes[order[0]] == PASS else "With a caution"
    return f"{words} then: {label(then)}."


def _change(p: Parameter, at: float, code: int, rules: list[str], instead: str) -> Change:
    side = "or more" if at > p.value else "or less"
    becomes = "fails" if code == FAIL else "carries a caution"
    what = f"this plate {becomes}: {', '.join(rules)}"
    text = f"{p.label}: at {at:.1f} {p.unit} {side} {what} (used here: {p.value:.1f} {p.unit}, {p.origin}). {instead}"
    return Change(p.name, p.label, text, at, p.unit)
