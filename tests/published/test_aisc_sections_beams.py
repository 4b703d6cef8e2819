"""AISC Manual of Steel Construction, beam diagrams and formulas: simple beam, two equal loads (from memory,
re-derived).

Case "two equal concentrated loads symmetrically placed": maximum 23 P L^3/(648 EI) = P L^3/(28.17 EI) at
third points; in general P a (3 L^2 - 4 a^2)/(24 EI) at the middle and P a^2 (3 L - 4 a)/(6 EI) under a load.
"""

import pytest

from fixplan.mechanics.beam import simply_supported, value_at

L, P, EI = 66.0, 25.0, 1.7e6


def beam(a: float):
    return simply_supported([0.0, L / 2, L], [EI, EI], [P, P], [a, L - a], (0.0, L))


def test_third_points():
    b = beam(L / 3)
    middle = value_at(b.s, b.deflection, L / 2)
    assert middle == pytest.approx(23 * P * L**3 / (648 * EI), rel=1e-12)
    assert P * L**3 / EI / middle == pytest.approx(28.17, abs=0.005)


@pytest.mark.parametrize("a", [5.0, 16.5, 30.0])
def test_any_symmetric_pair(a):
    b = beam(a)
    assert value_at(b.s, b.deflection, L / 2) == pytest.approx(P * a * (3 * L**2 - 4 * a**2) / (24 * EI), rel=1e-12)
    assert value_at(b.s, b.deflection, a) == pytest.approx(P * a**2 * (3 * L - 4 * a) / (6 * EI), rel=1e-12)
    assert value_at(b.s, b.moment, L / 2) == pytest.approx(-P * a, rel=1e-12)
