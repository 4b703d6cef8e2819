"""Local corrections: the forms by hand, their limits, and that a hinge stands for the span it replaces."""

from dataclasses import replace

import numpy as np
import pytest

from fixplan.mechanics.beam import cantilever
from fixplan.mechanics.construct import PLAIN, PROJECT_DEFAULT, Bone, Fracture, Loads, Screw, screw_response
from fixplan.mechanics.correction import (
    added_span_ratio,
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


def test_the_hold_factor_acts_at_the_loose_end_only():
    softer = replace(PROJECT_DEFAULT, hold=2 * PROJECT_DEFAULT.hold)
    screw = replace(SCREW, seat=3.0, length=50.0)
    a, b = (screw_response(BONE, Fracture(F, GAP), screw, LOADS, local=v) for v in (PROJECT_DEFAULT, softer))
    one, two = (r.bonded.bending["cantilever_plantar"].stiffness_N_per_mm for r in (a, b))
    assert one == two
    plain = 1 / a.loose.bending["cantilever_plantar"].plain_stiffness_N_per_mm
    added = [1 / r.loose.bending["cantilever_plantar"].stiffness_N_per_mm - plain for r in (a, b)]
    assert added[1] == pytest.approx(2 * added[0])


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
