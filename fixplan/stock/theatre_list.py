"""The theatre list: which case on which day, and at which place."""

from __future__ import annotations

import datetime as dt
import tomllib
from dataclasses import dataclass
from pathlib import Path

from fixplan.problems import InputError, Problem
from fixplan.stock import cells
from fixplan.stock.cells import CellError
from fixplan.stock.lists import read_rows

LIST_WORDS = {
    "case": ("case", "case file", "file"),
    "date": ("date", "day", "date of surgery"),
    "order": ("order", "no", "position", "list order"),
}


@dataclass(frozen=True)
class ListEntry:
    """One case of a theatre list: its case file, its day, and its place on that day from 1."""

    path: Path
    date: dt.date
    order: int
    line: int


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
            day = cells.day(row.get("date", ""))
            seen[day] = seen.get(day, 0) + 1
            order = cells.place(row["order"]) if row.get("order") else seen[day]
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
