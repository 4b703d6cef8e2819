"""AISC Manual of Steel Construction, beam diagrams and formulas: simple beam, two equal loads (from memory,
re-derived).

Case "two equal concentrated loads symmetrically placed": maximum 23 P L^3/(648 EI) = P L^3/(28.17 EI) at
third points; in general P a (3 L^2 - 4 a^2)/(24 EI) at the middle and P a^2 (3 L - 4 a)/(6 EI) under a load.
"""

import pytest

from fixplan.mechanics.beam import simply_supported, value_at
from fixplan.validation.books import STEPPED

L, P, EI = 66.0, 25.0, 1.7e6


def beam(a: float):
    return simply_supported([0.0, L / 2, L], [EI, EI], [P, P], [a, L - a], (0.0, L))


EXAMPLES = [e for e in STEPPED if e.source == "AISC"]


def test_third_points():
    b = beam(L / 3)
    middle = value_at(b.s, b.deflection, L / 2)
    assert middle == pytest.approx(23 * P * L**3 / (648 * EI), rel=1e-12)


@pytest.mark.parametrize("a", [5.0, 16.5, 30.0])
def test_any_symmetric_pair(a):
    b = beam(a)
    assert value_at(b.s, b.deflection, L / 2) == pytest.approx(P * a * (3 * L**2 - 4 * a**2) / (24 * EI), rel=1e-12)
    assert value_at(b.s, b.deflection, a) == pytest.approx(P * a**2 * (3 * L - 4 * a) / (6 * EI), rel=1e-12)
    assert value_at(b.s, b.moment, L / 2) == pytest.approx(-P * a, rel=1e-12)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
