"""Where things fall in the drawing: the two planes, and the frame that mirrors left and right."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fixplan.plan.types import BoneStations, PlateCandidate, ScrewCandidate

PROXIMAL_PAD, DISTAL_PAD, MIN_WIDTH = 4.0, 11.5, 92.0

Construct = ScrewCandidate | PlateCandidate | None


@dataclass(frozen=True)
class Panel:
    """One plane: where its points go, and what stands on either side of the bone."""

    name: str
    upper: str
    lower: str
    outer: tuple[float, ...]
    canal: tuple[float, ...]
    centre: tuple[float, ...]
    axis: tuple[float, float]
    y_sign: float

    def reach(self) -> tuple[float, float]:
        """How far the bone reaches above and below the line of the proximal end, mm of page."""
        ys = [
            self.y_sign * (c + side * w / 2) for c, w in zip(self.centre, self.outer, strict=True) for side in (1, -1)
        ]
        return -min(ys), max(ys)


def panels(bone: BoneStations) -> tuple[Panel, Panel]:
    """AP film (lateral positive, drawn downwards) and lateral film (dorsal positive, drawn upwards)."""
    ap = Panel(
        "AP film", "medial", "lateral", bone.outer_ap_mm, bone.canal_ap_mm, bone.offset_ap_mm, bone.axis_ap_mm, 1.0
    )
    lateral = Panel(
        "Lateral film",
        "dorsal",
        "plantar",
        bone.outer_lateral_mm,
        bone.canal_lateral_mm,
        bone.offset_lateral_mm,
        bone.axis_lateral_mm,
        -1.0,
    )
    return ap, lateral


SURFACES = {"lateral": (1.0, 1), "medial": (1.0, -1), "dorsal": (-1.0, 1), "plantar": (-1.0, -1)}
"""Surface of a plate -> `y_sign` of the film that sees it edge-on, and the side of that plane it lies on."""


def edge_on(panel: Panel, plate: PlateCandidate) -> int:
    """Side of the plane on which a film sees the plate edge-on; 0 where it sees its face."""
    film, sign = SURFACES[plate.surface]
    return sign if film == panel.y_sign else 0


def beyond(panel: Panel, plate: PlateCandidate) -> tuple[float, float]:
    """Room above and below the bone for a plate seen edge-on and the numbers of its holes, mm of page."""
    room = plate.standoff_mm + plate.thickness_mm + 3.5
    way = edge_on(panel, plate) * panel.y_sign
    return room if way < 0 else 0.0, room if way > 0 else 0.0


def between(s: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """Straight line between the stations on either side of `s`; the end stations hold outside."""
    if s <= xs[0]:
        return ys[0]
    for x0, x1, y0, y1 in zip(xs, xs[1:], ys, ys[1:]):
        if s <= x1:
            return y0 + (y1 - y0) * (s - x0) / (x1 - x0)
    return ys[-1]


@dataclass(frozen=True)
class Frame:
    """Where the ends of the bone fall on the page: the one place that mirrors left and right."""

    lo: float
    hi: float
    right: bool
    width: float

    def x(self, s: float) -> float:
        """Page x of the station `s`: toes to the right for a right foot, to the left for a left one."""
        return PROXIMAL_PAD + s - self.lo if self.right else self.width - PROXIMAL_PAD - (s - self.lo)

    @property
    def outward(self) -> int:
        return 1 if self.right else -1

    @property
    def anchors(self) -> tuple[str, str]:
        """Text anchors for words that start at the proximal end and that end at the distal end."""
        return ("start", "end") if self.right else ("end", "start")


def frame_for(bone: BoneStations, construct: Construct, side: str) -> Frame:
    """The frame of a bone with its construct. Raises ValueError for a side that is neither left nor right."""
    if side not in ("left", "right"):
        raise ValueError(f"side is {side!r}, but must be 'left' or 'right': a drawing cannot be mirrored by guess")
    lo, hi = 0.0, bone.length_mm
    if isinstance(construct, PlateCandidate):
        lo = min(lo, bone.fracture_mm + construct.proximal_end_mm)
        hi = max(hi, bone.fracture_mm + construct.distal_end_mm)
    return Frame(lo, hi, side == "right", max(hi - lo + PROXIMAL_PAD + DISTAL_PAD, MIN_WIDTH))
