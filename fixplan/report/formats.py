"""How numbers and names are written: one decimal for millimetres, the unit always there, no digit that was not earned.

Everything here turns a value of the plan into text; nothing is computed beyond rounding and a change of unit prefix.
"""

from __future__ import annotations

import unicodedata
from typing import Any

from fixplan.digits import all_digits, apart, given
from fixplan.plan.types import PASS, Finding, Given
from fixplan.sizing.rules import ROUNDING_MM
from fixplan.sources import GRADES

MINUS, TIMES, PLUS_MINUS, NARROW = "\u2212", "\u00d7", "\u00b1", "\u00a0"
NOT_KNOWN, NONE = "not known", "–"

_UNITS = {
    "1": "",
    "N*mm": "N·mm",
    "N*m": "N·m",
    "N*m**2": "N·m²",
    "N*mm**2": "N·mm²",
    "mm**2": "mm²",
    "mm**3": "mm³",
    "mm**4": "mm⁴",
    "deg": "°",
    "%": "%",
}


def visible(text: str) -> str:
    """The text with control and direction-changing characters written out as [U+202E], so that none acts unseen."""
    return "".join(f"[U+{ord(c):04X}]" if unicodedata.category(c) in ("Cc", "Cf", "Cs") else c for c in text)


def number(value: float, decimals: int) -> str:
    """A rounded number with a true minus sign and without a negative zero."""
    text = f"{value:.{decimals}f}"
    if float(text) == 0:
        text = text.removeprefix("-")
    return text.replace("-", MINUS)


def significant(value: float, digits: int = 2) -> str:
    """A number rounded to significant digits, written without an exponent."""
    if value == 0:
        return "0"
    exponent = int(f"{value:.{digits - 1}e}".split("e")[1])
    return (
        number(value, max(0, digits - 1 - exponent))
        if exponent < digits
        else number(round(value, digits - 1 - exponent), 0)
    )


def mm(value: float | None) -> str:
    """A length in millimetres with one decimal, without the unit (for a column headed mm)."""
    return NOT_KNOWN if value is None else number(value, 1)


def margin(value: float | None) -> str:
    """A margin in mm, without the unit: one decimal, and more where one would hide that it is not 0."""
    if value is None:
        return NOT_KNOWN
    if abs(value) < ROUNDING_MM:
        return number(0.0, 1)
    if abs(value) < 0.0005:
        return "below 0.001" if value > 0 else f"{MINUS}0.001 or less"
    return number(value, next(d for d in (1, 2, 3) if float(f"{value:.{d}f}") != 0))


def toward(value: float, unit: str, positive: str, negative: str) -> str:
    """A signed number as its size and the side it points to: '0.3 mm lateral'; no side where it rounds to 0."""
    text = f"{number(abs(value), 1)}{unit.replace(' ', NARROW)}"
    return f"{text} {positive if value > 0 else negative}" if float(f"{abs(value):.1f}") else text


def unit_text(unit: str) -> str:
    """The unit as it is printed; the core's plain spelling (mm**4) becomes mm⁴."""
    return _UNITS.get(unit, unit)


def quantity(value: float | None, unit: str, sd: float = 0.0) -> str:
    """A value with its unit, and its standard uncertainty where there is one."""
    if value is None:
        return NOT_KNOWN
    if unit in ("mm", "deg"):
        # a spread too small for one decimal shows its first digit, and the value as many
        decimals = max(1, _decimals(sd, 1)) if sd else 1
        text, spread = number(value, decimals), number(sd, decimals)
    else:
        decimals = max(_decimals(value, 3), _decimals(sd, 1)) if sd else _decimals(value, 3)
        text = number(value, decimals) if decimals else significant(value, 3)
        spread = number(sd, decimals) if decimals else significant(sd, 2)
    if sd:
        text = f"{text}{NARROW}{PLUS_MINUS}{NARROW}{spread}"
    return _with_unit(text, unit)


