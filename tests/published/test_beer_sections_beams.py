"""Beer and Johnston, Mechanics of Materials: example 4.03.

Recalled with high confidence and recomputed by hand, not read in the book for this project. Tolerance: half
of the last printed digit.
"""

import pytest

from fixplan.mechanics import section as sec


def test_example_4_03_steel_between_brass():
    """Bar 3 in high: brass 0.4 + steel 0.75 + brass 0.4 in wide, E = 15 and 29 Msi, M = 40 kip-in."""
    E_brass, E_steel = 15.0e3, 29.0e3
    assert E_steel / E_brass == pytest.approx(1.933, abs=0.0005)
    brass = E_brass * sec.second_moment_rectangle(0.8, 3.0)
    steel = E_steel * sec.second_moment_rectangle(0.75, 3.0)
    EI = sec.unbonded_EI(brass, steel)
    assert abs(sec.composite_stress(40.0, E_brass, 1.5, 0.0, EI)) == pytest.approx(11.85, abs=0.005)
    assert abs(sec.composite_stress(40.0, E_steel, 1.5, 0.0, EI)) == pytest.approx(22.9, abs=0.05)


def test_example_4_03_the_parts_are_concentric_so_bonding_changes_nothing():
    parts = (1.0e3, 15.0, 0.0, 2.0e3, 29.0, 0.0)
    assert sec.composite_EI(*parts) == sec.unbonded_EI(1.0e3, 2.0e3)
