"""Torsion examples of Gere, Mechanics of Materials, 7th ed. (GERE7), and Beer & Johnston (BEERJ). Answers from memory.

Book units are kept where the forms are homogeneous. Tolerance: half a unit of the last printed digit.
"""

import math

import pytest

from fixplan.mechanics.section import (
    polar_annulus,
    polar_circle,
    torsion_stress_annulus,
    torsion_stress_thin_tube,
    twist,
)
from fixplan.mechanics.torsion import implied_shear, plastic_torque, yield_torque


def test_gere_example_3_1_stress_and_twist():
    """Ex. 3-1: steel bar d 1.5 in, L 54 in, G 11.5(10^6) psi, T 250 lb-ft: I_p 0.4970 in4, 4530 psi, 0.02834 rad."""
    torque = 250 * 12
    assert polar_circle(1.5) == pytest.approx(0.4970, abs=5e-5)
    assert torsion_stress_annulus(torque, 1.5, 0.0) == pytest.approx(4530, abs=5)
    assert twist(torque, 54.0, 11.5e6, polar_circle(1.5)) == pytest.approx(0.02834, abs=5e-6)


def test_gere_example_3_1_allowable_torques():
    """Ex. 3-1: 6000 psi allows 331 lb-ft, 2.5 degrees allow 385 lb-ft."""
    assert yield_torque(1.5, 0.0, 6000.0) / 12 == pytest.approx(331, abs=0.5)
    for_one = twist(1.0, 54.0, 11.5e6, polar_circle(1.5))
    assert math.radians(2.5) / for_one / 12 == pytest.approx(385, abs=0.5)


def test_gere_example_3_2_solid_shaft():
    """Ex. 3-2: 1200 N m, 40 MPa, 0.75 deg/m, G 78 GPa: solid d = 58.8 mm (rate of twist governs; 53.5 mm by stress)."""
    rate = math.radians(0.75) / 1000
    assert twist(1.2e6, 1.0, 78e3, polar_circle(58.8)) == pytest.approx(rate, rel=0.004)
    assert twist(1.2e6, 1.0, 78e3, polar_circle(58.75)) > rate > twist(1.2e6, 1.0, 78e3, polar_circle(58.85))
    assert yield_torque(53.45, 0.0, 40.0) < 1.2e6 < yield_torque(53.5, 0.0, 40.0)


def test_gere_example_3_2_hollow_shaft():
    """Ex. 3-2: hollow with wall d/10: d = 67.1 mm by rate of twist, 63.7 mm by stress."""
    rate = math.radians(0.75) / 1000

    def turn(d):
        return twist(1.2e6, 1.0, 78e3, polar_annulus(d, 0.8 * d))

    assert turn(67.05) > rate > turn(67.15)
    assert yield_torque(63.65, 0.8 * 63.65, 40.0) < 1.2e6 < yield_torque(63.75, 0.8 * 63.75, 40.0)


@pytest.mark.parametrize(("wall", "stress"), [(0.160, 8.35), (0.120, 11.13), (0.200, 6.68)])
def test_beer_example_3_10_thin_tube(wall, stress):
    """Ex. 3.10: 2.5 x 4 in tube of 0.160 in wall, 24 kip-in: 8.35 ksi; with walls 0.120 and 0.200: 11.13 and 6.68 ksi.

    The mean area is that of the 0.160 wall in all three, as in the book (3.84 x 2.34 in).
    """
    assert torsion_stress_thin_tube(24.0, wall, 3.84 * 2.34) == pytest.approx(stress, abs=0.005)


def test_plastic_torque_of_a_solid_round_is_four_thirds_of_the_yield_torque():
    """Beer & Johnston, plastic deformations in circular shafts: T_p = 4/3 T_y."""
    assert plastic_torque(3.0, 0.0, 500.0) / yield_torque(3.0, 0.0, 500.0) == pytest.approx(4 / 3)


def test_plastic_torque_is_the_integral_of_shear_over_the_ring():
    """Same chapter: T_p = integral of tau rho dA, here summed over thin rings from the cannulation to the core."""
    rings = 20000
    width = (1.5 - 0.6) / rings
    total = sum(500.0 * (0.6 + (i + 0.5) * width) ** 2 * 2 * math.pi * width for i in range(rings))
    assert plastic_torque(3.0, 1.2, 500.0) == pytest.approx(total, rel=1e-6)
    assert implied_shear(total, 3.0, 1.2) == pytest.approx(500.0, rel=1e-6)
