"""Torsion of a screw: what its core bears, and the torque the standard demands of it.

Core units: mm, N*mm, MPa, rad. Torque is a magnitude. For the torsion of bones and tubes see `section`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.formula import formula, pi_like
from fixplan.mechanics.guard import below, not_negative, positive, ratio

Array = npt.NDArray[np.float64]
CORE = ("d", "mm", "core diameter of the thread")
CANNULA = ("d_i", "mm", "diameter of the cannulation, 0 when solid")
SHEAR_YIELD = ("tau_y", "MPa", "shear yield strength")
SHEAR_ULTIMATE = ("tau_u", "MPa", "ultimate shear strength")


def _core(core: Any, cannula: Any) -> None:
    positive("core", core)
    not_negative("cannula", cannula)
    below("cannula", cannula, "core", core, "the cannulation must be thinner than the core")


@formula(
    symbol="tau_y",
    unit="MPa",
    text="shear strength from tensile strength",
    args={"strength": ("S_y", "MPa", "yield or tensile strength")},
    source="SHIG9",
    where="eq. 5-21, distortion energy: 0.577 S_y",
    valid="ductile metal",
)
def shear_strength(strength: Any) -> Any:
    """Shear strength tau = 0.577 S [MPa] (1 / sqrt(3), as printed). Source: SHIG9 eq. 5-21.

    Args:
        strength: yield (or tensile) strength [MPa], > 0; broadcasts.

    Raises:
        ValueError: not positive.
    """
    positive("strength", strength)
    return 0.577 * strength


@formula(
    symbol="T_y",
    unit="N*mm",
    text="torque at first yield of the core",
    args={"core": CORE, "cannula": CANNULA, "shear": SHEAR_YIELD},
    source="GERE7",
    where="torsion formula, ch. 3",
    valid="round core, no notch",
)
def yield_torque(core: Any, cannula: Any, shear: Any) -> Any:
    """Torque at first yield T_y = pi d^3 tau_y / 16 (1 - (d_i/d)^4) [N*mm]. Source: GERE7 ch. 3. All broadcast.

    Args:
        core: d [mm], > 0. cannula: d_i [mm], 0 <= d_i < d. shear: tau_y [MPa], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    _core(core, cannula)
    positive("shear", shear)
    return pi_like(core) * core**3 / 16 * (1 - (cannula / core) ** 4) * shear


@formula(
    symbol="T_p",
    unit="N*mm",
    text="fully plastic torque of the core",
    args={"core": CORE, "cannula": CANNULA, "shear": SHEAR_ULTIMATE},
    source="BEERJ",
    where="plastic torsion, 4/3 of the yield torque when solid",
    valid="round core, fully plastic",
)
def plastic_torque(core: Any, cannula: Any, shear: Any) -> Any:
    """Fully plastic torque T_p = pi d^3 tau_u / 12 (1 - (d_i/d)^3) [N*mm]. Source: BEERJ, plastic torsion.

    Args:
        core: d [mm], > 0. cannula: d_i [mm], 0 <= d_i < d. shear: tau_u [MPa], > 0. All broadcast.

    Raises:
        ValueError: out of these bounds.
    """
    _core(core, cannula)
    positive("shear", shear)
    return pi_like(core) * core**3 / 12 * (1 - (cannula / core) ** 3) * shear


@formula(
    symbol="tau_u",
    unit="MPa",
    text="shear strength implied by a breaking torque",
    args={"torque": ("T_p", "N*mm", "breaking torque"), "core": CORE, "cannula": CANNULA},
    source="BEERJ",
    where="plastic torsion solved for the stress: 12 T / (pi d^3) when solid",
    valid="round core, fully plastic",
)
def implied_shear(torque: Any, core: Any, cannula: Any) -> Any:
    """Fully plastic shear stress tau = 12 T / (pi d^3 (1 - (d_i/d)^3)) [MPa]. Source: BEERJ, plastic torsion.

    Args:
        torque: T [N*mm], >= 0. core: d [mm], > 0. cannula: d_i [mm], 0 <= d_i < d. All broadcast.

    Raises:
        ValueError: out of these bounds.
    """
    not_negative("torque", torque, "give the magnitude of the torque")
    _core(core, cannula)
    return 12 * torque / (pi_like(core) * core**3 * (1 - (cannula / core) ** 3))


