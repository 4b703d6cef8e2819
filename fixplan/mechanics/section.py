"""Section properties in closed form: circle, annulus, ellipse, hollow ellipse, rectangle, two-part composite.

Units: mm, N, MPa. Widths, heights and diameters are full sizes, never half sizes, unless an argument says so.
A section bends about the axis along its width: `height` is its size in the plane of bending, so the bone's
plane y (force from plantar) takes height = outer size on the lateral film, and plane x takes that on the AP
film. Nothing is checked here: the functions accept SymPy symbols. `parts.py` refuses impossible geometry.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.formula import formula, pi_like

_D = ("d", "mm", "diameter")
_DO = ("d_o", "mm", "outer diameter")
_DI = ("d_i", "mm", "inner diameter, 0 when solid")
_B = ("B", "mm", "outer width, along the bending axis")
_H = ("H", "mm", "outer height, in the plane of bending")
_BI = ("b", "mm", "inner width")
_HI = ("h", "mm", "inner height")
_W = ("w", "mm", "width, along the bending axis")
_T = ("t", "mm", "thickness, in the plane of bending")


@formula(symbol="A", unit="mm**2", text="area of a circle", args={"d": _D}, source="GERE7", where="App. D")
def area_circle(d: Any) -> Any:
    """Area [mm2] of a circle of diameter d [mm]."""
    return pi_like(d) * d**2 / 4


@formula(symbol="I", unit="mm**4", text="second moment of a circle", args={"d": _D}, source="GERE7", where="App. D")
def second_moment_circle(d: Any) -> Any:
    """Second moment of area [mm4] of a circle about a diameter."""
    return pi_like(d) * d**4 / 64


@formula(
    symbol="Z", unit="mm**3", text="section modulus of a circle", args={"d": _D}, source="SHIG9", where="table A-18"
)
def section_modulus_circle(d: Any) -> Any:
    """Elastic section modulus [mm3] of a circle."""
    return pi_like(d) * d**3 / 32


@formula(
    symbol="J", unit="mm**4", text="polar second moment of a circle", args={"d": _D}, source="GERE7", where="eq. 3-10"
)
def polar_circle(d: Any) -> Any:
    """Polar second moment, also torsion constant [mm4], of a circle."""
    return pi_like(d) * d**4 / 32


@formula(
    symbol="A", unit="mm**2", text="area of an annulus", args={"d_o": _DO, "d_i": _DI}, source="GERE7", where="App. D"
)
def area_annulus(d_o: Any, d_i: Any) -> Any:
    """Area [mm2] of a circular tube."""
    return pi_like(d_o, d_i) * (d_o**2 - d_i**2) / 4


@formula(
    symbol="I",
    unit="mm**4",
    text="second moment of an annulus",
    args={"d_o": _DO, "d_i": _DI},
    source="MACHHB",
    where="moments of inertia of sections",
)
def second_moment_annulus(d_o: Any, d_i: Any) -> Any:
    """Second moment of area [mm4] of a circular tube about a diameter."""
    return pi_like(d_o, d_i) * (d_o**4 - d_i**4) / 64


@formula(
    symbol="Z",
    unit="mm**3",
    text="section modulus of an annulus",
    args={"d_o": _DO, "d_i": _DI},
    source="MACHHB",
    where="moments of inertia of sections",
)
def section_modulus_annulus(d_o: Any, d_i: Any) -> Any:
    """Elastic section modulus [mm3] of a circular tube."""
    return pi_like(d_o, d_i) * (d_o**4 - d_i**4) / (32 * d_o)


@formula(
    symbol="J",
    unit="mm**4",
    text="polar second moment of an annulus",
    args={"d_o": _DO, "d_i": _DI},
    source="GERE7",
    where="eq. 3-16",
)
def polar_annulus(d_o: Any, d_i: Any) -> Any:
    """Polar second moment, also torsion constant [mm4], of a circular tube."""
    return pi_like(d_o, d_i) * (d_o**4 - d_i**4) / 32


@formula(
    symbol="A",
    unit="mm**2",
    text="area of an ellipse",
    args={"width": _B, "height": _H},
    source="GERE7",
    where="App. D",
)
def area_ellipse(width: Any, height: Any) -> Any:
    """Area [mm2] of an ellipse of the given full width and height."""
    return pi_like(width, height) * width * height / 4


@formula(
    symbol="I",
    unit="mm**4",
    text="second moment of an ellipse",
    args={"width": _B, "height": _H},
    source="GERE7",
    where="App. D",
)
def second_moment_ellipse(width: Any, height: Any) -> Any:
    """Second moment of area [mm4] of an ellipse about its width axis."""
    return pi_like(width, height) * width * height**3 / 64


@formula(
    symbol="A",
    unit="mm**2",
    text="area of a hollow ellipse",
    args={"width": _B, "height": _H, "width_i": _BI, "height_i": _HI},
    source="MACHHB",
    where="moments of inertia of sections",
)
def area_hollow_ellipse(width: Any, height: Any, width_i: Any, height_i: Any) -> Any:
    """Area [mm2] of an ellipse with a concentric elliptical hole."""
    return pi_like(width, height, width_i, height_i) * (width * height - width_i * height_i) / 4


@formula(
    symbol="I",
    unit="mm**4",
    text="second moment of a hollow ellipse",
    args={"width": _B, "height": _H, "width_i": _BI, "height_i": _HI},
    source="MACHHB",
    where="moments of inertia of sections",
    valid="hole concentric with the outline",
)
def second_moment_hollow_ellipse(width: Any, height: Any, width_i: Any, height_i: Any) -> Any:
    """Second moment of area [mm4] of a hollow ellipse about its width axis."""
    return pi_like(width, height, width_i, height_i) * (width * height**3 - width_i * height_i**3) / 64


@formula(
    symbol="Z",
    unit="mm**3",
    text="section modulus of a hollow ellipse",
    args={"width": _B, "height": _H, "width_i": _BI, "height_i": _HI},
    source="MACHHB",
    where="moments of inertia of sections",
    valid="hole concentric with the outline",
)
def section_modulus_hollow_ellipse(width: Any, height: Any, width_i: Any, height_i: Any) -> Any:
    """Elastic section modulus [mm3] of a hollow ellipse, I/(H/2)."""
    return pi_like(width, height, width_i, height_i) * (width * height**3 - width_i * height_i**3) / (32 * height)


@formula(symbol="A", unit="mm**2", text="area of a rectangle", args={"w": _W, "t": _T}, source="GERE7", where="App. D")
def area_rectangle(w: Any, t: Any) -> Any:
    """Area [mm2] of a rectangle."""
    return w * t


@formula(
    symbol="I",
    unit="mm**4",
    text="second moment of a rectangle",
    args={"w": _W, "t": _T},
    source="GERE7",
    where="App. D",
)
def second_moment_rectangle(w: Any, t: Any) -> Any:
    """Second moment of area [mm4] of a rectangle about its width axis."""
    return w * t**3 / 12


@formula(
    symbol="Z",
    unit="mm**3",
    text="section modulus of a rectangle",
    args={"w": _W, "t": _T},
    source="GERE7",
    where="ch. 5",
)
def section_modulus_rectangle(w: Any, t: Any) -> Any:
    """Elastic section modulus [mm3] of a rectangle."""
    return w * t**2 / 6


_HOLE = ("d_h", "mm", "hole diameter, through the thickness")


@formula(
    symbol="I_net",
    unit="mm**4",
    text="plate at a hole, bent through its thickness",
    args={"w": _W, "t": _T, "hole": _HOLE},
    source="GERE7",
    where="App. D, rectangle less rectangle",
    valid="hole on the centre line",
)
def second_moment_net_flat(w: Any, t: Any, hole: Any) -> Any:
    """Second moment [mm4] of a plate's net section at a hole, bending through the thickness t."""
    return (w - hole) * t**3 / 12


