"""A case as read: what was measured and nothing else.

Every section is always there; a key that the file does not hold is None (or an empty tuple), so that whoever
fills it in has to say so. Quantities are in core units.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal

from fixplan.values import Quantity

Zone = Literal[1, 2, 3, "base", "shaft", "neck"]


@dataclass(frozen=True)
class Level:
    """Canal and outer surface at one level [mm]: `canal` for one diameter, or one value per film."""

    canal: Quantity | None = None
    canal_ap: Quantity | None = None
    canal_lateral: Quantity | None = None
    outer_ap: Quantity | None = None
    outer_lateral: Quantity | None = None


@dataclass(frozen=True)
class Isthmus(Level):
    """The narrowest level; `at` is its distance from the proximal end [mm]."""

    at: Quantity | None = None


@dataclass(frozen=True)
class Bone:
    """The measured metatarsal; `ray` 1 to 5. `length` is None only where landmarks give it."""

    ray: int
    length: Quantity | None
    isthmus: Isthmus
    at_fracture: Level
    straight_segment: Quantity | None = None
    stations: Path | None = None
    landmarks: Path | None = None
    entry_from_lateral: Quantity | None = None
    entry_from_dorsal: Quantity | None = None


@dataclass(frozen=True)
class Imaging:
    """What the measurements were taken on, and what gives the scale."""

    source: Literal["radiograph", "ct"] | None = None
    marker_true: Quantity | None = None
    marker_seen: Quantity | None = None
    marker_seen_ap: Quantity | None = None
    marker_seen_lateral: Quantity | None = None
    dicom: Path | None = None


@dataclass(frozen=True)
class Fracture:
    """The fracture: lengths [mm] along the axis, `compression` [N], `callus_modulus` [MPa]."""

    zone: Zone
    from_base: Quantity | None = None
    extent: Quantity | None = None
    gap: Quantity | None = None
    pattern: Literal["simple", "comminuted"] | None = None
    healing: Literal["acute", "delayed", "nonunion"] | None = None
    crosses_tmt: bool | None = None
    compression: Quantity | None = None
    callus_modulus: Quantity | None = None


@dataclass(frozen=True)
class PlateRoom:
    """Where a bridge plate may sit [mm]."""

    room_proximal: Quantity | None = None
    room_distal: Quantity | None = None
    surface_width: Quantity | None = None
    standoff: Quantity | None = None


@dataclass(frozen=True)
class Previous:
    """An earlier screw [mm] and what has become of it."""

    screw_diameter: Quantity
    state: Literal["removed", "broken", "in place"]


@dataclass(frozen=True)
class Energy:
    """Items of the energy deficiency score; each may be missing."""

    energy_availability: Literal["no dietary restriction", "some dietary restriction", "eating disorder"] | None = None
    bmi: Quantity | None = None
    menarche_age: Quantity | None = None
    menses_per_year: float | None = None
    bmd_z: float | None = None
    earlier_stress_fractures: int | None = None
    earlier_at_high_risk_site: bool | None = None


@dataclass(frozen=True)
class Patient:
    """Context and loads: mass [kg], angles [rad], vitamin D [ng/mL]."""

    energy: Energy
    body_mass: Quantity | None = None
    activity: Literal["rest", "walking", "running", "cutting"] | None = None
    risks: tuple[str, ...] = ()
    metatarsus_adductus_angle: Quantity | None = None
    calcaneal_pitch: Quantity | None = None
    vitamin_d: Quantity | None = None
    bony_tenderness: bool | None = None
    load_raised: bool | None = None


@dataclass(frozen=True)
class PlanWishes:
    """What to plan. `consider` and `kits` are empty when the file is silent: all of them."""

    consider: tuple[Literal["screw", "plate"], ...]
    kits: tuple[str, ...]
    thresholds: Mapping[str, Quantity]


@dataclass(frozen=True)
class Case:
    """One case.

    `side` is None only for the quick answer without a file. `inputs_sha256` covers the keys and values (not
    layout or comments) and the bytes of every file the case points to.
    """

    label: str
    side: Literal["left", "right"] | None
    planned_for: date | None
    invented: bool
    bone: Bone
    imaging: Imaging
    fracture: Fracture
    plate: PlateRoom
    previous: Previous | None
    patient: Patient
    plan: PlanWishes
    compare: tuple[str, ...]
    inputs_sha256: str
    path: Path | None = None
