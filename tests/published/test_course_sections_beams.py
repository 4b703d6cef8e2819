"""A course's worked answer (source COURSE): timber beam strengthened by a steel plate on top, the path of an
eccentric plate.

Timber 140 x 400 mm (E 12.5 GPa), steel plate 200 x 8 mm (E 200 GPa) on top, M = 30 kN m. Printed: timber 2.76
MPa in compression at its top and 5.36 MPa in tension at its bottom, steel 46.8 MPa. A coursework answer, not
a textbook's. Rows in `fixplan/validation/books.py`.
"""

import pytest

from fixplan.validation.books import COMPOSITE, PLATE_OFFSET

EXAMPLES = [e for e in COMPOSITE if e.source == "COURSE"]


def test_the_plate_is_in_its_place():
    assert PLATE_OFFSET == 204.0
    assert [e.published for e in EXAMPLES] == [-2.76, 5.36, -46.8]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
