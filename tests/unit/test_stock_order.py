"""The order sheet: no cell becomes a formula, the same bytes every time, and a spreadsheet program opens it."""

from __future__ import annotations

import csv
import datetime as dt
import io
import shutil
import subprocess
from pathlib import Path

import openpyxl
import pytest

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


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_spreadsheet_program_shows_the_same_cells(form: str, short: Allocation, tmp_path: Path) -> None:
    """LibreOffice Calc, headless, converts the sheet to plain CSV; every cell comes out as it went in."""
    program = shutil.which("soffice") or shutil.which("libreoffice")
    assert program, "install libreoffice-calc (apt-get install libreoffice-calc)"
    lines = order_lines(short)
    source = tmp_path / f"order.{form}"
    (write_order_csv if form == "csv" else write_order_xlsx)(source, short, lines)
    out = tmp_path / "out"
    command = [program, f"-env:UserInstallation=file://{tmp_path}/profile", "--headless", "--norestore"]
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
