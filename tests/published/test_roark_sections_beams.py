"""Roark's Formulas for Stress and Strain, table 10.1: torsion of ellipses, thin elliptical tubes and
rectangles.

No printed worked example was available, so the table's formulas are held against what they must reduce to,
against hand-worked values (ROARK-a, ROARK-b restate the ellipse formulas) and against Timoshenko's tabulated
coefficients for rectangles (from memory, high confidence).
"""

import math

import numpy as np
import pytest

from fixplan.mechanics import section as sec
from fixplan.validation.books import TORSION


def test_a_round_hollow_ellipse_is_a_round_tube():
    assert sec.torsion_hollow_ellipse(10.0, 10.0, 0.5) == pytest.approx(math.pi * (10**4 - 5**4) / 32, rel=1e-12)
    assert sec.torsion_stress_hollow_ellipse(700.0, 10.0, 10.0, 0.5) == pytest.approx(
        16 * 700 * 10 / (math.pi * (10**4 - 5**4)), rel=1e-12
    )


def test_a_thin_round_tube_has_the_torsion_constant_of_its_wall():
    exact = math.pi * (20**4 - 19.6**4) / 32
    assert sec.torsion_thin_ellipse(20.0, 20.0, 0.2) == pytest.approx(exact, rel=2e-4)


def test_a_thin_elliptical_tube_by_bredt():
    # 4 t A^2/U with the median ellipse; its perimeter by numerical quadrature
    a, b, t = 10.0, 7.0, 0.1
    angle = np.linspace(0, 2 * math.pi, 20001)
    am, bm = a - t / 2, b - t / 2
    perimeter = np.trapezoid(np.hypot(am * np.sin(angle), bm * np.cos(angle)), angle)
    bredt = 4 * t * (math.pi * am * bm) ** 2 / perimeter
    # the table's perimeter is itself an approximation, good to some parts in ten thousand
    assert sec.torsion_thin_ellipse(2 * a, 2 * b, t) == pytest.approx(bredt, rel=5e-4)
    assert sec.torsion_stress_thin_tube(500.0, t, math.pi * am * bm) == pytest.approx(
        500 / (2 * t * math.pi * am * bm), rel=1e-12
    )


EXAMPLES = [e for e in TORSION if e.source in ("ROARK-a", "TIMO")]


def test_the_rows_held():
    """Two hand-worked values and a limit of the hollow ellipse; six aspect ratios of rectangles, two columns."""
    assert len(EXAMPLES) == 3 + 2 * 6
    assert sec.torsion_hollow_ellipse(8.0, 10.0, 0.5) == sec.torsion_hollow_ellipse(10.0, 8.0, 0.5)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
