"""The table of fields: what a case file may hold, and between which bounds a value is believed."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType
from typing import Any


@dataclass(frozen=True)
class Field:
    """One key of the case file.

    `kind`: text, choice, choices, texts, date, flag, integer, number, path, zone, quantity or thresholds.
    `low`, `high`: inclusive bounds in `unit` (numbers) or ISO dates; `source` is the bounds' origin (an id of
    sources.toml) and `why` its reason. `text` says what the field is, `how` how it is taken; `usual` is what a
    published series (`usual_source`) found.
    """

    key: str
    kind: str
    text: str
    example: str
    dimension: str = ""
    unit: str = ""
    low: Any = None
    high: Any = None
    source: str = ""
    why: str = ""
    how: str = ""
    how_source: str = ""
    usual: str = ""
    usual_source: str = ""
    choices: tuple[Any, ...] = ()
    required: bool = False
    fewest: int = 1
    most: int = 20


@dataclass(frozen=True)
class Limit:
    """A bound that belongs to no single key."""

    name: str
    value: float
    source: str
    why: str


@functools.cache
def _table() -> dict[str, Any]:
    with (files("fixplan.case") / "fields.toml").open("rb") as stream:
        return tomllib.load(stream)


@functools.cache
def fields() -> Mapping[str, Field]:
    """Every field by its key path, in the order in which a case file is written."""
    found = {}
    for key, row in _table()["fields"].items():
        row = dict(row)
        choices = tuple(row.pop("choices", ()))
        found[key] = Field(key=key, choices=choices, **row)
    return MappingProxyType(found)


@functools.cache
def limits() -> Mapping[str, Limit]:
    """The bounds that belong to no single key, by name."""
    return MappingProxyType({name: Limit(name, **row) for name, row in _table()["limits"].items()})


@functools.cache
def sections() -> Mapping[str, tuple[str, ...]]:
    """The keys of every table of a case file: "" for the top level, "bone" -> ("ray", "length", ...)."""
    found: dict[str, list[str]] = {"": []}
    for path in fields():
        parts = path.split(".")
        for depth in range(len(parts)):
            table, key = ".".join(parts[:depth]), parts[depth]
            names = found.setdefault(table, [])
            if key not in names:
                names.append(key)
    return MappingProxyType({table: tuple(names) for table, names in found.items()})
