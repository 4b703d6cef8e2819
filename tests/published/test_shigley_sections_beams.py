"""Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th edition: beam deflection with shear
(example 4-9, p. 165).

Printed to four figures; rows in `fixplan/validation/shigley.py`. Units as printed: in, lbf, psi.
"""

import pytest

from fixplan.mechanics.beam import cantilever
from fixplan.validation.shigley import BEAMS as EXAMPLES


def test_the_whole_and_both_parts_are_held():
    assert [e.published for e in EXAMPLES] == [0.02263, 0.00012, 0.02275]


def test_shear_does_not_turn_a_section_and_pieces_do_not_matter():
    whole = cantilever([0.0, 10.0], [1.5e6], [100.0], [10.0])
    pieces = cantilever([0.0, 4.0, 10.0], [1.5e6, 1.5e6], [100.0], [10.0], GA=[8e6, 8e6])
    assert pieces.rotation[-1] == pytest.approx(whole.rotation[-1], rel=1e-12)
    # 4-9: the shear part is F L/(GA) with the correction in GA
    assert pieces.deflection[-1] - whole.deflection[-1] == pytest.approx(100.0 * 10.0 / 8e6, rel=1e-9)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
