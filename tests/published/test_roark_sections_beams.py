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


def test_a_round_hollow_ellipse_is_a_round_tube():
    assert sec.torsion_hollow_ellipse(10.0, 10.0, 0.5) == pytest.approx(math.pi * (10**4 - 5**4) / 32, rel=1e-12)
    assert sec.torsion_stress_hollow_ellipse(700.0, 10.0, 10.0, 0.5) == pytest.approx(
        16 * 700 * 10 / (math.pi * (10**4 - 5**4)), rel=1e-12
    )


def test_ellipse_10_by_8_with_a_half_size_canal():
    # by hand: pi 125 64/(25+16) (1-1/16) = 574.682 mm4; 2000/(pi 5 16 (15/16)) = 8.4883 MPa per N m
    assert sec.torsion_hollow_ellipse(10.0, 8.0, 0.5) == pytest.approx(574.682, abs=0.0005)
    assert sec.torsion_hollow_ellipse(8.0, 10.0, 0.5) == pytest.approx(574.682, abs=0.0005)
    assert sec.torsion_stress_hollow_ellipse(1000.0, 10.0, 8.0, 0.5) == pytest.approx(8.4883, abs=0.00005)


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


#: Timoshenko and Goodier: J/(w t^3) and tau/(T/(w t^2)) of rectangles by aspect ratio, three figures
RECTANGLES = [
    (1.0, 0.141, 0.208),
    (1.5, 0.196, 0.231),
    (2.0, 0.229, 0.246),
    (3.0, 0.263, 0.267),
    (4.0, 0.281, 0.282),
    (10.0, 0.312, 0.312),
]


@pytest.mark.parametrize(("ratio", "beta", "alpha"), RECTANGLES)
def test_rectangles_within_the_formula_s_stated_error(ratio, beta, alpha):
    t = 1.3
    assert sec.torsion_rectangle(ratio * t, t) == pytest.approx(beta * ratio * t**4, rel=0.006)
    assert sec.torsion_stress_rectangle(90.0, ratio * t, t) == pytest.approx(90 / (alpha * ratio * t**3), rel=0.04)


def test_the_mid_metatarsal_section():
    # outline 9.5 x 7.5 mm, canal 4.5 x 4.0 mm, by hand: I 182.596 mm4, Z 48.692 mm3, EI 3.104 N m2 at 17 GPa
    size = (9.5, 7.5, 4.5, 4.0)
    assert sec.second_moment_hollow_ellipse(*size) == pytest.approx(182.596, abs=0.0005)
    assert sec.section_modulus_hollow_ellipse(*size) == pytest.approx(48.692, abs=0.0005)
    assert 0.017 * sec.second_moment_hollow_ellipse(*size) == pytest.approx(3.104, abs=0.0005)


def test_a_plate_of_6_by_1_3_mm():
    # by hand: I 1.0985 mm4, EI 0.1252 N m2 at 114 GPa; with a 2.9 mm hole (6-2.9)*1.3^3/12 = 0.5676
    assert sec.second_moment_rectangle(6.0, 1.3) == pytest.approx(1.0985, abs=0.00005)
    assert 0.114 * sec.second_moment_rectangle(6.0, 1.3) == pytest.approx(0.1252, abs=0.00005)
    assert sec.second_moment_net_flat(6.0, 1.3, 2.9) == pytest.approx(0.5676, abs=0.00005)
