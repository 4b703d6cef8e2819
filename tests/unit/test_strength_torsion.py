"""Screw torsion: the core, the standard's torque, an insertion torque between them."""

import math

import numpy as np
import pytest

from fixplan.mechanics.torsion import (
    breaking_torque,
    implied_shear,
    insertion_check,
    plastic_torque,
    shear_strength,
    torque_factor,
    yield_torque,
)


def test_yield_torque_is_stress_times_polar_modulus():
    """Polar modulus of a circle 0.19635 d^3 (Machinery's Handbook); of a tube J over the outer radius."""
    assert yield_torque(2.4, 0.0, 1.0) == pytest.approx(0.19635 * 2.4**3, rel=1e-5)
    assert yield_torque(4.0, 2.0, 1.0) == pytest.approx(math.pi * (4**4 - 2**4) / 32 / 2)


def test_plastic_torque_of_a_tube_subtracts():
    assert plastic_torque(4.0, 2.0, 1.0) == pytest.approx(math.pi * (4**3 - 2**3) / 12)


def test_implied_shear_inverts_the_plastic_torque():
    assert implied_shear(plastic_torque(3.0, 1.2, 480.0), 3.0, 1.2) == pytest.approx(480.0)
    assert implied_shear(0.0, 3.0, 1.2) == 0.0


def test_shear_strength_is_that_of_distortion_energy():
    assert shear_strength(1000.0) == pytest.approx(1000 / math.sqrt(3), rel=1e-3)


def test_torque_factor():
    assert torque_factor(2300.0, 1150.0) == 2.0
    assert torque_factor(2300.0, 0.0) == math.inf


def test_insertion_check_of_sizes_at_once():
    result = insertion_check([[0.0], [1000.0]], [2.4, 3.0], 0.0, 690.0, 860.0)
    np.testing.assert_allclose(result.yield_torque[0], yield_torque(np.array([2.4, 3.0]), 0.0, 0.577 * 690))
    np.testing.assert_allclose(result.plastic_torque[1], plastic_torque(np.array([2.4, 3.0]), 0.0, 0.577 * 860))
    assert np.all(np.isinf(result.yield_factor[0]))
    assert np.all(np.isinf(result.plastic_factor[0]))
    np.testing.assert_allclose(result.yield_factor[1], result.yield_torque[1] / 1000)
    np.testing.assert_allclose(result.plastic_factor[1], result.plastic_torque[1] / 1000)


@pytest.mark.parametrize("screw", ["HB 6.5", "HB 4.0", "HA 4.0", "HA 5.0", "4.5"])
def test_sizes_without_a_trusted_value_are_refused(screw):
    with pytest.raises(ValueError, match=r"screw must be one of HA 1.5, HA 2.0, HA 2.7, HA 3.5, HA 4.5; for others"):
        breaking_torque(screw)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: shear_strength(0.0), "strength must be finite and > 0"),
        (lambda: yield_torque(0.0, 0.0, 1.0), "core must be finite and > 0"),
        (lambda: yield_torque(3.0, 3.0, 1.0), "cannula must be < core; the cannulation must be thinner"),
        (lambda: yield_torque(3.0, -0.1, 1.0), "cannula must be finite and >= 0"),
        (lambda: yield_torque(3.0, 0.0, 0.0), "shear must be finite and > 0"),
        (lambda: plastic_torque(3.0, 3.0, 1.0), "cannula must be < core"),
        (lambda: plastic_torque(3.0, 0.0, 0.0), "shear must be finite and > 0"),
        (lambda: implied_shear(-1.0, 3.0, 0.0), "torque must be finite and >= 0; give the magnitude"),
        (lambda: implied_shear(1.0, 3.0, 3.0), "cannula must be < core"),
        (lambda: torque_factor(0.0, 1.0), "breaking must be finite and > 0"),
        (lambda: torque_factor(1.0, -1.0), "insertion must be finite and >= 0; give the magnitude"),
        (lambda: insertion_check(1.0, 3.0, 0.0, 0.0, 860.0), "strength must be finite and > 0"),
    ],
)
def test_refusals(call, words):
    with pytest.raises(ValueError, match=words):
        call()
