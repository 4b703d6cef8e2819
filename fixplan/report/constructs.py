"""Outlines of the constructs in the drawing: a screw in profile, a plate from above and from the side."""

from __future__ import annotations

from collections.abc import Callable

from markupsafe import Markup

from fixplan.plan.types import PlateCandidate, ScrewCandidate
from fixplan.report.svg import Point, circle, line, polygon, text

Place = Callable[[float, float], Point]

HEAD_MM = 2.2  # how far the dashed head symbol reaches proximal of the seat; a symbol, not a size
TOOTH_MM = 0.8  # spacing of the drawn teeth; a symbol, the pitch is not drawn


def screw_outline(screw: ScrewCandidate, seat_mm: float, axis: tuple[float, float], place: Place) -> list[Markup]:
    """Shank, thread, tip and seat along the straight axis from `axis[0]` at the seat to `axis[1]` at the tip."""

    def at(s: float, offset: float) -> Point:
        share = (s - seat_mm) / (screw.tip_mm - seat_mm)
        return place(s, axis[0] + share * (axis[1] - axis[0]) + offset)

    shank, core, major = screw.shank_mm / 2, screw.core_mm / 2, screw.diameter_mm / 2
    first, tip = max(screw.first_thread_mm, seat_mm), screw.tip_mm
    teeth = max(2, int((tip - first) / TOOTH_MM))
    upper = []
    for k in range(2 * teeth):
        s = first + (tip - first) * k / (2 * teeth)
        near_tip = tip - s < 1.5
        upper.append((s, core if k % 2 == 0 or near_tip else major))
    upper.append((tip, core * 0.35))
    thread = [at(s, r) for s, r in upper] + [at(s, -r) for s, r in reversed(upper)]
    head = (
        (seat_mm, 1.15 * shank),
        (seat_mm - HEAD_MM, 1.6 * shank),
        (seat_mm - HEAD_MM, -1.6 * shank),
        (seat_mm, -1.15 * shank),
    )
    parts = [polygon([at(s, r) for s, r in head], "head")]
    if first > seat_mm:
        parts.append(polygon([at(seat_mm, shank), at(first, shank), at(first, -shank), at(seat_mm, -shank)], "metal"))
    parts.append(polygon(thread, "metal"))
    if screw.cannula_mm > 0:
        parts += [line(at(seat_mm, r), at(tip, r), "bore") for r in (screw.cannula_mm / 2, -screw.cannula_mm / 2)]
    parts.append(line(at(seat_mm, 1.7 * shank), at(seat_mm, -1.7 * shank), "seat"))
    return parts


def plate_face_on(plate: PlateCandidate, fracture_mm: float, centre: tuple[float, float], place: Place) -> list[Markup]:
    """The plate seen on its face: outline to scale, filled holes solid, empty holes open."""
    lo, hi = fracture_mm + plate.proximal_end_mm, fracture_mm + plate.distal_end_mm

    def at(s: float, offset: float) -> Point:
        return place(s, centre[0] + (s - lo) / (hi - lo) * (centre[1] - centre[0]) + offset)

    half = plate.width_mm / 2
    r = min(1.3, half * 0.6)
    parts = [polygon([at(lo, half), at(hi, half), at(hi, -half), at(lo, -half)], "plate")]
    for hole in plate.screws:
        x, y = at(fracture_mm + hole.at_mm, 0)
        parts.append(circle(x, y, r, "hole-filled" if hole.filled else "hole-empty"))
    return parts


def plate_edge_on(
    plate: PlateCandidate, fracture_mm: float, surface_mm: float, sign: int, place: Place
) -> list[Markup]:
    """The plate from the side, off the bone by its standoff, holes numbered beyond it, screws at their stock length.

    surface_mm: offset of the bone's surface under the plate; sign: 1 where the surface faces the positive side of the
    plane, -1 where it faces the other.
    """
    lo, hi = fracture_mm + plate.proximal_end_mm, fracture_mm + plate.distal_end_mm
    under = surface_mm + sign * plate.standoff_mm
    top = under + sign * plate.thickness_mm
    downwards = place(lo, top)[1] > place(lo, under)[1]
    parts = []
    for hole in plate.screws:
        s = fracture_mm + hole.at_mm
        x, y = place(s, top)
        parts.append(text(x, y + 2.8 if downwards else y - 1, str(hole.hole), "t small", "middle"))
        if hole.filled and hole.length_mm is not None:
            parts.append(line((x, y), place(s, top - sign * hole.length_mm), "plate-screw"))
        elif hole.filled:
            parts.append(line((x, y), place(s, surface_mm - sign * 6), "plate-screw-unknown"))
    parts.append(polygon([place(lo, top), place(hi, top), place(hi, under), place(lo, under)], "plate"))
    return parts
