"""Notch fatigue of titanium grade 1 from a material data sheet (TI-data).

Rotating bending at 10^7 cycles: 193 MPa smooth, 123 MPa with a notch of K_t = 3. The data sheet prints no sensitivity:
what follows from the two strengths cannot confirm them, so this is no row of the validation page.
"""

import pytest

from fixplan.mechanics.fatigue import notch_factor


def test_the_two_strengths_lie_between_no_notch_and_the_whole_concentration():
    assert notch_factor(0.0, 3.0) < 193.0 / 123.0 < notch_factor(1.0, 3.0)


def test_the_sensitivity_worked_by_hand_gives_the_factor_worked_by_hand():
    # by hand: 193/123 = 1.569; (1.569 - 1)/(3 - 1) = 0.285
    assert notch_factor(0.285, 3.0) == pytest.approx(1.57, abs=0.005)
