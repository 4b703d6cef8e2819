"""Loads on the metatarsals: published bands per activity, and the assumed design moments, each with origin and grade.

Core units: N, N*mm; a published force is often a share of body weight (unit "BW"). Rows are data, read with
`load_rows`; nothing is scaled between rays, activities or populations. See THIN for what is not known.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from fixplan.formula import formula
from fixplan.mechanics.guard import finite, not_negative, positive

Array = npt.NDArray[np.float64]
GRAVITY = 9.80665
"""Standard acceleration of free fall [m/s2], ISO 80000-3 (exact)."""

THIN = (
    "Published loads on single metatarsals are thin: plantar forces of a few dozen feet, strains of one bone in eight "
    "people and some cadavers, and no bending moment of the fifth metatarsal in running or cutting that could be "
    "read. The design moments are assumed, without body weight in them; a wide range is the honest answer."
)

Unit = Literal["BW", "N", "N*mm", "1"]


@dataclass(frozen=True)
class LoadRow:
    """One published or assumed load. `lo` and `hi` are mean -/+ the printed spread, or the range; None if not printed.

    `ray` is None where the row is of the whole foot or of several rays.
    """

    activity: str
    quantity: str
    ray: int | None
    lo: float | None
    mid: float
    hi: float | None
    unit: Unit
    source: str
    grade: str
    note: str = ""


_HEADS = "n 47 feet; patients with hallux valgus without metatarsalgia, body mass not given"
_MOMENT = "assumed, no citation; the middle is the middle of the range"
LOADS: tuple[LoadRow, ...] = (
    LoadRow("walking and running", "force under the base", 5, 0.108, 0.12, 0.132, "BW", "HUNT20", "F", "n 8, healthy"),
    LoadRow("walking and running", "force under the base", 5, 0.138, 0.15, 0.162, "BW", "HUNT20", "F",
            "n 8, athletes with a healed fracture of the base"),
    LoadRow("walking", "force under the head", 1, 47.0, 75.0, 103.0, "N", "IJO21", "F", _HEADS),
    LoadRow("walking", "force under the head", 2, 63.0, 89.0, 115.0, "N", "IJO21", "F", _HEADS),
    LoadRow("walking", "force under the head", 3, 77.0, 102.0, 127.0, "N", "IJO21", "F", _HEADS),
    LoadRow("walking", "force under the head", 4, 61.0, 83.0, 105.0, "N", "IJO21", "F", _HEADS),
    LoadRow("walking", "force under the head", 5, 25.0, 37.0, 49.0, "N", "IJO21", "F", _HEADS),
    LoadRow("running", "force under the head", 2, None, 341.0, None, "N", "GROSS89", "M-m", "n 21, beam model"),
    LoadRow("kicking", "force under the lateral toes", None, 0.14, 0.20, 0.26, "BW", "THOMSON18", "F",
            "n 7, stance leg, after a fracture of the fifth metatarsal"),
    LoadRow("kicking", "force under the lateral toes", None, 0.05, 0.10, 0.15, "BW", "THOMSON18", "F",
            "n 7, stance leg, controls"),
    LoadRow("walking", "strain, dorsal", 2, -2170e-6, -1534e-6, -898e-6, "1", "ARNDT02", "F", "n 8, in vivo, barefoot"),
    LoadRow("walking", "strain, dorsal", 2, None, -1897e-6, None, "1", "DS99", "F", "n 15, cadaver gait simulator"),
    LoadRow("walking", "strain, medial", 5, None, -908e-6, None, "1", "DS99", "F", "n 15, cadaver gait simulator"),
    LoadRow("walking", "joint force, metatarsophalangeal", 1, None, 1.9, None, "BW", "ALM16", "F", "n 4, model"),
    LoadRow("walking", "joint force, metatarsophalangeal", 1, None, 0.8, None, "BW", "MCB91", "F", "n 11, barefoot"),
    LoadRow("walking", "joint force, tarsometatarsal", 1, None, 3.0, None, "BW", "ALM16", "F", "n 4, model"),
    LoadRow("walking", "plantar aponeurosis tension", None, None, 1.5, None, "BW", "CARAV09", "F", "n 3"),
    LoadRow("walking", "vertical ground reaction", None, 1.1, 1.15, 1.2, "BW", "MEMORY", "M-h"),
    LoadRow("running", "vertical ground reaction", None, 2.0, 2.5, 3.0, "BW", "MEMORY", "M-h"),
    LoadRow("cutting", "vertical ground reaction", None, 2.0, 3.0, 4.0, "BW", "MEMORY", "M-h", "cutting and landing"),
    LoadRow("protected", "design moment", 5, 300.0, 400.0, 500.0, "N*mm", "PROJECT", "assumed", _MOMENT),
    LoadRow("walking", "design moment", 5, 800.0, 1150.0, 1500.0, "N*mm", "PROJECT", "assumed", _MOMENT),
    LoadRow("running", "design moment", 5, 2000.0, 2500.0, 3000.0, "N*mm", "PROJECT", "assumed", _MOMENT),
    LoadRow("cutting", "design moment", 5, 3000.0, 3750.0, 4500.0, "N*mm", "PROJECT", "assumed", _MOMENT),
)  # fmt: skip


@dataclass(frozen=True)
class StepsBand:
    """Steps in a day of one activity level: from `lo` up to (not including) `hi`, None where open."""

    level: str
    lo: int | None
    hi: int | None
    source: str
    grade: str


STEPS_PER_DAY: tuple[StepsBand, ...] = (
    StepsBand("sedentary", None, 5000, "TL04", "M-h"),
    StepsBand("low active", 5000, 7500, "TL04", "M-h"),
    StepsBand("somewhat active", 7500, 10000, "TL04", "M-h"),
    StepsBand("active", 10000, None, "TL04", "M-h"),
)


def load_rows(activity: str | None = None, quantity: str | None = None, ray: int | None = None) -> tuple[LoadRow, ...]:
    """The rows that match all that is given, in table order; an empty tuple means that nothing was found published."""
    return tuple(
        row
        for row in LOADS
        if activity in (None, row.activity) and quantity in (None, row.quantity) and ray in (None, row.ray)
    )


def design_moment(activity: str) -> LoadRow:
    """The assumed design moment [N*mm] of the fifth metatarsal for an activity.

    Raises:
        ValueError: no such activity; the message lists them.
    """
    for row in load_rows(activity, "design moment"):
        return row
    known = ", ".join(row.activity for row in load_rows(quantity="design moment"))
    raise ValueError(f"activity = {activity!r}: activity must be one of {known}; or give the moment itself")


def force_band(row: LoadRow, body_mass: npt.ArrayLike) -> Array:
    """Low, middle and high force [N], shape (..., 3), of a row; without a printed spread all three are the middle.

    Args:
        row: a row in "BW" or "N".
        body_mass: [kg], > 0; broadcasts. A row in newton keeps its value whatever the body mass.

    Raises:
        ValueError: a row that is not a force, or body mass <= 0.
    """
    if row.unit not in {"BW", "N"}:
        raise ValueError(f"unit = {row.unit!r}: unit must be BW or N; '{row.quantity}' is not a force")
    weight = np.asarray(body_weight(np.asarray(body_mass, dtype=np.float64), GRAVITY), dtype=np.float64)[..., None]
    ends = [row.mid if end is None else end for end in (row.lo, row.mid, row.hi)]
    band = np.array(ends, dtype=np.float64)
    return np.multiply(band, weight) if row.unit == "BW" else np.broadcast_to(band, (*weight.shape[:-1], 3)).copy()


@formula(
    symbol="W",
    unit="N",
    text="body weight",
    args={"mass": ("m", "kg", "body mass"), "gravity": ("g", "m/s**2", "acceleration of free fall, 9.80665")},
    source="GERE7",
    where="W = m g (App. A); standard gravity of ISO 80000-3, from memory",
    valid="standing still",
)
def body_weight(mass: Any, gravity: Any = GRAVITY) -> Any:
    """Body weight W = m g [N]. Source: standard acceleration of free fall, ISO 80000-3. Both broadcast.

    Args:
        mass: [kg], > 0. gravity: [m/s2], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    positive("mass", mass)
    positive("gravity", gravity)
    return mass * gravity


