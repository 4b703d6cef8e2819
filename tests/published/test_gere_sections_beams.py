"""Gere, Mechanics of Materials, 7th edition: composite and stepped beams.

Example 6-1 and two symbolic results of chapter 9, recalled with high confidence and re-derived by hand
(not read in the book for this project). Printed values in US units are entered as printed, in
`fixplan/validation/books.py`; the functions are indifferent to a consistent system.
"""

import numpy as np
import pytest

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import cantilever, simply_supported, value_at
from fixplan.validation.books import COMPOSITE, STEPPED

EXAMPLES = [e for e in COMPOSITE + STEPPED if e.source == "GERE7"]


def test_any_number_of_parts_gives_the_same():
    """Example 6-1 through the general form: the neutral axis lies 5.031 in below the top, I 171.0 and 3.01 in4."""
    y_c, EI = sec.transformed_section([1500.0, 30000.0], [24.0, 2.0], [4 * 6**3 / 12, 4 * 0.5**3 / 12], [3.5, 0.25])
    assert 6.5 - y_c == pytest.approx(5.031, abs=0.0005)
    assert pytest.approx(1500 * 171.0 + 30000 * 3.01, abs=1500 * 0.05 + 30000 * 0.005) == EI


@pytest.mark.parametrize("n", [1, 3, 7])
def test_tables_of_appendix_g(n):
    """F L^3/(3 EI) and F L^2/(2 EI) at a cantilever's tip; F L^3/(48 EI) under a central load, however many
    pieces.
    """
    L, F, EI = 70.0, 12.0, 3.0e6
    edges = np.linspace(0, L, n + 1)
    tip = cantilever(edges, np.full(n, EI), [F], [L])
    assert tip.deflection[-1] == pytest.approx(F * L**3 / (3 * EI), rel=1e-12)
    assert tip.rotation[-1] == pytest.approx(F * L**2 / (2 * EI), rel=1e-12)
    middle = simply_supported(edges, np.full(n, EI), [F], [L / 2], (0.0, L))
    assert value_at(middle.s, middle.deflection, L / 2) == pytest.approx(F * L**3 / (48 * EI), rel=1e-12)
    assert middle.reactions == pytest.approx([-F / 2, -F / 2])


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
