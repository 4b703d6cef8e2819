"""Local corrections: the forms by hand, their limits, and that a hinge stands for the span it replaces."""

from dataclasses import replace

import numpy as np
import pytest

from fixplan.mechanics.beam import cantilever
from fixplan.mechanics.construct import PLAIN, PROJECT_DEFAULT, Bone, Fracture, Loads, Screw, screw_response
from fixplan.mechanics.correction import (
    added_span_ratio,
    bed_compliance,
    bed_face_compliance,
    end_compliance,
    half_span_compliance,
    hole_stress,
    screw_bending_span,
    within,
)


def test_added_span_by_hand():
    # 0.5 sqrt(9) 0.25^0.5
    assert added_span_ratio(0.5, 0.5, 9.0, 0.25) == pytest.approx(0.75)
    assert added_span_ratio(0.5, 0.5, 9.0, 0.0) == 0


def test_end_compliance_by_hand():
    assert end_compliance(4.0, 1e6, 4e6) == pytest.approx(2 * 0.75e-6)
    assert half_span_compliance(4.0, 1e6) == pytest.approx(2e-6)


@pytest.mark.parametrize(("share", "z"), [(0.05, 2.0), (0.3, 1.0), (0.3, 6.0), (0.6, 12.0)])
def test_a_bed_turns_as_two_coupled_beams_do(share, z):
    """Second witness: the two rotations solved as a boundary value problem, scipy's collocation."""
    from scipy.integrate import solve_bvp

    lag, ei_i, ei_b = 1.5, share, 1 - share
    k = ei_i * ei_b / (ei_i + ei_b) / lag**2

    def run(_, t):
        bar, bone, bar_slope, bone_slope = t
        return np.array([bar_slope, bone_slope, k * (bar - bone) / ei_i, -k * (bar - bone) / ei_b])

    def ends(far, near):
        # far: the bar's end carries nothing, the bone is held; near: the bar alone carries the moment of 1
        return np.array([far[2], far[1], near[2] - 1 / ei_i, near[3]])

    x = np.linspace(0.0, z, 200)
    found = solve_bvp(run, ends, x, np.zeros((4, 200)), tol=1e-8)
    bar, bone = found.y[0, -1], found.y[1, -1]
    assert bed_compliance(2 * lag, ei_i, ei_b, z, z) + z / ei_b == pytest.approx(bar, rel=1e-6)
    assert bed_face_compliance(2 * lag, ei_i, ei_b, z) == pytest.approx(bar - bone, rel=1e-6)


def test_a_long_bed_is_a_gap_face_and_the_bars_end_and_a_short_one_turns_freely():
    lag, ei_i, ei_b = 1.0, 2.0, 6.0
    long = 50 * (1 / (ei_i + ei_b) - 1 / ei_b) + end_compliance(2 * lag, ei_i, ei_i + ei_b) + lag * 0.25 / ei_b
    assert bed_compliance(2 * lag, ei_i, ei_b, 50.0, 50.0) == pytest.approx(long)
    assert bed_face_compliance(2 * lag, ei_i, ei_b, 1e4) == pytest.approx(half_span_compliance(2 * lag, ei_i))
    # a peg with next to no bed: the layer alone, lambda^2/(EI_red z)
    assert bed_compliance(2 * lag, ei_i, ei_b, 1e-4, 0.0) == pytest.approx(lag**2 * 8 / 12 / 1e-4, rel=1e-3)


def test_screw_bending_by_hand_and_never_below_zero():
    # 0.9 16^(1/4) 1.5^2/2 - 0.3 2
    assert screw_bending_span(0.9, 0.3, 16.0, 1.5, 2.0) == pytest.approx(0.9 * 2 * 2.25 / 2 - 0.6)
    assert screw_bending_span(0.1, 1.0, 1.0, 1.0, 3.0) == 0


def test_hole_stress_by_hand():
    # 1.5 - 0.6 2/6 + 0.4 1.5/2
    assert hole_stress(1.5, 0.6, 0.4, 2.0, 6.0, 1.5) == pytest.approx(1.5 - 0.2 + 0.3)


def test_within_includes_both_bounds():
    assert within([0.9, 1.0, 1.5, 2.0, 2.1], (1.0, 2.0)).tolist() == [False, True, True, True, False]


def test_the_plain_beam_adds_nothing_and_is_always_in_range():
    assert added_span_ratio(PLAIN.bend, PLAIN.exponent, 9.0, 0.5) == 0
    assert screw_bending_span(PLAIN.screw_bending, PLAIN.screw_relief, 9.0, 3.0, 1.0) == 0
    assert hole_stress(PLAIN.hole_base, PLAIN.hole_width, PLAIN.hole_thickness, 2.0, 6.0, 1.5) == 1
    assert within([0.0, 1e9], PLAIN.hole_over_width).all()
    assert within([0.0, 1e9], PLAIN.thickness_over_hole).all()
    assert within([0.0, 1e9], PLAIN.gap_mm).all()


