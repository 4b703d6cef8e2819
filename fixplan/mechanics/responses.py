"""Results of one construct: per load case, at both ends of the bracket. Frozen, plain arrays, nothing
computed here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fixplan.mechanics.beam import Array


@dataclass(frozen=True)
class BendingResponse:
    """One bending (or axial) case at the given load. All arrays (...), NaN where the construct is not
    possible (see `Bracket.valid`).
    """

    case: str
    load_N: Array
    stiffness_N_per_mm: Array
    """load over displacement at the load, secant where the joint opens under load"""
    EI_N_m2: Array
    """structural stiffness, as the bending standards define it; NaN for the axial case"""
    ratio_to_intact: Array
    moment_at_fracture_N_mm: Array
    """whole moment on the section at the fracture's centre"""
    peak_stress_MPa: Array
    critical_section: npt.NDArray[np.str_]
    """name of the section with the peak stress"""
    stress_MPa: Mapping[str, Array]
    """nominal stress of the implant at each critical section"""
    bone_stress_MPa: Array
    """greatest nominal bending stress of the bone"""
    opening_mm: Mapping[str, Array]
    """gap opening at the dorsal, plantar, medial and lateral cortex, negative where it closes"""
    shear_mm: Array
    """transverse motion of the faces against each other"""
    gap_strain: Array
    """greatest opening or closing over the gap; NaN without a gap"""
    deflection_mm: Array
    """at the load (head, rollers), in its direction"""
    rotation_rad: Array
    """of the head; NaN for the bench arrangements"""
    separation_load_N: Array
    """load at which a compressed joint starts to open; infinite unless the state is closed"""
    plain_stiffness_N_per_mm: Array
    """without the local correction"""
    plain_opening_mm: Mapping[str, Array]
    """without the local correction"""


@dataclass(frozen=True)
class TorsionResponse:
    """Torsion about the bone's axis at the given torque."""

    torque_N_mm: Array
    stiffness_N_mm_per_rad: Array
    ratio_to_intact: Array
    shear_stress_MPa: Array
    """greatest nominal shear stress of the implant (of the bone, for the intact bone)"""
    gap_twist_rad: Array
    """twist between the ends of the free span"""


@dataclass(frozen=True)
class EndResponse:
    """All cases at one end of the bracket."""

    bending: Mapping[str, BendingResponse]
    torsion: TorsionResponse | None


@dataclass(frozen=True)
class Bracket:
    """The two ends between which the construct lies: never one number.

    valid: False where the construct is impossible (for instance, the screw does not cross the fracture).
    in_range: False where the local correction is used outside the range it was fitted to.
    """

    bonded: EndResponse
    loose: EndResponse
    valid: npt.NDArray[np.bool_]
    in_range: npt.NDArray[np.bool_]
    correction_origin: str