@formula(
    symbol="M",
    unit="N*mm",
    text="moment of a force at a distance",
    args={"force": ("F", "N", "transverse force"), "lever": ("l", "mm", "distance from the force to the section")},
    source="GERE7",
    where="cantilever with an end load, ch. 4",
    valid="force across the bone",
)
def lever_moment(force: Any, lever: Any) -> Any:
    """Moment M = F l [N*mm] of a transverse force. Source: GERE7 ch. 4. Both broadcast.

    Args:
        force: [N], signed. lever: [mm], >= 0.

    Raises:
        ValueError: out of these bounds.
    """
    finite("force", force)
    not_negative("lever", lever)
    return force * lever


@formula(
    symbol="M",
    unit="N*mm",
    text="bending moment implied by a surface strain",
    args={
        "strain": ("epsilon", "1", "bending strain at the surface"),
        "modulus": ("E", "MPa", "modulus of the bone"),
        "section": ("Z", "mm**3", "section modulus"),
    },
    source="GERE7",
    where="flexure formula with Hooke's law, ch. 5",
    valid="pure bending, linear elastic",
)
def moment_from_strain(strain: Any, modulus: Any, section: Any) -> Any:
    """Moment M = epsilon E Z [N*mm]. Source: GERE7 ch. 5. All broadcast.

    Args:
        strain: [-], signed. modulus: E [MPa], > 0. section: Z [mm3], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    finite("strain", strain)
    positive("modulus", modulus)
    positive("section", section)
    return strain * modulus * section


@formula(
    symbol="n_d",
    unit="1",
    text="loading cycles of one foot in a day",
    args={"steps": ("s", "1", "steps in a day, both feet")},
    source="COMMON",
    where="every second step loads the same foot",
    valid="walking and running",
)
def cycles_per_foot(steps: Any) -> Any:
    """Loading cycles n_d = s / 2 of one foot in a day. Source: every second step loads the same foot. Broadcasts.

    Args:
        steps: steps in a day, both feet, >= 0.

    Raises:
        ValueError: negative or not finite.
    """
    not_negative("steps", steps)
    return steps / 2
