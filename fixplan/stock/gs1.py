"""GS1 element strings: GTIN, lot, expiry and serial from one scanned cell.

Syntax, application identifiers and check digits are read by biip (optional extra `shelf`); the century of a date is
settled here against the day of the list, so that a document made again tomorrow says the same.
Source: GS1 General Specifications (id GS1GS), sections 3.4 (dates), 7.8 (element strings), 7.9 (check digits),
7.12 (century); symbology identifiers of ISO/IEC 15424.
"""

from __future__ import annotations

import calendar
import datetime as dt
import re
from dataclasses import dataclass
from functools import lru_cache

from fixplan.stock.cells import CellError

GS = "\x1d"
SEPARATORS = ("\u241d", "<GS>", "<FNC1>", "{GS}", "{FNC1}", "_x001D_")
SYMBOLOGY = re.compile(r"\](C1|e0|d2|Q3|J1)")
DATES = {"11": "production", "13": "packaging", "15": "best before", "16": "sell by", "17": "expiry"}


@dataclass(frozen=True)
class Scan:
    """What one scan says; empty where the string has no such element."""

    gtin: str = ""
    lot: str = ""
    serial: str = ""
    expiry: dt.date | None = None


def check_digit(digits: str) -> int:
    """The check digit that ends a GTIN whose other digits are `digits` (GS1GS 7.9: weights 3, 1 from the right)."""
    total = sum(int(c) * (3 if i % 2 == 0 else 1) for i, c in enumerate(reversed(digits)))
    return -total % 10


def gtin14(text: str) -> str:
    """A GTIN-8, -12, -13 or -14 as fourteen digits.

    Raises:
        CellError: for other lengths, other characters, or a wrong check digit.
    """
    body = re.sub(r"[\s-]", "", text)
    if re.fullmatch(r"\d+([.,]\d+)?[eE]\+?\d+", body):
        raise CellError("in powers of ten, so digits are lost; format the column as text")
    if not re.fullmatch(r"[0-9]+", body) or len(body) not in (8, 12, 13, 14):
        raise CellError("a GTIN has 8, 12, 13 or 14 digits (leading zeros kept)")
    if int(body[-1]) != check_digit(body[:-1]):
        raise CellError(f"the check digit is {body[-1]}, and {check_digit(body[:-1])} would be right")
    return body.zfill(14)


def gs1_date(yymmdd: str, on: dt.date) -> dt.date:
    """The date of a GS1 date element, seen from the day `on`.

    The year lies from 49 years before to 50 years after `on` (GS1GS 7.12); day 00 is the last day of the month
    (GS1GS 3.4).

    Raises:
        CellError: when there is no such date.
    """
    if not re.fullmatch(r"[0-9]{6}", yymmdd):
        raise CellError(f"the date {yymmdd!r} is not six digits YYMMDD")
    yy, month, day = int(yymmdd[:2]), int(yymmdd[2:4]), int(yymmdd[4:])
    ahead = yy - on.year % 100
    century = on.year // 100 + (-1 if ahead >= 51 else 1 if ahead <= -50 else 0)
    year = 100 * century + yy
    if not 1 <= month <= 12:
        raise CellError(f"the date {yymmdd!r} has no such month")
    last = calendar.monthrange(year, month)[1]
    if day > last:
        raise CellError(f"the date {yymmdd!r} has no such day: the month has {last} days")
    return dt.date(year, month, day or last)


def _raw(text: str) -> str:
    """The element string as a scanner sends it: no symbology identifier, separators as GS, no brackets."""
    body = text.strip()
    for written in SEPARATORS:
        body = body.replace(written, GS)
    body = SYMBOLOGY.sub("", body, count=1) if body.startswith("]") else body
    if not body.startswith("("):
        return body.strip(GS)
    parts = re.findall(r"\((\d{2,4})\)([^(]*)", body)
    if "".join(f"({ai}){value}" for ai, value in parts) != body:
        raise CellError("the brackets do not part the application identifiers; write (01)…(17)…(10)…")
    return GS.join(ai + value.strip().strip(GS) for ai, value in parts)


@lru_cache(maxsize=8192)
def parse(text: str, on: dt.date) -> Scan:
    """Read one scanned or typed GS1 string, with or without brackets, or a bare GTIN.

    Raises:
        CellError: for a string that is no element string, a wrong check digit, an impossible date, a number that
            could be either, or when the reader is not installed.
    """
    raw = _raw(text)
    if re.fullmatch(r"[0-9]{8}|[0-9]{12,14}", raw):
        try:
            bare = gtin14(raw)
        except CellError:
            if raw[:2] not in ("10", "17", "21"):
                raise
        else:
            if len(raw) == 8 and raw[:2] in ("10", "11", "17", "21"):
                raise CellError("could be a GTIN-8 or an element string; write the application identifiers in brackets")
            return Scan(gtin=bare)
    return _elements(raw, on)


def _elements(raw: str, on: dt.date) -> Scan:
    try:
        from biip import ParseConfig, ParseError
        from biip.gs1_messages import GS1Message
    except ImportError:  # pragma: no cover - the extra is installed wherever the tests run
        raise CellError("reading barcodes needs the extra 'shelf': install fixplan[shelf]") from None
    try:
        message = GS1Message.parse(raw, config=ParseConfig(gs1_element_strings_verify_date=False))
    except ParseError as error:
        remedy = "scan it again or fill in GTIN, lot and expiry columns"
        if found := re.search(r"GS1 AI \((\d+)\)", str(error)):
            what = "no date YYMMDD" if found[1] in DATES else "no such value"
            raise CellError(f"({found[1]}) has {what} as GS1 lays down; {remedy}") from None
        raise CellError(f"not a GS1 element string; {remedy}") from None
    seen: dict[str, str] = {}
    for element in message.element_strings:
        ai, value = element.ai.ai, element.value
        if seen.setdefault(ai, value) != value:
            raise CellError(f"application identifier ({ai}) comes twice with different values")
        if ai in DATES:
            gs1_date(value, on)
    for ai in ("10", "21"):
        if "17" not in seen and _hides_expiry(seen.get(ai, ""), on):
            raise CellError(f"({ai}) seems to have swallowed an expiry date: the separator after it is missing")
    return Scan(
        gtin=gtin14(seen["01"]) if "01" in seen else "",
        lot=seen.get("10", ""),
        serial=seen.get("21", ""),
        expiry=gs1_date(seen["17"], on) if "17" in seen else None,
    )


def _hides_expiry(value: str, on: dt.date) -> bool:
    """True when a lot or serial holds what reads as (17) and a date: a scanner that drops separators does that."""
    for found in re.finditer(r"(?<=.)17(?=([0-9]{6}))", value):
        try:
            gs1_date(found[1], on)
        except CellError:
            continue
        return True
    return False
