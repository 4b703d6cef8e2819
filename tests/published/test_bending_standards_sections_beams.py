"""Four-point bending as the standards for plates (ASTM F382) and intramedullary devices (ASTM F1264) define
it.

The formulas are from memory with high confidence; here they are held against Euler-Bernoulli beams in the
standards' own arrangements (F1264's recommended spans, read in a test-machine maker's page: s = c = 38 mm, L
= 114 mm; or 76 and 228 mm).
"""

import pytest

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import simply_supported, value_at
from fixplan.mechanics.loadcases import structural_EI_im_device, structural_EI_plate
from fixplan.validation.tables import SECTIONS


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


#: the standard's constants, bars by diameter, cores of bone screws (ISO 5835) and bone, worked by hand
EXAMPLES = SECTIONS


def test_the_rows_held():
    names = {e.source for e in EXAMPLES}
    assert {"ASTM-F1264", "ISO5835", "GERE7", "MACHHB"} == names
    assert len(EXAMPLES) == 5 * 4 + 2 * 6 + 4 + 2


def test_a_rod_of_5_5_mm():
    # pi 5.5^4/64 = 44.918 mm4 by hand; 114 GPa: 5.1207 N m2
    assert sec.second_moment_circle(5.5) == pytest.approx(44.918, abs=0.0005)
    assert 114e3 * sec.second_moment_annulus(5.5, 0.0) * 1e-6 == pytest.approx(5.1207, abs=0.00005)


@pytest.mark.parametrize("d", [1.1, 1.3, 1.9, 2.4, 3.0])
def test_a_solid_core_is_a_tube_without_a_bore(d):
    assert sec.area_circle(d) == sec.area_annulus(d, 0.0)
    assert sec.second_moment_circle(d) == pytest.approx(sec.second_moment_annulus(d, 0.0), rel=1e-12)
    assert sec.section_modulus_circle(d) == pytest.approx(sec.section_modulus_annulus(d, 0.0), rel=1e-12)
    assert sec.polar_circle(d) == pytest.approx(sec.polar_annulus(d, 0.0), rel=1e-12)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
