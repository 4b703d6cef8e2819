"""Small random lists and shelves: the allotment is as good, level by level, as the best of all that are possible.

The second witness tries every way of laying pieces of rows on trolleys; it shares no code with the solver and
settles on its own which piece may serve which case.
"""

from __future__ import annotations

import datetime as dt
import itertools
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fixplan.stock.allocate import Allocation, allocate
from fixplan.stock.model import Item, Need, ShelfRow

DAY = dt.date(2026, 12, 3)
NAMES = ("first choice", "one up", "one down", "in the room")
DRIVER = Item("instrument", name="driver")


def screw(length: int, quantity: int = 1) -> Item:
    return Item("im_screw", diameter_mm=4.5, length_mm=length, quantity=quantity)


def construct(least: int = 0) -> st.SearchStrategy[tuple[Item, ...]]:
    pieces = st.tuples(st.sampled_from([40, 42]), st.sampled_from([1, 1, 2])).map(lambda t: screw(*t))
    return st.lists(st.one_of(pieces, st.just(DRIVER)), min_size=least, max_size=2).map(tuple)


room = st.sampled_from([(), (), (screw(42),), (screw(40), DRIVER)])
needs = st.lists(
    st.tuples(st.integers(0, 1), construct(1), construct(), construct(), room), min_size=2, max_size=3
).map(
    lambda cases: [
        Need(f"C{i}", DAY + dt.timedelta(days=day), i, first, up, down, further)
        for i, (day, first, up, down, further) in enumerate(cases)
    ]
)
expiry = st.sampled_from([40, 90, 0, 1, None, -1]).map(lambda d: None if d is None else DAY + dt.timedelta(days=d))
row = st.tuples(
    st.sampled_from([40, 42, 40, 42, None]), st.sampled_from([1, 2, 1, 0]), expiry, st.sampled_from(["", "", "", "T"])
)
shelves = st.lists(row, min_size=2, max_size=5).map(
    lambda rows: [
        ShelfRow(i + 2, q, name="driver", kind="instrument", tray=tray)
        if length is None
        else ShelfRow(i + 2, q, kind="im_screw", diameter_mm=4.5, length_mm=length, expiry=e, tray=tray)
        for i, (length, q, e, tray) in enumerate(rows)
    ]
)

Load = tuple[int, ...]


def loads(item: Item, most: int, day: dt.date, rows: list[ShelfRow]) -> Iterator[Load]:
    """Every way of taking up to `most` pieces of one item for one case."""
    choices = []
    for r in rows:
        same = r.kind == item.kind and (r.length_mm == item.length_mm or item.kind == "instrument")
        good = same and (r.expiry is None or r.expiry >= day)
        choices.append(range(min(r.quantity, most) + 1 if good else 1))
    return (load for load in itertools.product(*choices) if sum(load) <= most)


def value(
    cases: list[Need], wishes: list[tuple[int, Item]], loaded: tuple[Load, ...], rows: list[ShelfRow]
) -> tuple[int, ...] | None:
    """The levels of one way of loading the trolleys (more is better), or None when the shelf does not allow it."""
    for j, r in enumerate(rows):
        days = {c.date for c in cases}
        if r.kind == "instrument":
            used = max(sum(load[j] for (i, _), load in zip(wishes, loaded) if cases[i].date == d) for d in days)
        else:
            used = sum(load[j] for load in loaded)
        if used > r.quantity:
            return None
    for d in {c.date for c in cases}:
        with_tray = {
            i
            for (i, _), load in zip(wishes, loaded)
            if cases[i].date == d and any(n and r.tray for n, r in zip(load, rows))
        }
        if len(with_tray) > 1:
            return None
    first = backups = first_pieces = backup_pieces = room_pieces = shelf_days = late = 0
    in_turn = sorted(range(len(cases)), key=lambda i: (cases[i].date, cases[i].order))
    for i, case in enumerate(cases):
        have = {item: sum(load) for (k, item), load in zip(wishes, loaded) if k == i}
        asked = [(n, case.role(n)) for n in ("first choice", "one up", "one down")]
        for name, items in asked:
            if items:
                whole = all(have[s.spec] >= sum(x.quantity for x in items if x.spec == s.spec) for s in items)
                first += whole and name == "first choice"
                backups += whole and name != "first choice"
                late += whole * in_turn.index(i)
        for item, n in have.items():
            for_first = min(n, sum(x.quantity for x in case.first_choice if x.spec == item))
            for_backup = min(
                n, max(sum(x.quantity for x in part if x.spec == item) for _, part in asked)
            )  # fmt: skip
            first_pieces += for_first
            backup_pieces += for_backup - for_first
            room_pieces += n - for_backup
    dated = [r.expiry for r in rows if r.expiry and r.kind != "instrument"]
    for load in loaded:
        for n, r in zip(load, rows):
            if r.kind != "instrument" and dated:
                last = max(dated) + dt.timedelta(days=1)
                shelf_days += n * ((r.expiry or last) - min(dated)).days
    return first, backups, first_pieces, backup_pieces, room_pieces, -shelf_days, -late


