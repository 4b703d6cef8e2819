"""Static strength: factors, moments, and what is refused."""

import math

import numpy as np
import pytest

from fixplan.mechanics.strength import (
    elastic_moment,
    plastic_moment,
    plate_elastic_moment,
    plate_plastic_moment,
    strength_check,
    ultimate_factor,
    von_mises,
    yield_factor,
)


def test_factor_one_at_the_strength():
    assert yield_factor(795.0, 795.0) == 1.0
    assert ultimate_factor(860.0, 860.0) == 1.0


def test_factor_is_infinite_without_stress():
    assert yield_factor(0.0, 795.0) == math.inf
    assert ultimate_factor(0.0, 860.0) == math.inf


def test_elastic_moment_is_the_section_modulus_times_strength():
    """HA 3.5: Z of a 2.4 mm core is 1.3572 mm3 (Machinery's Handbook: 0.098175 d^3)."""
    assert elastic_moment(2.4, 0.0, 1.0) == pytest.approx(0.098175 * 2.4**3, rel=1e-5)


def test_plastic_over_elastic_is_the_shape_factor_of_the_book():
    """Gere, plastic bending: 16 / (3 pi) = 1.70 for a circle, 3/2 for a rectangle."""
    assert plastic_moment(3.0, 0.0, 700.0) / elastic_moment(3.0, 0.0, 700.0) == pytest.approx(16 / (3 * math.pi))
    assert plate_plastic_moment(6.0, 1.3, 700.0) / plate_elastic_moment(6.0, 1.3, 700.0) == pytest.approx(1.5)


def test_a_tube_is_a_circle_less_a_circle():
    """Plastic moduli subtract; for the elastic moment the second moments do (same outer fibre)."""
    assert plastic_moment(4.0, 2.0, 1.0) == pytest.approx((4.0**3 - 2.0**3) / 6)
    assert elastic_moment(4.0, 2.0, 1.0) == pytest.approx(math.pi * (4.0**4 - 2.0**4) / 64 / 2.0)


def test_plate_moments_by_hand():
    """6 x 1.3 mm at 1 MPa: 6 1.69 / 6 = 1.69 and 6 1.69 / 4 = 2.535 N mm."""
    assert plate_elastic_moment(6.0, 1.3, 1.0) == pytest.approx(1.69)
    assert plate_plastic_moment(6.0, 1.3, 1.0) == pytest.approx(2.535)


def test_von_mises_of_pure_stresses():
    """Pure tension is itself, either sign; pure shear counts sqrt(3) times; 3-4-5 triangle with 3 and 4/sqrt(3)."""
    assert von_mises(-200.0, 0.0) == 200.0
    assert von_mises(0.0, 100.0) == pytest.approx(100 * math.sqrt(3))
    assert von_mises(3.0, -4.0 / math.sqrt(3)) == pytest.approx(5.0)


def test_check_of_a_whole_array():
    result = strength_check([[100.0], [900.0]], [795.0, 900.0], 1000.0)
    np.testing.assert_allclose(result.yield_factor, [[7.95, 9.0], [795 / 900, 1.0]])
    np.testing.assert_allclose(result.ultimate_factor, [[10.0, 10.0], [10 / 9, 10 / 9]])
    np.testing.assert_array_equal(result.yields, [[False, False], [True, True]])
    np.testing.assert_array_equal(result.stress, [[100.0, 100.0], [900.0, 900.0]])


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: yield_factor(-1.0, 5.0), "stress must be finite and >= 0; give the magnitude of the stress"),
        (lambda: yield_factor(1.0, 0.0), "yield_strength must be finite and > 0"),
        (lambda: ultimate_factor(-1.0, 5.0), "stress must be finite and >= 0; give the magnitude of the stress"),
        (lambda: ultimate_factor(1.0, -5.0), "ultimate_strength must be finite and > 0"),
        (lambda: von_mises(math.nan, 5.0), "normal must be finite"),
        (lambda: von_mises(1.0, math.inf), "shear must be finite"),
        (lambda: elastic_moment(0.0, 0.0, 5.0), "d must be finite and > 0"),
        (lambda: elastic_moment(3.0, -1.0, 5.0), "d_i must be finite and >= 0"),
        (lambda: elastic_moment(3.0, 3.0, 5.0), "d_i must be < d; the cannulation must be thinner than the core"),
        (lambda: elastic_moment(3.0, 1.0, 0.0), "strength must be finite and > 0"),
        (lambda: plastic_moment(3.0, 3.5, 5.0), "d_i must be < d"),
        (lambda: plastic_moment(3.0, 1.0, -5.0), "strength must be finite and > 0"),
        (lambda: plate_elastic_moment(0.0, 1.0, 5.0), "width must be finite and > 0"),
        (lambda: plate_elastic_moment(6.0, -1.0, 5.0), "thickness must be finite and > 0"),
        (lambda: plate_plastic_moment(6.0, 1.0, 0.0), "strength must be finite and > 0"),
        (lambda: strength_check(1.0, 900.0, 800.0), "yield_strength must be <= ultimate_strength; check that the two"),
    ],
)
def test_refusals(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_equal_strengths_are_allowed():
    assert strength_check(100.0, 800.0, 800.0).yield_factor == 8.0
