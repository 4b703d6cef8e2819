"""Static strength: factors against yield and rupture, and the moments a core or a plate can carry.

Core units: mm, N*mm, MPa. Stress enters as a magnitude (>= 0): which side of the section is pulled is the
caller's business. A factor at no stress is infinite, which is its true limit.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.formula import formula, pi_like, sqrt
from fixplan.mechanics.guard import at_most, below, finite, not_negative, positive, ratio

Array = npt.NDArray[np.float64]
STRESS = ("sigma", "MPa", "peak stress, magnitude")
CANNULA = ("d_i", "mm", "diameter of the cannulation, 0 when solid")
CORE = ("d", "mm", "outer diameter of the section: core in the thread, shank elsewhere")
SIGN_REMEDY = "give the magnitude of the stress"


def _core(d: Any, d_i: Any) -> None:
    positive("d", d)
    not_negative("d_i", d_i)
    below("d_i", d_i, "d", d, "the cannulation must be thinner than the core")


@formula(
    symbol="n_y",
    unit="1",
    text="factor against yield",
    args={
        "stress": STRESS,
        "yield_strength": ("S_y", "MPa", "least yield strength of the material's standard"),
    },
    source="SHIG9",
    where="eq. 5-19, distortion-energy factor",
    valid="static load",
)
def yield_factor(stress: Any, yield_strength: Any) -> Any:
    """Factor against yield n_y = S_y / sigma [-]. Source: SHIG9 eq. 5-19.

    Args:
        stress: peak stress [MPa], magnitude, >= 0; broadcasts.
        yield_strength: least yield strength S_y [MPa], > 0.

    Returns:
        n_y; infinite where the stress is 0.

    Raises:
        ValueError: negative or non-finite stress, S_y <= 0.
    """
    not_negative("stress", stress, SIGN_REMEDY)
    positive("yield_strength", yield_strength)
    return ratio(yield_strength, stress)


@formula(
    symbol="n_u",
    unit="1",
    text="factor against rupture",
    args={
        "stress": STRESS,
        "ultimate_strength": ("S_ut", "MPa", "least tensile strength of the material's standard"),
    },
    source="SHIG9",
    where="factor of safety, strength over stress (ch. 1)",
    valid="static load, elastic stress",
)
def ultimate_factor(stress: Any, ultimate_strength: Any) -> Any:
    """Factor against rupture n_u = S_ut / sigma [-]. Source: SHIG9 ch. 1 (strength over stress).

    Args:
        stress: peak elastic stress [MPa], magnitude, >= 0; broadcasts.
        ultimate_strength: least tensile strength S_ut [MPa], > 0.

    Returns:
        n_u; infinite where the stress is 0.

    Raises:
        ValueError: negative or non-finite stress, S_ut <= 0.
    """
    not_negative("stress", stress, SIGN_REMEDY)
    positive("ultimate_strength", ultimate_strength)
    return ratio(ultimate_strength, stress)


@formula(
    symbol="sigma_v",
    unit="MPa",
    text="von Mises stress of bending with torsion",
    args={"normal": ("sigma", "MPa", "normal stress"), "shear": ("tau", "MPa", "shear stress")},
    source="SHIG9",
    where="eq. 5-15",
    valid="ductile metal, one normal and one shear stress",
)
def von_mises(normal: Any, shear: Any) -> Any:
    """Equivalent stress sigma_v = sqrt(sigma^2 + 3 tau^2) [MPa]. Source: SHIG9 eq. 5-15.

    Args:
        normal, shear: normal and shear stress at one point [MPa], signed; broadcast.

    Raises:
        ValueError: not finite.
    """
    finite("normal", normal)
    finite("shear", shear)
    return sqrt(normal**2 + 3 * shear**2)


@formula(
    symbol="M_y",
    unit="N*mm",
    text="moment at first yield of a round section",
    args={"d": CORE, "d_i": CANNULA, "strength": ("S_y", "MPa", "yield strength")},
    source="MACHHB",
    where="section modulus of a hollow circle times the yield strength",
    valid="bending alone, no notch",
)
def elastic_moment(d: Any, d_i: Any, strength: Any) -> Any:
    """Moment at first yield M_y = pi d^3 S_y / 32 (1 - (d_i/d)^4) [N*mm]. Source: MACHHB, section moduli.

    Args:
        d: outer diameter [mm], > 0.
        d_i: cannulation [mm], 0 <= d_i < d.
        strength: S_y [MPa], > 0. All broadcast.

    Raises:
        ValueError: diameters impossible, strength <= 0.
    """
    _core(d, d_i)
    positive("strength", strength)
    return pi_like(d, strength) * d**3 / 32 * (1 - (d_i / d) ** 4) * strength


@formula(
    symbol="M_p",
    unit="N*mm",
    text="fully plastic moment of a round section",
    args={"d": CORE, "d_i": CANNULA, "strength": ("S_y", "MPa", "yield strength")},
    source="GERE7",
    where="plastic bending, plastic modulus of a circle d^3/6",
    valid="elastic-perfectly plastic metal, bending alone",
)
def plastic_moment(d: Any, d_i: Any, strength: Any) -> Any:
    """Fully plastic moment M_p = d^3 S_y / 6 (1 - (d_i/d)^3) [N*mm]. Source: GERE7, plastic bending.

    Args:
        d: outer diameter [mm], > 0.
        d_i: cannulation [mm], 0 <= d_i < d.
        strength: S_y [MPa], > 0. All broadcast.

    Raises:
        ValueError: diameters impossible, strength <= 0.
    """
    _core(d, d_i)
    positive("strength", strength)
    return d**3 / 6 * (1 - (d_i / d) ** 3) * strength


PLATE = {
    "width": ("b", "mm", "net width of the plate"),
    "thickness": ("h", "mm", "thickness in the direction of bending"),
    "strength": ("S_y", "MPa", "yield strength"),
}


@formula(
    symbol="M_y",
    unit="N*mm",
    text="moment at first yield of a rectangular section",
    args=PLATE,
    source="GERE7",
    where="section modulus b h^2/6",
    valid="bending about the strong or weak axis alone, no notch",
)
def plate_elastic_moment(width: Any, thickness: Any, strength: Any) -> Any:
    """Moment at first yield M_y = b h^2 S_y / 6 [N*mm]. Source: GERE7, App. D.

    Args:
        width: net width b [mm], > 0. thickness: h [mm], > 0. strength: S_y [MPa], > 0. All broadcast.

    Raises:
        ValueError: any argument <= 0 or not finite.
    """
    _plate(width, thickness, strength)
    return width * thickness**2 / 6 * strength


@formula(
    symbol="M_p",
    unit="N*mm",
    text="fully plastic moment of a rectangular section",
    args=PLATE,
    source="GERE7",
    where="plastic modulus b h^2/4, shape factor 3/2",
    valid="elastic-perfectly plastic metal, bending alone",
)
def plate_plastic_moment(width: Any, thickness: Any, strength: Any) -> Any:
    """Fully plastic moment M_p = b h^2 S_y / 4 [N*mm]. Source: GERE7, plastic bending.

    Args:
        width: net width b [mm], > 0. thickness: h [mm], > 0. strength: S_y [MPa], > 0. All broadcast.

    Raises:
        ValueError: any argument <= 0 or not finite.
    """
    _plate(width, thickness, strength)
    return width * thickness**2 / 4 * strength


def _plate(width: Any, thickness: Any, strength: Any) -> None:
    positive("width", width)
    positive("thickness", thickness)
    positive("strength", strength)


@dataclass(frozen=True)
class StrengthCheck:
    """Static factors of one section; arrays of the broadcast shape."""

    stress: Array
    yield_factor: Array
    ultimate_factor: Array
    yields: npt.NDArray[np.bool_]
    """True where the elastic stress reaches the yield strength; the elastic numbers no longer hold there."""


def strength_check(
    stress: npt.ArrayLike, yield_strength: npt.ArrayLike, ultimate_strength: npt.ArrayLike
) -> StrengthCheck:
    """Yield and rupture factors of a peak stress magnitude [MPa], all broadcast.

    Raises:
        ValueError: negative or non-finite stress, strengths <= 0, yield strength above tensile strength.
    """
    s, y, u = np.broadcast_arrays(
        *(np.asarray(v, dtype=np.float64) for v in (stress, yield_strength, ultimate_strength))
    )
    at_most("yield_strength", y, "ultimate_strength", u, "check that the two were not exchanged")
    return StrengthCheck(s, yield_factor(s, y), ultimate_factor(s, u), s >= y)
