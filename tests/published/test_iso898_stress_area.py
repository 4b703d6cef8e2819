"""Nominal stress areas of metric coarse threads as printed in ISO 898-1 (from memory)."""

import pytest

from fixplan.mechanics.preload import stress_area


@pytest.mark.parametrize(
    ("diameter", "pitch", "area", "half_unit"),
    [(3, 0.5, 5.03, 0.005), (4, 0.7, 8.78, 0.005), (5, 0.8, 14.2, 0.05), (6, 1.0, 20.1, 0.05), (8, 1.25, 36.6, 0.05)],
)
def test_stress_area(diameter, pitch, area, half_unit):
    assert stress_area(diameter, pitch) == pytest.approx(area, abs=half_unit)