L, F, GAP, D, E_B, E_S = 70.0, 30.0, 1.0, 4.5, 17e3, 114e3
BONE = Bone([0.0, L], [10.0], [10.0], [D], [D], E_B, 3.3e3)
SCREW = Screw(5.0, D, D, 0.0, 15.0, 60.0, 0.0, E_S, 43e3)
LOADS = Loads(20.0, 20.0, 50.0, 50.0, 400.0)
EI_B, EI_S = E_B * np.pi / 64 * (10**4 - D**4), E_S * np.pi / 64 * D**4


def span_of(local) -> float:
    lost = 1 - EI_S / (EI_B + EI_S)
    return local.bend * np.sqrt(E_S / E_B) * lost**local.exponent * D


def test_a_bonded_screw_bends_as_if_its_gap_were_longer_by_the_added_span():
    r = screw_response(BONE, Fracture(F, GAP), SCREW, LOADS).bonded.bending["cantilever_plantar"]
    dL = span_of(PROJECT_DEFAULT)
    a, b = F - (GAP + dL) / 2, F + (GAP + dL) / 2
    both = EI_B + EI_S
    longer = cantilever([0.0, a, b, 60.0, L], [both, EI_S, both, EI_B], [20.0], [L])
    # the hinges stand at the faces, half an added span nearer to the gap than the middle of what they replace
    assert r.deflection_mm == pytest.approx(longer.deflection[-1], rel=2e-3)


def test_the_faces_of_the_gap_open_by_the_whole_added_span():
    r = screw_response(BONE, Fracture(F, GAP), SCREW, LOADS).bonded.bending["four_point_im_plantar"]
    # constant moment between the inner rollers: half the load times a third of the span
    moment = 25.0 * 2 * F / 3
    turn = moment * (GAP + span_of(PROJECT_DEFAULT)) / EI_S
    assert abs(r.opening_mm["plantar"]) == pytest.approx(turn * 5.0)
    assert abs(r.plain_opening_mm["plantar"]) == pytest.approx(moment * GAP / EI_S * 5.0)


def test_a_longer_bed_holds_better_and_acts_at_the_loose_end_only():
    beds = np.array([0.45, 2.25, 4.5, 9.0, 40.0])
    screw = replace(SCREW, seat=3.0, length=50.0)
    r = screw_response(BONE, Fracture(F, GAP), replace(screw, bed=beds), LOADS)
    stiffness = r.loose.bending["cantilever_plantar"].stiffness_N_per_mm
    assert np.all(np.diff(stiffness) > 0)
    bonded = r.bonded.bending["cantilever_plantar"].stiffness_N_per_mm
    assert np.all(bonded == bonded[0])
    plain = r.loose.bending["cantilever_plantar"].plain_stiffness_N_per_mm
    assert np.all(plain == plain[0])
    # beds from half to three diameters were held against solids
    assert r.in_range.tolist() == [False, True, True, True, False]
    unsaid = screw_response(BONE, Fracture(F, GAP), screw, LOADS).loose.bending["cantilever_plantar"]
    assert unsaid.stiffness_N_per_mm == stiffness[2]


def test_a_bed_that_holds_nothing_is_no_construct():
    screw = replace(SCREW, seat=3.0, length=50.0, bed=[0.05, 0.4, 0.5])
    r = screw_response(BONE, Fracture(F, GAP), screw, LOADS)
    assert r.valid.tolist() == [False, False, True]
    assert np.isnan(r.loose.bending["cantilever_plantar"].stiffness_N_per_mm).tolist() == [True, True, False]


def test_more_cases_than_fit_one_chunk_answer_as_each_alone():
    E = np.linspace(12e3, 20e3, 2500)
    many = screw_response(
        replace(BONE, E=E), Fracture(F, GAP), SCREW, LOADS, cases=("cantilever_plantar", "torsion"), plain=False
    )
    for k in (0, 2047, 2048, 2499):
        one = screw_response(replace(BONE, E=E[k]), Fracture(F, GAP), SCREW, LOADS, cases=("cantilever_plantar",))
        a, b = many.loose.bending["cantilever_plantar"], one.loose.bending["cantilever_plantar"]
        assert a.stiffness_N_per_mm.shape == (2500,)
        assert a.stiffness_N_per_mm[k] == pytest.approx(b.stiffness_N_per_mm)
        assert a.critical_section[k] == b.critical_section
    assert many.loose.torsion.stiffness_N_mm_per_rad.shape == (2500,)
    assert many.valid.shape == (2500,)
    assert many.valid.all()
