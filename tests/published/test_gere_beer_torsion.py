"""Torsion examples of Gere, Mechanics of Materials, 7th ed. (GERE7), and Beer & Johnston (BEERJ). Answers from memory.

Rows in `fixplan/validation/books.py`; book units are kept where the forms are homogeneous.
Tolerance: half a unit of the last printed digit.
"""

import math

import pytest

from fixplan.mechanics.torsion import implied_shear, plastic_torque, yield_torque
from fixplan.validation.books import TORSION

EXAMPLES = [e for e in TORSION if e.source in ("GERE7", "BEERJ")]


def test_the_examples_held():
    assert {e.where for e in EXAMPLES} == {"ex. 3-1", "ex. 3-2", "ex. 3.10"}
    assert len(EXAMPLES) == 12


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


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
