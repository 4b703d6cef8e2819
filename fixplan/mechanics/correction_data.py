"""Coefficients of the local corrections, fitted to three-dimensional finite elements, with their range and residuals.

Origin: solids of `tests/solids` (bar bonded across a gap, bar held at its ends, plate on posts, strip with a hole),
least squares of the relative errors of tip deflection and gap opening over the cases not left out (of strips, of the
peak stress, none left out); `tests/solids/fit.py` prints these numbers. Everything in a solid is bonded: real threads
are softer, so the corrections are a lower bound of the softening. How a construct uses them, and in which beam, is
said in `correction.py`. Lengths in mm, residuals in %.
"""

from __future__ import annotations

from dataclasses import dataclass

#: id of the origin in the list of sources
ORIGIN = "SOLIDS"
ORIGIN_TEXT = (
    "Fitted to this project's own three-dimensional finite elements of idealised shapes (tests/solids), "
    "a third or more of the bars and plates left out, of the strips with a hole none; perfect bonding, linear, "
    "short-term."
)

# bar: beta = BEND sqrt(E_bar/E_bone) (1 - EI_bar/EI_composite)^EXPONENT
BEND = 0.41
EXPONENT = 0.55
# bar held over a bed of finite length: the part of the bed, in bar diameters, over which it holds nothing
BED_END = 0.09

# plate: dL = SCREW_BENDING (E_plate/E_bone)^(1/4) t^2/d_core - SCREW_RELIEF d_core, not below 0
SCREW_BENDING = 1.16
SCREW_RELIEF = 0.41

# empty hole: peak over nominal net-section stress = HOLE_BASE - HOLE_WIDTH h/w + HOLE_THICKNESS t/h, all strips fitted
HOLE_BASE = 1.60
HOLE_WIDTH = 0.74
HOLE_THICKNESS = 0.25

# range of the solids, both ends included
E_RATIO = (5.5, 19.3)
OUTER_OVER_D = (1.45, 4.0)
GAP_MM = (0.25, 5.0)
BED_OVER_D = (0.5, 3.0)
THICKNESS_OVER_CORE = (0.44, 1.0)
HOLE_OVER_WIDTH = (0.3, 0.5)
THICKNESS_OVER_HOLE = (0.4, 1.0)


@dataclass(frozen=True)
class Residual:
    """Range of the relative errors, beam over solid less 1, in per cent, of one quantity of one family.

    cases, held_out: how many were open to the fit and how many left out; nothing was fitted to "hole".
    plain: the uncorrected beam, all cases.
    """

    family: str
    quantity: str
    cases: int
    held_out: int
    plain: tuple[float, float]
    corrected: tuple[float, float]
    corrected_held_out: tuple[float, float]


#: what the solids say of the beam; `tests/published/test_solids_3d.py` finds these numbers again
RESIDUALS = (
    Residual("bonded", "deflection", 32, 26, (-47.7, -2.0), (-0.6, 1.6), (-0.2, 1.2)),
    Residual("bonded", "opening", 32, 26, (-96.0, -41.0), (-2.9, 3.1), (-3.9, 1.8)),
    Residual("ends", "deflection", 18, 10, (-19.9, 1.5), (-0.9, 0.6), (-2.3, 0.6)),
    Residual("ends", "opening", 18, 10, (-24.0, -10.6), (0.1, 3.0), (-1.4, 2.8)),
    Residual("plate", "deflection", 15, 15, (-14.5, 2.4), (-1.6, 0.3), (-3.3, 2.7)),
    Residual("plate", "opening", 15, 15, (-17.8, 3.1), (-1.0, 2.9), (-2.8, 3.4)),
    Residual("hole", "deflection", 3, 1, (-12.6, -2.9), (-1.9, -1.5), (-1.0, -1.0)),
    Residual("hole", "opening", 3, 1, (-13.7, -2.6), (-1.0, -0.8), (-0.5, -0.5)),
)
