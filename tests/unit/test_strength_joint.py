"""Preloaded joint: sharing, separation, preload, fatigue from a preload."""

import math

import numpy as np
import pytest

from fixplan.mechanics.joint import (
    joint_yield_factor,
    load_factor,
    screw_stiffness,
    separation_factor,
    separation_load,
    separation_moment,
    stiffness_constant,
)
from fixplan.mechanics.mean_stress import elliptic_factor, gerber_factor, goodman_factor
from fixplan.mechanics.preload import (
    preload_from_torque,
    preloaded_elliptic,
    preloaded_gerber,
    preloaded_goodman,
    preloaded_yield,
    proof_preload,
    stress_area,
)


def test_equal_springs_share_by_halves():
    assert stiffness_constant(7.0, 7.0) == 0.5
    assert stiffness_constant(1.0, 3.0) == 0.25


def test_a_screw_is_two_springs_in_a_row():
    """Series springs: 1/k = l_d/(A_d E) + l_t/(A_t E)."""
    a_d, a_t, l_d, l_t, e = 12.0, 7.0, 20.0, 16.0, 1.1e5
    assert 1 / screw_stiffness(a_d, a_t, l_d, l_t, e) == pytest.approx(l_d / (a_d * e) + l_t / (a_t * e))


def test_at_separation_the_clamped_parts_carry_nothing():
    """Balance at P_0: the screw then carries F_i + C P_0, which is all of P_0."""
    p0 = separation_load(0.2, 100.0)
    assert 100.0 + 0.2 * p0 == pytest.approx(p0)
    assert separation_factor(0.2, p0, 100.0) == pytest.approx(1.0)


def test_factors_without_load_are_infinite():
    assert separation_factor(0.3, 0.0, 100.0) == math.inf
    assert load_factor(0.3, 0.0, 100.0, 7.0, 700.0) == math.inf
    assert joint_yield_factor(0.3, 0.0, 100.0, 7.0, 700.0) == pytest.approx(49.0)


def test_load_factor_brings_the_screw_to_its_proof_load():
    n = load_factor(0.3, 200.0, 1000.0, 7.0, 700.0)
    assert joint_yield_factor(0.3, n * 200.0, 1000.0, 7.0, 700.0) == pytest.approx(1.0)


def test_a_preload_at_the_proof_load_leaves_nothing():
    assert load_factor(0.3, 200.0, 4900.0, 7.0, 700.0) == 0.0


def test_separation_moment_of_the_solid_circle():
    """Kern of a circle: F d / 8 (from memory, any text on combined bending and compression)."""
    d = 9.0
    area, modulus = math.pi * d**2 / 4, math.pi * d**3 / 32
    assert separation_moment(100.0, modulus, area) == pytest.approx(100 * d / 8)


def test_separation_moment_of_a_rectangle_is_the_middle_third():
    """Kern of a rectangle: F h / 6."""
    assert separation_moment(100.0, 8.0 * 6.0**2 / 6, 48.0) == pytest.approx(100 * 6 / 6)


def test_at_the_separation_moment_the_edge_stress_is_zero():
    force, modulus, area, offset = 80.0, 40.0, 50.0, 0.3
    moment = separation_moment(force, modulus, area, offset)
    assert force / area + force * offset / modulus - moment / modulus == pytest.approx(0.0, abs=1e-12)


def test_a_screw_away_from_the_opening_side_separates_sooner():
    toward, centred, away = separation_moment(80.0, 40.0, 50.0, np.array([0.5, 0.0, -0.5]))
    assert toward > centred > away > 0


def test_no_compression_no_moment():
    assert separation_moment(0.0, 40.0, 50.0) == 0.0


def test_preload_from_torque_and_back():
    """T = K F d with K = 0.2 (SHIG9 eq. 8-27): 1 N m on 4.5 mm holds 1111 N."""
    assert preload_from_torque(1000.0, 0.2, 4.5) == pytest.approx(1000 / 0.9)
    assert preload_from_torque(0.0, 0.2, 4.5) == 0.0


def test_proof_preload():
    assert proof_preload(0.75, 8.0, 600.0) == 3600.0
    assert proof_preload(1.0, 8.0, 600.0) == 4800.0


CASES = [(0.0, 150.0, 800.0), (300.0, 150.0, 800.0), (700.0, 90.0, 800.0)]


@pytest.mark.parametrize(("prestress", "endurance", "strength"), CASES)
def test_the_borne_amplitude_lies_on_the_criterion(prestress, endurance, strength):
    """With sigma_a = S_a and sigma_m = sigma_i + S_a the factor of the matching criterion is 1 (SHIG9 sec. 8-11)."""
    for borne, factor in (
        (preloaded_goodman, goodman_factor),
        (preloaded_gerber, gerber_factor),
        (preloaded_elliptic, elliptic_factor),
    ):
        amplitude = borne(prestress, endurance, strength)
        assert amplitude > 0
        assert factor(amplitude, prestress + amplitude, endurance, strength) == pytest.approx(1.0)


