"""The bone in both planes with the construct, one user unit per millimetre.

A right foot is drawn with the toes to the right and a left foot with the toes to the left: the AP film seen from the
dorsum with lateral at the foot of the drawing, the lateral film seen from the lateral side with dorsal at its head.
So a left foot is the mirror image of a right one, as it is on the table. Only positions given by the plan are drawn;
the head of the screw (dashed) and the pitch of its thread are symbols.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from markupsafe import Markup

from fixplan.plan.types import BoneStations, PlateCandidate, ScrewCandidate
from fixplan.report.constructs import plate_edge_on, plate_face_on, screw_outline
from fixplan.report.formats import margin, mm, quantity
from fixplan.report.planes import (
    DISTAL_PAD,
    MIN_WIDTH,
    Construct,
    Frame,
    Panel,
    between,
    beyond,
    edge_on,
    frame_for,
    panels,
)
from fixplan.report.svg import Point, figure, line, polygon, polyline, rect, text

ROW = 4.2
SCALE_BAR_MM = 20.0
LETTER = 1.4  # mean width of a bold letter of the drawing, mm

Place = Callable[[float, float], Point]


def _edge(bone: BoneStations, panel: Panel, widths: Sequence[float], side: int, place: Place) -> list[Point]:
    return [place(s, c + side * w / 2) for s, c, w in zip(bone.s_mm, panel.centre, widths, strict=True)]


def _bone(bone: BoneStations, panel: Panel, place: Place) -> list[Markup]:
    outer = _edge(bone, panel, panel.outer, 1, place) + _edge(bone, panel, panel.outer, -1, place)[::-1]
    parts = [polygon(outer, "bone")]
    parts += [polyline(_edge(bone, panel, panel.canal, side, place), "canal") for side in (1, -1)]
    lo, hi = bone.fracture_mm - bone.fracture_half_mm, bone.fracture_mm + bone.fracture_half_mm
    band = []
    for s, side in ((lo, 1), (hi, 1), (hi, -1), (lo, -1)):
        c, w = between(s, bone.s_mm, panel.centre), between(s, bone.s_mm, panel.outer)
        band.append(place(s, c + side * w / 2))
    parts.append(polygon(band, "fracture-band"))
    c, w = between(bone.fracture_mm, bone.s_mm, panel.centre), between(bone.fracture_mm, bone.s_mm, panel.outer)
    steps = 9
    zigzag = [
        place(bone.fracture_mm + (0.45 if k % 2 else -0.45), c + w / 2 - w * k / (steps - 1)) for k in range(steps)
    ]
    parts.append(polyline(zigzag, "fracture"))
    return parts


def _axis(bone: BoneStations, screw: ScrewCandidate, panel: Panel, place: Place) -> list[Markup]:
    """The screw's axis run on to the last station of a bowed bone: where a longer straight screw would go."""
    if not any(bone.offset_ap_mm) and not any(bone.offset_lateral_mm):
        return []
    a, b = panel.axis
    slope = (b - a) / (screw.tip_mm - bone.seat_mm)
    last = bone.s_mm[-1]
    return [line(place(screw.tip_mm, b), place(last, b + slope * (last - screw.tip_mm)), "axis-on")]


def _dimension(a: float, b: float, y: float, top: float, label: str, width: float) -> list[Markup]:
    """A dimension between two x on row y with extension lines up to `top`, its label on the side with more room."""
    lo, hi = min(a, b), max(a, b)
    parts = [line((x, top), (x, y + 1), "thin") for x in (a, b)]
    parts.append(line((lo, y), (hi, y), "dimension"))
    parts += [line((x - 0.5, y + 0.5), (x + 0.5, y - 0.5), "dimension") for x in (a, b)]
    return [*parts, _beside(lo, hi, y + 0.9, label, width)]


def _beside(lo: float, hi: float, y: float, label: str, width: float) -> Markup:
    """A label right of `hi`, or left of `lo`, or where neither has room ending at the edge of the drawing."""
    need = len(label) * LETTER
    if hi + 1.5 + need <= width:
        return text(hi + 1.5, y, label, "t strong")
    if lo - 1.5 >= need:
        return text(lo - 1.5, y, label, "t strong", "end")
    return text(width - 0.5, y, label, "t strong", "end")


