"""What a plan says of the chosen screw beyond stiffness: cycles, torsion, purchase, straightening. See `types.py`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fixplan.declare import ASSUMED, DERIVED, KIT, MEASURED, RECORD, num


@dataclass(frozen=True)
class LifeEnd:
    """Cycles at one end of the bracket: worst, middle, best of load and notch; None: outside the line, see `words`."""

    end: str
    section: str
    amplitude_MPa: Annotated[
        tuple[float, ...], num("MPa", "fully reversed local amplitude: worst, middle, best", DERIVED, "mechanics.life")
    ]
    worst: Annotated[float | None, num("1", "cycles to the design line, worst", DERIVED, "mechanics.life")]
    middle: Annotated[float | None, num("1", "cycles to the design line, middle", DERIVED, "mechanics.life")]
    best: Annotated[float | None, num("1", "cycles to the design line, best", DERIVED, "mechanics.life")]
    words: tuple[str, ...]


@dataclass(frozen=True)
class LifePart:
    """Loading cycles to the design amplitude for one activity, beside the steps of a day. It promises no weeks."""

    activity: str
    moments_N_mm: Annotated[
        tuple[float, ...], num("N*mm", "moment at the fracture: worst, middle, best", ASSUMED, "source")
    ]
    notch: Annotated[
        tuple[float, ...], num("1", "notch factor of the section named: worst, middle, best", ASSUMED, "source")
    ]
    design_amplitude_MPa: Annotated[
        float | None, num("MPa", "fully reversed amplitude at a million cycles, smooth", ASSUMED, "source")
    ]
    ends: tuple[LifeEnd, ...]
    steps_per_day: Annotated[tuple[float, ...], num("1", "steps in a day, both feet", RECORD, "TL04")]
    cycles_per_day: Annotated[
        tuple[float, ...], num("1", "loading cycles of one foot in a day", DERIVED, "mechanics.loads")
    ]
    source: str
    note: str


@dataclass(frozen=True)
class TorsionPart:
    """What the core bears in torsion. No insertion torque is predicted."""

    yield_torque_N_mm: Annotated[float, num("N*mm", "torque at first yield of the core", DERIVED, "mechanics.torsion")]
    plastic_torque_N_mm: Annotated[float, num("N*mm", "fully plastic torque of the core", DERIVED, "mechanics.torsion")]
    standard: str
    standard_torque_N_mm: Annotated[
        float | None, num("N*mm", "least breaking torque of the standard; None: no row", RECORD, "source")
    ]
    source: str
    text: str


@dataclass(frozen=True)
class PurchasePart:
    """Predicted pull-out of the thread beyond the fracture against the compression wanted: an upper bound."""

    engaged_mm: Annotated[float, num("mm", "thread beyond the fracture", DERIVED, "sizing.screw")]
    pullout_N: Annotated[
        tuple[float, ...], num("N", "predicted pull-out, whole depth in cortex", DERIVED, "mechanics.purchase")
    ]
    wanted_N: Annotated[float | None, num("N", "compression wanted; None: not given", MEASURED, "fracture.compression")]
    needed_mm: Annotated[
        float | None, num("mm", "thread length for it, whole depth in weak cortex", DERIVED, "mechanics.purchase")
    ]
    depth_share: Annotated[
        float | None, num("1", "share of the thread's depth outside the straight corridor", DERIVED, "bone.corridor")
    ]
    pitch_mm: Annotated[float, num("mm", "pitch of the thread", KIT, "item")]
    verdict: str
    source: str
    text: str


@dataclass(frozen=True)
class StraightRow:
    """One size in one film: what a tip beyond the straight segment does to a broken bone."""

    item: str
    label: str
    film: str
    side: str
    beyond_mm: Annotated[float, num("mm", "tip beyond the straight segment; negative: short of it", DERIVED, "plan")]
    room_mm: Annotated[float | None, num("mm", "room between tip and canal wall", DERIVED, "bone.profile")]
    angle_deg: Annotated[float | None, num("deg", "angle forced at the fracture", DERIVED, "mechanics.straightening")]
    angle_high_deg: Annotated[
        float | None, num("deg", "the same at the high end of the curvature's interval", DERIVED, "bone.bow")
    ]
    gap_mm: Annotated[float | None, num("mm", "gap opened on that side", DERIVED, "mechanics.straightening")]
    text: str


@dataclass(frozen=True)
class StraighteningPart:
    """Straightening of a bowed bone; `known` false where no bow was measured."""

    known: bool
    radius_ap_mm: Annotated[float | None, num("mm", "radius of the bow, AP film", DERIVED, "bone.bow")]
    radius_lateral_mm: Annotated[float | None, num("mm", "radius of the bow, lateral film", DERIVED, "bone.bow")]
    rows: tuple[StraightRow, ...]
    source: str
    note: str


@dataclass(frozen=True)
class StrengthPart:
    """Strength of the screw chosen, and straightening by the sizes shown."""

    item: str
    label: str
    life: tuple[LifePart, ...]
    torsion: TorsionPart | None
    purchase: PurchasePart | None
    straightening: StraighteningPart
