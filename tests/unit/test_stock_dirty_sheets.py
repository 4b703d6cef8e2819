"""Spreadsheets as they come: each is read, set aside line by line, or refused whole; nothing is lost or guessed.

All sheets are invented. The expected outcome of each was written down from the rules of the README, not from a run.
"""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from fixplan.problems import InputError
from fixplan.stock.model import ShelfReport
from fixplan.stock.shelf import read_shelf

ON = dt.date(2026, 12, 3)
HEAD = "item,diameter (mm),length (mm),quantity,lot,expiry,location"
BARE_HEAD = HEAD.replace(" (mm)", "")
GOOD = "S45-46,4.5,46,2,L1,2027-05-31,A1"


def lines(*rows: str, head: str = HEAD, end: str = "\r\n") -> bytes:
    return (end.join([head, *rows]) + end).encode()


def workbook(*rows: list[Any], change: Callable[[Any], None] | None = None) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    for row in rows:
        sheet.append(row)
    if change:
        change(book)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def good(lot: str = "L1", **changes: str) -> str:
    """The good line with some cells changed (d, n: diameter and length; q: quantity; e: expiry; at: location)."""
    cells = {"item": "S45-46", "d": "4.5", "n": "46", "q": "2", "lot": lot, "e": "2027-05-31", "at": "A1"}
    return ",".join((cells | changes).values())


XHEAD = ["item", "diameter (mm)", "length (mm)", "quantity", "lot", "expiry", "location"]
XGOOD = ["S45-46", 4.5, 46, 2, "L1", dt.date(2027, 5, 31), "A1"]


@dataclass(frozen=True)
class Dirty:
    """A sheet and what has to come of it: pieces by row, lines set aside with a word of the reason, or a refusal."""

    name: str
    data: bytes
    quantities: tuple[int, ...] = ()
    aside: tuple[tuple[int, str], ...] = ()
    refused: str = ""
    options: tuple[tuple[str, Any], ...] = ()


def merged(book: Any) -> None:
    sheet = book.active
    sheet.insert_rows(1, 2)
    sheet["A1"] = "Shelf of the small fragment cupboard"
    sheet.merge_cells("A1:G1")


def two_row_header(book: Any) -> None:
    # item, quantity, lot ... are merged downwards over two rows; "Size" spans diameter and length
    sheet = book.active
    sheet.insert_rows(1)
    for column, cell in enumerate(["item", "Size (mm)", None, "quantity", "lot", "expiry", "location"], start=1):
        sheet.cell(1, column, cell)
        sheet.cell(2, column, {2: "Diameter", 3: "Length"}.get(column))
    sheet.merge_cells("B1:C1")
    for column in "ADEFG":
        sheet.merge_cells(f"{column}1:{column}2")


def second_shelf(book: Any) -> None:
    sheet = book.create_sheet("Old")
    sheet.append(XHEAD)
    sheet.append(XGOOD)


def notes_sheet(book: Any) -> None:
    book.create_sheet("Notes", 0).append(["to do: count the wires"])


def styled_below(book: Any) -> None:
    # a border on an empty cell far below makes the used range longer
    book.active.cell(900, 9).font = openpyxl.styles.Font(bold=True)


def ragged() -> bytes:
    """A sheet as some programs write it: no stated size, and rows that end at their last filled cell."""
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Shelf")
    for row in (["Shelf"], XHEAD, XGOOD, ["S45-48", 4.5, 48, 1]):
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def old_epoch(book: Any) -> None:
    book.epoch = openpyxl.utils.datetime.CALENDAR_MAC_1904


