"""Fields that carry their unit, their meaning and where their numbers come from.

Results are frozen dataclasses. Each numeric field is declared once with `num`; the JSON document, the terminal
summary and the HTML page read unit, wording and origin from that declaration, and `origins` lists them for a reader
who asks where a number came from.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import Enum
from typing import Any, get_type_hints

MEASURED, DERIVED, ASSUMED = "measured", "derived", "assumed"
THRESHOLD, KIT, RECORD = "threshold", "kit", "record"
ORIGINS = (MEASURED, DERIVED, ASSUMED, THRESHOLD, KIT, RECORD)


@dataclass(frozen=True)
class Num:
    """The declaration of a numeric field: unit, meaning, origin, and what accounts for it."""

    unit: str
    text: str
    origin: str
    by: str


def num(unit: str, text: str, origin: str, by: str = "") -> Num:
    """Declare a numeric field (a number, None, or a tuple of numbers) inside `Annotated[...]`.

    unit: in core units ("mm", "N", "MPa", "1"); text: what it is; origin: one of `ORIGINS`; by: the function,
    table or sibling field ("source") that accounts for it.
    """
    if origin not in ORIGINS:
        raise ValueError(f"origin {origin!r} is not one of {', '.join(ORIGINS)}")
    return Num(unit, text, origin, by)


@functools.cache
def declarations(kind: type) -> dict[str, Num]:
    """Field name -> declaration, for the declared numeric fields of a result class."""
    hints = get_type_hints(kind, include_extras=True)
    found = {}
    for f in dataclasses.fields(kind):
        for extra in getattr(hints[f.name], "__metadata__", ()):
            if isinstance(extra, Num):
                found[f.name] = extra
    return found


def to_plain(value: Any) -> Any:
    """A result as JSON-ready dictionaries, lists, strings, numbers and None; tuples become lists."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: to_plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(k): to_plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [to_plain(v) for v in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date):
        return value.isoformat()
    if value is None or isinstance(value, bool | int | str):
        return value
    number = float(value)
    if number != number or number in (float("inf"), float("-inf")):
        raise ValueError("a result holds a number that is not finite; results use None for 'not known'")
    return number


def origins(value: Any, path: str = "") -> Iterator[tuple[str, dict[str, str]]]:
    """Yield (path, declaration) for each declared numeric field below `value`; list items share one path with '*'."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        for f in dataclasses.fields(value):
            here = f"{path}/{f.name}"
            declared = declarations(type(value)).get(f.name)
            if declared is not None:
                yield here, dataclasses.asdict(declared)
            yield from origins(getattr(value, f.name), here)
    elif isinstance(value, dict):
        for k, v in value.items():
            yield from origins(v, f"{path}/{k}")
    elif isinstance(value, list | tuple):
        for v in value:
            yield from origins(v, f"{path}/*")
