"""CSV that a spreadsheet opens as data: no cell can turn into a formula.

A text cell that starts with one of = + - @ (or their full-width forms), a tab, a carriage return or a line feed is
given a leading apostrophe, as the OWASP note on CSV injection recommends (from memory). Numbers are written as
numbers, so a negative number stays one.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

Cell = str | int | float | bool | None

RISKY = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def safe_cell(value: Cell) -> str:
    """One cell as text: numbers plain, None empty, risky text behind an apostrophe.

    Leading blanks do not hide a risky character. Raises ValueError for a number that is not finite.
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        if value != value or value in (float("inf"), float("-inf")):
            raise ValueError(f"cell value {value!r} is not finite: leave the cell empty where a value is not known")
        return f"{value:.10g}"
    if value.startswith(RISKY) or value.lstrip(" \u00a0").startswith(RISKY):
        return f"'{value}"
    return value


def to_csv(rows: Iterable[Sequence[Cell]], cautions: Sequence[str] = ()) -> str:
    """Rows as CSV text (RFC 4180: commas, double quotes, CR LF), the cautions first, one row each, marked with #."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    for caution in cautions:
        writer.writerow([f"# {caution}"])
    for row in rows:
        writer.writerow([safe_cell(cell) for cell in row])
    return out.getvalue()