SHEETS = [
    Dirty("plain", lines(GOOD), (2,)),
    Dirty("byte-order mark", b"\xef\xbb\xbf" + lines(GOOD), (2,)),
    Dirty("utf-16", lines(GOOD).decode().encode("utf-16"), (2,)),
    Dirty("windows code page", lines(GOOD.replace("A1", "Sch\u00fcb 1")).decode().encode("cp1252"), (2,)),
    Dirty("semicolons", lines(GOOD).replace(b",", b";"), (2,)),
    Dirty("tabs", lines(GOOD).replace(b",", b"\t"), (2,)),
    Dirty("bars", lines(GOOD).replace(b",", b"|"), (2,)),
    Dirty("sep line", b"sep=;\r\n" + lines(GOOD).replace(b",", b";"), (2,)),
    Dirty("spaces as delimiter", lines(GOOD).replace(b",", b"  "), refused="no header"),
    Dirty("bare line feeds", lines(GOOD, good("L2"), end="\n"), (2, 2)),
    Dirty("bare carriage returns", lines(GOOD, good("L2"), end="\r"), (2, 2)),
    Dirty("empty file", b"", refused="is empty"),
    Dirty("only blanks", b"  \r\n\r\n", refused="is empty"),
    Dirty("header only", lines(), ()),
    Dirty("no header", lines(head=GOOD), refused="no header"),
    Dirty("binary", bytes(range(256)) * 4, refused="binary"),
    Dirty("picture", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", refused="binary"),
    Dirty("old workbook", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600, refused="old binary workbook"),
    Dirty("broken workbook", b"PK\x03\x04 and then nothing", refused=r"not a readable \.xlsx"),
    Dirty("mojibake byte", lines(good(at="\u00e9")).decode().encode("cp1252") + b"\x81", refused="neither UTF-8"),
    Dirty("title lines above the header", b"Small fragment cupboard\r\n\r\n" + lines(GOOD), (2,)),
    Dirty("two quantities", lines(GOOD + ",3", head=HEAD + ",stock"), refused="2 columns that mean quantity"),
    Dirty("no quantity column", lines("S45-46,46", head="item,length (mm)"), refused="no quantity column"),
    Dirty(
        "one per line, said so",
        lines("S45-46,46", "S45-46,46", head="item,length (mm)"),
        (1, 1),
        options=(("one_per_row", True),),
    ),
    Dirty("decimal comma, quoted", lines(GOOD.replace("4.5,", '"4,5",')), (2,)),
    Dirty("decimal comma, unquoted", lines(GOOD.replace("4.5,", "4,5,"), GOOD), (2,), ((2, "decimal comma"),)),
    Dirty("comma before three digits", lines(GOOD.replace("4.5,", '"4,500",')), (), ((2, "thousands"),)),
    Dirty("unit in the cell", lines(GOOD.replace("4.5,46", "4.5 mm,4.6 cm"), head=BARE_HEAD), (2,)),
    Dirty("no unit anywhere", lines(GOOD, head=BARE_HEAD), (), ((2, "no unit"),)),
    Dirty("no unit, said by the user", lines(GOOD, head=BARE_HEAD), (2,), options=(("length_unit", "mm"),)),
    Dirty("unit against the header", lines(GOOD.replace("46,", "4.6 cm,")), (), ((2, "make them agree"),)),
    Dirty("inches", lines(GOOD.replace("4.5,", '"3/16""",')), (), ((2, "not a number|not a length|unit"),)),
    Dirty("diameter sign", lines(GOOD.replace("4.5,", "\u00d84.5,")), (2,)),
    Dirty("size in one column", lines("S,4.5 x 46,2", head="item,size (mm),qty"), (2,)),
    Dirty("negative count", lines(good(q="-2")), (), ((2, "negative"),)),
    Dirty("fraction of a piece", lines(good(q="2.5")), (), ((2, "fraction"),)),
    Dirty("whole number written with a comma", lines(good(q='"2,0"')), (2,)),
    Dirty("thousand written with a point", lines(good(q="1.000")), (), ((2, "thousands"),)),
    Dirty("pieces in words", lines(good(q="2 pcs"), good("L2", q="2 boxes")), (2,), ((3, "boxes"),)),
    Dirty("no count", lines(good(q=""), good("L2", q="two")), (), ((2, "no quantity"), (3, "count"))),
    Dirty("none left", lines(good(q="0")), (0,)),
    Dirty("same pack twice", lines(GOOD, GOOD), (2,), ((3, "same pack as on line 2"),)),
    Dirty("same lot in two places", lines(GOOD, GOOD.replace("A1", "B2")), (2, 2)),
    Dirty(
        "one lot, two dates", lines(GOOD, GOOD.replace("05-31", "06-30")), (), ((2, "two expiry"), (3, "two expiry"))
    ),
    Dirty(
        "dates in four styles",
        lines(good(), good("L2", e="31/05/2027"), good("L3", e="31 May 2027"), good("L4", e="20270531")),
        (2, 2, 2, 2),
    ),
    Dirty(
        "dates that could be two days",
        lines(*(good(e=e) for e in ("03/04/2027", "04.03.2027", "3-4-2027", "04/04/2027"))),
        (2,),
        ((2, "exchanged"), (3, "exchanged"), (4, "exchanged")),
    ),
    Dirty("order of the date in the header", lines("S,1,03/04/2027", head="item,qty,expiry (DD/MM/YYYY)"), (1,)),
    Dirty(
        "two-digit years", lines(good(e="31/05/27"), good(e="31 May 27")), (), ((2, "two-digit"), (3, "four digits"))
    ),
    Dirty(
        "no such day", lines(good(e="2027-02-30"), good(e="2027-13-01")), (), ((2, "no such date"), (3, "no such date"))
    ),
    Dirty("year gone astray", lines(good(e="1027-05-31")), (), ((2, "year 1027"),)),
    Dirty("day number in a text file", lines(good(e="46538")), (), ((2, "day number"),)),
    Dirty("month only", lines(good(e="2028-02"), good("L2", e="Feb 2028")), (2, 2)),
    Dirty("formula in CSV", lines(good(q="=1+1")), (), ((2, "formula"),)),
    Dirty("error value", lines(good(q="#N/A"), good("L2", q="#REF!")), (), ((2, "error value"), (3, "error value"))),
    Dirty("short line", lines("S45-46,4.5", GOOD), (2,), ((2, "cells are missing"),)),
    Dirty("total below", lines(GOOD, ",,,2,,,"), (2,), ((3, "nothing says what it is"),)),
    Dirty("blank lines between", lines(GOOD, ",,,,,,", "", good("L2")), (2, 2)),
    Dirty("line break inside a cell", lines(GOOD.replace("A1", '"A1,\nupper row"')), (2,)),
    Dirty("open quotation mark to the end", lines(GOOD, 'S45-48,"4.5,48,1,L2,2027-05-31,A1', GOOD), refused="line 3"),
    Dirty(
        "open quotation mark closed later",
        lines(GOOD, 'S45-48,"4.5,48,1,L2,2027-05-31,A1', 'S45-50,"4.5,50,1,L3,2027-05-31,A1', GOOD.replace("L1", "L4")),
        refused="line 3",
    ),
    Dirty(
        "unknown kind",
        lines("wire,1.6,150,3", head="kind,diameter (mm),length (mm),qty"),
        (),
        ((2, "not one of the kinds intramedullary screw"),),
    ),
    Dirty(
        "sterile in words",
        lines("S,1,sterile", "S,1,non-sterile", "S,1,perhaps", head="item,qty,sterile"),
        (1, 1),
        ((4, "neither yes nor no"),),
    ),
    Dirty("GTIN in powers of ten", lines("9.5011E+12,1", head="gtin,qty"), (), ((2, "powers of ten"),)),
    Dirty("GTIN one digit short", lines("950110153000,1", head="gtin,qty"), (), ((2, "check digit"),)),
    Dirty(
        "a word of the user's own",
        lines("S,4", head="item,Anzahl"),
        (4,),
        options=(("columns", {"Anzahl": "quantity"}),),
    ),
    Dirty("workbook", workbook(XHEAD, XGOOD), (2,)),
    Dirty("workbook, title merged above", workbook(XHEAD, XGOOD, change=merged), (2,)),
    Dirty("workbook, header merged over two rows", workbook(XHEAD, XGOOD, change=two_row_header), (2,)),
    Dirty("workbook, formula", workbook(XHEAD, [*XGOOD[:3], "=1+1", *XGOOD[4:]]), (), ((2, "formula"),)),
    Dirty("workbook, two shelves", workbook(XHEAD, XGOOD, change=second_shelf), refused="several sheets"),
    Dirty("workbook, sheet named", workbook(XHEAD, XGOOD, change=second_shelf), (2,), options=(("sheet", "Old"),)),
    Dirty("workbook, no such sheet", workbook(XHEAD, XGOOD), refused="no sheet 'New'", options=(("sheet", "New"),)),
    Dirty("workbook, notes first", workbook(XHEAD, XGOOD, change=notes_sheet), (2,)),
    Dirty("workbook, empty", workbook(), refused="no header"),
    Dirty("workbook, formatted far below", workbook(XHEAD, XGOOD, change=styled_below), (2,)),
    Dirty("workbook, ragged rows", ragged(), (2, 1)),
    Dirty("workbook, fraction", workbook(XHEAD, [*XGOOD[:3], 1.5, *XGOOD[4:]]), (), ((2, "fraction"),)),
    Dirty("workbook, day number", workbook(XHEAD, [*XGOOD[:5], 46538, "A1"]), (2,)),
    Dirty("workbook, day number from 1904", workbook(XHEAD, [*XGOOD[:5], 46538 - 1462, "A1"], change=old_epoch), (2,)),
    Dirty(
        "workbook, cells merged downwards",
        workbook(XHEAD, XGOOD, [None, *XGOOD[1:]]),
        (2,),
        ((3, "nothing says what it is"),),
    ),
]


def read(sheet: Dirty, folder: Path) -> ShelfReport:
    path = folder / "shelf.csv"
    path.write_bytes(sheet.data)
    return read_shelf(path, on=ON, **dict(sheet.options))


def test_there_are_at_least_forty_sheets() -> None:
    assert len({s.name for s in SHEETS}) == len(SHEETS) >= 40


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda s: s.name)
def test_dirty_sheet(sheet: Dirty, tmp_path: Path) -> None:
    if sheet.refused:
        with pytest.raises(InputError, match=sheet.refused) as refused:
            read(sheet, tmp_path)
        assert "shelf.csv" in str(refused.value)
        return
    report = read(sheet, tmp_path)
    assert tuple(r.quantity for r in report.rows) == sheet.quantities
    assert [p.line for p in report.set_aside] == [n for n, _ in sheet.aside]
    for problem, (_, reason) in zip(report.set_aside, sheet.aside):
        assert any(word in problem.reason for word in reason.split("|")), problem.reason
    assert all(r.line > report.header_line for r in report.rows)


