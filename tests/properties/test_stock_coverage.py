"""Which sizes to hold, against trying every set of sizes."""

from __future__ import annotations

import datetime as dt
import itertools
import json

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from fixplan.cautions import CAUTIONS
from fixplan.stock.coverage import coverage, demand_shares, shares_asked, smallest_set, trade_off
from fixplan.stock.coverage_output import coverage_document
from fixplan.stock.depth import stock_depth

Table = npt.NDArray[np.bool_]
# without a fill, so that tables are mixed and not mostly of one value
tables = st.tuples(st.integers(1, 12), st.integers(1, 7)).flatmap(
    lambda shape: arrays(np.bool_, shape, fill=st.nothing())
)


def best_by_number(table: Table) -> list[int]:
    """Most draws that any set of n sizes serves, for each n, by trying all sets."""
    sizes = range(table.shape[1])
    return [
        max(int(table[:, list(s)].any(axis=1).sum()) for s in itertools.combinations(sizes, n))
        for n in range(table.shape[1] + 1)
    ]


@settings(max_examples=60, deadline=None)
@given(tables)
def test_the_curve_is_the_best_of_all_sets_and_never_falls(table: Table) -> None:
    curve = trade_off(table)
    best = best_by_number(table)
    served = [s.share.served for s in curve]
    assert served == best[: len(served)]
    assert served[-1] == best[-1]
    assert served == sorted(served)
    for n, s in enumerate(curve):
        assert len(s.sizes) <= n
        assert s.proved
        assert s.share.served == int(table[:, list(s.sizes)].any(axis=1).sum())


@settings(max_examples=60, deadline=None)
@given(tables, st.integers(1, 12))
def test_the_smallest_set_is_the_smallest_of_all_sets(table: Table, draws: int) -> None:
    best = best_by_number(table)
    draws = min(draws, len(table))
    share = draws / len(table)
    if draws > best[-1]:
        with pytest.raises(ValueError, match="all sizes together serve"):
            smallest_set(table, share)
        return
    found = smallest_set(table, share)
    fewest = next(n for n, served in enumerate(best) if served >= draws)
    assert len(found.sizes) == fewest
    assert found.share.served == best[fewest]


@settings(max_examples=40, deadline=None)
@given(tables, st.data())
def test_kept_sizes_are_kept_and_the_rest_is_still_the_best(table: Table, data: st.DataObject) -> None:
    sizes = range(table.shape[1])
    keep = data.draw(st.sets(st.sampled_from(list(sizes)), max_size=2))
    for s in trade_off(table, keep=sorted(keep)):
        assert keep <= set(s.sizes)
        sets = [set(c) | keep for n in sizes for c in itertools.combinations(sizes, n)] + [keep, set(sizes)]
        able = [c for c in sets if len(c) <= max(len(s.sizes), len(keep))]
        assert s.share.served == max(int(table[:, sorted(c)].any(axis=1).sum()) for c in able)


@settings(max_examples=40, deadline=None)
@given(tables, st.data())
def test_more_on_the_shelf_never_serves_fewer(table: Table, data: st.DataObject) -> None:
    held = data.draw(arrays(np.bool_, table.shape[1], fill=st.nothing()))
    more = held | data.draw(arrays(np.bool_, table.shape[1], fill=st.nothing()))
    less, later = coverage(table, held), coverage(table, more)
    assert less.served <= later.served <= later.attainable
    assert less.draws == len(table)


@settings(max_examples=40, deadline=None)
@given(tables)
def test_alike_draws_and_their_order_do_not_matter(table: Table) -> None:
    assume(table.any())
    twice = np.concatenate([table[::-1], table])
    one, two = trade_off(table), trade_off(twice)
    assert [2 * s.share.served for s in one] == [s.share.served for s in two]


def test_a_draw_that_no_size_fits_is_counted_as_not_served() -> None:
    table = np.array([[True, False], [False, False]])
    share = coverage(table, np.array([True, True]))
    assert (share.served, share.attainable, share.share) == (1, 1, 0.5)
    assert share.standard_error == pytest.approx((0.25 / 2) ** 0.5)
    assert trade_off(np.zeros((3, 2), dtype=bool))[-1].sizes == ()


