"""Notch fatigue of titanium grade 1 from a material data sheet (TI-data).

Rotating bending at 10^7 cycles: 193 MPa smooth, 123 MPa with a notch of K_t = 3. The sensitivity that the two strengths
imply, q = (193/123 - 1) / (3 - 1), gives the notched strength back.
"""

import pytest

from fixplan.validation.tables import BONE

EXAMPLES = [e for e in BONE if e.source == "TI-data"]


def test_one_row_is_held():
    assert [e.published for e in EXAMPLES] == [123.0]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
