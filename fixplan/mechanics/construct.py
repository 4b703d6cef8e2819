"""Constructs as beams: the front door of the room.

`intact_response`, `screw_response`, `plate_response`: parts in, both ends of the bracket out, for any number
of sizes and draws at once.

Nomenclature. s: axis of the bone from its proximal end [mm]. Plane y: dorsal positive, bent by a force from
plantar, seen on the lateral film. Plane x: medial positive, bent by a force from lateral, seen on the AP
film. M [N*mm]: positive moments bend the head dorsally (medially) and pull on the plantar (lateral) cortex.
EI [N*mm2], EA [N], GJ [N*mm2]: rigidities. K [N/mm]: load over displacement at the load. EI_e [N*m2]:
structural stiffness as the bending standards define it. Opening [mm]: positive where the faces part. Bonded,
loose: the two ends of the bracket; the truth lies between them. Plain: without local correction. Units: mm,
N, MPa, N*mm, rad.
"""

from __future__ import annotations

from fixplan.mechanics.bracket import intact_response
from fixplan.mechanics.correction import PLAIN, PROJECT_DEFAULT, LocalBending
from fixplan.mechanics.joint import separation_moment
from fixplan.mechanics.loadcases import CASES, BenchSpans
from fixplan.mechanics.parts import Bone, Contact, Fracture, Loads, Plate, Screw, with_old_hole
from fixplan.mechanics.plate import plate_response
from fixplan.mechanics.responses import BendingResponse, Bracket, EndResponse, TorsionResponse
from fixplan.mechanics.screw import screw_response

__all__ = [
    "CASES",
    "PLAIN",
    "PROJECT_DEFAULT",
    "BenchSpans",
    "BendingResponse",
    "Bone",
    "Bracket",
    "Contact",
    "EndResponse",
    "Fracture",
    "Loads",
    "LocalBending",
    "Plate",
    "Screw",
    "TorsionResponse",
    "intact_response",
    "plate_response",
    "screw_response",
    "separation_moment",
    "with_old_hole",
]