@formula(
    symbol="I_net",
    unit="mm**4",
    text="plate at a hole, bent edgewise",
    args={"w": ("w", "mm", "width, in the plane of bending"), "t": ("t", "mm", "thickness"), "hole": _HOLE},
    source="GERE7",
    where="App. D, rectangle less rectangle",
    valid="hole on the centre line",
)
def second_moment_net_edge(w: Any, t: Any, hole: Any) -> Any:
    """Second moment [mm4] of a plate's net section at a hole, bending edgewise, across the width w."""
    return t * (w**3 - hole**3) / 12


_EI1 = ("EI_1", "N*mm**2", "flexural rigidity of part 1 about its own centroid")
_EI2 = ("EI_2", "N*mm**2", "flexural rigidity of part 2 about its own centroid")
_EA1 = ("EA_1", "N", "axial rigidity of part 1")
_EA2 = ("EA_2", "N", "axial rigidity of part 2")
_Y1 = ("y_1", "mm", "centroid of part 1")
_Y2 = ("y_2", "mm", "centroid of part 2")


@formula(
    symbol="y_c",
    unit="mm",
    text="centroid of a two-part composite section",
    args={"EA_1": _EA1, "y_1": _Y1, "EA_2": _EA2, "y_2": _Y2},
    source="GERE7",
    where="ch. 6, transformed section",
    valid="the interface carries shear",
)
def composite_centroid(EA_1: Any, y_1: Any, EA_2: Any, y_2: Any) -> Any:
    """Centroid [mm] of a bonded two-part section, weighted by axial rigidity."""
    return (EA_1 * y_1 + EA_2 * y_2) / (EA_1 + EA_2)


