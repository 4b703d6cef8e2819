"""From a moment at a section to the stress there, step by step: what the worked lines of a plan print.

The beams compute the same stresses per unit of load (`evaluate.Hot`); `tests/unit/test_worksheet.py` holds the two
together. Units: mm, N, MPa, N*mm.
"""

from __future__ import annotations

from typing import Any

from fixplan.formula import formula

_M = ("M", "N*mm", "moment carried by the section, magnitude")
_Z = ("Z", "mm**3", "section modulus")
_F_HEAD = ("F", "N", "force across the bone at the head")
_E_S = ("E_i", "MPa", "modulus of the implant")
_I_S = ("I_i", "mm**4", "second moment of the implant")


@formula(
    symbol="M",
    unit="N*mm",
    text="moment between the inner rollers of a four-point test",
    args={"force": ("F", "N", "whole load, half on each inner roller"), "arm": ("a", "mm", "outer to inner roller")},
    source="GERE7",
    where="ch. 4, shear and moment of a beam with two equal loads",
    valid="between the inner rollers",
)
def four_point_moment(force: Any, arm: Any) -> Any:
    """M = F/2 a [N*mm]."""
    return force / 2 * arm


@formula(
    symbol="Z_net",
    unit="mm**3",
    text="section modulus of a plate at a hole, bent edgewise",
    args={
        "w": ("w", "mm", "width, in the plane of bending"),
        "t": ("t", "mm", "thickness"),
        "hole": ("d_h", "mm", "hole diameter, through the thickness"),
    },
    source="GERE7",
    where="App. D, rectangle less rectangle, over half the width",
    valid="hole on the centre line",
)
def section_modulus_net_edge(w: Any, t: Any, hole: Any) -> Any:
    """Z_net = t (w^3 - d_h^3) / (6 w) [mm3]."""
    return t * (w**3 - hole**3) / (6 * w)


@formula(
    symbol="Z_net",
    unit="mm**3",
    text="section modulus of a plate at a hole, bent through its thickness",
    args={
        "w": ("w", "mm", "width, along the bending axis"),
        "t": ("t", "mm", "thickness, in the plane of bending"),
        "hole": ("d_h", "mm", "hole diameter, through the thickness"),
    },
    source="GERE7",
    where="App. D and ch. 5, rectangle less rectangle",
    valid="hole on the centre line",
)
def section_modulus_net_flat(w: Any, t: Any, hole: Any) -> Any:
    """Z_net = (w - d_h) t^2 / 6 [mm3]."""
    return (w - hole) * t**2 / 6


@formula(
    symbol="sigma",
    unit="MPa",
    text="bending stress at the edge of a section",
    args={"moment": _M, "modulus": _Z},
    source="GERE7",
    where="flexure formula, ch. 5",
    valid="linear elastic, the section alone",
)
def flexure_stress(moment: Any, modulus: Any) -> Any:
    """sigma = M / Z [MPa]."""
    return moment / modulus


@formula(
    symbol="sigma",
    unit="MPa",
    text="peak stress at the edge of an empty hole",
    args={"factor": ("k_h", "1", "peak over nominal stress at the hole"), "moment": _M, "modulus": _Z},
    source="SOLIDS",
    where="flexure formula on the net section, raised by the factor fitted to 3D solids",
    valid="linear elastic, the plate alone",
)
def hole_peak(factor: Any, moment: Any, modulus: Any) -> Any:
    """sigma = k_h M / Z [MPa]."""
    return factor * moment / modulus


@formula(
    symbol="sigma",
    unit="MPa",
    text="bending stress at the edge of an implant that bends together with bone, or with callus",
    args={
        "moment": ("M", "N*mm", "moment of the whole section, magnitude"),
        "E": _E_S,
        "reach": ("c", "mm", "distance from the common axis to the implant's edge"),
        "EI": ("EI_c", "N*mm**2", "flexural rigidity of the whole section"),
    },
    source="GERE7",
    where="ch. 6, transformed section",
    valid="linear elastic, no slip",
)
def shared_stress(moment: Any, E: Any, reach: Any, EI: Any) -> Any:
    """sigma = M E_i c / EI_c [MPa]."""
    return moment * E * reach / EI