def kept(value: float | None, unit: str, sd: float = 0.0) -> str:
    """A value from a table or a case file with all its digits; one with a spread, or computed, as `quantity` has it."""
    if value is None or sd or not given(value):
        return quantity(value, unit, sd)
    text = all_digits(value, 1 if unit in ("mm", "deg") else 0)
    return _with_unit(text.replace("-", MINUS), unit)


def given_value(g: Given) -> str:
    """A quantity the plan rests on: both ends of one of which only a band is assumed, else its value and spread."""
    if g.low is None or g.high is None:
        return kept(g.value, g.unit, g.sd)
    return f"{kept(g.low, '1')} to {kept(g.high, g.unit)}"


def limit_mm(value: float) -> str:
    """A limit in mm without its unit: all digits of one that was given, one decimal of one that was computed.

    Stock comes in halves of a millimetre: where one decimal would set a limit on such a size, it shows on which side
    of the size it lies.
    """
    if given(value):
        return all_digits(value).replace("-", MINUS)
    half = round(2 * value) / 2
    return number(value, apart(value, half)) if f"{value:.1f}" == f"{half:.1f}" else mm(value)


def found_and_limit(f: Finding) -> tuple[str, str]:
    """What a rule found and its limit; with as many digits as tell the two apart where the rule is not passed."""
    value, limit = (NONE if x is None else kept(x, f.unit) for x in (f.value, f.limit))
    if f.verdict != PASS and f.value is not None and f.limit is not None and value == limit and f.value != f.limit:
        decimals = apart(f.value, f.limit)
        value, limit = (_with_unit(number(x, decimals), f.unit) for x in (f.value, f.limit))
    return value, limit


def _decimals(value: float, digits: int) -> int:
    """Decimals that show so many significant digits."""
    return 0 if value == 0 else max(0, digits - 1 - int(f"{value:.{digits - 1}e}".split("e")[1]))


def _with_unit(text: str, unit: str) -> str:
    shown = unit_text(unit)
    if not shown:
        return text
    return f"{text}{shown}" if shown in ("°", "%") else f"{text}{NARROW}{shown}"


def size(diameter_mm: float, length_mm: float) -> str:
    """A screw size as the theatre says it: 4.5 × 46."""
    return f"{number(diameter_mm, 1)}{NARROW}{TIMES}{NARROW}{stock(length_mm)}"


def stock(length_mm: float) -> str:
    """A stock length, with a decimal only where stock has one."""
    return f"{length_mm:g}"


def percent(value: float | None) -> str:
    """A share as per cent, to two significant digits."""
    if value is None:
        return NOT_KNOWN
    return f"{significant(100 * value, 2)}{NARROW}%"


def chance(value: float) -> str:
    """A share of draws in whole per cent; never 0 or 100 unless it is."""
    if 0 < value < 0.005:
        return f"below 1{NARROW}%"
    if 0.995 <= value < 1:
        return f"above 99{NARROW}%"
    return f"{number(100 * value, 0)}{NARROW}%"


def newton_metre(value_N_mm: float) -> str:
    """A moment in N·m from N·mm."""
    return f"{significant(value_N_mm / 1000, 2)}{NARROW}N·m"


def stiffness(value: float) -> str:
    """A stiffness in N/mm to two significant digits, without the unit."""
    return significant(value, 2)


def stress(value: float) -> str:
    """A stress in MPa to two significant digits, without the unit."""
    return significant(value, 2)


def sentence(text: str) -> str:
    """The text with its first letter as a capital."""
    return text[:1].upper() + text[1:]


def grade_words(code: str) -> str:
    """How well a number is known, in words."""
    return GRADES.get(code, code)


def filters() -> dict[str, Any]:
    """The formatters by the name templates use."""
    return {
        "mm": mm,
        "margin": margin,
        "toward": toward,
        "kept": kept,
        "given_value": given_value,
        "limit_mm": limit_mm,
        "found_and_limit": found_and_limit,
        "quantity": quantity,
        "unit": unit_text,
        "percent": percent,
        "chance": chance,
        "newton_metre": newton_metre,
        "stiffness": stiffness,
        "stress": stress,
        "significant": significant,
        "stock": stock,
        "number": number,
        "sentence": sentence,
        "grade_words": grade_words,
    }
