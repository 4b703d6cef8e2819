"""After surgery: what published series watched and when, as dated bands. No protocol of our own.

Each row is one series. A band of dates is the printed range, the mean plus and minus one standard deviation, or the
single printed week; weeks count from the day of surgery and become days by rounding to the nearest day.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType

from fixplan.appraisal.evidence import Result, Statement, results, statements
from fixplan.sources import read_table

MEASURES: Mapping[str, str] = MappingProxyType(
    {
        "time to weight bearing in a boot": "weight bearing in a boot, as tolerated",
        "time to weight bearing": "weight bearing",
        "time to union": "union on films",
        "time to running": "running",
        "time to return": "return to full activity",
    }
)
"""Measures shown as milestones, with their labels, in order: no label says more than the series printed."""

SURGICAL = ("surgery", "screw", "other fixation", "drilling", "revision")
"""Arms of the results that count as after surgery."""

NO_PROTOCOL = (
    "What published series watched, not a protocol. The surgeon sets the regimen and judges union on this patient's "
    "films."
)


@dataclass(frozen=True)
class Row:
    """One series on one milestone: weeks after surgery, and dates when the day of surgery is known.

    `how` says what the band is: a printed range, mean ± SD, or a single printed value. `earliest` and `latest` are
    None without a date of surgery, and where the weeks are 0: at once.
    """

    text: str
    weeks: float | None
    weeks_low: float
    weeks_high: float
    how: str
    earliest: date | None
    latest: date | None
    sources: tuple[str, ...]
    grade: str
    population: str
    unverified: bool


@dataclass(frozen=True)
class Milestone:
    """One milestone: the series side by side, and the band that holds them; unverified series do not widen it."""

    name: str
    label: str
    rows: tuple[Row, ...]
    weeks_low: float
    weeks_high: float
    earliest: date | None
    latest: date | None


@dataclass(frozen=True)
class Aftercare:
    """After surgery for one case. `watch` holds when a film without progress is named as a sign."""

    planned_for: date | None
    milestones: tuple[Milestone, ...]
    watch: tuple[Row, ...]
    signs: tuple[Statement, ...]
    union: tuple[Statement, ...]
    removal: tuple[Statement, ...]
    note: str = NO_PROTOCOL


def aftercare(
    planned_for: date | None,
    ray: int,
    zone: int | str,
    *,
    healing: str | None = None,
    previous: str | None = None,
) -> Aftercare:
    """Milestones, signs of delayed union and how union was judged, for a site; arguments as in `scope`.

    Results of revision surgery come only with an earlier screw. Raises ValueError when a date would leave the calendar.
    """
    key = str(zone)
    chosen = [
        r
        for r in results().values()
        if r.unit == "week"
        and r.arm in SURGICAL
        and (r.stage != "revision" or previous is not None)
        and r.applies.to(ray, key, healing or "acute", previous)
    ]
    milestones = []
    for name, label in MEASURES.items():
        rows = tuple(_row(r, planned_for) for r in chosen if r.measure == name)
        if rows:
            sure = [r for r in rows if not r.unverified] or list(rows)
            low, high = min(r.weeks_low for r in sure), max(r.weeks_high for r in sure)
            dates = _day(planned_for, low), _day(planned_for, high)
            milestones.append(Milestone(name, label, rows, low, high, *dates))
    held = [s for s in statements().values() if s.applies.to(ray, key, healing, previous)]
    signs, union, removal = (tuple(s for s in held if s.topic == topic) for topic in ("delayed", "union", "removal"))
    return Aftercare(planned_for, tuple(milestones), _watch(planned_for), signs, union, removal)


def _row(r: Result, planned_for: date | None) -> Row:
    if r.low is not None and r.high is not None:
        low, high, how = r.low, r.high, r.interval
    elif r.value is not None and r.sd is not None:
        low, high, how = r.value - r.sd, r.value + r.sd, "mean ± one standard deviation"
    elif r.value is not None:
        low, high, how = r.value, r.value, "single printed value"
    else:
        raise ValueError(f"result {r.id}: neither a value nor a low and a high; give one")
    return Row(
        r.arm,
        r.value,
        low,
        high,
        how,
        _day(planned_for, low),
        _day(planned_for, high),
        r.sources,
        r.grade,
        r.population,
        r.unverified,
    )


def _watch(planned_for: date | None) -> tuple[Row, ...]:
    return tuple(
        Row(
            row["text"],
            None,
            row["low"],
            row["high"],
            "stated",
            _day(planned_for, row["low"]),
            _day(planned_for, row["high"]),
            tuple(row["sources"]),
            row["grade"],
            row["population"],
            False,
        )
        for row in read_table("fixplan.appraisal", "evidence.toml")["watch"]
    )


def _day(start: date | None, weeks: float) -> date | None:
    if start is None or weeks == 0:
        return None  # at once: the day of surgery is no date to wait for
    try:
        return start + timedelta(days=round(7 * weeks))
    except OverflowError:
        raise ValueError(f"planned_for: {start} leaves no room in the calendar; give the day of surgery") from None
