"""Preloaded joint: sharing of load between screw and bone, and separation.

The forms are those of the bolted joint in metal; in bone the stiffness of the clamped part is not known.
Core units: mm, N, N/mm, MPa, N*mm. Loads are tensile (they open the joint), >= 0.
"""

from __future__ import annotations

from typing import Any

from fixplan.formula import formula
from fixplan.mechanics.guard import at_most, below, finite, not_negative, positive, ratio

K_B = ("k_b", "N/mm", "stiffness of the screw within the grip")
K_M = ("k_m", "N/mm", "stiffness of the clamped parts")
PRELOAD = ("F_i", "N", "preload")
SHARE = ("C", "1", "stiffness constant of the joint")
LOAD = ("P", "N", "external load that opens the joint")
AREA = ("A_t", "mm**2", "tensile stress area")
PROOF = ("S_p", "MPa", "proof strength")


def _share(share: Any) -> None:
    positive("share", share)
    below("share", share, "1", 1, "C = k_b / (k_b + k_m) lies between 0 and 1")


@formula(
    symbol="C",
    unit="1",
    text="stiffness constant of the joint",
    args={"screw": K_B, "members": K_M},
    source="SHIG9",
    where="sec. 8-7, definition of C",
    valid="joint not separated",
)
def stiffness_constant(screw: Any, members: Any) -> Any:
    """Share C = k_b / (k_b + k_m) [-] of an external load that the screw takes. Source: SHIG9 sec. 8-7.

    Args:
        screw, members: stiffnesses [N/mm], > 0; broadcast.

    Raises:
        ValueError: not positive.
    """
    positive("screw", screw)
    positive("members", members)
    return screw / (screw + members)


@formula(
    symbol="k_b",
    unit="N/mm",
    text="axial stiffness of a screw with a shank and a threaded part in the grip",
    args={
        "shank_area": ("A_d", "mm**2", "area of the shank"),
        "thread_area": AREA,
        "shank_length": ("l_d", "mm", "shank length in the grip"),
        "thread_length": ("l_t", "mm", "threaded length in the grip"),
        "E": ("E", "MPa", "modulus of the screw"),
    },
    source="SHIG9",
    where="eq. 8-17",
    valid="elastic",
)
def screw_stiffness(shank_area: Any, thread_area: Any, shank_length: Any, thread_length: Any, E: Any) -> Any:
    """Stiffness k_b = A_d A_t E / (A_d l_t + A_t l_d) [N/mm]. Source: SHIG9 eq. 8-17.

    Args:
        shank_area, thread_area: [mm2], > 0. shank_length, thread_length: [mm], > 0. E: [MPa], > 0. All broadcast.

    Raises:
        ValueError: not positive.
    """
    positive("shank_area", shank_area)
    positive("thread_area", thread_area)
    positive("shank_length", shank_length)
    positive("thread_length", thread_length)
    positive("E", E)
    return shank_area * thread_area * E / (shank_area * thread_length + thread_area * shank_length)


@formula(
    symbol="n_p",
    unit="1",
    text="factor against yield of the screw in the joint",
    args={"share": SHARE, "load": LOAD, "preload": PRELOAD, "area": AREA, "proof": PROOF},
    source="SHIG9",
    where="eq. 8-28",
    valid="joint not separated",
)
def joint_yield_factor(share: Any, load: Any, preload: Any, area: Any, proof: Any) -> Any:
    """Yielding factor n_p = S_p A_t / (C P + F_i) [-]. Source: SHIG9 eq. 8-28. All broadcast.

    Args:
        share: C [-], between 0 and 1. load: P [N], >= 0. preload: F_i [N], > 0. area: [mm2]. proof: [MPa].

    Raises:
        ValueError: out of these bounds.
    """
    _share(share)
    not_negative("load", load, "the load that opens the joint is positive")
    positive("preload", preload)
    positive("area", area)
    positive("proof", proof)
    return proof * area / (share * load + preload)


