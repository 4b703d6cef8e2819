"""The rows of the validation page, and of the tests that hold the same numbers.

An `Example` is a published value with a way to compute ours; a `Check` is the same after the computation, with its
verdict. Units are those of the source where a form is homogeneous (in, kpsi, kip), else core units.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any

from fixplan.declare import DERIVED, RECORD, num

AGREES, DIFFERS, OPEN = "pass", "fail", "caution"
READ, MEMORY, RESTATED, HAND = "read", "from memory", "restated by another text", "worked by hand"


@dataclass(frozen=True)
class Example:
    """One published value. `tolerance` is half a unit of the last printed digit unless `remark` says otherwise.

    `known`: how the value is known (read in the source, from memory, restated, worked by hand from its formula).
    """

    what: str
    published: float
    tolerance: float
    unit: str
    source: str
    where: str
    ours: Callable[[], Any]
    known: str = READ
    remark: str = ""


@dataclass(frozen=True)
class Check:
    """One comparison. `verdict` is pass, caution or fail and `word` says it; None: not known, or not comparable."""

    group: str
    what: str
    source: str
    where: str
    known: str
    unit: str
    published: Annotated[float | None, num("see unit", "published or reference value", RECORD, "source")]
    ours: Annotated[float | None, num("see unit", "value of this program", DERIVED, "mechanics")]
    difference: Annotated[float | None, num("see unit", "ours less published", DERIVED, "ours, published")]
    tolerance: Annotated[float | None, num("see unit", "difference that is allowed", RECORD, "where")]
    verdict: str
    word: str
    remark: str = ""


def check(group: str, example: Example) -> Check:
    """Compute an example and compare it."""
    ours = float(example.ours())
    difference = ours - example.published
    # a value on the edge of the printed digit is not outside it for a rounding error
    agrees = abs(difference) <= example.tolerance * (1 + 1e-9)
    return Check(
        group,
        example.what,
        example.source,
        example.where,
        example.known,
        example.unit,
        example.published,
        ours,
        difference,
        example.tolerance,
        AGREES if agrees else DIFFERS,
        "agrees" if agrees else "does not agree",
        example.remark,
    )
