"""Bridge plate: window of span, then stock plates in their best position over the fracture.

Positions run along the bone from the centre of what is bridged, distal positive, in mm. What is bridged (the fracture,
or joint and fracture where the plate crosses the joint) takes up [-bridged/2, +bridged/2]; on each side `room` mm of
bone, counted from its edge, is free for the plate. A plate of n holes at spacing p is laid so that this centre lies
midway between two neighbouring holes.

A hole is usable when its centre is at least `edge_distance_min` from the edge of what is bridged and from the end of
the room. How the usable holes are filled follows the pattern (source GAU03, in the threshold table): comminuted, the
innermost screws as close to the fracture as practicable; simple, one hole more on each side left empty where there are
enough holes, since a short working length concentrates strain in a narrow gap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fixplan.sizing import plate_limits as forms
from fixplan.sizing.plate_lie import Seat, Surface, hold_standoff, seats
from fixplan.sizing.rules import ROUNDING_MM, Held, at_least, at_most, worst


@dataclass(frozen=True)
class PlateThresholds:
    """Planning thresholds of a bridge plate: ratios, counts and mm."""

    span_ratio_min: float
    screw_density_max: float
    screws_per_side_min: float
    cortices_per_side_min: float
    edge_distance_min: float
    standoff_max: float
    plate_width_fraction_max: float


@dataclass(frozen=True)
class PlateBed:
    """Where a plate may sit, mm.

    `bridged` is what no screw may sit in; `fracture_length`, which the span ratio counts, is the fracture alone.
    `surface_width` is None where the bone under the plate was not measured. `standoff` is the distance from plate to
    bone where a straight plate comes nearest; `surface` the bone under it, None where only the standoff is known.
    """

    bridged: float
    fracture_length: float
    room_proximal: float
    room_distal: float
    surface_width: float | None
    standoff: float
    comminuted: bool
    surface: Surface | None = None


@dataclass(frozen=True)
class StockPlate:
    """One stock plate, mm."""

    holes: int
    spacing: float
    length: float
    width: float


@dataclass(frozen=True)
class Placement:
    """A plate in one position: hole centres from the fracture, which holes are filled, and the rules held.

    `under` is the bone under each hole of the straight plate, None where it is not known.
    """

    positions: tuple[float, ...]
    filled: tuple[bool, ...]
    proximal_end: float
    distal_end: float
    working_length: float
    edge_left: float
    held: dict[str, Held]
    under: tuple[Seat | None, ...]

    @property
    def code(self) -> int:
        """The worst verdict over all rules."""
        return int(worst(self.held))


@dataclass(frozen=True)
class SpanWindow:
    """Plate lengths that reach the span ratio and hold the least screws (low end) within the room (high end), mm."""

    lo_ratio: float
    lo_screws: float
    hi_room: float

    @property
    def lo(self) -> float:
        """The low end that governs."""
        return max(self.lo_ratio, self.lo_screws)


def span_window(bed: PlateBed, limits: PlateThresholds, spacing: float, end_distance: float) -> SpanWindow:
    """Window of plate length before stock, for a hole spacing and an end distance (hole centre to plate end), mm.

    The least length for the screws: on each side the first hole clears the fracture by the edge distance, further holes
    follow at the spacing, and the plate ends `end_distance` beyond the last; holes straddle the fracture symmetrically.
    """
    first = bed.bridged / 2.0 + limits.edge_distance_min
    steps = np.ceil(first / spacing - 0.5 - ROUNDING_MM)
    innermost = (max(float(steps), 0.0) + 0.5) * spacing
    half = innermost + (limits.screws_per_side_min - 1.0) * spacing + end_distance
    return SpanWindow(
        lo_ratio=forms.least_by_ratio(limits.span_ratio_min, bed.fracture_length),
        lo_screws=2.0 * half,
        hi_room=forms.longest_plate(bed.room_proximal, bed.bridged, bed.room_distal),
    )


def placements(plate: StockPlate, bed: PlateBed, limits: PlateThresholds) -> list[Placement]:
    """Every position of a plate over the fracture, from proximal-most to distal-most."""
    return [_place(plate, bed, limits, k) for k in range(1, plate.holes)]


def best_placement(plate: StockPlate, bed: PlateBed, limits: PlateThresholds) -> Placement:
    """The position with the mildest verdict; then more screws on the poorer side; then the more even ends."""

    def order(p: Placement) -> tuple[int, int, float, float]:
        low = int(p.held["screws_per_side"].value)
        fails = sum(int(h.code) for h in p.held.values())
        return (p.code, fails, -low, round(abs(p.proximal_end + p.distal_end), 6))

    return min(placements(plate, bed, limits), key=order)


def fill(usable: list[int], least: int, comminuted: bool) -> list[int]:
    """Which usable holes of one side are filled; `usable` is ordered from the fracture outwards.

    The outermost usable hole is always taken (the longest lever), then from the inside outwards up to `least`.
    """
    if len(usable) <= least:
        return list(usable)
    inner = usable if comminuted else usable[1:]
    return [*inner[: least - 1], inner[-1]]


def _place(plate: StockPlate, bed: PlateBed, limits: PlateThresholds, k: int) -> Placement:
    positions = [(j - k + 0.5) * plate.spacing for j in range(plate.holes)]
    end = (plate.length - (plate.holes - 1) * plate.spacing) / 2.0
    half = bed.bridged / 2.0
    near, edge = half + limits.edge_distance_min - ROUNDING_MM, limits.edge_distance_min
    proximal = [
        j for j in range(k - 1, -1, -1) if near <= -positions[j] <= half + bed.room_proximal - edge + ROUNDING_MM
    ]
    distal = [j for j in range(k, plate.holes) if near <= positions[j] <= half + bed.room_distal - edge + ROUNDING_MM]
    least = int(limits.screws_per_side_min)
    chosen = fill(proximal, least, bed.comminuted), fill(distal, least, bed.comminuted)
    filled = [j in chosen[0] or j in chosen[1] for j in range(plate.holes)]
    count = min(len(chosen[0]), len(chosen[1]))
    inner = [positions[j] for j in range(plate.holes) if filled[j]]
    both = chosen[0] and chosen[1]
    working = float("nan")
    if both:
        working = forms.working_length(min(x for x in inner if x > 0), max(x for x in inner if x < 0))
    ends = positions[0] - end, positions[-1] + end
    room_left = min(half + bed.room_proximal + ends[0], half + bed.room_distal - ends[1])
    edge_left = (
        min(
            min(abs(x) for x in inner) - half,
            half + bed.room_proximal + min(inner),
            half + bed.room_distal - max(inner),
        )
        if both
        else float("nan")
    )
    under: list[Seat | None] = [None] * plate.holes
    if bed.surface is not None:
        under = seats(bed.surface, bed.standoff, *ends, positions)
    ratio = forms.span_ratio(plate.length, bed.fracture_length) if bed.fracture_length > 0 else float("inf")
    held = {
        "room": at_least(room_left, 0.0),
        "screws_per_side": at_least(count, limits.screws_per_side_min),
        "cortices_per_side": at_least(2 * count, limits.cortices_per_side_min),
        "span_ratio": at_least(ratio, limits.span_ratio_min),
        # a rule for long plates on long bones: a metatarsal has no room for it, so it cautions and never fails
        "screw_density": at_most(forms.screw_density(sum(filled), plate.holes), 1.0, limits.screw_density_max),
        "standoff": hold_standoff(bed.standoff, [s for s, f in zip(under, filled) if f], limits.standoff_max),
    }
    if bed.surface_width is not None:
        widest = forms.widest_plate(limits.plate_width_fraction_max, bed.surface_width)
        held["plate_width"] = at_most(plate.width, widest)
    return Placement(tuple(positions), tuple(filled), ends[0], ends[1], working, edge_left, held, tuple(under))
