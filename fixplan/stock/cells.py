"""One cell of a spreadsheet, read or refused: numbers, sizes, counts, dates, yes and no.

Each reader raises `CellError` with the reason and what would be right. Nothing is rounded, clipped or guessed.
"""

from __future__ import annotations

import calendar
import datetime as dt
import re
from functools import lru_cache

MONTHS = {m.casefold(): i for i, m in enumerate(calendar.month_abbr) if m} | {
    m.casefold(): i for i, m in enumerate(calendar.month_name) if m
}
TO_MM = {"mm": 1.0, "cm": 10.0}
PIECES = {"", "pc", "pcs", "pce", "piece", "pieces", "ea", "each", "unit", "units", "off"}
YES = {"yes", "y", "true", "1", "sterile", "st"}
NO = {"no", "n", "false", "0", "non-sterile", "non sterile", "nonsterile", "unsterile", "not sterile"}
YEARS = (2000, 2099)
DAY_FIRST, MONTH_FIRST = "day first", "month first"


class CellError(ValueError):
    """A cell that cannot be read; the message says why and what would be right."""


def refuse_odd(text: str) -> None:
    """Refuse what a spreadsheet computes or fails to compute.

    Raises:
        CellError: for a formula or an error value.
    """
    if text.startswith("="):
        raise CellError("a formula; paste the value it shows")
    if (text.startswith("#") and text.rstrip("!?").isupper()) or text in {"#N/A", "#DIV/0!"}:
        raise CellError("an error value of the spreadsheet; put the value right")


@lru_cache(maxsize=4096)
def decimal(text: str) -> float:
    """A number with a decimal point or a decimal comma.

    Raises:
        CellError: when the text is no number, or when a comma could part thousands ("1,250").
    """
    body = text.strip().replace("\u00a0", "").replace("\u2212", "-")
    if re.fullmatch(r"[+-]?\d+([.]\d+)?", body):
        return float(body)
    if re.fullmatch(r"[+-]?[1-9]\d{0,2}(,\d{3})+", body):
        raise CellError("a comma before three digits may part thousands or decimals; write it with a decimal point")
    if re.fullmatch(r"[+-]?\d+,\d+", body):
        return float(body.replace(",", "."))
    if re.fullmatch(r"[+-]?\d+([.,]\d+)?[eE][+-]?\d+", body):
        raise CellError("in powers of ten, so digits may be lost; write it in full")
    raise CellError("not a number")


@lru_cache(maxsize=4096)
def length_mm(text: str, column_unit: str = "") -> float:
    """A length in mm from "46 mm", "4,6 cm" or, when the column names its unit, "46".

    Raises:
        CellError: without a unit, with a unit other than mm or cm, or when not above zero.
    """
    body = text.strip().lstrip("Øø⌀∅").strip()
    found = re.fullmatch(r"([^a-zA-Z\"'′″µ]+?)\s*([a-zA-Z\"'′″µ]*)", body)
    if not found:
        raise CellError("not a length; write for instance '46 mm'")
    number, unit = found[1], found[2].casefold() or column_unit
    if not unit:
        raise CellError("no unit; write '46 mm', or put '(mm)' in the column's header")
    if unit not in TO_MM:
        raise CellError(f"unit {found[2]!r} is not used here; give mm or cm")
    if found[2] and column_unit and unit != column_unit:
        raise CellError(f"the cell says {unit} and the column's header says {column_unit}; make them agree")
    value = decimal(number) * TO_MM[unit]
    if value <= 0:
        raise CellError("a length is above zero")
    return round(value, 6)


def size_mm(text: str, column_unit: str = "") -> tuple[float, float]:
    """Diameter and length in mm from "4.5 x 46 mm".

    Raises:
        CellError: when there are not two lengths, or when one of them cannot be read.
    """
    parts = re.split(r"\s*[x×*]\s*", text.strip(), flags=re.IGNORECASE)
    if len(parts) != 2:
        raise CellError("not a size; write diameter x length, for instance '4.5 x 46 mm'")
    unit = re.search(r"[a-zA-Z]+\s*$", parts[1])
    tail = unit[0].strip().casefold() if unit else ""
    first = length_mm(parts[0], tail if tail in TO_MM else column_unit)
    return first, length_mm(parts[1], column_unit)


@lru_cache(maxsize=4096)
def count(text: str) -> int:
    """A number of pieces: a whole number, zero or more, with or without "pcs".

    Raises:
        CellError: for a fraction, a negative number, a pack ("2 boxes") or no number at all.
    """
    found = re.fullmatch(r"([^a-zA-Z]+?)\s*([a-zA-Z.]*)", text.strip())
    if not found:
        raise CellError("not a count; write a whole number of pieces")
    if found[2].casefold().rstrip(".") not in PIECES:
        raise CellError(f"{found[2]!r} does not say how many pieces; write the number of pieces")
    if re.fullmatch(r"[1-9]\d{0,2}([.,]\d{3})+", found[1]):
        raise CellError("a point or comma before three digits may part thousands; write the count without it")
    value = decimal(found[1])
    if value < 0:
        raise CellError("a negative count; write what is on the shelf")
    if value != int(value):
        raise CellError("a fraction of a piece; write a whole number")
    return int(value)


