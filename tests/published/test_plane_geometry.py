"""Circle, chord, tangent: Machinery's Handbook, segments of circles of radius 1 (from memory); plane geometry."""

import math

import pytest

from fixplan.mechanics.straightening import flattening_angle
from fixplan.validation.tables import GEOMETRY

EXAMPLES = GEOMETRY


@pytest.mark.parametrize(
    ("degrees", "chord", "height"),
    [(60, 1.0, 0.13397), (30, 0.51764, 0.03407), (90, 1.41421, 0.29289), (180, 2.0, 1.0)],
)
def test_the_handbook_s_chords_and_heights_belong_together(degrees, chord, height):
    """Radius 1: chord 2 sin(a/2), height 1 - cos(a/2); five decimals printed."""
    assert chord == pytest.approx(2 * math.sin(math.radians(degrees / 2)), abs=5e-6)
    assert height == pytest.approx(1 - math.cos(math.radians(degrees / 2)), abs=5e-6)


def test_two_legs_take_the_height_of_a_triangle():
    """A triangle with legs 100 and 50 and height 1: base angles atan(1/100) and atan(1/50) add up to the turn."""
    assert flattening_angle(1.0, 100.0, 50.0) == pytest.approx(math.atan(1 / 100) + math.atan(1 / 50), rel=2e-4)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