def _legend(y: float, bone: BoneStations, construct: Construct) -> tuple[list[Markup], float]:
    entries = [("bone", "outer", 15.0), ("canal", "canal", 15.0), ("fracture", "fracture", 19.0)]
    if not isinstance(construct, PlateCandidate):
        entries.append(("straight", "straight segment ends, cautious", 45.0))
    if not isinstance(construct, PlateCandidate) and bone.straight_end_permissive_mm != bone.straight_end_mm:
        entries.append(("permissive", "permissive", 20.0))
    parts: list[Markup] = []
    x = 0.5
    for class_, label, step in entries:
        if x + step > MIN_WIDTH - 2:
            x, y = 0.5, y + ROW - 0.4
        sample = [(x + k * 0.625, y - 0.9 + (0.0, 0.45, -0.45)[k % 3 if 0 < k < 8 else 0]) for k in range(9)]
        parts.append(polyline(sample, class_) if class_ == "fracture" else line(sample[0], sample[-1], class_))
        parts.append(text(x + 6, y, label, "t small"))
        x += step + 2
    return parts, y


def _scale_bar(y: float) -> list[Markup]:
    return [
        rect(0.5, y - 1.6, SCALE_BAR_MM, 0.9, "scale-bar"),
        text(0.5 + SCALE_BAR_MM + 2, y - 0.4, f"{SCALE_BAR_MM:g} mm, true when printed at 100 %", "t"),
    ]


def _either_side(value: float, short: str, beyond: str) -> str:
    """A distance in words: how far short of a limit, or how far beyond it; never a negative length."""
    return f"{short if value >= 0 else beyond} {margin(abs(value))} mm"


def _deciding(bone: BoneStations, construct: Construct, x: Callable[[float], float]) -> list[tuple[float, float, str]]:
    """The distances that decide, as two places on the page and a label."""
    if isinstance(construct, ScrewCandidate):
        to_thread = _either_side(
            construct.first_thread_to_fracture_mm,
            "fracture to first thread",
            "thread begins before the fracture edge by",
        )
        to_bow = _either_side(construct.tip_to_straight_end_mm, "tip to straight end", "tip beyond the straight end by")
        return [
            (x(bone.fracture_mm + bone.fracture_half_mm), x(construct.first_thread_mm), to_thread),
            (x(construct.tip_mm), x(bone.straight_end_mm), to_bow),
        ]
    if isinstance(construct, PlateCandidate):
        at = [s.at_mm for s in construct.screws if s.filled]
        inner = (max((a for a in at if a < 0), default=None), min((a for a in at if a >= 0), default=None))
        if inner[0] is not None and inner[1] is not None:
            a, b = bone.fracture_mm + inner[0], bone.fracture_mm + inner[1]
            return [(x(a), x(b), f"working length {quantity(construct.working_length_mm, 'mm')}")]
    return []


def describe(bone: BoneStations, construct: Construct, side: str) -> str:
    """The drawing in words, for those who do not see it."""
    words = [
        f"Line drawing to scale, {side} foot.",
        "Above: AP film seen from the dorsum, medial at the top, lateral at the bottom.",
        "Below: lateral film, dorsal at the top, plantar at the bottom.",
        f"Bone {mm(bone.length_mm)} mm long, fracture at {mm(bone.fracture_mm)} mm from the proximal end,",
        f"straight segment to {mm(bone.straight_end_mm)} mm.",
    ]
    if isinstance(construct, ScrewCandidate):
        words.append(
            f"Screw {construct.label}: seat at {mm(bone.seat_mm)} mm, "
            f"first thread at {mm(construct.first_thread_mm)} mm, tip at {mm(construct.tip_mm)} mm, "
            f"thinnest wall left {quantity(construct.wall_left_mm, 'mm')}."
        )
    elif isinstance(construct, PlateCandidate):
        filled = ", ".join(str(s.hole) for s in construct.screws if s.filled)
        working = quantity(construct.working_length_mm, "mm")
        words.append(
            f"Plate {construct.label} on the {construct.surface} surface, {mm(construct.standoff_mm)} mm off the bone "
            f"where it comes nearest: filled holes {filled}, working length {working}."
        )
    else:
        words.append("No construct is drawn.")
    return " ".join(words)