@formula(
    symbol="EI_c",
    unit="N*mm**2",
    text="flexural rigidity of bone and implant about one axis: with one centroid the rigidities add",
    args={
        "E_1": ("E_b", "MPa", "modulus of the bone, or of callus"),
        "I_1": ("I_b", "mm**4", "second moment of the bone"),
        "E_2": _E_S,
        "I_2": _I_S,
    },
    source="GERE7",
    where="ch. 6, transformed section",
    valid="both centroids on the axis of bending",
)
def concentric_EI(E_1: Any, I_1: Any, E_2: Any, I_2: Any) -> Any:
    """EI_c = E_b I_b + E_i I_i [N mm2]."""
    return E_1 * I_1 + E_2 * I_2


@formula(
    symbol="M_o",
    unit="N*mm",
    text="moment beyond separation, which the implant alone carries",
    args={
        "moment": ("M", "N*mm", "moment at the fracture"),
        "separation": ("M_sep", "N*mm", "moment at which the fracture starts to open"),
    },
    source="BICKFORD",
    where="after separation the joint takes no more",
    valid="moment above the separation moment",
)
def moment_beyond(moment: Any, separation: Any) -> Any:
    """M_o = M - M_sep [N*mm]."""
    return moment - separation


@formula(
    symbol="M_x",
    unit="N*mm",
    text="the same moment at another section of the implant, from levers to the head",
    args={
        "moment": ("M_o", "N*mm", "moment at the fracture"),
        "lever_x": ("l_x", "mm", "lever from the head to the section"),
        "lever": ("l", "mm", "lever from the head to the fracture"),
    },
    source="GERE7",
    where="cantilever with an end load, ch. 4: the moment grows with the lever",
    valid="one force at the head",
)
def moment_at_section(moment: Any, lever_x: Any, lever: Any) -> Any:
    """M_x = M_o l_x / l [N*mm]."""
    return moment * lever_x / lever


@formula(
    symbol="M_i",
    unit="N*mm",
    text="the implant's part of a moment that bone and implant carry together",
    args={
        "share": ("k", "1", "share of the implant, from equal turning and deflection of both between its holds"),
        "moment": ("M_1", "N*mm", "moment at the fracture while both carry"),
    },
    source="GERE7",
    where="ch. 10, force method; the share is solved, it has no single formula",
    valid="faces in contact, or callus in the gap",
)
def implant_part(share: Any, moment: Any) -> Any:
    """M_i = k M_1 [N*mm]."""
    return share * moment


@formula(
    symbol="sigma_p",
    unit="MPa",
    text="tension of the screw that compresses the fracture",
    args={"preload": ("F_p", "N", "compression across the fracture"), "area": ("A_i", "mm**2", "area of the screw")},
    source="SHIG9",
    where="stress of a preloaded screw, ch. 8",
    valid="all compression comes from the screw",
)
def preload_stress(preload: Any, area: Any) -> Any:
    """sigma_p = F_p / A_i [MPa]."""
    return preload / area


@formula(
    symbol="sigma",
    unit="MPa",
    text="peak stress: what bends both, what bends the implant alone, and the screw's tension",
    args={
        "together": ("sigma_1", "MPa", "bending stress while the faces touch"),
        "alone": ("sigma_2", "MPa", "bending stress from the moment beyond separation"),
        "tension": ("sigma_p", "MPa", "tension from compressing the fracture"),
    },
    source="GERE7",
    where="superposition, ch. 5",
    valid="linear between separation and load",
)
def sum_of_stresses(together: Any, alone: Any, tension: Any) -> Any:
    """sigma = sigma_1 + sigma_2 + sigma_p [MPa]."""
    return together + alone + tension


@formula(
    symbol="K",
    unit="N/mm",
    text="stiffness: load over the deflection where it acts",
    args={"force": _F_HEAD, "deflection": ("v", "mm", "deflection at the load, in its direction")},
    source="GERE7",
    where="ch. 9; the deflection is integrated along the bone, piece by piece",
    valid="secant where the fracture opens under load",
)
def load_stiffness(force: Any, deflection: Any) -> Any:
    """K = F / v [N/mm]."""
    return force / deflection


@formula(
    symbol="r_K",
    unit="1",
    text="stiffness of the construct over that of the unbroken bone",
    args={
        "stiffness": ("K", "N/mm", "stiffness of the construct"),
        "intact": ("K_0", "N/mm", "stiffness of the unbroken bone, same load"),
    },
    source="GERE7",
    where="ratio of two stiffnesses, ch. 9",
)
def stiffness_ratio(stiffness: Any, intact: Any) -> Any:
    """r_K = K / K_0 [-]."""
    return stiffness / intact
