"""The shelf: every line of the spreadsheet becomes a row, or a problem with its reason. Nothing is dropped."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from fixplan.problems import InputError, Problem
from fixplan.stock import cells, gs1
from fixplan.stock.cells import CellError
from fixplan.stock.headers import FIELDS, find_columns, score
from fixplan.stock.model import KIND_WORDS, KINDS, Column, SetAside, ShelfReport, ShelfRow
from fixplan.stock.table import FORMULA, SheetError, Table, read_table, refused_file

T = TypeVar("T")
KIND_OF: Mapping[str, str] = {
    **{k: k for k in KINDS},
    **{k.replace("_", " "): k for k in KINDS},
    **{w: k for k, w in KIND_WORDS.items()},
    **{w + "s": k for k, w in KIND_WORDS.items()},
    "im screws": "im_screw",
}


_NO_DATE: tuple[dt.date | None, str] = (None, "")


class _Field(Exception):
    """A cell that stopped its row."""

    def __init__(self, column: str, value: str, reason: str) -> None:
        self.problem = (column, value, reason)


class _Reader:
    """Turns the cells of one line into a ShelfRow."""

    def __init__(
        self,
        columns: tuple[Column, ...],
        on: dt.date,
        epoch: dt.datetime | None,
        one_per_row: bool,
        codes: Mapping[str, str],
    ) -> None:
        self.at = {c.field: i for i, c in enumerate(columns) if c.field}
        self.columns, self.on, self.epoch = columns, on, epoch
        self.one_per_row, self.codes = one_per_row, codes

    def get(self, field: str, row: tuple[str, ...], read: Callable[[str], T], empty: T) -> T:
        """One field of the line, `empty` when there is no such column or nothing in the cell."""
        i = self.at.get(field)
        if i is None or not (text := row[i]):
            return empty
        try:
            if text[0] in "=#":
                cells.refuse_odd(text)
            return read(text)
        except CellError as error:
            shown = "" if text == FORMULA else text
            raise _Field(self.columns[i].header, shown, str(error)) from None

    def unit(self, field: str) -> str:
        return self.columns[self.at[field]].unit if field in self.at else ""

    def expiry(self, text: str) -> tuple[dt.date | None, str]:
        """A date; a bare day number is read when the workbook says where its days begin."""
        if self.epoch is not None and re.fullmatch(r"\d{5}", text):
            day = (self.epoch + dt.timedelta(days=int(text))).date()
            return cells.date(day.isoformat())[0], f"{text} read as the workbook's day number"
        return cells.date(text, self.unit("expiry"))

    def sizes(self, row: tuple[str, ...]) -> dict[str, float | None]:
        out = {
            f"{f}_mm": self.get(f, row, lambda t, f=f: cells.length_mm(t, self.unit(f)), None)  # type: ignore[misc]
            for f in ("diameter", "length", "thread")
        }
        pair: tuple[float, float] | None = self.get("size", row, lambda t: cells.size_mm(t, self.unit("size")), None)
        for name, value in zip(("diameter_mm", "length_mm"), pair or ()):
            if out[name] is not None and out[name] != value:
                raise _Field("size", row[self.at["size"]], f"size and {name[:-3]} disagree; put one right")
            out[name] = value
        return out

    def agree(self, what: str, scanned: Any, written: Any, row: tuple[str, ...]) -> Any:
        """The one value of a field that both the barcode and a column may state."""
        if scanned and written and scanned != written:
            raise _Field(what, str(written), f"the barcode says {scanned}; scan again or put the column right")
        return scanned or written

    def row(self, line: int, row: tuple[str, ...]) -> ShelfRow:
        scan: gs1.Scan = self.get("barcode", row, lambda t: gs1.parse(t, self.on), gs1.Scan())
        expiry, note = self.get("expiry", row, self.expiry, _NO_DATE)
        gtin = self.agree("gtin", scan.gtin, self.get("gtin", row, gs1.gtin14, ""), row)
        item = self.agree("item", self.codes.get(gtin, ""), self.get("item", row, str, ""), row)
        kind = self.get("kind", row, _kind, "")
        name = self.get("name", row, str, "")
        size = self.sizes(row)
        sized = kind and size["diameter_mm"] and size["length_mm"]
        if not (item or gtin or sized or (kind == "instrument" and name)):
            raise _Field(
                "", "", "nothing says what it is; give an item code, a GTIN, or a kind with diameter and length"
            )
        quantity: int | None = self.get("quantity", row, cells.count, None)
        if quantity is None and not self.one_per_row:
            raise _Field("quantity", "", "no quantity; write the number of pieces, 0 if there are none")
        sterile: bool | None = self.get("sterile", row, cells.yes_no, None)
        holes: int | None = self.get("holes", row, cells.count, None)
        return ShelfRow(
            line=line,
            quantity=1 if quantity is None else quantity,
            item=item,
            name=name,
            kind=kind,
            kit=self.get("kit", row, str, ""),
            gtin=gtin,
            **size,
            holes=holes,
            material=self.get("material", row, str, ""),
            lot=self.agree("lot", scan.lot, self.get("lot", row, str, ""), row),
            serial=self.agree("serial", scan.serial, self.get("serial", row, str, ""), row),
            expiry=self.agree("expiry", scan.expiry, expiry, row),
            sterile=sterile,
            location=self.get("location", row, str, ""),
            tray=self.get("tray", row, str, ""),
            notes=(note,) if note else (),
        )


def _kind(text: str) -> str:
    word = re.sub(r"\s+", " ", text.casefold())
    if word not in KIND_OF:
        raise CellError(f"kind is not one of {', '.join(KINDS)}")
    return KIND_OF[word]


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
            problems.append(SetAside(r.line, "expiry", str(r.expiry or ""), why))
            continue
        key: tuple[Any, ...] = (what[r.line], r.lot.casefold(), r.serial, r.location, r.tray)
        if r.serial:
            key = (what[r.line][:2], "serial", r.serial)
        earlier = first.setdefault(key, r) if r.lot or r.serial else r
        if earlier is not r:
            why = f"the same pack as on line {earlier.line}, which is counted; join the two lines"
            problems.append(SetAside(r.line, "lot", r.lot or r.serial, why))
            continue
        kept.append(r)
    return kept, problems


def _body(table: Table, start: int, width: int, reader: _Reader) -> tuple[list[ShelfRow], list[SetAside], int]:
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
                problems.append(SetAside(line, "", "", f"{len(row)} cells where the header has {width}: {why}{span}"))
                continue
        try:
            rows.append(reader.row(line, row))
        except _Field as stop:
            problems.append(SetAside(line, *stop.problem))
    return rows, problems, blank


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
            raise SheetError("has no quantity column; name one, or say that each line is one piece")
    except SheetError as error:
        raise refused_file(path, error) from None
    reader = _Reader(found, on, table.epoch, one_per_row, codes or {})
    rows, problems, blank = _body(table, at + 1, len(found), reader)
    rows, double = _same_pack(rows)
    problems = sorted([*problems, *double], key=lambda p: p.line)
    notes = table.notes + tuple(
        f"column {i + 1} has no header and is not used"
        for i, c in enumerate(found)
        if not c.header and any(len(r) > i and r[i] for _, r in table.rows[at + 1 :])
    )
    notes += ("no quantity column: each line is one piece",) if "quantity" not in fields else ()
    return ShelfReport(
        str(path), table.form, found, table.rows[at][0], tuple(rows), tuple(problems), blank, notes, table.sha256
    )
