"""Torsion of elliptic sections: Roark's Formulas for Stress and Strain, table 10.1 (ROARK-a, ROARK-b, restated pages).

The tables print formulas, not numbers; the expected values here are worked by hand from the printed formulas or are
limits that another book prints.
"""

import math

import pytest

from fixplan.mechanics.section import torsion_hollow_ellipse, torsion_stress_hollow_ellipse, torsion_thin_ellipse


def test_hollow_ellipse_becomes_the_annulus():
    """a = b = 5 mm, q = 0.5: J of an annulus, pi (10^4 - 5^4) / 32 (GERE7 eq. 3-17)."""
    assert torsion_hollow_ellipse(10.0, 10.0, 0.5) == pytest.approx(math.pi * (10**4 - 5**4) / 32)


def test_hollow_ellipse_by_hand():
    """a = 5, b = 4 mm, q = 0.5: K = pi 125 64 / 41 (1 - 1/16) = 574.68 mm4; 2 T / (pi 80 15/16): 8.488 MPa per N m."""
    assert torsion_hollow_ellipse(10.0, 8.0, 0.5) == pytest.approx(math.pi * 8000 / 41 * 15 / 16, rel=1e-9)
    assert torsion_hollow_ellipse(10.0, 8.0, 0.5) == pytest.approx(574.68, abs=0.005)
    assert torsion_stress_hollow_ellipse(1000.0, 10.0, 8.0, 0.5) == pytest.approx(8.488, abs=0.0005)


def test_thin_ellipse_becomes_the_thin_circle():
    """a = b: K = 2 pi r^3 t about the mean radius r (GERE7, thin-walled tubes)."""
    assert torsion_thin_ellipse(10.0, 10.0, 0.2) == pytest.approx(2 * math.pi * 4.9**3 * 0.2, rel=1e-9)
