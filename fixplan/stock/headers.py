"""Which column is which: header words of the trade, units and date order written in the header."""

from __future__ import annotations

import re
from collections.abc import Mapping

from fixplan.stock.cells import DAY_FIRST, MONTH_FIRST
from fixplan.stock.model import Column
from fixplan.stock.table import HEAD_LINES, SheetError, Table

_WORDS = """
item: item, item code, item no, item number, code, ref, reference, article, article no, product code
gtin: gtin, gtin-14, ean, udi-di, trade item number
barcode: barcode, bar code, scan, gs1, gs1 string, gs1 element string, element string, udi
kind: kind, type, category, group
name: name, description, item description, item name, text
kit: kit, system
diameter: diameter, dia, ø, screw diameter, thread diameter
length: length, len, screw length
thread: thread, thread length
size: size, diameter x length, dimensions
holes: holes, hole count, number of holes
material: material, alloy
bore: bore, cannulation, cannulated, solid, solid or cannulated, cannulated or solid
bore: solid/cannulated, cannulated/solid
quantity: quantity, qty, stock, on hand, on shelf, count, pieces, pcs, number, in stock
lot: lot, lot no, lot number, batch, batch no, batch number, lot/batch, batch/lot
serial: serial, serial no, serial number
expiry: expiry, expiry date, expires, exp, exp date, expiration, expiration date
expiry: use by, use-by, use by date, use-by date
sterile: sterile, sterility, sterile or not
location: location, shelf, bin, place, drawer, cabinet, cupboard, where
tray: tray, instrument set, set, tray or set
"""
FIELD_OF: Mapping[str, str] = {
    word.strip(): line.partition(":")[0]
    for line in _WORDS.strip().splitlines()
    for word in line.partition(":")[2].split(",")
}
FIELDS = tuple(dict.fromkeys(FIELD_OF.values()))
LENGTHS = ("diameter", "length", "thread", "size")
STYLES = {
    "ymd": "",
    "dmy": DAY_FIRST,
    "mdy": MONTH_FIRST,
}


def plain(header: str) -> str:
    """A header without its bracketed remark, capitals, and trailing dots, as it stands in WORDS."""
    body = re.sub(r"[(\[].*?[)\]]", " ", header).casefold()
    body = re.sub(r"[\s_]+", " ", body).strip(" .:*")
    return re.sub(r"\s(mm|cm)$", "", body).replace("×", "x")


def unit_of(header: str) -> str:
    """mm or cm when the header names it, else nothing."""
    found = re.search(r"\b(mm|cm)\b", header.casefold())
    return found[1] if found else ""


def date_style(header: str) -> str:
    """The order of day and month when the header spells it (DD/MM/YYYY), else nothing."""
    found = re.search(r"\b([dmy]+)[-/. ]([dmy]+)[-/. ]([dmy]+)\b", header.casefold())
    return STYLES.get("".join(g[0] for g in found.groups()), "") if found else ""


def score(cells: tuple[str, ...]) -> int:
    """How many header words a row holds; 0 unless it can be a shelf's header (two words and something to find by)."""
    fields = {FIELD_OF[p] for c in cells if (p := plain(c)) in FIELD_OF}
    found_by = fields & {"item", "gtin", "barcode", "kind", "size", "name"}
    return len(fields) if len(fields) >= 2 and found_by else 0


def _known(cells: tuple[str, ...]) -> int:
    return sum(plain(c) in FIELD_OF for c in cells)


def _filled(cells: tuple[str, ...], above: tuple[str, ...]) -> tuple[str, ...]:
    """Blank cells filled from the row above, as a header merged over two rows leaves them."""
    return tuple(c or (above[i] if i < len(above) else "") for i, c in enumerate(cells))


def _column(header: str, above: str, names: Mapping[str, str]) -> Column:
    whole = header or above
    field = names.get(whole, "") or FIELD_OF.get(plain(whole), "")
    unit = (unit_of(header) or unit_of(above)) if field in LENGTHS else ""
    if field == "expiry":
        unit = date_style(whole)
    return Column(whole, field, unit)


def find_columns(table: Table, names: Mapping[str, str], length_unit: str) -> tuple[int, tuple[Column, ...]]:
    """The index of the header row in `table.rows` and the meaning of each column.

    A cell left blank in the header takes the text above it, as a merged header leaves it. `names` (header: field)
    adds words of the user's own; `length_unit` holds for lengths whose header names no unit.

    Raises:
        SheetError: when there is no header, two columns mean the same, or one of `names` is not there.
    """
    tops = [tuple(names.get(c, c) for c in cells) for _, cells in table.rows[:HEAD_LINES]]
    above = [(), *tops]
    scores = [max(score(c), score(_filled(c, up)) if _known(c) else 0) for c, up in zip(tops, above)]
    if not scores or not max(scores):
        raise SheetError(
            f"has no header that is understood in its first {HEAD_LINES} lines; name the columns for instance "
            "item, diameter (mm), length (mm), quantity, lot, expiry, location, or say which is which by "
            "--column HEADER=FIELD"
        )
    at = scores.index(max(scores))
    head = table.rows[at][1]
    over = table.rows[at - 1][1] if at else ()
    columns = []
    for i, header in enumerate(head):
        column = _column(header, over[i] if i < len(over) else "", names)
        if column.field in LENGTHS and not column.unit:
            # a cell merged over several columns leaves its text in the first of them only
            column = Column(column.header, column.field, unit_of(next((c for c in over[i::-1] if c), "")))
        if column.field in LENGTHS and not column.unit:
            column = Column(column.header, column.field, length_unit)
        columns.append(column)
    for field in {c.field for c in columns if c.field}:
        same = [c.header for c in columns if c.field == field]
        if len(same) > 1:
            raise SheetError(
                f"has {len(same)} columns that mean {field} ({', '.join(map(repr, same))}); keep or rename one"
            )
    heads = [c.header for c in columns]
    if strange := [name for name in names if name not in heads]:
        raise SheetError(
            f"has no column {', '.join(map(repr, strange))} for --column; its headers are {', '.join(map(repr, heads))}"
        )
    return at, tuple(columns)
