"""Edges of the beam rooms that small changes of the code showed to be untested (see tests/mutation)."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from fixplan.mechanics.chunks import in_chunks
from fixplan.mechanics.construct import (
    PROJECT_DEFAULT,
    Bone,
    Contact,
    Fracture,
    Loads,
    Plate,
    Screw,
    intact_response,
    plate_response,
    screw_response,
)
from fixplan.mechanics.span import Line, solve
from fixplan.mechanics.stations import torsion_at

LOADS = Loads(*(np.asarray(v) for v in (20.0, 15.0, 80.0, 50.0, 400.0)))


def bone(outer: list[float], canal: list[float], edges: list[float]) -> Bone:
    o, c = np.array(outer), np.array(canal)
    return Bone(np.array(edges), o, o, c, c, np.asarray(17e3), np.asarray(3.3e3))


@pytest.mark.parametrize("centre", [0.5, 69.5])
def test_a_gap_that_touches_an_end_of_the_bone_is_refused(centre):
    uniform = bone([10.0], [5.0], [0.0, 70.0])
    with pytest.raises(ValueError, match=r"fracture\.centre"):
        Fracture(np.asarray(centre), np.asarray(1.0)).check(uniform)
    Fracture(np.asarray(30.0), np.asarray(1.0)).check(uniform)


@pytest.mark.parametrize("order", [(8.0, 10.0), (10.0, 8.0)])
def test_torsion_of_the_intact_bone_is_worst_in_its_thinnest_piece(order):
    """Torsion formula of a round tube, tau = T r / J with J = pi (d^4 - d_i^4) / 32 (GERE7 ch. 3)."""
    uneven = bone(list(order), [5.0, 5.0], [0.0, 30.0, 70.0])
    found = intact_response(uneven, Fracture(np.asarray(35.0), np.asarray(1.0)), LOADS, cases=("torsion",))
    assert found.torsion is not None
    expected = 400.0 * 4.0 / (np.pi * (8.0**4 - 5.0**4) / 32)
    assert float(found.torsion.shear_stress_MPa) == pytest.approx(expected, rel=1e-9)


@dataclass(frozen=True)
class Part:
    value: np.ndarray


def test_chunks_cut_a_leading_axis_of_two_too():
    seen = []

    def run(part: Part) -> np.ndarray:
        seen.append(part.value.shape)
        return part.value * 2

    values = np.arange(6.0).reshape(2, 3)
    assert in_chunks(run, Part(values), at_once=3).tolist() == (values * 2).tolist()
    assert seen == [(1, 3), (1, 3)]


def test_chunks_are_no_larger_than_asked_and_cover_every_row():
    seen = []

    def run(part: Part) -> np.ndarray:
        seen.append(part.value.shape[0])
        return part.value + 1

    values = np.arange(10.0)
    assert in_chunks(run, Part(values), at_once=4).tolist() == (values + 1).tolist()
    assert seen == [4, 4, 2]
    seen.clear()
    in_chunks(run, Part(values), at_once=10)
    assert seen == [10]


def _joined(stops: list[float], path: list[float], hinges: tuple[float, float]) -> Line:
    """An implant (path) from 10 to 50 mm beside a whole bone; rigidities by piece, N mm2."""
    n = len(path)
    one, point = np.ones(n), np.asarray
    ends = (point(10.0), point(50.0), point(30.0), point(29.5), point(30.5))
    return Line(
        np.array(stops),
        *ends,
        np.array(path),
        3e6 * one,
        1e6 * one,
        2e6 * one,
        point(0.0),
        point(hinges[0]),
        point(hinges[1]),
        joined=True,
    )


def test_a_hinge_beside_a_joined_bone_is_a_short_soft_piece():
    """A hinge of h rad/(N mm) is the limit of a piece of length e with the rigidity e / h (mechanics of a beam)."""
    h, e = (2e-5, 5e-5), 1e-4
    stiff, load, at = 1.5e6, np.array([20.0]), np.array([70.0])
    hinged = solve(_joined([0, 10, 30, 50, 70], [5e6, stiff, stiff, 5e6], h), load, at)
    soft = [5e6, e / h[0], stiff, stiff, e / h[1], 5e6]
    pieces = solve(_joined([0, 10, 10 + e, 30, 50 - e, 50, 70], soft, (0.0, 0.0)), load, at)
    plain = solve(_joined([0, 10, 30, 50, 70], [5e6, stiff, stiff, 5e6], (0.0, 0.0)), load, at)
    assert float(hinged.theta_head) == pytest.approx(float(pieces.theta_head), rel=1e-4)
    assert float(hinged.w[-1]) == pytest.approx(float(pieces.w[-1]), rel=1e-4)
    # the implant's share at the fracture, and a plain line that would be told apart
    assert float(hinged.implant[2]) == pytest.approx(float(pieces.implant[3]), rel=1e-4)
    assert abs(float(hinged.implant[2]) / float(plain.implant[2]) - 1) > 0.05


def test_the_part_of_a_bed_that_holds_nothing_is_that_of_the_loose_end_only():
    point = np.asarray
    where = Fracture(point(30.0), point(1.0))
    screw = Screw(*(point(v) for v in (5.0, 3.6, 4.2, 0.0, 14.0, 48.0, 2.0, 114e3, 43e3)))
    uniform = bone([10.0], [5.0], [0.0, 70.0])

    def stiffness(bed_end: float) -> tuple[float, float]:
        local = replace(PROJECT_DEFAULT, bed_end=bed_end)
        r = screw_response(uniform, where, screw, LOADS, cases=("cantilever_plantar",), local=local)
        return tuple(float(x.bending["cantilever_plantar"].stiffness_N_per_mm) for x in (r.bonded, r.loose))

    once, twice = stiffness(0.1), stiffness(0.2)
    assert twice[0] == once[0]
    assert twice[1] < once[1]


@pytest.mark.parametrize("canal", [0.9, 0.5])
def test_a_canal_thinner_than_a_millimetre_still_counts_in_torsion(canal):
    """J of an annulus, pi (d^4 - d_i^4) / 32 (GERE7 ch. 3); without the subtraction it would be larger."""
    widths = {k: np.array([v]) for k, v in (("outer_x", 2.0), ("outer_y", 2.0), ("canal_x", canal), ("canal_y", canal))}
    J = float(torsion_at(widths, np.zeros(1))[0])
    assert pytest.approx(np.pi * (2.0**4 - canal**4) / 32, rel=1e-9) == J
    flat = widths | {"canal_x": np.array([2 * canal])}
    assert float(torsion_at(flat, np.zeros(1))[0]) < J
    flat = widths | {"canal_y": np.array([2 * canal])}
    assert float(torsion_at(flat, np.zeros(1))[0]) < J


@pytest.mark.parametrize(("callus_E", "closed"), [(500.0, False), (4000.0, False), (17e3, True)])
def test_torsion_is_shared_with_what_stands_beside_a_bonded_screw(callus_E, closed):
    """Two concentric parts twist alike: tau = T G r / (G J + G_c J_c), r and J of the shank, J_c of the ring round it
    (GERE7 ch. 3, composite shafts); the shear modulus of callus keeps the bone's ratio to its modulus.
    """
    point = np.asarray
    if closed:
        where = Fracture(point(30.0), point(0.0), Contact.CLOSED, preload=point(1e6))
    else:
        where = Fracture(point(30.0), point(1.0), Contact.HEALING, callus_E=point(callus_E))
    screw = Screw(*(point(v) for v in (5.0, 3.6, 4.2, 1.5, 14.0, 48.0, 2.0, 114e3, 43e3)))
    found = screw_response(bone([10.0], [5.0], [0.0, 70.0]), where, screw, LOADS, cases=("torsion",)).bonded.torsion
    assert found is not None
    own = 43e3 * np.pi / 32 * (4.2**4 - 1.5**4)
    ring = 3.3e3 * callus_E / 17e3 * np.pi / 32 * (10.0**4 - 5.0**4)
    assert float(found.shear_stress_MPa) == pytest.approx(400.0 * 43e3 * 2.1 / (own + ring), rel=1e-9)


@pytest.mark.parametrize("callus_E", [500.0, 5000.0])
def test_a_bonded_plate_shares_sideways_bending_with_callus(callus_E):
    """Bent edgewise, plate and ring of callus share one axis: sigma = M E w/2 / (E_c I_c + E I), I = t w^3/12 (GERE7
    ch. 6); the larger moment is at the proximal face of the gap.
    """
    point = np.asarray
    where = Fracture(point(30.0), point(1.0), Contact.HEALING, callus_E=point(callus_E))
    sizes = [point(v) for v in (6.0, 1.5, 0.5, 0.0, 14.0, 56.0, 22.0, 44.0, 1.9, 3.0, 114e3, 43e3)]
    plate = Plate("dorsal", *sizes, empty_hole=point(False))
    found = plate_response(bone([10.0], [5.0], [0.0, 70.0]), where, plate, LOADS, cases=("cantilever_lateral",))
    ring = callus_E * np.pi / 64 * (10.0**4 - 5.0**4)
    edge = 114e3 * 1.5 * 6.0**3 / 12
    expected = 15.0 * (70.0 - 29.5) * 114e3 * 3.0 / (ring + edge)
    stress = found.bonded.bending["cantilever_lateral"].stress_MPa["plate over gap"]
    assert float(stress) == pytest.approx(expected, rel=1e-9)
