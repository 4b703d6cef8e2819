"""Local bending near a gap, at a hold and at plate screws: what a plain piecewise beam leaves out.

Against 3D solids the plain beam is always too stiff (a bar also bends inside the bone near each gap face).
The repair is an added span dL = beta*d of bar, half of it at each end of the free span. It enters as a hinge
with the compliance c = (dL/2)(1/EI_free - 1/EI_held) [rad/(N mm)] at each end: to first order the same as
replacing EI_held by EI_free over dL/2 beyond that end, and independent of the gap, so that it also holds at
gap 0. The cortex at a fracture face carries no load over that half span, so the faces open by the whole
(dL/2)/EI_free.

The same hinge is the end of a bar that hands its moment to the bone beside it over a length lambda = dL/2: two
beams that turn together, coupled by a layer that yields in proportion to the difference of their rotations
(m'' = m/lambda^2 for the bar's moment above its share; the equation of partial interaction and of shear lag). That
also gives a hold of finite length, beyond which bone runs on alone (the bed of a head): both its ends have such a
hinge, and where the bed is short they meet. Only the length that holds nothing at the bed's ends is fitted there.
Units: mm, N, MPa, N*mm, rad.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.formula import exp, formula, maximum, sqrt
from fixplan.mechanics import correction_data as data
from fixplan.mechanics.beam import Array


@dataclass(frozen=True)
class LocalBending:
    """Coefficients of the local corrections, their range, and where they come from.

    beta = bend sqrt(E_bar/E_bone) (1 - EI_bar/EI_composite)^exponent for a bar bonded up to the gap; a bed
    holds over its length less `bed_end` bar diameters. Plate screws add the working length
    screw_bending (E_plate/E_bone)^(1/4) t^2/d_core - screw_relief d_core, never less than nothing.
    hole_base - hole_width h/w + hole_thickness t/h is the peak stress at an empty hole over the nominal
    net-section stress. Ranges are (low, high), both included.
    """

    bend: float
    exponent: float
    bed_end: float
    screw_bending: float
    screw_relief: float
    hole_base: float
    hole_width: float
    hole_thickness: float
    E_ratio: tuple[float, float]
    outer_over_d: tuple[float, float]
    gap_mm: tuple[float, float]
    bed_over_d: tuple[float, float]
    thickness_over_core: tuple[float, float]
    hole_over_width: tuple[float, float]
    thickness_over_hole: tuple[float, float]
    origin: str


#: No correction at all: the plain piecewise beam.
PLAIN = LocalBending(
    bend=0.0,
    exponent=1.0,
    bed_end=0.0,
    screw_bending=0.0,
    screw_relief=0.0,
    hole_base=1.0,
    hole_width=0.0,
    hole_thickness=0.0,
    E_ratio=(0.0, np.inf),
    outer_over_d=(0.0, np.inf),
    gap_mm=(0.0, np.inf),
    bed_over_d=(0.0, np.inf),
    thickness_over_core=(0.0, np.inf),
    hole_over_width=(0.0, np.inf),
    thickness_over_hole=(0.0, np.inf),
    origin="plain beam",
)

#: What the constructs use unless told otherwise: fitted to 3D solids.
PROJECT_DEFAULT = LocalBending(
    bend=data.BEND,
    exponent=data.EXPONENT,
    bed_end=data.BED_END,
    screw_bending=data.SCREW_BENDING,
    screw_relief=data.SCREW_RELIEF,
    hole_base=data.HOLE_BASE,
    hole_width=data.HOLE_WIDTH,
    hole_thickness=data.HOLE_THICKNESS,
    E_ratio=data.E_RATIO,
    outer_over_d=data.OUTER_OVER_D,
    gap_mm=data.GAP_MM,
    bed_over_d=data.BED_OVER_D,
    thickness_over_core=data.THICKNESS_OVER_CORE,
    hole_over_width=data.HOLE_OVER_WIDTH,
    thickness_over_hole=data.THICKNESS_OVER_HOLE,
    origin=data.ORIGIN,
)


@formula(
    symbol="beta",
    unit="1",
    text="added span of a bar at a gap, over its diameter",
    args={
        "bend": ("c_b", "1", "coefficient"),
        "exponent": ("p", "1", "exponent of the share of stiffness lost at the gap"),
        "E_ratio": ("n", "1", "modulus of the bar over that of bone"),
        "lost": ("s", "1", "share of the composite's flexural rigidity lost in the gap, 1 - EI_f/EI_h"),
    },
    source="SOLIDS",
    where="form fitted to 3D solids",
    valid="the range of the coefficients",
)
def added_span_ratio(bend: Any, exponent: Any, E_ratio: Any, lost: Any) -> Any:
    """Added span over bar diameter, beta [-]."""
    return bend * sqrt(E_ratio) * lost**exponent


@formula(
    symbol="c",
    unit="rad/(N*mm)",
    text="compliance of the hinge that stands for half the added span",
    args={
        "span": ("dL", "mm", "added span, both ends together"),
        "EI_free": ("EI_f", "N*mm**2", "flexural rigidity of the free span"),
        "EI_held": ("EI_h", "N*mm**2", "flexural rigidity of the section that holds it"),
    },
    source="SOLIDS",
    where="tests/solids, local bending at the seat of a bar or a plate screw",
)
def end_compliance(span: Any, EI_free: Any, EI_held: Any) -> Any:
    """Rotation per moment [rad/(N mm)] added at one end of the free span."""
    return span / 2 * (1 / EI_free - 1 / EI_held)


@formula(
    symbol="c",
    unit="rad/(N*mm)",
    text="bending of half the added span, by one section's rigidity alone",
    args={
        "span": ("dL", "mm", "added span, both ends together"),
        "EI": ("EI", "N*mm**2", "flexural rigidity"),
    },
    source="SOLIDS",
    where="tests/solids, local bending at the seat of a bar or a plate screw",
)
def half_span_compliance(span: Any, EI: Any) -> Any:
    """Rotation per moment [rad/(N mm)] of half the added span.

    With the held section's rigidity: what the faces of a fracture open beyond the hinge, because the cortex near a
    face carries no load.
    """
    return span / 2 / EI


def _ends(span: Any, held: Any) -> tuple[Any, Any]:
    """coth and csch of held/(dL/2), from one exponential that cannot overflow."""
    e = exp(-held / (span / 2))
    return (1 + e**2) / (1 - e**2), 2 * e / (1 - e**2)


_BED = {
    "span": ("dL", "mm", "added span of the bar at a gap, both ends together"),
    "EI_bar": ("EI_i", "N*mm**2", "flexural rigidity of the bar"),
    "EI_bone": ("EI_b", "N*mm**2", "flexural rigidity of the bone beside it"),
    "held": ("z_e", "mm", "length over which the bed holds"),
}


@formula(
    symbol="c_s",
    unit="rad/(N*mm)",
    text="turn of a bar in a bed beyond which bone runs on alone, above that of the bone",
    args={**_BED, "bed": ("z", "mm", "length of the bed within the beam")},
    source="SOLIDS",
    where="derived: two beams coupled along the bed, dL/2 the length of transfer",
)
def bed_compliance(span: Any, EI_bar: Any, EI_bone: Any, held: Any, bed: Any) -> Any:
    """Rotation per moment [rad/(N mm)] to add at the bed's end to a beam whose bed is bone alone.

    With s = EI_i/(EI_i + EI_b): the bar's moment falls from all of it at the bed's end to none at the bar's, so that
    the energy of both beams and of the layer between them is that of one section plus
    (dL/2)/EI_red ((s^2 + (1-s)^2) coth + 2 s (1-s) csch), EI_red = s EI_b. A long bed gives the hinge of a gap face
    and one at the bar's end, (dL/2)(s/EI_b); a short one goes with 1/z_e. Derived in the module's head.
    """
    whole = EI_bar + EI_bone
    share = EI_bar / whole
    coth, csch = _ends(span, held)
    ends = (share**2 + (1 - share) ** 2) * coth + 2 * share * (1 - share) * csch
    return bed * (1 / whole - 1 / EI_bone) + span / 2 * whole / (EI_bar * EI_bone) * ends


@formula(
    symbol="c_f",
    unit="rad/(N*mm)",
    text="turn of a bar against the bone at the end of its bed",
    args=_BED,
    source="SOLIDS",
    where="derived: two beams coupled along the bed, dL/2 the length of transfer",
)
def bed_face_compliance(span: Any, EI_bar: Any, EI_bone: Any, held: Any) -> Any:
    """Rotation per moment [rad/(N mm)] between bar and bone where the bar leaves its bed: what a fracture beyond opens.

    (dL/2)/EI_red ((1-s) coth + s csch), symbols as in `bed_compliance`; (dL/2)/EI_i for a long bed, as at a gap face.
    """
    whole = EI_bar + EI_bone
    share = EI_bar / whole
    coth, csch = _ends(span, held)
    return span / 2 * whole / (EI_bar * EI_bone) * ((1 - share) * coth + share * csch)


@formula(
    symbol="dL",
    unit="mm",
    text="working length added by the bending of plate screws",
    args={
        "bending": ("c_s", "1", "coefficient of the screws' bending"),
        "relief": ("c_r", "1", "part of a screw's diameter over which the plate cannot bend"),
        "E_ratio": ("n", "1", "modulus of plate and screws over that of bone"),
        "thickness": ("t", "mm", "plate thickness"),
        "core": ("d_5", "mm", "core diameter of the plate screws"),
    },
    source="SOLIDS",
    where="form fitted to 3D solids: more for thicker plates and thinner screws",
    valid="the range of the coefficients",
)
def screw_bending_span(bending: Any, relief: Any, E_ratio: Any, thickness: Any, core: Any) -> Any:
    """Working length [mm] added to a plate held by screws, both ends together; not below 0."""
    return maximum(bending * sqrt(sqrt(E_ratio)) * thickness**2 / core - relief * core, 0)


@formula(
    symbol="k_h",
    unit="1",
    text="peak over nominal net-section stress at an empty hole, plate bent through its thickness",
    args={
        "base": ("c_h", "1", "constant"),
        "by_width": ("c_w", "1", "weight of hole over width"),
        "by_thickness": ("c_t", "1", "weight of thickness over hole"),
        "hole": ("h", "mm", "hole diameter"),
        "width": ("w", "mm", "plate width"),
        "thickness": ("t", "mm", "plate thickness"),
    },
    source="SOLIDS",
    where="form fitted to 3D solids of a strip with a hole",
    valid="the range of the coefficients",
)
def hole_stress(base: Any, by_width: Any, by_thickness: Any, hole: Any, width: Any, thickness: Any) -> Any:
    """Peak stress at the edge of an empty hole over 6 M/((w - h) t^2)."""
    return base - by_width * hole / width + by_thickness * thickness / hole


def within(value: npt.ArrayLike, bounds: tuple[float, float]) -> npt.NDArray[np.bool_]:
    """True where a value lies in the calibrated range, both ends included."""
    v: Array = np.asarray(value, dtype=np.float64)
    return (v >= bounds[0]) & (v <= bounds[1])
