"""The order sheet: no cell becomes a formula, the same bytes every time, and a spreadsheet program opens it."""

from __future__ import annotations

import csv
import datetime as dt
import html
import io
import itertools
import re
import shutil
import subprocess
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fixplan.cautions import CAUTIONS
from fixplan.stock.allocate import Allocation, allocate
from fixplan.stock.model import Item, Need, ShelfRow
from fixplan.stock.order import order_lines
from fixplan.stock.order_sheet import (
    HEADER,
    order_csv,
    order_xlsx,
    safe_cell,
    sheet_rows,
    write_order_csv,
    write_order_xlsx,
)
from fixplan.stock.workdays import arrival, latest_order

DAY = dt.date(2026, 12, 3)
EVIL = ['=HYPERLINK("http://x.invalid","y")', "+1+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", " =1", "|calc"]


@pytest.fixture(scope="module")
def short() -> Allocation:
    needs = [Need(f"case {i} {e}", DAY, i, (Item("im_screw", item=e, quantity=i + 1),)) for i, e in enumerate(EVIL)]
    needs.append(Need('é, "quoted"; µ', DAY, 99, (Item("plate", item="PL-6", holes=6),)))
    return allocate(needs, [ShelfRow(2, 1, item="PL-6", kind="plate", holes=7)], on=DAY)


def test_no_text_cell_can_become_a_formula(short: Allocation) -> None:
    """OWASP, CSV injection: =, +, -, @, tab and carriage return at the start of a cell."""
    for text in EVIL:
        assert safe_cell(text).startswith("'")
    rows = list(csv.reader(io.StringIO(order_csv(short, order_lines(short)).removeprefix("\ufeff"), newline="")))
    for row in rows:
        for cell in row:
            assert not cell.lstrip().startswith(("=", "+", "-", "@", "|")), cell


def test_plain_text_stays_as_it_is() -> None:
    for text in ("S50C-TI-46-T16", "5.0 × 46 mm", "", "é", "a=b"):
        assert safe_cell(text) == text


def test_csv_holds_header_lines_and_cautions(short: Allocation) -> None:
    lines = order_lines(short)
    text = order_csv(short, lines)
    rows = list(csv.reader(io.StringIO(text.removeprefix("\ufeff"), newline="")))
    assert text.startswith("\ufeff")
    assert tuple(rows[0]) == HEADER
    assert len([r for r in rows if r and r[0] == "Caution"]) == len(CAUTIONS)
    assert len(lines) == len(EVIL) + 1
    assert {int(r[3]) for r in rows[1 : len(lines) + 1]} == {1, 2, 3, 4, 5, 6, 7, 8}


def test_xlsx_holds_text_as_text_and_counts_as_numbers(short: Allocation) -> None:
    book = openpyxl.load_workbook(io.BytesIO(order_xlsx(short, order_lines(short))))
    sheet = book.active
    assert sheet is not None
    assert not any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)
    expected = sheet_rows(short, order_lines(short))
    for row, wanted in zip(sheet.iter_rows(values_only=True), expected, strict=True):
        assert [c if c is not None else "" for c in row][: len(wanted)] == list(wanted)
    faces = {(cell.font.name, cell.font.sz) for row in sheet.iter_rows() for cell in row}
    assert len(faces) == 1, "the header is printed in the face of the rest"
    assert [cell.font.b for cell in sheet["A"][:2]] == [True, False]


def test_the_same_list_gives_the_same_bytes(short: Allocation) -> None:
    assert order_xlsx(short, order_lines(short)) == order_xlsx(short, order_lines(short))


def test_nothing_to_order_says_so() -> None:
    covered = allocate([Need("A", DAY, 1, (Item("plate", item="P"),))], [ShelfRow(2, 1, item="P")], on=DAY)
    assert covered.status == "covered"
    assert sheet_rows(covered, order_lines(covered))[1] == ("nothing to order",)


def test_a_negative_resupply_time_is_refused(short: Allocation) -> None:
    with pytest.raises(ValueError, match="resupply_days is -1"):
        order_lines(short, resupply_days=-1)


def test_instruments_that_come_back_are_ordered_once_for_the_worst_day() -> None:
    """Two cases on one day and one on the next, no driver: two drivers are enough; screws add up."""
    driver, screw = Item("instrument", name="driver"), Item("im_screw", item="S")
    needs = [Need(c, DAY + dt.timedelta(days=d), 1, (driver, screw)) for c, d in (("A", 0), ("B", 0), ("C", 1))]
    wanted = {o.item.text(): o.quantity for o in order_lines(allocate(needs, [], on=DAY))}
    assert wanted == {"driver": 2, "intramedullary screw": 3}


