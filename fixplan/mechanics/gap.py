"""Motion and strain at the fracture gap.

Signs: displacement along the bone is positive when the gap opens and negative when it closes; rotation is
positive when it opens the side with positive lever. Core units: mm, rad; strain is a plain fraction (0.02
is 2 %).

The limits of the strain theory are arguments here; their values and origin live with the planning thresholds.
The theory is a check beside the plan, not a verdict: see COUNTER_EVIDENCE.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.formula import formula
from fixplan.mechanics.guard import finite, not_negative, positive, refuse_unless
from fixplan.mechanics.published import Published

Array = npt.NDArray[np.float64]

COUNTER_EVIDENCE: tuple[Published, ...] = (
    Published(
        "gap-closing strain, far cortex, plated sheep tibiae", 0.51, None, None, "1", "BJRgap", "F",
        "mean of 8 bones, image-based finite elements; above the 10 % of the strain theory, and they healed",
    ),
    Published("peak compressive gap strain, same bones", 0.32, None, None, "1", "BJRgap", "F", "8 bones"),
    Published("peak shear gap strain, same bones", 1.15, None, None, "1", "BJRgap", "F", "8 bones"),
)  # fmt: skip
STATEMENT = (
    "The strain limits are a theory check, not pass or fail: plated bones have healed with strains above "
    "them, and a simple gap says nothing of blood supply, loading history or time."
)


@formula(
    symbol="epsilon",
    unit="1",
    text="interfragmentary strain",
    args={
        "displacement": ("u", "mm", "relative displacement of the fracture ends"),
        "gap": ("g", "mm", "gap width"),
    },
    source="GAPSTRAIN07",
    where="definition: relative end displacement over initial gap width",
    valid="transverse gap; the mean over the gap, not the local tissue strain",
)
def gap_strain(displacement: Any, gap: Any) -> Any:
    """Interfragmentary strain epsilon = u / g [-].

    Source: GAPSTRAIN07 (definition). Shapes broadcast.

    Args:
        displacement: relative displacement u of the fracture ends [mm], signed, positive opening.
        gap: initial gap width g [mm], > 0.

    Raises:
        ValueError: displacement is not finite, or gap <= 0 (a closed fracture has no strain of this kind).
    """
    finite("displacement", displacement)
    positive("gap", gap, "a closed fracture has no gap strain: treat it as a joint")
    return displacement / gap


@formula(
    symbol="u_y",
    unit="mm",
    text="opening at a distance from the axis",
    args={
        "axial": ("u_0", "mm", "opening on the axis of rotation"),
        "rotation": ("theta", "rad", "relative rotation of the two fracture faces"),
        "lever": ("y", "mm", "distance from the axis of rotation, signed"),
    },
    source="GEOM",
    where="rigid fracture faces, small rotation",
    valid="|theta| up to about 0.2 rad (tan theta within 1.4 %)",
)
def opening(axial: Any, rotation: Any, lever: Any) -> Any:
    """Opening u_y = u_0 + theta * y [mm] of rigid fracture faces at the distance y from the axis of rotation.

    Source: GEOM, rigid faces at small angles. Shapes broadcast.

    Args:
        axial: opening u_0 on the axis [mm], signed.
        rotation: relative rotation theta [rad], signed.
        lever: distance y [mm], signed.

    Raises:
        ValueError: any argument is not finite.
    """
    finite("axial", axial)
    finite("rotation", rotation)
    finite("lever", lever)
    return axial + rotation * lever


@dataclass(frozen=True)
class GapMotion:
    """Motion at the gap. Fields broadcast together; [mm] and plain fractions, signed (opening positive)."""

    opening_near: Array
    opening_far: Array
    shear: Array
    strain_near: Array
    strain_far: Array
    shear_strain: Array
    largest_strain: Array
    """Greatest magnitude of the three strains, which is what the theory compares with its limits."""
    faces_meet: npt.NDArray[np.bool_]
    """True where a side would close by more than the gap: the open-gap numbers no longer hold there."""


def gap_motion(
    axial: npt.ArrayLike,
    rotation: npt.ArrayLike,
    lever_near: npt.ArrayLike,
    lever_far: npt.ArrayLike,
    gap: npt.ArrayLike,
    shear: npt.ArrayLike = 0.0,
) -> GapMotion:
    """Opening and strain on both sides of a gap that opens by `axial` and turns by `rotation`.

    Args:
        axial: opening on the axis of rotation [mm], signed.
        rotation: relative rotation [rad], signed.
        lever_near, lever_far: signed distances of the two cortices from that axis [mm], usually of
            opposite sign.
        gap: initial gap width [mm], > 0.
        shear: relative displacement across the bone [mm], signed.

    Raises:
        ValueError: an argument is not finite, or gap <= 0.
    """
    a, r, n, f, g, s = np.broadcast_arrays(
        *(np.asarray(v, dtype=np.float64) for v in (axial, rotation, lever_near, lever_far, gap, shear))
    )
    finite("shear", s)
    near, far = opening(a, r, n), opening(a, r, f)
    strains = (gap_strain(near, g), gap_strain(far, g), gap_strain(s, g))
    largest = np.max(np.abs(np.stack(strains)), axis=0)
    return GapMotion(near, far, s, *strains, largest, (near < -g) | (far < -g))


@dataclass(frozen=True)
class StrainCheck:
    """Which tissues the strain theory says could bear the strain; with the evidence against the theory."""

    strain: Array
    bone: npt.NDArray[np.bool_]
    cartilage: npt.NDArray[np.bool_]
    granulation: npt.NDArray[np.bool_]
    statement: str = STATEMENT
    counter_evidence: tuple[Published, ...] = COUNTER_EVIDENCE


def strain_check(
    strain: npt.ArrayLike, limit_bone: float, limit_cartilage: float, limit_granulation: float
) -> StrainCheck:
    """Compare a strain magnitude with the three limits of the strain theory (PER02: 0.02, 0.10, 1.00).

    Args:
        strain: magnitude of the strain [-], >= 0 (for instance `GapMotion.largest_strain`).
        limit_bone, limit_cartilage, limit_granulation: limits [-], increasing; a strain equal to a limit
            is borne.

    Raises:
        ValueError: strain negative or not finite, limits not positive or not increasing.
    """
    value = np.asarray(strain, dtype=np.float64)
    not_negative("strain", value, "give the magnitude; the sign is kept in GapMotion")
    positive("limit_bone", limit_bone)
    ordered = limit_bone < limit_cartilage < limit_granulation
    remedy = "order the limits bone < cartilage < granulation"
    refuse_unless(ordered, "limit_cartilage", limit_cartilage, "must lie between the other two limits", remedy)
    return StrainCheck(value, value <= limit_bone, value <= limit_cartilage, value <= limit_granulation)