def yes_no(text: str) -> bool:
    """Yes or no, also as "sterile" and "non-sterile".

    Raises:
        CellError: for any other word.
    """
    word = text.strip().casefold()
    if word in YES:
        return True
    if word in NO:
        return False
    raise CellError("neither yes nor no")


def _day(year: int, month: int, day: int) -> dt.date:
    if not YEARS[0] <= year <= YEARS[1]:
        raise CellError(f"the year {year} is outside {YEARS[0]} to {YEARS[1]}")
    try:
        return dt.date(year, month, day)
    except ValueError as error:
        raise CellError(f"no such date ({error})") from None


def month_end(year: int, month: int) -> dt.date:
    """The last day of a month: the last day of use when a pack names the month only."""
    if not 1 <= month <= 12:
        raise CellError("no such month")
    return _day(year, month, calendar.monthrange(year, month)[1])


@lru_cache(maxsize=8192)
def date(text: str, style: str = "") -> tuple[dt.date, str]:
    """A calendar date and a note on how it was read (empty when there is nothing to say).

    Read are 2026-12-03 (also with slashes, dots, or 20261203), 3 Dec 2026, 31/12/2026, and a month alone
    (2026-12, 12/2026, Dec 2026), which is taken to its last day. `style` DAY_FIRST or MONTH_FIRST comes from the
    header ("Expiry (DD/MM/YYYY)").

    Raises:
        CellError: when day and month could be exchanged, for a two-digit year, a spreadsheet's day number in a
            text file, or a date that does not exist.
    """
    body = re.sub(r"[T ]\d{2}:\d{2}(:\d{2}(\.\d+)?)?$", "", text.strip())
    if found := re.fullmatch(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})", body):
        return _day(int(found[1]), int(found[2]), int(found[3])), ""
    if re.fullmatch(r"\d{8}", body):
        return _day(int(body[:4]), int(body[4:6]), int(body[6:])), ""
    if found := re.fullmatch(r"(\d{4})[-/.](\d{1,2})|(\d{1,2})[-/.](\d{4})", body):
        year, month = int(found[1] or found[4]), int(found[2] or found[3])
        return month_end(year, month), "a month without a day, taken to its last day"
    if found := re.fullmatch(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4})", body):
        return _numeric(int(found[1]), int(found[2]), int(found[3]), style), ""
    words = re.findall(r"[A-Za-z]+|\d+", body)
    names = [MONTHS[w.casefold()] for w in words if w.casefold() in MONTHS]
    digits = [w for w in words if w.isdigit()]
    if len(names) == 1 and len(words) == len(digits) + 1:
        years = [w for w in digits if len(w) == 4]
        if len(digits) == 2 and len(years) == 1:
            day = next(w for w in digits if len(w) != 4)
            return _day(int(years[0]), names[0], int(day)), ""
        if len(digits) == 1 and years:
            return month_end(int(years[0]), names[0]), "a month without a day, taken to its last day"
        raise CellError("the year needs four digits; write it as 2026-12-03")
    if re.fullmatch(r"\d{1,2}[-/.]\d{1,2}[-/.]\d{2}", body):
        raise CellError("a two-digit year can be read in several ways; write it as 2026-12-03")
    if re.fullmatch(r"\d{5}(\.0+)?", body):
        raise CellError("a spreadsheet's day number, whose first day is not known here; write it as 2026-12-03")
    raise CellError("not a date; write it as 2026-12-03")


def day(text: str) -> dt.date:
    """The day of surgery: a date as `date` reads it, never a month alone.

    Raises:
        CellError: as `date`, and for a month without its day.
    """
    found, note = date(text)
    if note:
        raise CellError(f"{text.strip()!r} is a month without its day; write the day of surgery as 2026-12-03")
    return found


def place(text: str) -> int:
    """A place on the list: a whole number from 1.

    Raises:
        CellError: as `count`, and for 0.
    """
    found = count(text)
    if not found:
        raise CellError("place 0 of a list; places count from 1")
    return found


def _numeric(a: int, b: int, year: int, style: str) -> dt.date:
    if style == DAY_FIRST:
        return _day(year, b, a)
    if style == MONTH_FIRST:
        return _day(year, a, b)
    if a != b and a <= 12 and b <= 12:
        raise CellError("day and month could be exchanged; write it as 2026-12-03, or name the order in the header")
    return _day(year, b, a) if a > 12 or a == b else _day(year, a, b)