def office(folder: Path) -> list[str]:
    """The command line of LibreOffice without a screen, with a profile of its own."""
    program = shutil.which("soffice") or shutil.which("libreoffice")
    assert program, "install libreoffice-calc (apt-get install libreoffice-calc)"
    return [program, f"-env:UserInstallation=file://{folder}/profile", "--headless", "--norestore"]


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_spreadsheet_program_shows_the_same_cells(form: str, short: Allocation, tmp_path: Path) -> None:
    """LibreOffice Calc, headless, converts the sheet to plain CSV; every cell comes out as it went in."""
    lines = order_lines(short)
    source, out = tmp_path / f"order.{form}", tmp_path / "out"
    (write_order_csv if form == "csv" else write_order_xlsx)(source, short, lines)
    command = office(tmp_path)
    # 44 comma, 34 quotation mark, 76 UTF-8; for reading CSV as well
    command += ["--infilter=CSV:44,34,76"] if form == "csv" else []
    command += ["--convert-to", "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false"]
    subprocess.run([*command, "--outdir", str(out), str(source)], check=True, capture_output=True, timeout=120)
    shown = list(csv.reader(io.StringIO((out / "order.csv").read_text(encoding="utf-8-sig"), newline="")))
    expected = sheet_rows(short, lines)
    assert len(shown) == len(expected)
    for got, wanted in zip(shown, expected):
        want = [safe_cell(c) if form == "csv" and isinstance(c, str) else str(c) for c in wanted]
        got = [c.replace("\r\n", "\n") for c in got][: len(want)]
        assert got == [c.replace("\r", "\n") for c in want]


@pytest.mark.parametrize(
    ("needed", "lead", "by"),
    [
        # in 2026 the 3rd of December is a Thursday, the 6th a Sunday, the 7th a Monday
        ("2026-12-03", 0, "2026-12-02"),
        ("2026-12-03", 2, "2026-11-30"),
        ("2026-12-03", 3, "2026-11-27"),
        ("2026-12-07", 0, "2026-12-04"),
        ("2026-12-07", 1, "2026-12-03"),
        ("2026-12-06", 1, "2026-12-03"),
        ("2026-12-03", 10, "2026-11-18"),
    ],
)
def test_the_last_day_to_order_by_the_calendar(needed: str, lead: int, by: str) -> None:
    """Counted on a calendar: back to the last working day before surgery, then back as many working days."""
    assert latest_order(dt.date.fromisoformat(needed), lead) == dt.date.fromisoformat(by)


@given(st.dates(dt.date(2026, 1, 1), dt.date(2030, 12, 31)), st.integers(0, 40))
def test_an_order_of_the_last_day_arrives_before_surgery_and_one_of_the_next_does_not(day: dt.date, lead: int) -> None:
    by = latest_order(day, lead)
    following = by + dt.timedelta(days=1)
    while following.weekday() > 4:
        following += dt.timedelta(days=1)
    assert by.weekday() < 5
    assert arrival(by, lead) < day <= arrival(following, lead)


def test_what_an_order_on_a_weekend_counts_from() -> None:
    """Ordered on Saturday 5 December as on Monday 7: one working day later it is Tuesday 8."""
    assert arrival(dt.date(2026, 12, 5), 1) == dt.date(2026, 12, 8)


def test_the_sheet_says_what_its_days_are(short: Allocation) -> None:
    text = order_csv(short, order_lines(short, resupply_days=2))
    assert "2026-12-03 (Thursday)" in text
    assert "too late for the usual lead of 2 working days: ordered today it comes on 2026-12-07 (Monday)" in text
    assert "public holidays are not known" in text


WORD = re.compile(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>')


def test_no_row_prints_over_the_next(tmp_path: Path) -> None:
    """On paper, as LibreOffice prints it: no word stands on another, and every caution is there to its last word."""
    why = "bay 7, the third cupboard on the left behind the door of the sterile store"
    rows = [ShelfRow(n, 1, item="P", kind="plate", holes=n, location=why) for n in range(2, 6)]
    needs = [Need("A case with a long label", DAY, 1, (Item("plate", item="P", holes=9),))]
    answer = allocate(needs, rows, on=DAY)
    write_order_xlsx(tmp_path / "order.xlsx", answer, order_lines(answer, resupply_days=9))
    convert = ["--convert-to", "pdf", "--outdir", str(tmp_path), str(tmp_path / "order.xlsx")]
    subprocess.run([*office(tmp_path), *convert], check=True, capture_output=True, timeout=120)
    # -bbox of poppler's pdftotext: each word with its box
    told = subprocess.run(
        ["pdftotext", "-bbox", str(tmp_path / "order.pdf"), "-"], check=True, capture_output=True, text=True
    ).stdout
    words = [(*map(float, m[:4]), html.unescape(m[4])) for m in WORD.findall(told)]
    assert told.count("<page ") == 1
    printed = " ".join(w[4] for w in words)
    for text in CAUTIONS:
        assert text in printed
    assert printed.count("sterile store:") == len(rows)
    # the line spacing of a font is a little less than the height of its box
    for one, other in itertools.combinations(words, 2):
        across = min(one[2], other[2]) - max(one[0], other[0])
        down = min(one[3], other[3]) - max(one[1], other[1])
        assert across <= 0 or down <= 0.2 * (one[3] - one[1]), (one, other)
