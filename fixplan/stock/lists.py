"""The small lists beside the shelf: recalled lots, past cases, and item codes by GTIN."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fixplan.problems import InputError, Problem
from fixplan.stock import cells, gs1
from fixplan.stock.cells import CellError
from fixplan.stock.headers import date_style, plain, unit_of
from fixplan.stock.recall import Recall
from fixplan.stock.table import FORMULA, SheetError, read_table, refused_file

SEVERAL = re.compile(r"[,;\n]|\s(?:to|and|until|through)\s|\.\.|…", re.IGNORECASE)
"""What parts several lots in one cell: they would match nothing, and a recalled pack would stay."""
RECALL_WORDS = {
    "lot": ("lot", "lot number", "lot no", "batch", "batch number", "batch no"),
    "item": ("item", "item code", "code", "ref", "reference"),
    "gtin": ("gtin",),
    "note": ("note", "notice", "reason", "remark"),
}
PAST_WORDS = {
    "item": ("item", "item code", "size used", "item used", "code", "ref", "reference"),
    "ray": ("ray", "metatarsal"),
    "length": ("length", "bone length"),
    "canal": ("canal", "canal width"),
    "canal_ap": ("canal ap", "canal width ap"),
    "canal_lateral": ("canal lateral", "canal height", "canal height lateral"),
    "straight_segment": ("straight segment", "straight"),
    "zone": ("zone", "fracture zone"),
    "from_base": ("from base", "fracture from base"),
}
PAST_LENGTHS = ("length", "canal", "canal_ap", "canal_lateral", "straight_segment", "from_base")
CODE_WORDS = {"item": RECALL_WORDS["item"], "gtin": ("gtin",)}


@dataclass(frozen=True)
class PastCase:
    """A past case: the item that was used, or measurements as text with their units, by field."""

    line: int
    item: str
    measured: Mapping[str, str]

    def table(self) -> dict[str, Any]:
        """The measurements as the tables of a case file."""
        m = self.measured
        isthmus = {k: m[k] for k in ("canal", "canal_ap", "canal_lateral") if k in m}
        bone: dict[str, Any] = {k: m[k] for k in ("length", "straight_segment") if k in m}
        if "ray" in m:
            bone["ray"] = int(m["ray"]) if m["ray"].isdecimal() else m["ray"]
        fracture: dict[str, Any] = {k: m[k] for k in ("zone", "from_base") if k in m}
        if fracture.get("zone", "").isdecimal():
            fracture["zone"] = int(fracture["zone"])
        return {"bone": bone | ({"isthmus": isthmus} if isthmus else {}), "fracture": fracture}


def read_rows(
    path: Path, words: Mapping[str, tuple[str, ...]], needed: tuple[str, ...], lengths: tuple[str, ...] = ()
) -> list[tuple[int, dict[str, str]]]:
    """The rows of a small table by field. Any cell that cannot be used refuses the file: these lists decide alone.

    A bare number in one of the fields `lengths` gets the unit that its header names; a date whose header spells the
    order of day and month (DD/MM/YYYY) comes back as 2026-12-03.
    """
    field_of = {w: f for f, ws in words.items() for w in ws}

    def score(row: tuple[str, ...]) -> int:
        return len({field_of[plain(c)] for c in row if plain(c) in field_of})

    try:
        table = read_table(path, score)
        head = next((i for i, (_, row) in enumerate(table.rows[:20]) if score(row)), None)
        if head is None:
            raise SheetError(f"has no header that is understood; name the columns {', '.join(words)}")
    except SheetError as error:
        raise refused_file(path, error) from None
    heads = table.rows[head][1]
    columns: dict[str, list[int]] = {}
    for i, c in enumerate(heads):
        if plain(c) in field_of:
            columns.setdefault(field_of[plain(c)], []).append(i)
    problems = [
        Problem(
            str(path),
            f"{len(same)} columns that mean {f} ({', '.join(repr(heads[i]) for i in same)})",
            "keep or rename one",
        )
        for f, same in columns.items()
        if len(same) > 1
    ]
    at = {f: same[0] for f, same in columns.items()}
    problems += [Problem(str(path), f"no column {f}", f"columns: {', '.join(words)}") for f in needed if f not in at]
    units = {f: unit_of(heads[at[f]]) for f in lengths if f in at}
    style = date_style(heads[at["date"]]) if "date" in at else ""
    out = []
    for line, row in table.rows[head + 1 :]:
        if not any(row):
            continue
        if len(row) != len(heads) or any(c == FORMULA or c.startswith("=") for c in row):
            problems.append(
                Problem(f"{path}, line {line}", "a formula, or not as many cells as the header", "plain cells")
            )
            continue
        found = {f: _with_unit(row[i], units.get(f, "")) for f, i in at.items()}
        try:
            out.append((line, found | ({"date": _in_order(found["date"], style)} if style else {})))
        except CellError as error:
            problems.append(Problem(f"{path}, line {line}, date", str(error)))
    if problems:
        raise InputError(problems)
    return out


def _with_unit(cell: str, unit: str) -> str:
    return f"{cell} {unit}" if unit and re.fullmatch(r"[\d.]+( ?(±|\+/-) ?[\d.]+)?", cell) else cell


def _in_order(cell: str, style: str) -> str:
    """A date in the order of day and month of its header, written so that it has one reading; a month alone stays."""
    found, note = cells.date(cell, style)
    return cell if note else found.isoformat()


def read_recalls(path: str | Path) -> tuple[Recall, ...]:
    """Recalled lots from CSV or .xlsx with the columns lot, and optionally item, gtin and note.

    `all` under lot, with an item or a GTIN, recalls every lot of it.

    Raises:
        InputError: when anything in the file cannot be used.
    """
    path = Path(path)
    out: list[Recall] = []
    problems: list[Problem] = []
    for line, row in read_rows(path, RECALL_WORDS, ("lot",)):
        if not row["lot"]:
            right = "the lot number as on the pack, or 'all' with an item or GTIN"
            problems.append(Problem(f"{path}, line {line}", "no lot", right))
            continue
        if SEVERAL.search(row["lot"]):
            what = f"{row['lot']!r} is more than one lot"
            problems.append(Problem(f"{path}, line {line}, lot", what, "one line for each lot"))
            continue
        try:
            gtin = gs1.gtin14(row["gtin"]) if row.get("gtin") else ""
        except CellError as error:
            problems.append(Problem(f"{path}, line {line}, gtin", str(error)))
            continue
        recall = Recall(row["lot"], row.get("item", ""), gtin, row.get("note", ""), line)
        if recall.every_lot and not (recall.item or recall.gtin):
            what = f"{recall.lot!r} under lot, and no item or GTIN"
            problems.append(Problem(f"{path}, line {line}", what, "the product whose lots are all recalled"))
            continue
        out.append(recall)
    if problems:
        raise InputError(problems)
    return tuple(out)


def read_codes(path: str | Path) -> dict[str, str]:
    """Our item code for each GTIN-14, from CSV or .xlsx with the columns gtin and item.

    Raises:
        InputError: when anything in the file cannot be used, or one GTIN has two codes.
    """
    path = Path(path)
    out: dict[str, str] = {}
    problems: list[Problem] = []
    for line, row in read_rows(path, CODE_WORDS, ("gtin", "item")):
        try:
            gtin = gs1.gtin14(row["gtin"])
        except CellError as error:
            problems.append(Problem(f"{path}, line {line}, gtin", str(error)))
            continue
        if not row["item"] or out.setdefault(gtin, row["item"]) != row["item"]:
            problems.append(
                Problem(f"{path}, line {line}", f"GTIN {gtin} has no code or two codes", "one code for each")
            )
    if problems:
        raise InputError(problems)
    return out


def read_past_cases(path: str | Path) -> tuple[PastCase, ...]:
    """Past cases from CSV or .xlsx: either the item used (column item), or ray, length, canal widths and zone.

    Raises:
        InputError: when the columns are neither, a line has nothing to go by, or there is no line.
    """
    path = Path(path)
    rows = read_rows(path, PAST_WORDS, (), PAST_LENGTHS)
    columns = set(rows[0][1]) if rows else set()
    measured = {"length", "zone"} <= columns and bool(columns & {"canal", "canal_ap"})
    if rows and not measured and "item" not in columns:
        right = "a column item (the size used), or the columns ray, length, canal (or canal ap) and zone"
        raise InputError([Problem(str(path), f"the columns {', '.join(sorted(columns))} are not enough", right)])
    out: list[PastCase] = []
    problems: list[Problem] = []
    for line, row in rows:
        given = {k: v for k, v in row.items() if v and k != "item"}
        item = row.get("item", "")
        if not item and not (measured and given):
            problems.append(Problem(f"{path}, line {line}", "neither an item nor measurements", "one of both"))
            continue
        out.append(PastCase(line, item, given))
    if not rows:
        problems.append(Problem(str(path), "no cases", "at least one line below the header"))
    if problems:
        raise InputError(problems)
    return tuple(out)
