"""What a score is, and how sums and readings are made; see `scores` for the scores themselves."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

CANNOT = "cannot be computed from what is given"


@dataclass(frozen=True)
class Score:
    """A score or reading against published cut-offs.

    `value` is None when it cannot be computed; `low` and `high` bound it from what is given. `band` is the stratum, or
    None. `missing` names the items not given. `grade` as in fixplan.sources.GRADES.
    """

    name: str
    label: str
    value: float | None
    unit: str
    band: str | None
    text: str
    sources: tuple[str, ...]
    grade: str
    population: str
    missing: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None


Bounds = tuple[int, int] | None
"""Points an item may take, least and most; None when it is not given."""


def sum_of_items(
    name: str,
    label: str,
    items: Mapping[str, Bounds],
    most: int,
    strata: Sequence[tuple[int, str]],
    text: str,
    sources: tuple[str, ...],
    grade: str,
    population: str,
) -> Score:
    """A sum of points. `most` is what an open item may add; `strata` are (least points, word), rising."""
    bounds = {k: (0, most) if b is None else b for k, b in items.items()}
    missing = tuple(k for k, (lo, hi) in bounds.items() if lo != hi)
    low, high = sum(lo for lo, _ in bounds.values()), sum(hi for _, hi in bounds.values())
    bands = [next(word for at, word in reversed(strata) if total >= at) for total in (low, high)]
    band = bands[0] if bands[0] == bands[1] else None
    if missing:
        open_text = f"{label}: {CANNOT}; missing: {'; '.join(missing)}."
        if band is not None:
            open_text += f" Whatever they are, the stratum is {band}."
        text = f"{open_text} {text}"
    value = None if missing else float(low)
    return Score(name, label, value, "points", band, text, sources, grade, population, missing, float(low), float(high))


def band_score(
    name: str,
    label: str,
    value: float | None,
    unit: str,
    edges: Sequence[tuple[float, str]],
    text: str,
    sources: tuple[str, ...],
    grade: str,
    population: str,
    *,
    upper_included: bool = True,
) -> Score:
    """A reading against rising upper edges; `upper_included` says that an edge belongs to the band below it."""
    band = None
    if value is not None:
        band = next(word for at, word in edges if value < at or (upper_included and value == at))
    return reading(name, label, value, unit, band, text, sources, grade, population)


def reading(
    name: str,
    label: str,
    value: float | None,
    unit: str,
    band: str | None,
    text: str,
    sources: tuple[str, ...],
    grade: str,
    population: str,
) -> Score:
    """A reading with its band, or the refusal to give one."""
    if value is None:
        return Score(name, label, None, unit, None, f"{label}: {CANNOT}.", sources, grade, population, (label,))
    return Score(name, label, value, unit, band, text, sources, grade, population, (), value, value)


def finite(name: str, value: float | None) -> float | None:
    """`value`, or ValueError when it is not a finite number."""
    if value is not None and not math.isfinite(value):
        raise ValueError(f"{name}: {value} is not a finite number; give the value, or leave it out")
    return value


def at_least(name: str, value: float | None, low: float) -> float | None:
    """`value`, or ValueError when it is below `low` or not finite."""
    if finite(name, value) is not None and value is not None and value < low:
        raise ValueError(f"{name}: {value} is below {low}; give the value, or leave it out")
    return value


def positive(name: str, value: float | None) -> float | None:
    """`value`, or ValueError when it is not above 0 or not finite."""
    if finite(name, value) is not None and value is not None and value <= 0:
        raise ValueError(f"{name}: {value} is not above 0; give the value, or leave it out")
    return value