@formula(
    symbol="n_T",
    unit="1",
    text="breaking torque over insertion torque",
    args={"breaking": ("T_b", "N*mm", "breaking torque"), "insertion": ("T_i", "N*mm", "insertion torque")},
    source="ISO6475",
    where="the standard demands a least breaking torque; the ratio is ours",
    valid="same screw, same axis",
)
def torque_factor(breaking: Any, insertion: Any) -> Any:
    """Factor n_T = T_b / T_i [-] of the breaking torque over the insertion torque. All broadcast.

    Source: the least breaking torque is that of ISO6475 (from memory); the ratio is plain arithmetic.

    Args:
        breaking: T_b [N*mm], > 0. insertion: T_i [N*mm], >= 0.

    Raises:
        ValueError: out of these bounds. At no insertion torque the factor is infinite.
    """
    positive("breaking", breaking)
    not_negative("insertion", insertion, "give the magnitude of the torque")
    return ratio(breaking, insertion)


@dataclass(frozen=True)
class BreakingTorque:
    """Least breaking torque of one standard screw; stainless steel."""

    screw: str
    core: float
    """Core diameter [mm]."""
    torque: float
    """Least breaking torque [N*mm]."""
    angle: float
    """Least angle of twist before breaking [rad]."""
    source: str = "ISO6475"
    grade: str = "M-h"


BREAKING_TORQUES: dict[str, BreakingTorque] = {
    screw: BreakingTorque(screw, core, torque, math.radians(degrees))
    for screw, core, torque, degrees in (
        ("HA 1.5", 1.1, 200.0, 150),
        ("HA 2.0", 1.3, 350.0, 150),
        ("HA 2.7", 1.9, 1000.0, 180),
        ("HA 3.5", 2.4, 2300.0, 180),
        ("HA 4.5", 3.0, 4400.0, 180),
    )
}


def breaking_torque(screw: str) -> BreakingTorque:
    """The least breaking torque of a standard screw such as "HA 3.5". Source: ISO6475, from memory.

    Raises:
        ValueError: no value at hand: other sizes, the deep thread (HB), titanium, and cannulated screws.
    """
    if screw not in BREAKING_TORQUES:
        known = ", ".join(BREAKING_TORQUES)
        raise ValueError(
            f"screw = {screw!r}: screw must be one of {known}; for others use the core section or the maker's figure"
        )
    return BREAKING_TORQUES[screw]


@dataclass(frozen=True)
class InsertionCheck:
    """An insertion torque against what the core bears; arrays of the broadcast shape."""

    yield_torque: Array
    plastic_torque: Array
    yield_factor: Array
    plastic_factor: Array


def insertion_check(
    insertion: npt.ArrayLike,
    core: npt.ArrayLike,
    cannula: npt.ArrayLike,
    yield_strength: npt.ArrayLike,
    ultimate_strength: npt.ArrayLike,
) -> InsertionCheck:
    """Insertion torque [N*mm] against first yield and full plasticity of the core.

    Shear strengths follow from the tensile ones by distortion energy (SHIG9 eq. 5-21).

    Args:
        insertion: [N*mm], >= 0. core, cannula: [mm]. yield_strength, ultimate_strength: tensile [MPa]. All broadcast.

    Raises:
        ValueError: out of the bounds of the closed forms.
    """
    t, d, d_i, y, u = np.broadcast_arrays(
        *(np.asarray(v, dtype=np.float64) for v in (insertion, core, cannula, yield_strength, ultimate_strength))
    )
    first = yield_torque(d, d_i, shear_strength(y))
    full = plastic_torque(d, d_i, shear_strength(u))
    return InsertionCheck(first, full, torque_factor(first, t), torque_factor(full, t))
