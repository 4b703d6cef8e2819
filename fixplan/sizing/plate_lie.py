"""How a straight plate lies on a bone that tapers: where it touches, and how far off it is at each hole; mm.

The plate is straight and parallel to the axis of the bone; the bone is seen edge-on. The plate comes nearest at the
highest point of the bone under it, at its stated standoff there; elsewhere the bone falls away from it (source GEOM:
heights above one axis). Bent to the bone it would lie at the stated standoff everywhere.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fixplan.sizing.rules import ROUNDING_MM, Held, at_most


@dataclass(frozen=True)
class Surface:
    """The bone under the plate at stations `x`, counted as the plate's positions are, increasing; all (n,), mm.

    `height`: how far the surface under the plate reaches outwards; `depth`: outer width from it to the far cortex.
    Between stations both run linearly; beyond the first and the last the bone is not known. `taken` says which widths
    were taken and not measured; empty where all were measured.
    """

    x: tuple[float, ...]
    height: tuple[float, ...]
    depth: tuple[float, ...]
    taken: str = ""

    def at(self, x: float) -> tuple[float, float] | None:
        """Height and depth at a position; None beyond the stations."""
        if not self.x[0] <= x <= self.x[-1]:
            return None
        return float(np.interp(x, self.x, self.height)), float(np.interp(x, self.x, self.depth))

    def highest(self, start: float, end: float) -> float:
        """Greatest height between two positions; the end stations hold beyond the bone."""
        within = [h for x, h in zip(self.x, self.height) if start < x < end]
        return max(*within, *(float(np.interp(x, self.x, self.height)) for x in (start, end)))


@dataclass(frozen=True)
class Seat:
    """One hole: distance from plate to bone under it, and outer width of the bone there, mm."""

    standoff: float
    depth: float

    def screw(self, thickness: float) -> float:
        """Least length of a screw that ends in the far cortex, for a plate of that thickness, mm."""
        return thickness + self.standoff + self.depth


def seats(surface: Surface, standoff: float, start: float, end: float, positions: Sequence[float]) -> list[Seat | None]:
    """What lies under each hole of a straight plate from `start` to `end`; None where the bone is not known.

    standoff: distance from plate to bone where it comes nearest, mm.
    """
    line = surface.highest(start, end) + standoff
    found = [surface.at(x) for x in positions]
    return [None if f is None else Seat(line - f[0], f[1]) for f in found]


def hold_standoff(standoff: float, under: Sequence[Seat | None], limit: float) -> Held:
    """The standoff against its limit: fails where the stated one is above it, cautions where only the taper puts a
    filled hole above it, since a plate bent to the bone then meets it. `under`: the filled holes.
    """
    stated = at_most(standoff, limit)
    if int(stated.code):
        return stated
    return at_most(max((s.standoff for s in under if s is not None), default=standoff), np.inf, limit)


def cortices(under: Sequence[Seat | None], sides: Sequence[bool], thickness: float, longest: float) -> int:
    """Cortices held on the poorer side by screws of at most `longest` mm: two where the far one is reached, else one.

    `sides`: True for the distal screws. Where the bone is not known (None) both are counted; theatre has to measure.
    """
    count = {False: 0, True: 0}
    for seat, distal in zip(under, sides):
        count[distal] += 1 if seat is not None and seat.screw(thickness) > longest + ROUNDING_MM else 2
    return min(count.values())
