"""Preload of a screw: from proof load and from torque, and the fatigue amplitude it leaves.

Forms of the bolted joint in metal: in bone the thread strips before the screw yields, and the torque coefficient is not
known. For fatigue the load comes and goes from zero, so the load line starts at the stress of the preload.
Core units: mm, N, N*mm, MPa.
"""

from __future__ import annotations

from typing import Any

from fixplan.formula import formula, pi_like, sqrt
from fixplan.mechanics.guard import at_most, below, not_negative, positive
from fixplan.mechanics.joint import AREA, PROOF

PRESTRESS = ("sigma_i", "MPa", "stress of the preload")
ENDURANCE = ("S_e", "MPa", "fully corrected fatigue strength of the thread")
ULTIMATE = ("S_ut", "MPa", "tensile strength")


@formula(
    symbol="A_t",
    unit="mm**2",
    text="tensile stress area of a metric thread",
    args={"diameter": ("d", "mm", "nominal diameter"), "pitch": ("p", "mm", "pitch")},
    source="ISO898",
    where="nominal stress area",
    valid="ISO metric thread only, not a bone thread",
)
def stress_area(diameter: Any, pitch: Any) -> Any:
    """Stress area A_t = pi/4 (d - 0.9382 p)^2 [mm2]. Source: ISO898 (from memory); ISO metric threads only.

    Args:
        diameter, pitch: [mm], > 0, p < d; broadcast.

    Raises:
        ValueError: out of these bounds.
    """
    positive("pitch", pitch)
    below("pitch", pitch, "diameter", diameter, "check that the two were not exchanged")
    return pi_like(diameter) / 4 * (diameter - 0.9382 * pitch) ** 2


@formula(
    symbol="F_i",
    unit="N",
    text="preload as a part of the proof load",
    args={"fraction": ("q", "1", "part of the proof load"), "area": AREA, "proof": PROOF},
    source="SHIG9",
    where="eq. 8-31 and 8-32: 0.75 reusable, 0.90 permanent",
    valid="metal joints; in bone the thread strips first",
)
def proof_preload(fraction: Any, area: Any, proof: Any) -> Any:
    """Preload F_i = q A_t S_p [N]. Source: SHIG9 eq. 8-31. All broadcast.

    Args:
        fraction: q [-], 0 < q <= 1. area: A_t [mm2], > 0. proof: S_p [MPa], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    positive("fraction", fraction)
    at_most("fraction", fraction, "1", 1, "it is a part of the proof load")
    positive("area", area)
    positive("proof", proof)
    return fraction * area * proof


@formula(
    symbol="F_i",
    unit="N",
    text="preload from the tightening torque",
    args={
        "torque": ("T", "N*mm", "tightening torque"),
        "coefficient": ("K", "1", "torque coefficient"),
        "diameter": ("d", "mm", "nominal diameter"),
    },
    source="SHIG9",
    where="eq. 8-27, K about 0.2",
    valid="metal joints; K in bone is not known",
)
def preload_from_torque(torque: Any, coefficient: Any, diameter: Any) -> Any:
    """Preload F_i = T / (K d) [N]. Source: SHIG9 eq. 8-27 (from memory; metal joints). All broadcast.

    Args:
        torque: T [N*mm], >= 0. coefficient: K [-], > 0. diameter: d [mm], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    not_negative("torque", torque)
    positive("coefficient", coefficient)
    positive("diameter", diameter)
    return torque / (coefficient * diameter)


def _prestress(prestress: Any, limit_name: str, limit: Any) -> None:
    not_negative("prestress", prestress)
    below("prestress", prestress, limit_name, limit, "the preload alone reaches the strength")


