"""Solutions manual of Shigley's Mechanical Engineering Design, 9th edition (SHIG-SM), problem 6-15.

S_ut 551 MPa, S_e 276 MPa, f 0.9, equivalent fully reversed stress 358.5 MPa. Values as printed.
"""

import pytest

from fixplan.mechanics.fatigue import basquin_coefficient, basquin_exponent, cycles_to_failure
from fixplan.mechanics.mean_stress import goodman_factor


def test_problem_6_15_line():
    """a = 891.0 MPa, b = -0.084 828."""
    assert basquin_coefficient(0.9, 551.0, 276.0) == pytest.approx(891.0, abs=0.05)
    assert basquin_exponent(0.9, 551.0, 276.0) == pytest.approx(-0.084828, abs=5e-7)


def test_problem_6_15_life():
    """N = 45 800 cycles (three digits)."""
    assert cycles_to_failure(358.5, 891.0, -0.084828) == pytest.approx(45800, abs=50)


def test_problem_6_15_goodman():
    """n_f = 0.77: the fully reversed stress of equal damage over the endurance limit."""
    assert goodman_factor(358.5, 0.0, 276.0, 551.0) == pytest.approx(0.77, abs=0.005)
