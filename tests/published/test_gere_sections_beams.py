"""Gere, Mechanics of Materials, 7th edition: composite and stepped beams.

Example 6-1 and two symbolic results of chapter 9, recalled with high confidence and re-derived by hand
(not read in the book for this project). Printed values in US units are entered as printed; the functions are
indifferent to a consistent system. Tolerance: half of the last printed digit.
"""

import numpy as np
import pytest

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import cantilever, simply_supported, value_at


class TestExample6_1:
    """A 4 x 6 in wood beam with a 4 x 0.5 in steel plate fastened below it; M = 60 kip-in."""

    E_wood, E_steel = 1500.0, 30000.0
    # EI about the part's own centroid, EA, height of the centroid above the bottom
    wood = (1500.0 * 4 * 6**3 / 12, 1500.0 * 24.0, 3.5)
    steel = (30000.0 * 4 * 0.5**3 / 12, 30000.0 * 2.0, 0.25)

    def centroid(self) -> float:
        return sec.composite_centroid(*self.wood[1:], *self.steel[1:])

    def rigidity(self) -> float:
        return sec.composite_EI(*self.wood, *self.steel)

    def test_the_neutral_axis_lies_5_031_in_below_the_top(self):
        assert 6.5 - self.centroid() == pytest.approx(5.031, abs=0.0005)

    def test_rigidity_from_the_printed_second_moments(self):
        # printed: I1 = 171.0 and I2 = 3.01 in4 about the neutral axis
        assert self.rigidity() == pytest.approx(1500 * 171.0 + 30000 * 3.01, abs=1500 * 0.05 + 30000 * 0.005)

    @pytest.mark.parametrize(
        ("E", "y", "printed"),
        [(1.5e3, 6.5, -1310), (1.5e3, 0.5, 251), (30e3, 0.5, 5030), (30e3, 0.0, 7620)],
    )
    def test_stress_at_the_edges_of_both_materials(self, E, y, printed):
        stress = sec.composite_stress(60.0, E, y, self.centroid(), self.rigidity()) * 1000
        # the printed values carry three figures
        assert stress == pytest.approx(printed, abs=10 if abs(printed) > 1000 else 0.5)

    def test_any_number_of_parts_gives_the_same(self):
        y_c, EI = sec.transformed_section([1500.0, 30000.0], [24.0, 2.0], [4 * 6**3 / 12, 4 * 0.5**3 / 12], [3.5, 0.25])
        assert 6.5 - y_c == pytest.approx(5.031, abs=0.0005)
        assert pytest.approx(1500 * 171.0 + 30000 * 3.01, abs=1500 * 0.05 + 30000 * 0.005) == EI


def test_chapter_9_simple_beam_with_a_stiffer_middle_half():
    """Central load, 2 EI over the middle half: end rotation 5 P L^2/(128 EI), deflection 3 P L^3/(256 EI)."""
    L, P, EI = 60.0, 35.0, 2.0e6
    beam = simply_supported([0, L / 4, 3 * L / 4, L], [EI, 2 * EI, EI], [-P], [L / 2], (0.0, L))
    assert value_at(beam.s, beam.deflection, L / 2) == pytest.approx(-3 * P * L**3 / (256 * EI), rel=1e-12)
    assert beam.rotation[0] == pytest.approx(-5 * P * L**2 / (128 * EI), rel=1e-12)
    assert beam.rotation[-1] == pytest.approx(5 * P * L**2 / (128 * EI), rel=1e-12)


def test_chapter_9_cantilever_with_a_stiffer_inner_half():
    """Tip load, outer half EI, inner half 2 EI: deflection 3 P L^3/(16 EI)."""
    L, P, EI = 48.0, 20.0, 1.1e6
    beam = cantilever([0, L / 2, L], [2 * EI, EI], [P], [L])
    assert beam.deflection[-1] == pytest.approx(3 * P * L**3 / (16 * EI), rel=1e-12)


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