def test_the_document_is_plain_data_with_the_cautions() -> None:
    table = np.array([[True, False], [True, True], [False, False]])
    held = np.array([True, False])
    depth = stock_depth(demand_shares(table, held), 7.0, 0.9)
    made = coverage_document(
        ("4.5", "5.5"), "three draws", coverage(table, held), trade_off(table), on=dt.date(2026, 12, 3), depth=depth
    )
    assert json.loads(json.dumps(made, allow_nan=False)) == made
    assert made["cautions"] == list(CAUTIONS)
    assert made["today"]["share"] == made["attainable"] == pytest.approx(2 / 3)
    assert [s["sizes"] for s in made["trade_off"]] == [[], ["4.5"]]


def test_shares_of_demand() -> None:
    table = np.array([[True, True], [True, False], [False, True], [False, False]])
    everything = np.array([True, True])
    np.testing.assert_allclose(demand_shares(table, everything), [0.5, 0.5])
    np.testing.assert_allclose(demand_shares(table, everything, np.array([0, 0, 1, -1])), [0.5, 0.25])
    np.testing.assert_allclose(demand_shares(table, np.array([True, False]), np.array([0, 0, 1, -1])), [0.5, 0.0])


def test_a_published_cover() -> None:
    """Set cover by hand: {1,2,3}, {2,4}, {3,4}, {4,5} over 1..5 needs two sets, {1,2,3} and {4,5}.

    Source: the worked example of set cover in general encyclopaedias of combinatorial optimisation (from memory).
    """
    family = [{1, 2, 3}, {2, 4}, {3, 4}, {4, 5}]
    table = np.array([[x in s for s in family] for x in range(1, 6)])
    assert smallest_set(table, 1.0).sizes == (0, 3)


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: coverage(np.ones((2, 2)), np.array([True, True])), "boolean table"),
        (lambda: coverage(np.ones((0, 2), dtype=bool), np.array([True, True])), "no draws"),
        (lambda: coverage(np.ones((2, 2), dtype=bool), np.array([True])), "held has shape"),
        (lambda: smallest_set(np.ones((2, 2), dtype=bool), 1.5), "share is 1.5"),
        (lambda: trade_off(np.ones((2, 2), dtype=bool), keep=[2]), "keep names size 2"),
        (lambda: demand_shares(np.ones((2, 2), dtype=bool), np.array([True, True]), np.array([2, 0])), "first_choice"),
    ],
)
def test_what_makes_no_sense_is_refused(call, word: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=word):
        call()


@settings(max_examples=60, deadline=None)
@given(tables, st.data())
def test_every_served_draw_asks_for_one_held_size_it_accepts(table: Table, data: st.DataObject) -> None:
    """Against a loop over draws that sorts the held sizes by their distance, diameter before length."""
    n, m = table.shape
    held = data.draw(arrays(np.bool_, m, fill=st.nothing()))
    choice = np.array([data.draw(st.sampled_from([*np.flatnonzero(row).tolist(), -1])) for row in table])
    sizes = np.array([[4.0 + 0.5 * (k % 3), 36.0 + 2 * (k // 3)] for k in range(m)])
    asked = [0] * m
    for row, best in zip(table, choice):
        there = [k for k in range(m) if held[k] and row[k]]
        if best >= 0 and there:
            away = {k: (abs(sizes[k, 0] - sizes[best, 0]), abs(sizes[k, 1] - sizes[best, 1]), k) for k in there}
            asked[min(there, key=lambda k: away[k])] += 1
    found = shares_asked(table, held, choice, sizes)
    assert found == pytest.approx(np.array(asked) / n)
    assert not found[~held].any()


def test_shares_asked_refuses_shapes_that_do_not_fit() -> None:
    with pytest.raises(ValueError, match="do not fit"):
        shares_asked(np.ones((3, 2), bool), np.ones(2, bool), [0, 1], np.ones((2, 2)))
