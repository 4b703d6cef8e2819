"""A value with unit, uncertainty and origin, read as a person writes it.

`parse` turns what a person writes ("71.5 ± 0.8 mm") into a `Quantity` in core units
(mm, N, MPa, N*mm, rad, kg).
"""

from __future__ import annotations

import functools
import math
import re
import statistics
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from fixplan.problems import InputError, Problem
from fixplan.units import DIMENSIONS, convert, factor_to_core, registry

__all__ = ["DIMENSIONS", "Origin", "Quantity", "Value", "convert", "parse", "parse_in", "registry"]

Refuse = Callable[[str], InputError]
Origin = Literal["measured", "derived", "assumed", "threshold", "kit"]

_NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,2})?"
_UNIT = r"[A-Za-zµμ°%][A-Za-z0-9µμ°%/·*^²³ ]{0,19}"
_PLUS_MINUS = r"(?:±|\+/-|\+-)"
_PLAIN = re.compile(rf"\s*({_NUMBER})\s*({_UNIT})?\s*")
_WITH_SD = re.compile(rf"\s*(\()?\s*({_NUMBER})\s*({_UNIT})?\s*{_PLUS_MINUS}\s*({_NUMBER})\s*(?(1)\)\s*)({_UNIT})?\s*")


@dataclass(frozen=True)
class Quantity:
    """A measured value in core units.

    `value` and `sd` (standard uncertainty) are in `unit`; `path` is the key it was read from, `raw` the text
    as written. `sd_origin` is "given", "readings" (standard uncertainty of the mean of `n_readings` readings) or
    "none": nothing was said about the uncertainty, and `sd` is 0 for want of a number, not for certainty.
    """

    value: float
    sd: float
    unit: str
    path: str
    raw: str
    n_readings: int = 1
    sd_origin: Literal["given", "readings", "none"] = "none"


@dataclass(frozen=True)
class Value:
    """A number in a plan with its origin.

    `source` is an id of sources.toml, the key path of the case file, or a kit item; `sd` is a standard
    uncertainty in `unit`, 0 when none is carried.
    """

    name: str
    value: float
    unit: str
    sd: float
    origin: Origin
    source: str
    note: str = ""

    @classmethod
    def measured(cls, name: str, quantity: Quantity, note: str = "") -> Value:
        """The value of a quantity that was read from a case file."""
        return cls(name, quantity.value, quantity.unit, quantity.sd, "measured", quantity.path, note)


def parse(given: object, dimension: str, path: str, example: str = "") -> Quantity:
    """Read a length, force, mass, ... as a person writes it.

    Accepted: "71.5 mm", "71.5 ± 0.8 mm", "71.5 +/- 0.8 mm", {value = "71.5 mm", sd = "0.8 mm"}, and repeated
    readings "4.6 mm, 4.9 mm, 4.7 mm" (or a list of such strings), which give their mean and its standard
    uncertainty s/sqrt(n) (type A evaluation: JCGM 100:2008, 4.2). For `dimension` "ratio" plain numbers are
    accepted too. `example` is shown where the value is refused, for want of one that of the dimension.

    Raises InputError with one problem: no unit, wrong dimension, not a number, not finite, negative.
    """
    core, usual = DIMENSIONS[dimension]
    refuse = functools.partial(_refuse, path, f"for instance '{example or usual}'")
    if isinstance(given, bool):
        raise refuse(f"{str(given).lower()} is not a {dimension}")
    if isinstance(given, (int, float)):
        if not math.isfinite(given):
            raise refuse(f"{given} is not a finite number")
        if dimension != "ratio":
            raise refuse(f"{given} has no unit: give a unit")
        return _checked(float(given), 0.0, core, path, str(given), 1, "none", refuse)
    if isinstance(given, Mapping):
        return _from_table(given, dimension, path, refuse)
    if isinstance(given, (list, tuple)):
        return _from_readings(list(given), dimension, path, refuse)
    if not isinstance(given, str):
        raise refuse(f"a {type(given).__name__} is not a {dimension}")
    if len(given) > 200:
        raise refuse("the text is too long for a measurement")
    if re.search(r"\b(nan|inf|infinity)\b", given, re.IGNORECASE):
        raise refuse(f"'{given}' is not a finite number")
    if re.search(r"\d,\d", given):
        raise refuse(f"'{given}' has a comma inside a number: write the decimal point, and a space between readings")
    if "," in given or ";" in given:
        return _from_readings(re.split(r"[,;]", given), dimension, path, refuse)
    if found := _WITH_SD.fullmatch(given):
        _, number, first, sd, last = found.groups()
        unit_value, unit_sd = (first or last or "").strip(), (last or first or "").strip()
        value = _convert(number, unit_value, dimension, refuse)
        return _checked(value, _convert(sd, unit_sd, dimension, refuse), core, path, given, 1, "given", refuse)
    number, unit = _split(given, refuse)
    return _checked(_convert(number, unit, dimension, refuse), 0.0, core, path, given, 1, "none", refuse)


