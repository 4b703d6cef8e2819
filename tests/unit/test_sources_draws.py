"""Draws of an assumed value keep the mean that is printed beside it, though they are cut off at its band."""

import numpy as np
import pytest

from fixplan.plan.draws import centre, one
from fixplan.plan.inputs import Parameter
from fixplan.sources import threshold

N = 40_000


def _modulus():
    t = threshold("cortical_modulus")
    return Parameter(
        t.name, t.name, t.value, t.unit, t.sd, "assumed", t.source, low=t.low, high=t.high, shared=True, grade=t.grade
    )


def test_the_modulus_is_drawn_about_its_printed_mean_within_its_band():
    drawn = one(_modulus(), N, np.random.default_rng(3))
    # 3900 MPa at most before the cut: five standard errors of the mean
    assert drawn.mean() == pytest.approx(17000.0, abs=5 * 3900 / np.sqrt(N))
    assert drawn.min() >= 10000.0
    assert drawn.max() <= 20000.0


def test_an_even_cut_moves_nothing_and_a_mean_out_of_reach_is_left():
    assert centre(10.0, 2.0, 7.0, 13.0) == pytest.approx(10.0, abs=1e-9)
    assert centre(10.0, 2.0, 11.0, 13.0) == 10.0
    assert centre(10.0, 2.0, -np.inf, np.inf) == pytest.approx(10.0, abs=1e-9)


def test_half_a_normal_distribution_has_the_mean_of_the_book():
    # half-normal distribution, from memory: mean sd sqrt(2/pi) above the cut at its middle
    assert centre(5.0 + np.sqrt(2 / np.pi), 1.0, 5.0, np.inf) == pytest.approx(5.0, abs=1e-9)


def test_the_modulus_says_that_two_facts_are_joined():
    assert "Two facts are joined" in threshold("cortical_modulus").note
