"""The shelf: every line of the spreadsheet becomes a row, or a problem with its reason. Nothing is dropped."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from fixplan.problems import InputError, Problem
from fixplan.stock.headers import FIELDS, find_columns, score
from fixplan.stock.model import SetAside, ShelfReport, ShelfRow
from fixplan.stock.reader import LineReader, Stopped
from fixplan.stock.table import SheetError, Table, read_table, refused_file


def _same_pack(rows: Iterable[ShelfRow]) -> tuple[list[ShelfRow], list[SetAside]]:
    """Set aside lines that would count a pack twice, or that give one lot two expiry dates."""
    kept: list[ShelfRow] = []
    problems: list[SetAside] = []
    first: dict[Any, ShelfRow] = {}
    dates: dict[Any, dict[dt.date | None, int]] = {}
    rows = list(rows)
    what: dict[int, tuple[Any, ...]] = {
        r.line: (r.item.casefold(), r.gtin, r.kind, r.diameter_mm, r.length_mm, r.thread_mm, r.name.casefold())
        for r in rows
    }
    for r in rows:
        if r.lot:
            dates.setdefault((what[r.line], r.lot.casefold()), {}).setdefault(r.expiry, r.line)
    for r in rows:
        lot_dates = dates.get((what[r.line], r.lot.casefold()), {})
        if len(lot_dates) > 1:
            others = " and ".join(f"{d or 'none'} on line {n}" for d, n in lot_dates.items())
            why = f"one lot with two expiry dates: {others}; look at the packs"
            problems.append(SetAside(r.line, "expiry", str(r.expiry or ""), why, r))
            continue
        key: tuple[Any, ...] = (what[r.line], r.lot.casefold(), r.serial, r.location, r.tray)
        if r.serial:
            key = (what[r.line][:2], "serial", r.serial)
        earlier = first.setdefault(key, r) if r.lot or r.serial else r
        if earlier is not r:
            why = f"the same pack as on line {earlier.line}, which is counted; join the two lines"
            problems.append(SetAside(r.line, "lot", r.lot or r.serial, why, r))
            continue
        kept.append(r)
    return kept, problems


def _body(
    table: Table, start: int, width: int, reader: LineReader, lenient: LineReader
) -> tuple[list[ShelfRow], list[SetAside], int]:
    rows: list[ShelfRow] = []
    problems: list[SetAside] = []
    blank = 0
    for index in range(start, len(table.rows)):
        line, row = table.rows[index]
        if not any(row):
            blank += 1
            continue
        if len(row) != width:
            extra = any(row[width:])
            if extra or len(row) < width:
                end = table.rows[index + 1][0] - 1 if index + 1 < len(table.rows) else line
                span = f"; it runs to line {end}: an open quotation mark?" if end > line else ""
                why = "a decimal comma or a delimiter without quotation marks?" if extra else "cells are missing"
                told = f"{len(row)} cells where the header has {width}: {why}{span}"
                seen = lenient.row(line, (*row, *("",) * width)[:width])
                problems.append(SetAside(line, "", "", told, seen))
                continue
        try:
            rows.append(reader.row(line, row))
        except Stopped as stop:
            problems.append(SetAside(line, *stop.problem, lenient.row(line, row)))
    return rows, problems, blank


def _unsaid(rows: Iterable[ShelfRow]) -> tuple[str, ...]:
    """The screws that could be either kind: they have no code to tell, and no word."""
    lines = [str(r.line) for r in rows if r.kind == "im_screw" and not (r.bore or r.item or r.gtin)]
    if not lines:
        return ()
    many = len(lines) > 1
    return (
        f"line{'s' if many else ''} {', '.join(lines)}: intramedullary screw{'s' if many else ''} without a code that "
        f"{'do' if many else 'does'} not say solid or cannulated; never used for either",
    )


def read_shelf(
    path: str | Path,
    *,
    on: dt.date,
    sheet: str | None = None,
    columns: Mapping[str, str] | None = None,
    length_unit: str = "",
    one_per_row: bool = False,
    codes: Mapping[str, str] | None = None,
) -> ShelfReport:
    """Read a shelf from CSV or .xlsx.

    Args:
        path: the file.
        on: the day of the list; settles the century of GS1 dates.
        sheet: the sheet of a workbook, when several hold a shelf.
        columns: header text of the file to field name, for words that are not known (fields: the FIELDS of headers.py).
        length_unit: "mm" or "cm", for lengths whose header names no unit.
        one_per_row: a list without a quantity column has one piece per line.
        codes: GTIN-14 to our item code.

    Raises:
        InputError: when the file as a whole cannot be used.
    """
    names = dict(columns or {})
    for header, field in names.items():
        if field not in FIELDS:
            refused = Problem(f"column {header!r}", f"{field!r} is no field of a shelf", f"fields: {', '.join(FIELDS)}")
            raise InputError([refused], f"shelf {path}")
    try:
        table = read_table(Path(path), lambda c: score(tuple(names.get(x, x) for x in c)), sheet)
        at, found = find_columns(table, names, length_unit)
        fields = {c.field for c in found}
        if "quantity" not in fields and not one_per_row:
            raise SheetError("has no quantity column; name one (--column HEADER=quantity), or say --one-per-line")
    except SheetError as error:
        raise refused_file(path, error) from None
    given = (found, on, table.epoch, one_per_row, codes or {})
    rows, problems, blank = _body(table, at + 1, len(found), LineReader(*given), LineReader(*given, lenient=True))
    rows, double = _same_pack(rows)
    problems = sorted([*problems, *double], key=lambda p: p.line)
    notes = table.notes + tuple(
        f"column {i + 1} has no header and is not used"
        for i, c in enumerate(found)
        if not c.header and any(len(r) > i and r[i] for _, r in table.rows[at + 1 :])
    )
    notes += ("no quantity column: each line is one piece",) if "quantity" not in fields else ()
    notes += _unsaid(rows)
    return ShelfReport(
        str(path), table.form, found, table.rows[at][0], tuple(rows), tuple(problems), blank, notes, table.sha256
    )
