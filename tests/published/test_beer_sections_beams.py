"""Beer and Johnston, Mechanics of Materials: example 4.03, steel 0.75 in between brass 2 x 0.4 in, 40 kip-in.

Recalled with high confidence and recomputed by hand, not read in the book for this project. Rows in
`fixplan/validation/books.py`; tolerance: half of the last printed digit.
"""

import pytest

from fixplan.mechanics import section as sec
from fixplan.validation.books import COMPOSITE

EXAMPLES = [e for e in COMPOSITE if e.source == "BEERJ"]


def test_the_answers_held():
    assert [e.published for e in EXAMPLES] == [1.933, 11.85, 22.9]


def test_example_4_03_the_parts_are_concentric_so_bonding_changes_nothing():
    parts = (1.0e3, 15.0, 0.0, 2.0e3, 29.0, 0.0)
    assert sec.composite_EI(*parts) == sec.unbonded_EI(1.0e3, 2.0e3)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
