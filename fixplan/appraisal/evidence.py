"""What is published round the construct: statements and results, each with source, grade and population.

Evidence, never advice. Everything lies in `evidence.toml`; here it is read, checked and chosen for a case. Series that
disagree are returned together, in the order of the file.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType
from typing import Any

from fixplan.sources import GRADES, read_table, source

TOPICS: Mapping[str, str] = MappingProxyType(
    {
        "site": "What the site means",
        "zone": "Zones",
        "type": "Types on films",
        "treatment": "With and without surgery",
        "risk": "Risk factors",
        "imaging": "Imaging when early films are negative",
        "union": "How union was judged",
        "delayed": "Signs of delayed union",
        "removal": "Removal of the implant",
        "revision": "After an earlier screw or a nonunion",
        "screw": "What is published on screw size and harm",
        "plate": "What is published on plates",
        "bench": "Bench tests and theory",
    }
)
"""Topics of statements in reading order, with their headings."""

RISKS = (
    "hindfoot varus",
    "metatarsus adductus",
    "pes cavus",
    "low vitamin D",
    "low energy availability",
    "training change",
    "earlier stress fracture",
    "generalised low bone mass",
)
"""Risk factors a case may tick."""

UNVERIFIED = frozenset({"M-m", "M-l"})
"""Grades that a page has to flag as unverified."""


@dataclass(frozen=True)
class Applies:
    """Where an entry holds; an empty tuple means everywhere."""

    rays: tuple[int, ...] = ()
    zones: tuple[str, ...] = ()
    healing: tuple[str, ...] = ()
    previous: tuple[str, ...] = ()

    def to(self, ray: int, zone: str, healing: str | None, previous: str | None) -> bool:
        """True when the entry holds for this site.

        An entry bound to a state of healing or to an earlier screw holds only when the case says so.
        """
        return (
            (not self.rays or ray in self.rays)
            and (not self.zones or zone in self.zones)
            and (not self.healing or healing in self.healing)
            and (not self.previous or previous in self.previous)
        )


@dataclass(frozen=True)
class Statement:
    """One sentence of evidence. `favours` is for bench tests only: which of the two compared, or "neither"."""

    id: str
    topic: str
    text: str
    sources: tuple[str, ...]
    grade: str
    population: str
    risk: str = ""
    comparison: str = ""
    favours: str = ""
    applies: Applies = field(default_factory=Applies)

    @property
    def unverified(self) -> bool:
        """True when the page has to say that the statement is from memory and not verified."""
        return self.grade in UNVERIFIED


@dataclass(frozen=True)
class Result:
    """One number of one series: `value` in `unit` ("%" or "week") with sd or an interval, where printed.

    `interval` says what low and high are; `stage` is "revision" for results after an earlier screw.
    """

    id: str
    measure: str
    arm: str
    unit: str
    sources: tuple[str, ...]
    grade: str
    population: str
    value: float | None = None
    sd: float | None = None
    low: float | None = None
    high: float | None = None
    interval: str = ""
    n: int | None = None
    stage: str = ""
    note: str = ""
    applies: Applies = field(default_factory=Applies)

    @property
    def unverified(self) -> bool:
        """True when the page has to say that the number is from memory and not verified."""
        return self.grade in UNVERIFIED


@dataclass(frozen=True)
class Topic:
    """The statements of one topic that hold for a case."""

    name: str
    heading: str
    statements: tuple[Statement, ...]


@dataclass(frozen=True)
class Risk:
    """One ticked risk factor and what is published for it; `statements` is never empty."""

    name: str
    statements: tuple[Statement, ...]


@dataclass(frozen=True)
class Measure:
    """Results of one measure side by side, for a table or a picture."""

    name: str
    unit: str
    results: tuple[Result, ...]


@dataclass(frozen=True)
class Context:
    """What is published for one case: topics, ticked risks, results."""

    topics: tuple[Topic, ...]
    risks: tuple[Risk, ...]
    measures: tuple[Measure, ...]


@cache
def statements() -> Mapping[str, Statement]:
    """Every statement by id, in the order of the file. Raises ValueError for an entry without source or grade."""
    found: dict[str, Statement] = {}
    for row in read_table("fixplan.appraisal", "evidence.toml")["statement"]:
        entry = Statement(**_common(row, found))
        if entry.topic not in TOPICS:
            raise ValueError(f"statement {entry.id}: topic {entry.topic!r} is not one of {', '.join(TOPICS)}")
        if entry.risk and entry.risk not in RISKS:
            raise ValueError(f"statement {entry.id}: risk {entry.risk!r} is not one of {', '.join(RISKS)}")
        found[entry.id] = entry
    return MappingProxyType(found)


@cache
def results() -> Mapping[str, Result]:
    """Every result by id, in the order of the file. Raises ValueError for one without source, grade or number."""
    found: dict[str, Result] = {}
    for row in read_table("fixplan.appraisal", "evidence.toml")["result"]:
        entry = Result(**_common(row, found))
        if entry.value is None and (entry.low is None or entry.high is None):
            raise ValueError(f"result {entry.id}: neither a value nor a low and a high; give one")
        if (entry.low is not None or entry.high is not None) and not entry.interval:
            raise ValueError(f"result {entry.id}: low and high without a word what they are; give interval")
        found[entry.id] = entry
    return MappingProxyType(found)


def statement(id: str) -> Statement:
    """The statement with this id. Raises KeyError when there is none."""
    return statements()[id]


def context(
    ray: int,
    zone: int | str,
    *,
    healing: str | None = None,
    previous: str | None = None,
    risks: Iterable[str] = (),
) -> Context:
    """What is published for a case: topics without bench tests, ticked risks, and results by measure.

    Arguments as in `scope.appraise_scope`; `risks` are names of RISKS. Raises ValueError for an unknown risk.
    """
    key = str(zone)
    ticked = tuple(risks)
    for name in ticked:
        if name not in RISKS:
            raise ValueError(f"risks: {name!r} is not one of {', '.join(RISKS)}")
    held = [s for s in statements().values() if s.applies.to(ray, key, healing, previous)]
    topics = tuple(
        Topic(name, heading, tuple(s for s in held if s.topic == name and not s.risk))
        for name, heading in TOPICS.items()
        if name != "bench"
    )
    return Context(
        tuple(t for t in topics if t.statements),
        tuple(Risk(name, _for_risk(name, held)) for name in ticked),
        measures(ray, key, healing=healing, previous=previous),
    )


def measures(
    ray: int, zone: int | str, *, healing: str | None = None, previous: str | None = None
) -> tuple[Measure, ...]:
    """Published results for a site, grouped by measure in the order of the file.

    Results after an earlier screw come only when there was one. Results of acute fractures come unless the case
    says that healing is delayed or failed.
    """
    grouped: dict[tuple[str, str], list[Result]] = {}
    for r in results().values():
        if r.stage == "revision" and previous is None:
            continue
        if r.applies.to(ray, str(zone), healing or "acute", previous):
            grouped.setdefault((r.measure, r.unit), []).append(r)
    return tuple(Measure(name, unit, tuple(rows)) for (name, unit), rows in grouped.items())


def bench(comparison: str | None = None) -> tuple[Statement, ...]:
    """Bench tests and theory: all, or those on one comparison. Raises ValueError for an unknown comparison."""
    found = tuple(s for s in statements().values() if s.topic == "bench")
    if comparison is None:
        return found
    known = tuple(dict.fromkeys(s.comparison for s in found))
    if comparison not in known:
        raise ValueError(f"comparison: {comparison!r} is not one of {', '.join(known)}")
    return tuple(s for s in found if s.comparison == comparison)


def _for_risk(name: str, held: list[Statement]) -> tuple[Statement, ...]:
    found = tuple(s for s in held if s.risk == name)
    if found:
        return found
    return (
        Statement(
            f"no-evidence-{name.replace(' ', '-')}",
            "risk",
            f"Nothing was found on {name} for this site.",
            ("PROJECT",),
            "P",
            "search of the sources listed here",
            risk=name,
        ),
    )


def _common(row: dict[str, Any], seen: Mapping[str, object]) -> dict[str, Any]:
    id = row.get("id", "(without id)")
    if id in seen:
        raise ValueError(f"evidence {id}: the id stands twice")
    if not row.get("sources"):
        raise ValueError(f"evidence {id}: no source; name at least one id of sources.toml")
    for name in row["sources"]:
        source(name)
    if row.get("grade") not in GRADES:
        raise ValueError(f"evidence {id}: grade {row.get('grade')!r} is not one of {', '.join(GRADES)}")
    scoped = ("rays", "zones", "healing", "previous")
    rest = {k: v for k, v in row.items() if k not in scoped}
    rest["sources"] = tuple(row["sources"])
    return rest | {"applies": Applies(**{k: tuple(row[k]) for k in scoped if k in row})}