def test_yield_amplitude_brings_the_peak_to_proof():
    assert 300.0 + 2 * preloaded_yield(300.0, 800.0) == 800.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: stiffness_constant(0.0, 1.0), "screw must be finite and > 0"),
        (lambda: stiffness_constant(1.0, -1.0), "members must be finite and > 0"),
        (lambda: screw_stiffness(0.0, 1.0, 1.0, 1.0, 1.0), "shank_area must be"),
        (lambda: screw_stiffness(1.0, 0.0, 1.0, 1.0, 1.0), "thread_area must be"),
        (lambda: screw_stiffness(1.0, 1.0, 0.0, 1.0, 1.0), "shank_length must be"),
        (lambda: screw_stiffness(1.0, 1.0, 1.0, 0.0, 1.0), "thread_length must be"),
        (lambda: screw_stiffness(1.0, 1.0, 1.0, 1.0, 0.0), "E must be"),
        (lambda: separation_load(0.0, 1.0), "share must be finite and > 0"),
        (lambda: separation_load(1.0, 1.0), "share must be < 1; C = k_b"),
        (lambda: separation_load(0.5, 0.0), "preload must be finite and > 0"),
        (lambda: separation_factor(0.5, -1.0, 1.0), "load must be finite and >= 0; the load that opens the joint"),
        (lambda: separation_factor(0.5, 1.0, 0.0), "preload must be"),
        (lambda: separation_factor(1.0, 1.0, 1.0), "share must be < 1"),
        (lambda: joint_yield_factor(1.5, 1.0, 1.0, 1.0, 9.0), "share must be < 1"),
        (lambda: joint_yield_factor(0.5, -1.0, 1.0, 1.0, 9.0), "load must be finite and >= 0; the load that opens"),
        (lambda: joint_yield_factor(0.5, 1.0, 0.0, 1.0, 9.0), "preload must be"),
        (lambda: joint_yield_factor(0.5, 1.0, 1.0, 0.0, 9.0), "area must be"),
        (lambda: joint_yield_factor(0.5, 1.0, 1.0, 1.0, 0.0), "proof must be"),
        (lambda: load_factor(1.5, 1.0, 1.0, 1.0, 9.0), "share must be < 1"),
        (lambda: load_factor(0.5, -1.0, 1.0, 1.0, 9.0), "load must be finite and >= 0; the load that opens"),
        (lambda: load_factor(0.5, 1.0, 0.0, 1.0, 9.0), "preload must be finite"),
        (lambda: load_factor(0.5, 1.0, 1.0, 0.0, 9.0), "area must be"),
        (lambda: load_factor(0.5, 1.0, 1.0, 1.0, 0.0), "proof must be"),
        (lambda: load_factor(0.5, 1.0, 9.5, 1.0, 9.0), "preload must be <= proof load; the preload alone"),
        (lambda: separation_moment(-1.0, 1.0, 1.0), "preload must be finite and >= 0"),
        (lambda: separation_moment(1.0, 0.0, 1.0), "modulus must be"),
        (lambda: separation_moment(1.0, 1.0, 0.0), "area must be"),
        (lambda: separation_moment(1.0, 1.0, 1.0, math.nan), "offset must be finite"),
        (lambda: separation_moment(1.0, 1.0, 1.0, -1.0), "-offset must be < Z / A; outside the kern the faces gape"),
        (lambda: stress_area(3.0, 3.0), "pitch must be < diameter; check that the two"),
        (lambda: stress_area(3.0, 0.0), "pitch must be finite and > 0"),
        (lambda: proof_preload(1.1, 1.0, 1.0), "fraction must be <= 1; it is a part of the proof load"),
        (lambda: proof_preload(0.0, 1.0, 1.0), "fraction must be finite and > 0"),
        (lambda: proof_preload(0.5, 0.0, 1.0), "area must be"),
        (lambda: proof_preload(0.5, 1.0, 0.0), "proof must be"),
        (lambda: preload_from_torque(-1.0, 0.2, 4.0), "torque must be finite and >= 0"),
        (lambda: preload_from_torque(1.0, 0.0, 4.0), "coefficient must be"),
        (lambda: preload_from_torque(1.0, 0.2, 0.0), "diameter must be"),
        (lambda: preloaded_goodman(800.0, 1.0, 800.0), "prestress must be < ultimate; the preload alone"),
        (lambda: preloaded_goodman(1.0, 0.0, 800.0), "endurance must be"),
        (lambda: preloaded_gerber(-1.0, 1.0, 800.0), "prestress must be finite and >= 0"),
        (lambda: preloaded_gerber(800.0, 1.0, 800.0), "prestress must be < ultimate"),
        (lambda: preloaded_gerber(1.0, 0.0, 800.0), "endurance must be"),
        (lambda: preloaded_elliptic(800.0, 1.0, 800.0), "prestress must be < proof; the preload alone"),
        (lambda: preloaded_elliptic(1.0, 0.0, 800.0), "endurance must be"),
        (lambda: preloaded_yield(800.0, 800.0), "prestress must be < proof"),
    ],
)
def test_refusals(call, words):
    with pytest.raises(ValueError, match=words):
        call()