def _words(bone: BoneStations, panel: Panel, frame: Frame, side: str, y: float, middle: float) -> list[Markup]:
    """Plane, side of the foot, and what lies at each edge."""
    lo, hi, start, end = frame.x(frame.lo), frame.x(frame.hi), *frame.anchors
    head = frame.x(bone.length_mm) + frame.outward * 1.2
    half, shift = panel.outer[-3] / 2, panel.y_sign * panel.centre[-1]
    return [
        text(lo, y, "proximal", "t small", start),
        text(hi + frame.outward * DISTAL_PAD, y, "distal", "t small", end),
        text((lo + hi) / 2, y, f"{panel.name}, {side} foot", "t strong", "middle"),
        text(head, max(middle - half + shift, y + 3.6), panel.upper, "t small", start),
        text(head, middle + half + shift + 1, panel.lower, "t small", start),
    ]


def _plane(
    bone: BoneStations, construct: Construct, panel: Panel, frame: Frame, top: float, middle: float, bottom: float
) -> list[Markup]:
    """Bone, limits and construct in one plane."""

    def place(s: float, offset: float) -> Point:
        return frame.x(s), middle + panel.y_sign * offset

    parts = _bone(bone, panel, place)
    ends_of_straight = (("straight", bone.straight_end_mm), ("permissive", bone.straight_end_permissive_mm))
    for class_, s in ends_of_straight if not isinstance(construct, PlateCandidate) else ():
        parts.append(line((frame.x(s), top), (frame.x(s), bottom), class_))
    if frame.lo < 0:
        parts.append(line((frame.x(0), top), (frame.x(0), bottom), "thin"))
        parts.append(text(frame.x(0) - frame.outward, bottom, "joint", "t small", frame.anchors[1]))
    if isinstance(construct, ScrewCandidate):
        parts += _axis(bone, construct, panel, place)
        parts += screw_outline(construct, bone.seat_mm, panel.axis, place)
    elif isinstance(construct, PlateCandidate):
        ends = (bone.fracture_mm + construct.proximal_end_mm, bone.fracture_mm + construct.distal_end_mm)
        sign = edge_on(panel, construct)
        if sign:
            under = (*ends, *(s for s in bone.s_mm if ends[0] < s < ends[1]))
            # the plate is straight and the surface is not: it rests where the bone reaches farthest
            surface = sign * max(
                sign * between(s, bone.s_mm, panel.centre) + between(s, bone.s_mm, panel.outer) / 2 for s in under
            )
            parts += plate_edge_on(construct, bone.fracture_mm, surface, sign, place)
        else:
            centre = (between(ends[0], bone.s_mm, panel.centre), between(ends[1], bone.s_mm, panel.centre))
            parts += plate_face_on(construct, bone.fracture_mm, centre, place)
    return parts


def _dimensions(
    bone: BoneStations, construct: Construct, frame: Frame, middle: float, y: float
) -> tuple[list[Markup], float]:
    """Rows of dimensions below the AP film, and the y below them."""
    parts: list[Markup] = []
    top = y
    for a, b, label in _deciding(bone, construct, frame.x):
        parts += _dimension(a, b, y + 1, top - 2.5, label, frame.width)
        y += ROW
    if isinstance(construct, ScrewCandidate):
        x = frame.x((construct.first_thread_mm + construct.tip_mm) / 2)
        # no leader to a wall: the thinnest may lie on either film, at any level of the thread
        label = f"wall left, thinnest on either film {quantity(construct.wall_left_mm, 'mm')}"
        parts.append(_beside(x, x, y + 1.9, label, frame.width))
        y += ROW
    return parts, y


def construct_drawing(bone: BoneStations, construct: Construct, side: str, title: str, id_: str) -> Markup:
    """Both planes with the construct, to scale.

    bone: stations of the plan; construct: the candidate to draw, or None for the bone alone; side: "left" or "right"
    (anything else is refused); id_: prefix of the ids of title and description.
    Raises ValueError for a side that is neither left nor right.
    """
    frame = frame_for(bone, construct, side)
    body: list[Markup] = []
    y = 3.0
    for panel in panels(bone):
        up, down = panel.reach()
        if isinstance(construct, PlateCandidate):
            above, below = beyond(panel, construct)
            up, down = up + above, down + below
        middle = y + 2.6 + up
        bottom = middle + down
        body += _words(bone, panel, frame, side, y, middle)
        body += _plane(bone, construct, panel, frame, middle - up + 1, middle, bottom)
        y = bottom + 2.5
        if panel.y_sign > 0:
            rows, y = _dimensions(bone, construct, frame, middle, y)
            body += rows
            y += 3.5
    legend, y = _legend(y + 1.5, bone, construct)
    body += legend + _scale_bar(y + ROW)
    return figure(id_, frame.width, y + ROW + 0.8, title, describe(bone, construct, side), body)
