"""Constructs and stepped beams that reference libraries have solved: space frames, and symbolic beams.

One invented bone of five pieces with a screw or a plate; the plain beam is compared (no local correction), as the
frames hold none. The library's answers stand in `data/libraries.csv`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from fixplan.mechanics.beam import BeamState, cantilever, simply_supported, value_at
from fixplan.mechanics.construct import (
    PLAIN,
    Bone,
    Contact,
    EndResponse,
    Fracture,
    Loads,
    Plate,
    Screw,
    intact_response,
    plate_response,
    screw_response,
)


def numbers(*values: float) -> list[npt.NDArray[np.float64]]:
    """Each number as an array without dimensions, as the parts want it."""
    return [np.asarray(v, dtype=np.float64) for v in values]


#: plantar, lateral, bench, axial [N], torque [N mm]
LOADS = Loads(*numbers(20.0, 15.0, 80.0, 50.0, 400.0))
LENGTH, FRACTURE, GAP = 70.0, 30.0, 1.0
EDGES = np.array([0.0, 8.0, 18.0, 42.0, 58.0, 70.0])
OUTER_X, OUTER_Y = np.array([14.0, 11.0, 9.5, 10.0, 12.0]), np.array([12.0, 9.0, 8.0, 8.5, 10.0])
CANAL_X, CANAL_Y = np.array([6.0, 5.0, 4.7, 5.2, 6.0]), np.array([6.5, 5.5, 5.0, 5.6, 6.5])
BONE = Bone(EDGES, OUTER_X, OUTER_Y, CANAL_X, CANAL_Y, *numbers(17e3, 3.3e3))
SCREW = Screw(*numbers(5.0, 3.6, 4.2, 1.6, 16.0, 50.0, 2.0, 114e3, 43e3))
_SIZES = numbers(6.0, 1.5, 0.5, 0.0, 14.0, 56.0, 22.0, 44.0, 1.9, 3.0, 114e3, 43e3)
#: width, thickness, standoff, hole, start, end, innermost screws, screw core, screws a side, E, G; no empty hole
PLATE = Plate("dorsal", *_SIZES[:12], empty_hole=np.asarray(False))  # type: ignore[misc, arg-type]
AT, WIDE = numbers(FRACTURE, GAP)
OPEN = Fracture(AT, WIDE)
# so much compression that the joint never opens: the joined bone chain is seen
CLOSED = Fracture(AT, np.zeros(()), Contact.CLOSED, preload=np.asarray(1e9))


def healing(callus_E: float) -> Fracture:
    """The gap filled with callus of a modulus in MPa."""
    return Fracture(AT, WIDE, Contact.HEALING, callus_E=np.asarray(callus_E))


BENDING = tuple(
    f"{kind}_{way}"
    for kind, ways in (
        ("cantilever", ("plantar", "lateral", "combined")),
        ("three_point", ("plantar", "lateral")),
        ("four_point_plate", ("plantar", "lateral")),
        ("four_point_im", ("plantar", "lateral")),
    )
    for way in ways
)
LOAD_CASES = (*BENDING, "axial", "torsion")
# the force of the three-point test stands over the gap, where a plated open gap has no bone
PLATE_CASES = ("cantilever_plantar", "four_point_plate_plantar", "four_point_im_plantar", "axial")

CONSTRUCTS: dict[str, tuple[Callable[[], EndResponse], Sequence[str]]] = {
    "intact bone": (lambda: intact_response(BONE, OPEN, LOADS), LOAD_CASES),
    "screw held at its ends, open gap": (
        lambda: screw_response(BONE, OPEN, SCREW, LOADS, local=PLAIN).loose,
        LOAD_CASES,
    ),
    "screw held at its ends, callus 200 MPa": (
        lambda: screw_response(BONE, healing(200.0), SCREW, LOADS, local=PLAIN).loose,
        LOAD_CASES,
    ),
    "screw bonded, open gap": (lambda: screw_response(BONE, OPEN, SCREW, LOADS, local=PLAIN).bonded, LOAD_CASES),
    "screw bonded, callus 200 MPa": (
        lambda: screw_response(BONE, healing(200.0), SCREW, LOADS, local=PLAIN).bonded,
        LOAD_CASES,
    ),
    "screw held at its ends, closed joint": (
        lambda: screw_response(BONE, CLOSED, SCREW, LOADS, local=PLAIN).loose,
        LOAD_CASES[:5],
    ),
    "plate held at its innermost screws, open gap": (
        lambda: plate_response(BONE, OPEN, PLATE, LOADS, local=PLAIN).loose,
        PLATE_CASES,
    ),
    "plate held at its innermost screws, callus 50 MPa": (
        lambda: plate_response(BONE, healing(50.0), PLATE, LOADS, local=PLAIN).loose,
        (*PLATE_CASES, "three_point_plantar"),
    ),
    "plate held at its innermost screws, callus 2000 MPa": (
        lambda: plate_response(BONE, healing(2000.0), PLATE, LOADS, local=PLAIN).loose,
        (*PLATE_CASES, "three_point_plantar"),
    ),
}


def stiffness(end: EndResponse, case: str) -> float:
    """N/mm of a bending or axial case, N mm/rad of torsion."""
    if case == "torsion":
        if end.torsion is None:
            raise ValueError("torsion was not computed: ask for the case")
        return float(end.torsion.stiffness_N_mm_per_rad)
    return float(end.bending[case].stiffness_N_per_mm)


#: edges [mm], EI [N mm2], forces [N] at places, supports (None: held at 0)
STEPPED: dict[str, tuple[list[float], list[float], list[tuple[float, float]], tuple[float, float] | None]] = {
    "cantilever of three": ([0, 10, 25, 60], [4e6, 2e6, 3e6], [(20, 60)], None),
    "cantilever, two forces": ([0, 20, 30, 50], [1e6, 5e6, 2e6], [(12, 35), (-5, 50)], None),
    "cantilever of five": ([0, 5, 20, 22, 40, 70], [6e6, 5e6, 1e6, 5e6, 3e6], [(9, 66)], None),
    "three-point": ([0, 15, 28, 33, 60], [3e6, 4e6, 1e6, 4e6], [(50, 30)], (2, 58)),
    "four-point": ([0, 12, 30, 48, 60], [3e6, 5e6, 2e6, 4e6], [(25, 20), (25, 40)], (5, 55)),
    "four-point, uneven": ([0, 31, 60], [3e6, 7e6], [(40, 22), (10, 45)], (3, 57)),
    "overhanging force": ([0, 20, 60], [2e6, 3e6], [(15, 60)], (6, 44)),
}


def stepped_beam(name: str) -> BeamState:
    """This program's solution of a stepped beam."""
    edges, EI, forces, supports = STEPPED[name]
    values, places = [float(f) for f, _ in forces], [float(s) for _, s in forces]
    if supports is None:
        return cantilever(edges, EI, values, places)
    return simply_supported(edges, EI, values, places, supports)


def stepped_deflection(name: str, at: float) -> float:
    """Deflection in mm at a place."""
    beam = stepped_beam(name)
    return float(value_at(beam.s, beam.deflection, at))
