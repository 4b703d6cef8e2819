"""Solutions manual of Shigley's Mechanical Engineering Design, 9th edition (SHIG-SM), problem 6-15.

S_ut 551 MPa, S_e 276 MPa, f 0.9, equivalent fully reversed stress 358.5 MPa: a 891.0 MPa, b -0.084 828, N 45 800 (three
digits), n_f 0.77, as printed; rows in `fixplan/validation/shigley.py`.
"""

import pytest

from fixplan.validation.shigley import FATIGUE

EXAMPLES = [e for e in FATIGUE if e.source == "SHIG-SM"]


def test_all_four_answers_are_held():
    assert [e.published for e in EXAMPLES] == [891.0, -0.084828, 45800, 0.77]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
