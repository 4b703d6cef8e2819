"""The small lists beside the shelf: recalled lots, the theatre list, and item codes by GTIN."""

from __future__ import annotations

import datetime as dt
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from fixplan.problems import InputError, Problem
from fixplan.stock import cells, gs1
from fixplan.stock.cells import CellError
from fixplan.stock.headers import plain
from fixplan.stock.model import Recall
from fixplan.stock.table import FORMULA, SheetError, read_table, refused_file

RECALL_WORDS = {
    "lot": ("lot", "lot number", "lot no", "batch", "batch number", "batch no"),
    "item": ("item", "item code", "code", "ref", "reference"),
    "gtin": ("gtin",),
    "note": ("note", "notice", "reason", "remark"),
}
LIST_WORDS = {
    "case": ("case", "case file", "file"),
    "date": ("date", "day", "date of surgery"),
    "order": ("order", "no", "position", "list order"),
}
CODE_WORDS = {"item": RECALL_WORDS["item"], "gtin": ("gtin",)}


@dataclass(frozen=True)
class ListEntry:
    """One case of a theatre list: its case file, its day, and its place on that day from 1."""

    path: Path
    date: dt.date
    order: int
    line: int


def read_rows(
    path: Path, words: Mapping[str, tuple[str, ...]], needed: tuple[str, ...]
) -> list[tuple[int, dict[str, str]]]:
    """The rows of a small table by field. Any cell that cannot be used refuses the file: these lists decide alone."""
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
    at = {field_of[plain(c)]: i for i, c in enumerate(table.rows[head][1]) if plain(c) in field_of}
    problems = [Problem(str(path), f"no column {f}", f"columns: {', '.join(words)}") for f in needed if f not in at]
    out = []
    for line, row in table.rows[head + 1 :]:
        if not any(row):
            continue
        if len(row) != len(table.rows[head][1]) or any(c == FORMULA or c.startswith("=") for c in row):
            problems.append(
                Problem(f"{path}, line {line}", "a formula, or not as many cells as the header", "plain cells")
            )
            continue
        out.append((line, {f: row[i] for f, i in at.items()}))
    if problems:
        raise InputError(problems)
    return out


def read_recalls(path: str | Path) -> tuple[Recall, ...]:
    """Recalled lots from CSV or .xlsx with the columns lot, and optionally item, gtin and note.

    Raises:
        InputError: when anything in the file cannot be used.
    """
    path = Path(path)
    out: list[Recall] = []
    problems: list[Problem] = []
    for line, row in read_rows(path, RECALL_WORDS, ("lot",)):
        if not row["lot"]:
            problems.append(Problem(f"{path}, line {line}", "no lot", "the lot number as on the pack"))
            continue
        try:
            gtin = gs1.gtin14(row["gtin"]) if row.get("gtin") else ""
        except CellError as error:
            problems.append(Problem(f"{path}, line {line}, gtin", str(error)))
            continue
        out.append(Recall(row["lot"], row.get("item", ""), gtin, row.get("note", ""), line))
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


def _toml_rows(path: Path) -> list[tuple[int, dict[str, str]]]:
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise InputError([Problem(str(path), f"cannot be read as TOML ({error})", "[[case]] tables")]) from None
    rows = table.get("case")
    if not isinstance(rows, list) or not all(isinstance(r, dict) for r in rows):
        raise InputError([Problem(str(path), "no [[case]] tables", "[[case]] with file, date and order")])
    return [(i, {{"file": "case"}.get(k, k): str(v) for k, v in row.items()}) for i, row in enumerate(rows, start=1)]


def read_theatre_list(path: str | Path) -> tuple[ListEntry, ...]:
    """A theatre list from TOML ([[case]] with file, date, order), CSV or .xlsx (columns case, date, order).

    Case files are looked for beside the list. Without an order, cases of one day follow each other as written.

    Raises:
        InputError: with every line that cannot be used.
    """
    path = Path(path)
    rows = _toml_rows(path) if path.suffix == ".toml" else read_rows(path, LIST_WORDS, ("case", "date"))
    out: list[ListEntry] = []
    problems: list[Problem] = []
    seen: dict[dt.date, int] = {}
    for line, row in rows:
        where = f"{path}, {'case' if path.suffix == '.toml' else 'line'} {line}"
        try:
            day, _ = cells.date(row.get("date", ""))
            seen[day] = seen.get(day, 0) + 1
            order = cells.count(row["order"]) if row.get("order") else seen[day]
        except CellError as error:
            problems.append(Problem(where, str(error)))
            continue
        file = path.parent / row.get("case", "")
        if not row.get("case") or not file.is_file():
            problems.append(Problem(where, f"no case file {row.get('case', '')!r}", f"a case file beside {path.name}"))
            continue
        out.append(ListEntry(file, day, order, line))
    if not out and not problems:
        problems.append(Problem(str(path), "no cases", "at least one case file with its date"))
    if problems:
        raise InputError(problems)
    return tuple(out)
