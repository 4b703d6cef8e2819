"""A spreadsheet as plain rows of text: CSV in any common form, or .xlsx. No meaning is given to the cells here."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fixplan.problems import InputError, Problem

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
FORMULA = "=formula"
HEAD_LINES = 20
BLANKS = " \t\r\n\u00a0\ufeff"


class SheetError(ValueError):
    """A file that cannot be used as a whole; the message says what and what would be right."""


def refused_file(path: str | Path, error: SheetError) -> InputError:
    """The refusal of a whole file, in the form of all refusals."""
    what, _, right = str(error).partition("; ")
    return InputError([Problem(str(path), what, right)])


@dataclass(frozen=True)
class Table:
    """Rows of trimmed text with their line numbers (from 1), and how the file was read."""

    path: str
    form: str
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    notes: tuple[str, ...]
    sha256: str
    epoch: dt.datetime | None = None


def decode(data: bytes) -> tuple[str, str]:
    """The text of a file and the name of its encoding: UTF-8, UTF-16 with a mark, else Windows code page 1252.

    Raises:
        SheetError: for binary content.
    """
    for mark, name in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            try:
                return data.decode(name), {"utf-8-sig": "UTF-8 with a byte-order mark"}.get(name, "UTF-16")
            except UnicodeDecodeError:
                raise SheetError("starts with a byte-order mark and is not text; save it as CSV UTF-8") from None
    if b"\x00" in data[:65536]:
        raise SheetError("holds binary data; save it as CSV or .xlsx")
    try:
        return data.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        pass
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        raise SheetError("is neither UTF-8 nor Windows code page 1252; save it as CSV UTF-8") from None
    odd = sum(1 for c in text[:65536] if ord(c) < 32 and c not in "\t\r\n\x1d")
    if odd:
        raise SheetError("holds binary data; save it as CSV or .xlsx")
    return text, "Windows code page 1252"


def cell_text(value: Any) -> str:
    """One spreadsheet value as trimmed text; dates in ISO form, whole numbers without a point."""
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        return value.isoformat(sep=" ") if value.time() != dt.time() else value.date().isoformat()
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return str(value).strip(BLANKS)


def _read_csv(path: Path, data: bytes, score: Callable[[tuple[str, ...]], int]) -> Table:
    text, encoding = decode(data)
    if not text.strip(" \t\r\n,;|\ufeff"):
        raise SheetError("is empty")
    notes: list[str] = []
    if encoding.startswith("Windows"):
        notes.append("read as Windows code page 1252: check accented letters and signs")
    skip = 0
    if text[:4].casefold() == "sep=":
        skip, text = 1, text.split("\n", 1)[1] if "\n" in text else ""
    best: tuple[int, str] = (0, ",")
    for delimiter in DELIMITERS:
        top = 0
        try:
            reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
            for _, cells in zip(range(HEAD_LINES), reader):
                top = max(top, score(tuple(cell_text(c) for c in cells)))
        except csv.Error:
            continue
        if top > best[0]:
            best = (top, delimiter)
    rows = tuple(_csv_rows(text, best[1], skip))
    form = f"CSV, {encoding}, parted by {DELIMITERS[best[1]]}"
    return Table(str(path), form, rows, tuple(notes), hashlib.sha256(data).hexdigest())


def _csv_rows(text: str, delimiter: str, skip: int) -> Iterator[tuple[int, tuple[str, ...]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    line = skip + 1
    try:
        for cells in reader:
            yield line, tuple([c.strip(BLANKS) for c in cells])
            line = skip + reader.line_num + 1
    except csv.Error as error:
        raise SheetError(f"line {line}: {error}; save it again as CSV UTF-8") from None


def _xlsx_cell(cell: Any) -> str:
    if cell.value is None:
        return ""
    if cell.data_type == "f":
        return FORMULA
    return cell_text(cell.value)


def _squared(rows: tuple[tuple[int, tuple[str, ...]], ...]) -> tuple[tuple[int, tuple[str, ...]], ...]:
    """Rows of one width, without the empty ones that formatting leaves below the last filled one."""
    last = max(i for i, (_, cells) in enumerate(rows) if any(cells))
    width = max(len(cells) for _, cells in rows[: last + 1])
    return tuple((number, cells + ("",) * (width - len(cells))) for number, cells in rows[: last + 1])


def _read_xlsx(path: Path, data: bytes, score: Callable[[tuple[str, ...]], int], sheet: str | None) -> Table:
    try:
        from openpyxl import load_workbook
    except ImportError:  # pragma: no cover - the extra is installed wherever the tests run
        raise SheetError("reading .xlsx needs the extra 'shelf': install fixplan[shelf], or save as CSV") from None
    try:
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=False)
    except Exception:
        # openpyxl lets whatever its XML and zip readers met come through; the file is damaged or not a workbook
        raise SheetError("is not a readable .xlsx workbook; save it again, or as CSV") from None
    try:
        found: dict[str, tuple[tuple[int, tuple[str, ...]], ...]] = {}
        wanted = [sheet] if sheet is not None else list(book.sheetnames)
        if sheet is not None and sheet not in book.sheetnames:
            raise SheetError(f"has no sheet {sheet!r}; it has {', '.join(map(repr, book.sheetnames))}")
        for name in wanted:
            rows = tuple(
                (number, tuple(_xlsx_cell(c) for c in cells))
                for number, cells in enumerate(book[name].iter_rows(), start=1)
            )
            if any(score(cells) for _, cells in rows[:HEAD_LINES]):
                found[name] = _squared(rows)
    finally:
        book.close()
    if len(found) > 1:
        raise SheetError(
            f"has a shelf on several sheets ({', '.join(map(repr, found))}); name the one to read by --sheet"
        )
    if not found:
        return Table(str(path), ".xlsx", (), (), hashlib.sha256(data).hexdigest())
    (name, rows), *_ = found.items()
    form, mark = f".xlsx, sheet {name!r}", hashlib.sha256(data).hexdigest()
    return Table(str(path), form, rows, (), mark, book.epoch)


def read_table(path: Path, score: Callable[[tuple[str, ...]], int], sheet: str | None = None) -> Table:
    """The rows of a CSV or .xlsx file. `score` says how many header words a row holds; 0 means no header.

    Raises:
        SheetError: when the file cannot be read as a table.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise SheetError(f"cannot be opened: {error.strerror}") from None
    if not data.strip():
        raise SheetError("is empty")
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise SheetError("is an old binary workbook or is locked with a password; save it as .xlsx or CSV")
    if zipfile.is_zipfile(io.BytesIO(data)) or data.startswith(b"PK\x03\x04"):
        return _read_xlsx(path, data, score, sheet)
    return _read_csv(path, data, score)
