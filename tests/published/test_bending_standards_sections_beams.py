"""Four-point bending as the standards for plates (ASTM F382) and intramedullary devices (ASTM F1264) define
it.

The formulas are from memory with high confidence; here they are held against Euler-Bernoulli beams in the
standards' own arrangements (F1264's recommended spans, read in a test-machine maker's page: s = c = 38 mm, L
= 114 mm; or 76 and 228 mm).
"""

import numpy as np
import pytest

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import simply_supported, value_at
from fixplan.mechanics.loadcases import structural_EI_im_device, structural_EI_plate


def stiffness(EI: float, h: float, a: float) -> float:
    """Load over load-point displacement of a uniform beam on two outer rollers, half the load on each inner
    one.
    """
    L = 2 * h + a
    beam = simply_supported([0.0, L], [EI], [0.5, 0.5], [h, h + a], (0.0, L))
    return 1 / float(value_at(beam.s, beam.deflection, h))


@pytest.mark.parametrize("span", [38.0, 76.0])
def test_recommended_spans_of_the_device_standard(span):
    EI = 5.0e6
    assert structural_EI_im_device(stiffness(EI, span, span), span, span) == pytest.approx(EI, rel=1e-12)


@pytest.mark.parametrize(("h", "a"), [(10.0, 20.0), (15.0, 15.0), (30.0, 12.0)])
def test_both_standards_return_the_rigidity_of_a_uniform_beam(h, a):
    EI = 0.4e6
    K = stiffness(EI, h, a)
    assert structural_EI_plate(K, h, a) == pytest.approx(EI, rel=1e-12)
    assert structural_EI_im_device(K, h, a) == pytest.approx(EI, rel=1e-12)


def test_constants_of_the_recommended_spans():
    # s^2 (L + 2c)/12 with s = c = 38, L = 114 mm: 38^2 * 190 / 12; and with 76: 76^2 * 380 / 12
    assert structural_EI_im_device(1.0, 38.0, 38.0) == pytest.approx(38**2 * 190 / 12, rel=1e-12)
    assert structural_EI_im_device(1.0, 76.0, 76.0) == pytest.approx(76**2 * 380 / 12, rel=1e-12)


def test_a_rod_of_5_5_mm():
    # pi 5.5^4/64 = 44.918 mm4 by hand; 114 GPa: 5.1207 N m2
    assert sec.second_moment_circle(5.5) == pytest.approx(44.918, abs=0.0005)
    assert 114e3 * sec.second_moment_annulus(5.5, 0.0) * 1e-6 == pytest.approx(5.1207, abs=0.00005)


#: ISO 5835 core diameters (high confidence from memory) against A, I, Z, J worked by hand
CORES = [
    (1.1, 0.950, 0.0719, 0.1307, 0.1437),
    (1.3, 1.327, 0.1402, 0.2157, 0.2804),
    (1.9, 2.835, 0.6397, 0.6734, 1.2794),
    (2.4, 4.524, 1.6286, 1.3572, 3.2572),
    (3.0, 7.069, 3.9761, 2.6507, 7.9522),
]


@pytest.mark.parametrize(("d", "A", "I", "Z", "J"), CORES)
def test_core_sections_of_bone_screws(d, A, I, Z, J):  # noqa: E741
    for solid, tube, value, digit in (
        (sec.area_circle, sec.area_annulus, A, 0.0005),
        (sec.second_moment_circle, sec.second_moment_annulus, I, 0.00005),
        (sec.section_modulus_circle, sec.section_modulus_annulus, Z, 0.00005),
        (sec.polar_circle, sec.polar_annulus, J, 0.00005),
    ):
        assert solid(d) == pytest.approx(value, abs=digit)
        assert tube(d, 0.0) == pytest.approx(value, abs=digit)


def test_bars_by_diameter():
    # flexural rigidities in N m2 of solid bars, titanium alloy 114 GPa and steel 193 GPa, by hand
    d = np.array([3.0, 4.0, 4.5, 5.0, 5.5, 6.5])
    ti = [0.453, 1.433, 2.295, 3.497, 5.121, 9.989]
    steel = [0.767, 2.425, 3.885, 5.921, 8.669, 16.911]
    assert 0.114 * sec.second_moment_circle(d) == pytest.approx(ti, abs=0.0006)
    assert 0.193 * sec.second_moment_circle(d) == pytest.approx(steel, abs=0.0006)
