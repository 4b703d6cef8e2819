"""Circle, chord, tangent: Machinery's Handbook, segments of circles of radius 1 (from memory); plane geometry."""

import math

import pytest

from fixplan.mechanics.straightening import bow_radius, flattening_angle, tangent_offset


@pytest.mark.parametrize(
    ("degrees", "chord", "height"),
    [(60, 1.0, 0.13397), (30, 0.51764, 0.03407), (90, 1.41421, 0.29289), (180, 2.0, 1.0)],
)
def test_radius_from_chord_and_height(degrees, chord, height):
    """Handbook table, radius 1: chord and height of a segment of 30, 60, 90 and 180 degrees; five decimals printed."""
    assert chord == pytest.approx(2 * math.sin(math.radians(degrees / 2)), abs=5e-6)
    assert bow_radius(chord, height) == pytest.approx(1.0, abs=2e-4)


def test_offset_from_the_tangent():
    """Pythagoras, 3-4-5: at x = 3 on a circle of radius 5 the circle is 5 - 4 = 1 away from its tangent."""
    assert tangent_offset(3.0, 5.0) == pytest.approx(1.0)
    assert tangent_offset(5.0, 13.0) == pytest.approx(1.0)


def test_two_legs_take_the_height_of_a_triangle():
    """A triangle with legs 100 and 50 and height 1: base angles atan(1/100) and atan(1/50) add up to the turn."""
    assert flattening_angle(1.0, 100.0, 50.0) == pytest.approx(math.atan(1 / 100) + math.atan(1 / 50), rel=2e-4)
