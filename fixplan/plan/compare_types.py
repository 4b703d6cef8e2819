"""What a comparison holds: constructs as the plan holds them, and rows that set them side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from fixplan.declare import DERIVED, num
from fixplan.plan.types import (
    CaseSummary,
    Evidence,
    Finding,
    Fit,
    Given,
    PlateCandidate,
    Provenance,
    ScrewCandidate,
    SourceText,
    TradeOff,
)


@dataclass(frozen=True)
class Compared:
    """One construct: what was asked for, what it is, and the whole candidate as a plan of its own would hold it.

    `verdict` is over the rules that size it; `cautions` are all rules it does not pass, those of its mechanics among
    them, and `under_load` is the least factor against yield of each activity, as a plan of its own states them.
    """

    letter: str
    asked: str
    label: str
    kind: str
    item: str
    kit: str
    gap_state: str
    verdict: str
    cautions: tuple[Finding, ...]
    under_load: str
    screw: ScrewCandidate | None
    plate: PlateCandidate | None
    notes: tuple[str, ...]


@dataclass(frozen=True)
class CompareCell:
    """One construct in one row: a bracket, one number (low and high alike), or words."""

    low: Annotated[float | None, num("see unit", "loose end of the bracket, or the number", DERIVED, "constructs")]
    high: Annotated[float | None, num("see unit", "bonded end of the bracket, or the number", DERIVED, "constructs")]
    text: str


@dataclass(frozen=True)
class BenchSays:
    """What bench tests say of one difference between constructs; `pair` names the pairs it holds for.

    `verdict`: agrees, denies (the model orders the two and the test found no difference, or the opposite), disagrees
    (the tests disagree with each other), not tested.
    """

    pair: str
    comparison: str
    verdict: str
    text: str
    evidence: tuple[Evidence, ...]


@dataclass(frozen=True)
class CompareRow:
    """One quantity of all constructs, which is higher, and the bench evidence on it."""

    name: str
    label: str
    unit: str
    ends: tuple[str, str]
    cells: tuple[CompareCell, ...]
    reading: str
    note: str
    bench: tuple[BenchSays, ...]


@dataclass(frozen=True)
class Comparison:
    """Two to four constructs side by side; no overall winner is named."""

    format: str
    fixplan: str
    case: CaseSummary
    inputs_sha256: str
    fit_for_planning: Fit
    constructs: tuple[Compared, ...]
    rows: tuple[CompareRow, ...]
    differences: tuple[str, ...]
    tradeoffs: tuple[TradeOff, ...]
    given: tuple[Given, ...]
    findings: tuple[Finding, ...]
    note: str
    cautions: tuple[str, ...]
    sources: tuple[SourceText, ...]
    provenance: Provenance
