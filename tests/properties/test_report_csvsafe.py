"""Whatever a cell holds, a spreadsheet reads it back as data."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixplan.report.csvsafe import RISKY, safe_cell, to_csv

TEXT = st.text(st.characters(exclude_categories=("Cs",)), max_size=30)


@settings(max_examples=150)
@given(st.lists(st.lists(TEXT, min_size=1, max_size=4), min_size=1, max_size=4))
def test_no_text_cell_starts_a_formula_and_none_is_lost(rows: list[list[str]]) -> None:
    back = list(csv.reader(io.StringIO(to_csv(rows), newline="")))
    assert len(back) == len(rows)
    for row, read in zip(rows, back, strict=True):
        for cell, seen in zip(row, read, strict=True):
            assert not seen.startswith(RISKY)
            assert seen.removeprefix("'") == cell.removeprefix("'")


@given(st.floats(-1e300, 1e300))
def test_a_number_stays_a_number_to_ten_digits(value: float) -> None:
    assert float(safe_cell(value)) == pytest.approx(value, rel=1e-9)


@given(st.integers(-(10**12), 10**12))
def test_a_whole_number_stays_as_it_is(value: int) -> None:
    assert int(safe_cell(value)) == value


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_a_number_that_is_not_finite_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="not finite"):
        safe_cell(value)


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@x", "\tx", "\rx", "\nx", " =1", "\u00a0=1", "\uff1d1", "-", "=cmd|' /C calc'!A0"]
)
def test_each_risky_start_is_put_behind_an_apostrophe(text: str) -> None:
    """The starts named in OWASP's note on CSV injection, from memory."""
    assert safe_cell(text) == f"'{text}"


def test_cautions_come_first() -> None:
    assert to_csv([["a", 1]], ["Careful, really."]).splitlines()[0] == '"# Careful, really."'
