"""What would change the answer: the nearest value of each uncertain input at which the first choice is another size."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fixplan.kits import ImScrew
from fixplan.plan.frame import build
from fixplan.plan.inputs import Parameter
from fixplan.plan.resolve import Resolved
from fixplan.plan.screws import chosen, size
from fixplan.plan.types import Change

# Inputs are moved over this many standard uncertainties either way: about 95 % of what the measurement may be.
SPREAD = 2.0
STEPS = 41


def screw_changes(resolved: Resolved, screws: Sequence[ImScrew], first: int, most: int = 3) -> tuple[Change, ...]:
    """The inputs whose own uncertainty is enough to change the first choice, nearest first."""
    found = []
    for p in resolved.parameters.values():
        grid = _grid(p)
        if grid is None:
            continue
        try:
            frame = build(resolved, {p.name: grid})
        except ValueError:
            continue  # the far end of the spread is no bone at all (canal wider than it): nothing to say about sizes
        other = chosen(size(frame, screws))
        near = _nearest(p, grid, np.broadcast_to(other, grid.shape), screws, first)
        if near is not None:
            found.append(near)
    found.sort(key=lambda pair: pair[0])
    return tuple(change for _, change in found[:most])


def _grid(p: Parameter) -> np.ndarray[tuple[int], np.dtype[np.float64]] | None:
    if p.low is not None and p.high is not None and p.origin == "assumed":
        lo, hi = p.low, p.high
    elif p.sd > 0:
        lo, hi = p.value - SPREAD * p.sd, p.value + SPREAD * p.sd
    else:
        return None
    if p.value > 0:
        lo = max(lo, 0.05 * p.value)
    return np.linspace(lo, hi, STEPS) if hi > lo else None


def _nearest(
    p: Parameter,
    grid: np.ndarray[tuple[int], np.dtype[np.float64]],
    other: np.ndarray[tuple[int], np.dtype[np.intp]],
    screws: Sequence[ImScrew],
    first: int,
) -> tuple[float, Change] | None:
    def name(k: int) -> tuple[float, float] | None:
        return None if k < 0 else (screws[k].d_major, screws[k].length)

    now = name(first)
    away = [n for n in range(grid.size) if name(int(other[n])) != now]
    if not away:
        return None
    n = min(away, key=lambda i: abs(grid[i] - p.value))
    # halfway to the last value that keeps the answer: as fine as the grid can say
    step = (grid[1] - grid[0]) / 2
    at = float(grid[n] - np.sign(grid[n] - p.value) * step)
    then = name(int(other[n]))
    side = "or more" if grid[n] > p.value else "or less"
    becomes = "no stock size is left" if then is None else f"the first choice becomes {then[0]:.1f} x {then[1]:g} mm"
    unit = "" if p.unit == "1" else f" {p.unit}"
    # as many digits as tell the two apart, and no more
    digits = next((d for d in range(0 if p.unit == "MPa" else 1, 5) if f"{at:.{d}f}" != f"{p.value:.{d}f}"), 5)
    shown, used = f"{at:.{digits}f}", f"{p.value:.{digits}f}"
    text = (
        f"{p.label[:1].upper()}{p.label[1:]}: at {shown}{unit} {side} {becomes} (used here: {used}{unit}, {p.origin})."
    )
    if p.origin == "assumed":
        text += " Measure it."
    spread = p.sd if p.sd > 0 else (grid[-1] - grid[0]) / 4
    return abs(at - p.value) / spread, Change(p.name, p.label, text, at, p.unit)
