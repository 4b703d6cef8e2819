"""What would change the answer: the nearest value of each uncertain input at which the first choice gets worse."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fixplan.kits import ImScrew
from fixplan.plan.frame import build
from fixplan.plan.inputs import Parameter
from fixplan.plan.resolve import Resolved
from fixplan.plan.screws import Sized, size
from fixplan.plan.types import Change
from fixplan.plan.words import RULES
from fixplan.sizing.rules import FAIL, Codes

# Inputs are moved over this many standard uncertainties either way: about 95 % of what the measurement may be.
SPREAD = 2.0
STEPS = 41


def screw_changes(resolved: Resolved, screws: Sequence[ImScrew], first: int, most: int = 3) -> tuple[Change, ...]:
    """The inputs whose own uncertainty is enough to change the answer, nearest first.

    The answer changes where the first choice gets a worse verdict, or (with no size left) where one comes in.
    """
    found = []
    kin = [screws[first]] if first >= 0 else list(screws)
    for p in resolved.parameters.values():
        grid = _grid(p)
        if grid is None:
            continue
        try:
            frame = build(resolved, {p.name: grid})
        except ValueError:
            continue  # the far end of the spread is no bone at all (canal wider than it): nothing to say about sizes
        near = _nearest(p, grid, size(frame, kin), first >= 0)
        if near is not None:
            found.append(near)
    found.sort(key=lambda pair: pair[0])
    return tuple(change for _, change in found[:most])


Grid = np.ndarray[tuple[int], np.dtype[np.float64]]


def _grid(p: Parameter) -> Grid | None:
    if p.low is not None and p.high is not None and p.origin == "assumed":
        lo, hi = p.low, p.high
    elif p.sd > 0:
        lo, hi = p.value - SPREAD * p.sd, p.value + SPREAD * p.sd
    else:
        return None
    if p.value > 0:
        lo = max(lo, 0.05 * p.value)
    return np.linspace(lo, hi, STEPS) if hi > lo else None


def _nearest(p: Parameter, grid: Grid, sized: Sized, chosen: bool) -> tuple[float, Change] | None:
    codes = np.broadcast_to(sized.codes, (grid.size, len(sized.screws)))
    middle = int(np.argmin(np.abs(grid - p.value)))
    best = codes.min(axis=1)
    away = np.flatnonzero(best > best[middle]) if chosen else np.flatnonzero(best < FAIL)
    if away.size == 0:
        return None
    n = int(away[np.argmin(np.abs(grid[away] - p.value))])
    # halfway to the last value that keeps the answer: as fine as the grid can say
    at = float(grid[n] - np.sign(grid[n] - p.value) * (grid[1] - grid[0]) / 2)
    side = "or more" if grid[n] > p.value else "or less"
    becomes = _worse(sized, n, int(best[n])) if chosen else _comes_in(sized, codes[n])
    unit = "" if p.unit == "1" else f" {p.unit}"
    # as many digits as tell the two apart, and no more
    digits = next((d for d in range(0 if p.unit == "MPa" else 1, 5) if f"{at:.{d}f}" != f"{p.value:.{d}f}"), 5)
    text = f"{p.label}: at {at:.{digits}f}{unit} {side} {becomes} (used here: {p.value:.{digits}f}{unit}, {p.origin})."
    if p.origin == "assumed":
        text += " Measure it."
    spread = p.sd if p.sd > 0 else float(grid[-1] - grid[0]) / 4
    return abs(at - p.value) / spread, Change(p.name, p.label, text, at, p.unit)


def _worse(sized: Sized, n: int, code: int) -> str:
    """What the one size fails by, or is cautioned by, at a point of the grid."""
    rules = [RULES[r].label for r, h in sized.held.items() if np.broadcast_to(h.code, sized.codes.shape)[n, 0] == code]
    return f"this size {'fails' if code == FAIL else 'carries a caution'}: {', '.join(rules)}"


def _comes_in(sized: Sized, codes: Codes) -> str:
    """The size that comes in where none was left: the widest of the mildest verdict."""
    some = np.flatnonzero(codes == codes.min())
    k = int(some[np.argmax(sized.diameter[some])])
    return f"{sized.screws[k].d_major:.1f} x {sized.screws[k].length:g} mm comes in"