def brute_force(cases: list[Need], rows: list[ShelfRow]) -> tuple[int, ...]:
    wishes: list[tuple[int, Item]] = []
    ways: list[list[Load]] = []
    for i, case in enumerate(cases):
        wanted: dict[Item, int] = {}
        for name in NAMES:
            for s in {x.spec for x in case.role(name)}:
                total = sum(x.quantity for x in case.role(name) if x.spec == s)
                wanted[s] = max(wanted.get(s, 0), total)
        for item, most in wanted.items():
            wishes.append((i, item))
            ways.append(list(loads(item, most, case.date, rows)))
    values = (value(cases, wishes, loaded, rows) for loaded in itertools.product(*ways))
    return max(v for v in values if v is not None)


def achieved(result: Allocation, cases: list[Need], rows: list[ShelfRow]) -> tuple[int, ...]:
    wishes, loaded = [], []
    for i, case in enumerate(cases):
        trolley = next(t for t in result.trolleys if t.need.case == case.case)
        for item in {x.spec for n in NAMES for x in case.role(n)}:
            wishes.append((i, item))
            loaded.append(tuple(sum(p.quantity for p in trolley.picks if p.item == item and p.row is r) for r in rows))
    found = value(cases, wishes, tuple(loaded), rows)
    assert found is not None, "the allotment uses more than the shelf holds"
    return found


def ways_to_try(cases: list[Need], rows: list[ShelfRow]) -> int:
    total = 1
    for case in cases:
        for item in {x.spec for n in NAMES for x in case.role(n)}:
            total *= len(list(loads(item, 2, case.date, rows)))
    return total


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(needs, shelves)
def test_no_way_of_loading_the_trolleys_is_better_at_any_level(cases: list[Need], rows: list[ShelfRow]) -> None:
    if ways_to_try(cases, rows) > 20_000:
        cases = cases[:1]
    result = allocate(cases, rows, on=DAY)
    assert result.proved
    got = achieved(result, cases, rows)
    assert got == brute_force(cases, rows)
    assert got[:2] == (result.levels.first_choices, result.levels.backups)


@settings(max_examples=60, deadline=None)
@given(needs, shelves)
def test_the_allotment_never_serves_fewer_first_choices_than_list_order(
    cases: list[Need], rows: list[ShelfRow]
) -> None:
    result = allocate(cases, rows, on=DAY)
    assert result.levels.first_choices >= result.in_list_order.first_choices
    assert (result.levels.first_choices, result.levels.backups) >= (
        result.in_list_order.first_choices,
        result.in_list_order.backups,
    )


@settings(max_examples=60, deadline=None)
@given(needs, shelves)
def test_every_short_piece_has_a_reason_and_every_role_a_verdict(cases: list[Need], rows: list[ShelfRow]) -> None:
    for trolley in allocate(cases, rows, on=DAY).trolleys:
        for short in trolley.shortages:
            assert short.reasons
            assert max(n for _, n in short.missing) == short.wanted - short.found or any(
                n > 0 for _, n in short.missing
            )
        asked = {r for r in NAMES if trolley.need.role(r)}
        assert {r for r, _ in trolley.complete} == asked


def test_two_cases_with_one_label_are_refused() -> None:
    case = Need("A", DAY, 1, (screw(40),))
    with pytest.raises(ValueError, match="'A' is on the list twice"):
        allocate([case, case], [], on=DAY)