@formula(
    symbol="EI_c",
    unit="N*mm**2",
    text="flexural rigidity of a bonded two-part section",
    args={"EI_1": _EI1, "EA_1": _EA1, "y_1": _Y1, "EI_2": _EI2, "EA_2": _EA2, "y_2": _Y2},
    source="GERE7",
    where="ch. 6, transformed section",
    valid="the interface carries shear",
)
def composite_EI(EI_1: Any, EA_1: Any, y_1: Any, EI_2: Any, EA_2: Any, y_2: Any) -> Any:
    """Flexural rigidity [N mm2] of a bonded two-part section about the common centroid."""
    return EI_1 + EI_2 + EA_1 * EA_2 / (EA_1 + EA_2) * (y_2 - y_1) ** 2


@formula(
    symbol="EI_u",
    unit="N*mm**2",
    text="flexural rigidity of two parts that slide on each other",
    args={"EI_1": _EI1, "EI_2": _EI2},
    source="GERE7",
    where="ch. 6",
    valid="no shear across the interface",
)
def unbonded_EI(EI_1: Any, EI_2: Any) -> Any:
    """Flexural rigidity [N mm2] of two unbonded parts: the sum about their own centroids."""
    return EI_1 + EI_2


@formula(
    symbol="sigma",
    unit="MPa",
    text="bending stress in one material of a composite section",
    args={
        "M": ("M", "N*mm", "moment, positive when it pulls on the negative side"),
        "E": ("E", "MPa", "modulus of the material at the point"),
        "y": ("y", "mm", "coordinate of the point"),
        "y_c": ("y_c", "mm", "composite centroid"),
        "EI": ("EI_c", "N*mm**2", "composite flexural rigidity"),
    },
    source="GERE7",
    where="ch. 6",
)
def composite_stress(M: Any, E: Any, y: Any, y_c: Any, EI: Any) -> Any:
    """Bending stress [MPa], tension positive, at coordinate y of a composite section."""
    return -M * E * (y - y_c) / EI


@formula(
    symbol="e",
    unit="mm",
    text="offset of a plate's centroid from the bone's axis",
    args={
        "outer": ("H", "mm", "bone's outer size under the plate"),
        "standoff": ("g_s", "mm", "standoff between plate and bone"),
        "thickness": ("t", "mm", "plate thickness"),
    },
    source="GERE7",
    where="ch. 6, geometry",
)
def plate_offset(outer: Any, standoff: Any, thickness: Any) -> Any:
    """Distance [mm] between the bone's axis and the centroid of a plate standing off its surface."""
    return outer / 2 + standoff + thickness / 2


