"""What would change the answer: the nearest value of each uncertain input at which the first choice gets worse."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fixplan.kits import ImScrew
from fixplan.plan.frame import build
from fixplan.plan.inputs import Parameter
from fixplan.plan.resolve import Resolved
from fixplan.plan.screws import Sized, chosen, size, thread_text
from fixplan.plan.types import Change
from fixplan.plan.words import RULES
from fixplan.sizing.rules import FAIL, PASS

# Inputs are moved over this many standard uncertainties either way: about 95 % of what the measurement may be.
SPREAD = 2.0
# The two published ends of the straight segment, as fractions of the length: no spread of a reading, but they disagree.
ENDS = ("straight_fraction_cautious", "straight_fraction_permissive")
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
        n = _nearest(p, grid, size(frame, kin), first >= 0)
        if n is not None:
            spread = p.sd if p.sd > 0 else float(grid[-1] - grid[0]) / 4
            found.append((abs(_turn(p, grid, n) - p.value) / spread, p, grid, n))
    changes = [(away, _change(resolved, screws, first, p, grid, n)) for away, p, grid, n in found]
    if first >= 0:
        changes += _straight_end(resolved, screws, first)
    return tuple(change for _, change in sorted(changes, key=lambda row: row[0])[:most])


def _straight_end(resolved: Resolved, screws: Sequence[ImScrew], first: int) -> list[tuple[float, Change]]:
    """Where between its two published fractions the end of the straight segment makes the first choice worse.

    Two sources disagree and neither prints a spread about the other: the end is taken to lie anywhere between them,
    an even band whose standard uncertainty is its width over the root of twelve (JCGM 100, 4.3.7).
    """
    low, high = (resolved.parameters.get(name) for name in ENDS)
    if low is None or high is None or {low.origin, high.origin} != {"assumed"} or not low.value < high.value:
        return []
    grid = np.linspace(low.value, high.value, STEPS)
    now = int(size(build(resolved), [screws[first]]).codes[0])
    codes = size(build(resolved, dict.fromkeys(ENDS, grid)), [screws[first]]).codes
    worse = np.flatnonzero(np.broadcast_to(codes, (STEPS, 1))[:, 0] > now)
    if not worse.size or worse[-1] == STEPS - 1:
        return []
    n = int(worse[-1])  # a shorter straight segment is never better: all below are worse too
    at = float(grid[n] + grid[n + 1]) / 2
    there = size(build(resolved, dict.fromkeys(ENDS, grid[n])), screws)
    text = (
        f"end of the straight segment: at {at:.3f} of the length or less {_worse(there, first)} (used here: "
        f"{low.value:g} to {high.value:g}, {low.origin}). {_instead(screws, first, there)} Measure it."
    )
    # below the middle of the band the first choice holds at the middle, above it it does not
    away = max((low.value + high.value) / 2 - at, 0.0) / ((high.value - low.value) / 12**0.5)
    return [(away, Change(low.name, "end of the straight segment over the length", text, at, low.unit))]


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


def _nearest(p: Parameter, grid: Grid, sized: Sized, chosen: bool) -> int | None:
    """The point of the grid nearest to the value used at which the answer is another; None where there is none."""
    best = np.broadcast_to(sized.codes, (grid.size, len(sized.screws))).min(axis=1)
    middle = int(np.argmin(np.abs(grid - p.value)))
    away = np.flatnonzero(best > best[middle]) if chosen else np.flatnonzero(best < FAIL)
    return int(away[np.argmin(np.abs(grid[away] - p.value))]) if away.size else None


def _turn(p: Parameter, grid: Grid, n: int) -> float:
    """Halfway to the last value that keeps the answer: as fine as the grid can say."""
    return float(grid[n] - np.sign(grid[n] - p.value) * (grid[1] - grid[0]) / 2)


def _change(resolved: Resolved, screws: Sequence[ImScrew], first: int, p: Parameter, grid: Grid, n: int) -> Change:
    """The change in words: at which value, what becomes of the first choice, and the size that ranks first then."""
    there = size(build(resolved, {p.name: grid[n]}), screws)
    then = int(chosen(there))
    at = _turn(p, grid, n)
    side = "or more" if grid[n] > p.value else "or less"
    unit = "" if p.unit == "1" else f" {p.unit}"
    # as many digits as tell the two apart, and no more
    digits = next((d for d in range(0 if p.unit == "MPa" else 1, 5) if f"{at:.{d}f}" != f"{p.value:.{d}f}"), 5)
    becomes = f"{_size(screws[then])} comes in" if first < 0 else _worse(there, first)
    text = f"{p.label}: at {at:.{digits}f}{unit} {side} {becomes} (used here: {p.value:.{digits}f}{unit}, {p.origin})."
    if first >= 0:
        text += f" {_instead(screws, first, there)}"
    if p.origin == "assumed":
        text += " Measure it."
    return Change(p.name, p.label, text, at, p.unit)


def _worse(there: Sized, first: int) -> str:
    """What the first choice fails by, or is cautioned by."""
    code = int(there.codes[first])
    rules = [RULES[r].label for r, h in there.held.items() if np.broadcast_to(h.code, there.codes.shape)[first] == code]
    return f"this size {'fails' if code == FAIL else 'carries a caution'}: {', '.join(rules)}"


def _instead(screws: Sequence[ImScrew], first: int, there: Sized) -> str:
    """The size that the rules rank first then; no draws stand behind it, so it is not called the first choice."""
    then = int(chosen(there))
    if then < 0:
        return "No size is left then."
    if then == first:
        return "No other size does better then."
    me, other = screws[first], screws[then]
    apart = [thread_text(other) + " thread"] if other.thread_length != me.thread_length else []
    apart += ["solid" if other.solid else "cannulated"] if other.solid != me.solid else []
    apart += [other.material.name.split(",")[0]] if other.material.name != me.material.name else []
    words = "A size that passes" if there.codes[then] == PASS else "With a caution"
    return f"{words} then: {', '.join([_size(other), *apart])}."


def _size(screw: ImScrew) -> str:
    return f"{screw.d_major:.1f} x {screw.length:g} mm"