def sheet(name: str) -> Dirty:
    return next(s for s in SHEETS if s.name == name)


LAST_DAY_OF_MAY = [
    "plain", "utf-16", "windows code page", "tabs", "workbook", "dates in four styles", "workbook, day number",
    "workbook, day number from 1904", "workbook, header merged over two rows",
]  # fmt: skip


@pytest.mark.parametrize("name", LAST_DAY_OF_MAY)
def test_the_same_pack_reads_the_same_from_every_form(name: str, tmp_path: Path) -> None:
    for row in read(sheet(name), tmp_path).rows:
        assert row.expiry == dt.date(2027, 5, 31)
        assert (row.item, row.diameter_mm, row.length_mm) == ("S45-46", 4.5, 46.0)


@pytest.mark.parametrize("name", ["decimal comma, quoted", "unit in the cell", "diameter sign", "size in one column"])
def test_sizes_come_out_in_mm(name: str, tmp_path: Path) -> None:
    (row,) = read(sheet(name), tmp_path).rows
    assert (row.diameter_mm, row.length_mm) == (4.5, 46.0)


def test_a_month_without_a_day_lasts_to_its_end(tmp_path: Path) -> None:
    """ISO 15223-1, use-by date: a date given as year and month; 2028 is a leap year."""
    assert {r.expiry for r in read(sheet("month only"), tmp_path).rows} == {dt.date(2028, 2, 29)}


