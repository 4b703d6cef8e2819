"""Nominal stress areas of metric coarse threads as printed in ISO 898-1 (from memory)."""

import pytest

from fixplan.validation.tables import STRESS_AREAS as EXAMPLES


def test_five_threads_are_held():
    assert [e.published for e in EXAMPLES] == [5.03, 8.78, 14.2, 20.1, 36.6]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
