"""Where numbers come from: sources and planning thresholds, read once from two data tables.

`sources.toml` holds every source by its id, `thresholds.toml` every planning threshold by its name. A
threshold names a source; an id not in the table is an error, so no number reaches a plan without an origin.
"""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

KINDS = (
    "standard",
    "paper",
    "textbook",
    "guideline",
    "common practice",
    "from memory",
    "project default",
)
"""The kinds a source may have."""

GRADES: Mapping[str, str] = MappingProxyType(
    {
        "F": "read in the source",
        "F2": "read second-hand, quoted by another text",
        "Fx": "read in part: the text seen was cut short",
        "D": "derived by arithmetic from values that were read",
        "M-h": "from memory, high confidence, not verified",
        "M-m": "from memory, medium confidence: unverified",
        "M-l": "from memory, low confidence: shown for context only",
        "one foot": "measured on one foot of one person: not a population",
        "C": "common practice, no source",
        "P": "project default, no publication behind it",
    }
)
"""How well a number is known, by code."""

CITATION_NOTE = (
    "First authors, volumes and pages of papers were in part completed from memory; check a reference before "
    "quoting it. Identifiers (doi, PMID, PMC) were seen in print."
)
"""To be printed with a list of sources."""

DEFAULT_GRADES = frozenset({"F", "F2", "Fx", "D", "M-h", "C", "P", "one foot"})
"""Grades that a default may have without a flag of its own; M-m needs the flag, M-l is never a default."""


@dataclass(frozen=True)
class Source:
    """One source. `verified` says how it is known; `same_as` names another id of the same publication."""

    id: str
    kind: str
    text: str
    verified: str
    same_as: str | None = None


@dataclass(frozen=True)
class Threshold:
    """One planning threshold in its unit, with its origin.

    `low`, `high`: the published band round `value`, where there is one. `sd`: published standard deviation, of
    `sd_source` where that is another source than that of the value ("": the same).
    `also`: further source ids that bear on the value. `used_by`: screw, plate, checks, bone, imaging or plan.
    `end`: what the value bounds ("low": a least value, "high": a greatest value, "none": a plain default).
    """

    name: str
    value: float
    unit: str
    source: str
    kind: str
    grade: str
    meaning: str
    used_by: str
    end: str
    note: str = ""
    sd: float = 0.0
    low: float | None = None
    high: float | None = None
    also: tuple[str, ...] = ()
    sd_source: str = ""


def read_table(package: str, name: str) -> dict[str, Any]:
    """Read a TOML table that lies beside the modules of `package`."""
    with (files(package) / name).open("rb") as stream:
        return tomllib.load(stream)


@cache
def all_sources() -> Mapping[str, Source]:
    """Every source by id. A second id of a publication carries the text of the first."""
    table = read_table("fixplan", "sources.toml")
    found: dict[str, Source] = {}
    for key, row in table.items():
        first = table[row["same_as"]] if "same_as" in row else row
        found[key] = Source(key, first["kind"], first["text"], first["verified"], row.get("same_as"))
    return MappingProxyType(found)


def source(id: str) -> Source:
    """The source with this id. Raises KeyError, naming the nearest id, when there is none."""
    table = all_sources()
    if id not in table:
        near = difflib.get_close_matches(id, table, n=1)
        hint = f"; nearest: {near[0]!r}" if near else ""
        raise KeyError(f"source: no entry {id!r} in sources.toml{hint}")
    return table[id]


@cache
def thresholds() -> Mapping[str, Threshold]:
    """Every planning threshold by name. Raises KeyError when one names an unknown source."""
    found: dict[str, Threshold] = {}
    for name, row in read_table("fixplan", "thresholds.toml").items():
        also = tuple(row.pop("also", ()))
        for other in also:
            source(other)
        if "sd_source" in row:
            source(row["sd_source"])
        found[name] = Threshold(name=name, kind=source(row["source"]).kind, also=also, **row)
    return MappingProxyType(found)


def threshold(name: str) -> Threshold:
    """The planning threshold of this name. Raises KeyError, naming the nearest, when there is none."""
    table = thresholds()
    if name not in table:
        near = difflib.get_close_matches(name, table, n=1)
        hint = f"; nearest: {near[0]!r}" if near else ""
        raise KeyError(f"threshold: no entry {name!r} in thresholds.toml{hint}")
    return table[name]