def transformed_section(
    E: npt.ArrayLike,
    A: npt.ArrayLike,
    I: npt.ArrayLike,  # noqa: E741
    y: npt.ArrayLike,
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Centroid [mm] and flexural rigidity [N mm2] of any number of bonded parts, along the last axis.

    Source: Gere, ch. 6: y_c = sum(E A y)/sum(E A); EI = sum(E (I + A (y - y_c)^2)).
    """
    E_, A_, I_, y_ = np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in (E, A, I, y)))
    EA = E_ * A_
    y_c = (EA * y_).sum(-1) / EA.sum(-1)
    return y_c, (E_ * I_ + EA * (y_ - y_c[..., None]) ** 2).sum(-1)


# Torsion

_Q = ("q", "1", "inner size over outer size, the same in both axes")
_TQ = ("T", "N*mm", "torque")


@formula(
    symbol="J",
    unit="mm**4",
    text="torsion constant of a hollow ellipse, canal similar to the outline",
    args={"width": _B, "height": _H, "q": _Q},
    source="ROARK-a",
    where="table 10.1",
    valid="canal concentric, similar to the outline",
)
def torsion_hollow_ellipse(width: Any, height: Any, q: Any) -> Any:
    """Torsion constant [mm4]: pi a^3 b^3/(a^2+b^2) (1-q^4) with semi-axes a, b."""
    a, b = width / 2, height / 2
    return pi_like(width, height, q) * a**3 * b**3 / (a**2 + b**2) * (1 - q**4)


@formula(
    symbol="tau_max",
    unit="MPa",
    text="greatest shear stress of a hollow ellipse in torsion",
    args={
        "T": _TQ,
        "long_axis": ("D_a", "mm", "longer outer size"),
        "short_axis": ("D_b", "mm", "shorter outer size"),
        "q": _Q,
    },
    source="ROARK-b",
    where="table 10.1",
    valid="short axis not above the long axis; canal concentric and similar",
)
def torsion_stress_hollow_ellipse(T: Any, long_axis: Any, short_axis: Any, q: Any) -> Any:
    """Shear stress [MPa] at the ends of the short axis, 2T/(pi a b^2 (1-q^4))."""
    return 2 * T / (pi_like(T, long_axis, short_axis, q) * (long_axis / 2) * (short_axis / 2) ** 2 * (1 - q**4))


_WALL = ("t", "mm", "wall thickness")


@formula(
    symbol="J",
    unit="mm**4",
    text="torsion constant of a thin elliptical tube",
    args={"width": _B, "height": _H, "wall": _WALL},
    source="ROARK",
    where="table 10.1, thin tube of uniform wall",
    valid="wall thin against both sizes",
)
def torsion_thin_ellipse(width: Any, height: Any, wall: Any) -> Any:
    """Torsion constant [mm4] of a thin elliptical tube of uniform wall."""
    a, b, t = width / 2, height / 2, wall
    pi = pi_like(width, height, wall)
    median = pi * (a + b - t) * (1 + 0.258 * (a - b) ** 2 / (a + b - t) ** 2)
    return 4 * pi**2 * t * (a - t / 2) ** 2 * (b - t / 2) ** 2 / median


@formula(
    symbol="tau",
    unit="MPa",
    text="mean shear stress of a thin closed tube",
    args={"T": _TQ, "wall": _WALL, "area": ("A_m", "mm**2", "area inside the wall's median line")},
    source="BEERJ",
    where="eq. 3.53 (Bredt)",
    valid="wall thin against the section",
)
def torsion_stress_thin_tube(T: Any, wall: Any, area: Any) -> Any:
    """Shear stress [MPa] in the wall of a thin closed tube, T/(2 t A_m)."""
    return T / (2 * wall * area)


@formula(
    symbol="tau_max",
    unit="MPa",
    text="greatest shear stress of a round bar or tube in torsion",
    args={"T": _TQ, "d_o": _DO, "d_i": _DI},
    source="GERE7",
    where="eq. 3-13",
)
def torsion_stress_annulus(T: Any, d_o: Any, d_i: Any) -> Any:
    """Shear stress [MPa] at the surface of a round bar or tube."""
    return 16 * T * d_o / (pi_like(T, d_o, d_i) * (d_o**4 - d_i**4))


@formula(
    symbol="phi",
    unit="rad",
    text="twist of a uniform bar",
    args={
        "T": _TQ,
        "length": ("L", "mm", "length"),
        "G": ("G", "MPa", "shear modulus"),
        "J": ("J", "mm**4", "torsion constant"),
    },
    source="GERE7",
    where="eq. 3-17",
)
def twist(T: Any, length: Any, G: Any, J: Any) -> Any:
    """Angle of twist [rad] of a uniform bar, T L/(G J)."""
    return T * length / (G * J)


@formula(
    symbol="J",
    unit="mm**4",
    text="torsion constant of a rectangle",
    args={"w": ("w", "mm", "longer side"), "t": ("t", "mm", "shorter side")},
    source="ROARK",
    where="table 10.1, solid rectangle",
    valid="shorter side not above the longer; error below 4 %",
)
def torsion_rectangle(w: Any, t: Any) -> Any:
    """Torsion constant [mm4] of a rectangle: a b^3 (16/3 - 3.36 b/a (1 - b^4/(12 a^4))), half sides a >= b."""
    a, b = w / 2, t / 2
    return a * b**3 * (16 / 3 - 3.36 * b / a * (1 - b**4 / (12 * a**4)))


@formula(
    symbol="tau_max",
    unit="MPa",
    text="greatest shear stress of a rectangle in torsion",
    args={"T": _TQ, "w": ("w", "mm", "longer side"), "t": ("t", "mm", "shorter side")},
    source="ROARK",
    where="table 10.1, solid rectangle",
    valid="shorter side not above the longer; error below 4 %",
)
def torsion_stress_rectangle(T: Any, w: Any, t: Any) -> Any:
    """Shear stress [MPa] at the middle of the longer side."""
    r = t / w
    return 3 * T / (w * t**2) * (1 + 0.6095 * r + 0.8865 * r**2 - 1.8023 * r**3 + 0.91 * r**4)


@formula(
    symbol="G",
    unit="MPa",
    text="shear modulus of an isotropic material",
    args={"E": ("E", "MPa", "Young's modulus"), "nu": ("nu", "1", "Poisson ratio")},
    source="GERE7",
    where="eq. 3-38",
    valid="isotropic",
)
def shear_modulus(E: Any, nu: Any) -> Any:
    """Shear modulus [MPa] from Young's modulus and Poisson's ratio."""
    return E / (2 * (1 + nu))