def parse_in(given: object, unit: str, path: str, example: str = "") -> Quantity:
    """Read a value of the dimension of the core unit `unit` ("mm", "MPa", "N/mm", "1").

    Raises InputError as `parse` does.
    """
    for dimension, (core, _) in DIMENSIONS.items():
        if core == unit:
            return parse(given, dimension, path, example)
    raise ValueError(f"unit: {unit!r} is not a core unit; known: {sorted({u for u, _ in DIMENSIONS.values()})}")


def _refuse(path: str, right: str, what: str) -> InputError:
    return InputError([Problem(path, what, right)])


def _split(text: str, refuse: Refuse) -> tuple[str, str]:
    found = _PLAIN.fullmatch(text)
    if not found:
        raise refuse(f"'{text.strip()}' cannot be read")
    return found[1], (found[2] or "").strip()


def _convert(number: str, unit: str, dimension: str, refuse: Refuse) -> float:
    value = float(number)
    if not unit:
        if dimension == "ratio":
            return value
        raise refuse(f"'{number}' has no unit: give a unit")
    factor = factor_to_core(unit, dimension)
    if isinstance(factor, str):
        raise refuse(factor)
    result = value * factor
    if math.isinf(result) or (result == 0 and value != 0):
        raise refuse(f"'{number} {unit}' is out of all range")
    return result


def _from_table(given: Mapping[Any, Any], dimension: str, path: str, refuse: Refuse) -> Quantity:
    if set(given) != {"value", "sd"}:
        raise refuse("a table for a measurement has exactly the keys 'value' and 'sd'")
    value = parse(given["value"], dimension, f"{path}.value")
    sd = parse(given["sd"], dimension, f"{path}.sd")
    for part in (value, sd):
        if part.sd_origin != "none":
            raise refuse("'value' and 'sd' of a table are single numbers with a unit")
    raw = f"{value.raw} ± {sd.raw}"
    return _checked(value.value, sd.value, value.unit, path, raw, 1, "given", refuse)


def _from_readings(parts: Sequence[object], dimension: str, path: str, refuse: Refuse) -> Quantity:
    readings: list[float] = []
    for part in parts:
        if not isinstance(part, str):
            raise refuse("each reading is a text with its own unit")
        if re.search(_PLUS_MINUS, part):
            raise refuse("repeated readings carry no ± of their own: their spread gives the uncertainty")
        number, unit = _split(part, refuse)
        readings.append(_convert(number, unit, dimension, refuse))
    if not 2 <= len(readings) <= 50:
        raise refuse(f"{len(readings)} reading(s) in a list; give 2 to 50, or one text")
    for reading in readings:
        _checked(reading, 0.0, "", path, f"{reading:g}", 1, "none", refuse)
    mean, sd = statistics.fmean(readings), statistics.stdev(readings) / math.sqrt(len(readings))
    raw = ", ".join(str(p).strip() for p in parts)
    return _checked(mean, sd, DIMENSIONS[dimension][0], path, raw, len(readings), "readings", refuse)


def _checked(
    value: float,
    sd: float,
    unit: str,
    path: str,
    raw: str,
    n: int,
    origin: Literal["given", "readings", "none"],
    refuse: Refuse,
) -> Quantity:
    if not (math.isfinite(value) and math.isfinite(sd)):
        raise refuse(f"'{raw}' is not a finite number")
    if value < 0 or sd < 0:
        raise refuse(f"'{raw}' is negative")
    return Quantity(value, sd, unit, path, raw, n, origin)
