"""Whatever a spreadsheet holds: every line is read, set aside or blank; no number is made up; nothing else happens."""

from __future__ import annotations

import csv
import datetime as dt
import io
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from fixplan.problems import InputError
from fixplan.stock import cells
from fixplan.stock.cells import CellError
from fixplan.stock.gs1 import parse
from fixplan.stock.order_sheet import safe_cell
from fixplan.stock.shelf import read_shelf

ON = dt.date(2026, 12, 3)
HEAD = ["item", "diameter (mm)", "length (mm)", "quantity", "lot", "expiry", "barcode", "sterile"]
# a text cell of a spreadsheet holds no lone surrogates and no control characters
TEXT = st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=8)
CELL = st.one_of(
    TEXT,
    st.sampled_from(
        ["", "4.5", "4,5", "46 mm", "-1", "2.5", "2027-05-31", "31/12/2027", "03/04/2027", "=1", "#N/A", "yes"]
    ),
    st.sampled_from(
        ["(01)95012345678903(17)281200(10)A", "0195012345678902", "1,000", "9.5E+12", '"', "\n", ";", "\u00a0"]
    ),
    st.integers(-3, 10**9).map(str),
)
SAME_FILE = HealthCheck.function_scoped_fixture


@settings(max_examples=150, deadline=None, suppress_health_check=[SAME_FILE, HealthCheck.too_slow])
@given(st.lists(st.lists(CELL, min_size=len(HEAD), max_size=len(HEAD)), max_size=6), st.sampled_from([",", ";", "\t"]))
def test_every_line_is_accounted_for(tmp_path: Path, rows: list[list[str]], delimiter: str) -> None:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter).writerows([HEAD, *rows])
    path = tmp_path / "shelf.csv"
    path.write_text(out.getvalue(), encoding="utf-8", newline="")
    report = read_shelf(path, on=ON)
    assert report.lines == len(rows)
    places = [r.line for r in report.rows] + [p.line for p in report.set_aside]
    assert len(set(places)) == len(places)
    for row in report.rows:
        assert row.quantity >= 0
        assert row.item or row.gtin
        assert row.diameter_mm is None or row.diameter_mm > 0
        assert row.expiry is None or row.expiry.year >= 1977
    for problem in report.set_aside:
        assert problem.reason


@settings(max_examples=150, deadline=None, suppress_health_check=[SAME_FILE])
@given(st.binary(max_size=200))
@example(b"PK\x03\x04")
@example(b"\xef\xbb\xbf\xff")
@example(b'item,qty\n"A,1\n')
def test_any_bytes_are_read_or_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "shelf"
    path.write_bytes(data)
    try:
        read_shelf(path, on=ON)
    except InputError as error:
        refused = str(error)
    else:
        return
    assert str(path) in refused


@settings(max_examples=200, deadline=None)
@given(st.one_of(TEXT, st.from_regex(r"[0-9]{1,4}[-/. ][0-9A-Za-z]{1,9}[-/. ][0-9]{1,4}", fullmatch=True)))
def test_a_date_read_has_its_numbers_in_the_text(text: str) -> None:
    """Year as written, and a day and month that the text holds in one order only, or a month alone."""
    try:
        found, note = cells.date(text)
    except CellError:
        return
    assert str(found.year) in text
    if not note:
        assert str(found.day) in text


@given(st.dates(dt.date(2000, 1, 1), dt.date(2099, 12, 31)))
@settings(max_examples=100)
def test_a_date_written_out_comes_back_and_an_ambiguous_one_never(day: dt.date) -> None:
    month = dt.date(2000, day.month, 1).strftime("%b")
    for text in (day.isoformat(), f"{day:%Y%m%d}", f"{day.day} {month} {day.year}", f"{day:%Y/%m/%d}"):
        assert cells.date(text)[0] == day
    numeric = f"{day:%d/%m/%Y}"
    if day.day <= 12 and day.day != day.month:
        with pytest.raises(CellError, match="exchanged"):
            cells.date(numeric)
    else:
        assert cells.date(numeric)[0] == day
    assert cells.date(numeric, cells.DAY_FIRST)[0] == day
    assert cells.date(f"{day:%m/%d/%Y}", cells.MONTH_FIRST)[0] == day


@given(st.integers(1, 99999))
@settings(max_examples=100)
def test_a_length_is_the_same_with_comma_point_and_other_unit(hundredths: int) -> None:
    text = f"{hundredths / 100:.2f}"
    expected = hundredths / 100
    for written in (f"{text} mm", f"{text.replace('.', ',')} mm", f"{text}mm"):
        assert cells.length_mm(written) == pytest.approx(expected, abs=1e-9)
    assert cells.length_mm(f"{text} cm") == pytest.approx(10 * expected, abs=1e-6)


@given(st.one_of(TEXT, st.from_regex(r"\(?[0-9()A-Z]{0,40}", fullmatch=True)))
@settings(max_examples=200, deadline=None)
def test_any_scan_is_read_or_refused(text: str) -> None:
    try:
        scan = parse(text, ON)
    except CellError:
        return
    assert scan.expiry is None or -49 <= scan.expiry.year - ON.year <= 50


@given(st.text(max_size=12))
@settings(max_examples=200)
def test_no_text_becomes_a_formula_and_none_is_lost(text: str) -> None:
    cell = safe_cell(text)
    assert not cell.lstrip().startswith(("=", "+", "-", "@", "|"))
    assert cell.endswith(text)
    assert len(cell) <= len(text) + 1