@formula(
    symbol="S_a",
    unit="MPa",
    text="amplitude borne from a preload, Goodman",
    args={"prestress": PRESTRESS, "endurance": ENDURANCE, "ultimate": ULTIMATE},
    source="SHIG9",
    where="eq. 8-45",
    valid="load from zero to P, joint not separated",
)
def preloaded_goodman(prestress: Any, endurance: Any, ultimate: Any) -> Any:
    """Strength amplitude S_a = S_e (S_ut - sigma_i) / (S_ut + S_e) [MPa]. Source: SHIG9 eq. 8-45. All broadcast.

    Args:
        prestress: sigma_i [MPa], 0 <= sigma_i < S_ut. endurance: S_e [MPa], > 0. ultimate: S_ut [MPa].

    Raises:
        ValueError: out of these bounds.
    """
    positive("endurance", endurance)
    _prestress(prestress, "ultimate", ultimate)
    return endurance * (ultimate - prestress) / (ultimate + endurance)


@formula(
    symbol="S_a",
    unit="MPa",
    text="amplitude borne from a preload, Gerber",
    args={"prestress": PRESTRESS, "endurance": ENDURANCE, "ultimate": ULTIMATE},
    source="SHIG9",
    where="eq. 8-46",
    valid="load from zero to P, joint not separated",
)
def preloaded_gerber(prestress: Any, endurance: Any, ultimate: Any) -> Any:
    """Strength amplitude S_a = (S_ut sqrt(S_ut^2 + 4 S_e (S_e + sigma_i)) - S_ut^2 - 2 sigma_i S_e) / (2 S_e) [MPa].

    Source: SHIG9 eq. 8-46. All broadcast.

    Args:
        prestress: sigma_i [MPa], 0 <= sigma_i < S_ut. endurance: S_e [MPa], > 0. ultimate: S_ut [MPa].

    Raises:
        ValueError: out of these bounds.
    """
    positive("endurance", endurance)
    _prestress(prestress, "ultimate", ultimate)
    root = sqrt(ultimate**2 + 4 * endurance * (endurance + prestress))
    return (ultimate * root - ultimate**2 - 2 * prestress * endurance) / (2 * endurance)


@formula(
    symbol="S_a",
    unit="MPa",
    text="amplitude borne from a preload, ASME-elliptic",
    args={"prestress": PRESTRESS, "endurance": ENDURANCE, "proof": PROOF},
    source="SHIG9",
    where="eq. 8-47",
    valid="load from zero to P, joint not separated",
)
def preloaded_elliptic(prestress: Any, endurance: Any, proof: Any) -> Any:
    """Strength amplitude S_a = S_e (S_p sqrt(S_p^2 + S_e^2 - sigma_i^2) - sigma_i S_e) / (S_p^2 + S_e^2) [MPa].

    Source: SHIG9 eq. 8-47. All broadcast.

    Args:
        prestress: sigma_i [MPa], 0 <= sigma_i < S_p. endurance: S_e [MPa], > 0. proof: S_p [MPa].

    Raises:
        ValueError: out of these bounds.
    """
    positive("endurance", endurance)
    _prestress(prestress, "proof", proof)
    root = sqrt(proof**2 + endurance**2 - prestress**2)
    return endurance * (proof * root - prestress * endurance) / (proof**2 + endurance**2)


@formula(
    symbol="S_a",
    unit="MPa",
    text="amplitude borne from a preload before yield",
    args={"prestress": PRESTRESS, "proof": PROOF},
    source="SHIG9",
    where="Langer line with the load line of sec. 8-11",
    valid="load from zero to P, joint not separated",
)
def preloaded_yield(prestress: Any, proof: Any) -> Any:
    """Amplitude S_a = (S_p - sigma_i) / 2 [MPa] that brings the peak to the proof strength. Source: SHIG9 sec. 8-11.

    Args:
        prestress: sigma_i [MPa], 0 <= sigma_i < S_p. proof: S_p [MPa]. Both broadcast.

    Raises:
        ValueError: out of these bounds.
    """
    _prestress(prestress, "proof", proof)
    return (proof - prestress) / 2