def test_a_header_that_names_the_order_settles_the_date(tmp_path: Path) -> None:
    (row,) = read(sheet("order of the date in the header"), tmp_path).rows
    assert row.expiry == dt.date(2027, 4, 3)


def test_what_was_recognised_is_told_back(tmp_path: Path) -> None:
    text = read(sheet("workbook, header merged over two rows"), tmp_path).told_back()
    for word in (
        "'Diameter' as diameter in mm",
        "'quantity' as quantity",
        "header on line 2",
        "1 line read (2 pieces)",
    ):
        assert word in text
    odd = Dirty("", lines(GOOD + ",x", head=HEAD + ",colour"))
    assert "Not used: 'colour'" in read(odd, tmp_path).told_back()
    dated = read(sheet("order of the date in the header"), tmp_path).told_back()
    assert "'expiry (DD/MM/YYYY)' as expiry, day first." in dated


def test_a_column_without_a_header_is_told(tmp_path: Path) -> None:
    report = read(Dirty("", lines(GOOD + ",keep", head=HEAD + ",")), tmp_path)
    assert report.notes == ("column 8 has no header and is not used",)


def test_a_windows_page_is_said_so(tmp_path: Path) -> None:
    report = read(sheet("windows code page"), tmp_path)
    assert report.rows[0].location == "Sch\u00fcb 1"
    assert any("1252" in n for n in report.notes)


def test_two_hundred_thousand_lines(tmp_path: Path) -> None:
    rows = [f"S{i % 900},4.5,46,1,L{i},2027-05-31,A{i % 40}" for i in range(200_000)]
    rows[150_000] = rows[150_000].replace(",1,L", ",minus one,L")
    report = read(Dirty("", lines(*rows)), tmp_path)
    assert (len(report.rows), report.lines) == (199_999, 200_000)
    assert [p.line for p in report.set_aside] == [150_002]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="cannot be opened"):
        read_shelf(tmp_path / "none.csv", on=ON)


def test_an_unknown_field_is_refused_with_the_known_ones(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="'number of things' is no field of a shelf; fields: item, gtin"):
        read(Dirty("", lines(GOOD), options=(("columns", {"a": "number of things"}),)), tmp_path)