@formula(
    symbol="n_L",
    unit="1",
    text="load factor of the joint",
    args={"share": SHARE, "load": LOAD, "preload": PRELOAD, "area": AREA, "proof": PROOF},
    source="SHIG9",
    where="eq. 8-29",
    valid="joint not separated",
)
def load_factor(share: Any, load: Any, preload: Any, area: Any, proof: Any) -> Any:
    """Load factor n_L = (S_p A_t - F_i) / (C P) [-]: by how much P may grow. Source: SHIG9 eq. 8-29. All broadcast.

    Args:
        share: C [-], between 0 and 1. load: P [N], >= 0. preload: F_i [N], > 0, <= S_p A_t. area: [mm2]. proof: [MPa].

    Raises:
        ValueError: out of these bounds. At no load the factor is infinite.
    """
    _share(share)
    not_negative("load", load, "the load that opens the joint is positive")
    positive("preload", preload)
    positive("area", area)
    positive("proof", proof)
    at_most("preload", preload, "proof load", proof * area, "the preload alone would yield the screw")
    return ratio(proof * area - preload, share * load)


@formula(
    symbol="n_0",
    unit="1",
    text="factor against separation of the joint",
    args={"share": SHARE, "load": LOAD, "preload": PRELOAD},
    source="SHIG9",
    where="eq. 8-30",
    valid="load along the screw",
)
def separation_factor(share: Any, load: Any, preload: Any) -> Any:
    """Separation factor n_0 = F_i / (P (1 - C)) [-]. Source: SHIG9 eq. 8-30. All broadcast.

    Args:
        share: C [-], between 0 and 1. load: P [N], >= 0. preload: F_i [N], > 0.

    Raises:
        ValueError: out of these bounds. At no load the factor is infinite.
    """
    _share(share)
    not_negative("load", load, "the load that opens the joint is positive")
    positive("preload", preload)
    return ratio(preload, load * (1 - share))


@formula(
    symbol="P_0",
    unit="N",
    text="load at which the joint separates",
    args={"share": SHARE, "preload": PRELOAD},
    source="SHIG9",
    where="eq. 8-30 with n_0 = 1",
    valid="load along the screw",
)
def separation_load(share: Any, preload: Any) -> Any:
    """Separation load P_0 = F_i / (1 - C) [N]. Source: SHIG9 eq. 8-30 with n_0 = 1. All broadcast.

    Args:
        share: C [-], between 0 and 1. preload: F_i [N], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    _share(share)
    positive("preload", preload)
    return preload / (1 - share)


@formula(
    symbol="M_sep",
    unit="N*mm",
    text="bending moment at which a compressed fracture starts to open",
    args={
        "preload": ("F_p", "N", "compression across the fracture"),
        "modulus": ("Z", "mm**3", "section modulus of the contact area at the side that opens"),
        "area": ("A", "mm**2", "contact area"),
        "offset": ("e", "mm", "offset of the compression from the centroid, positive towards the side that opens"),
    },
    source="BICKFORD",
    where="linear contact stress; F_p (Z/A + e), the kern for e = 0",
    valid="flat elastic faces in full contact; |e| within the kern",
)
def separation_moment(preload: Any, modulus: Any, area: Any, offset: Any = 0.0) -> Any:
    """Separation moment M_sep = F_p (Z/A + e) [N*mm]: the contact stress at the opening side falls to zero.

    Source: linear stress F_p/A + F_p e/Z - M/Z = 0 on the contact area; concept BICKFORD (from memory). Broadcasts.

    Args:
        preload: F_p [N], >= 0. modulus: Z [mm3], > 0. area: A [mm2], > 0. offset: e [mm], signed.

    Raises:
        ValueError: out of these bounds, or an offset beyond the kern: the joint gapes under the compression alone.
    """
    not_negative("preload", preload)
    positive("modulus", modulus)
    positive("area", area)
    finite("offset", offset)
    kern = modulus / area
    below("-offset", -offset, "Z / A", kern, "outside the kern the faces gape before any load")
    return preload * (kern + offset)
