"""Screw windows and rules, worked by hand.

The bone of these cases: seat 8 mm, fracture centre 24 mm, 2 mm extent, straight to 50 mm. Thresholds are round numbers
so that each limit can be added up in the head; none of them is a default of the planner.
"""

import dataclasses

import numpy as np
import pytest

from fixplan.sizing.rules import CAUTION, FAIL, PASS, at_least, at_most, worst
from fixplan.sizing.screw import (
    ScrewThresholds,
    Site,
    StockScrews,
    diameter_window,
    hold,
    least_length_margin,
    length_window,
    thread_span,
)

LIMITS = ScrewThresholds(
    run_out_margin=1.0,
    purchase_min=10.0,
    bite=0.25,
    wall_min=1.0,
    tip_clearance=2.0,
    diameter_min=4.0,
    diameter_caution=4.5,
    ream_max=2.0,
)
SITE = Site(8.0, 24.0, 24.0, 2.0, 50.0, 50.0)


def stock(**columns: object) -> StockScrews:
    base = {"diameter": 5.0, "core": 3.5, "drill": 3.7, "length": 38.0, "thread": 14.0, "full": False}
    values = {k: np.atleast_1d(np.asarray(columns.get(k, v))) for k, v in base.items()}
    size = max(v.size for v in values.values())
    return StockScrews(**{k: np.broadcast_to(v, (size,)) for k, v in values.items()})


def test_length_window_of_a_partial_thread_is_run_out_to_tip() -> None:
    # low: 24 + 1 + 1 + 14 - 8 = 32; high: 50 - 2 - 8 = 40
    window = length_window(SITE, LIMITS, thread=14.0)
    assert (float(window.lo), float(window.hi_cautious), float(window.hi_permissive)) == (32.0, 40.0, 40.0)


def test_length_window_of_a_full_thread_counts_purchase_beyond_the_fracture() -> None:
    # low: 24 + 1 + 10 - 8 = 27
    assert float(length_window(SITE, LIMITS, thread=99.0, full=True).lo) == 27.0


def test_the_two_published_ends_of_the_straight_segment_make_a_band() -> None:
    site = dataclasses.replace(SITE, straight_cautious=41.0, straight_permissive=48.5)
    window = length_window(site, LIMITS, thread=14.0)
    assert (float(window.hi_cautious), float(window.hi_permissive)) == (31.0, 38.5)
    assert window.lo > window.hi_cautious  # empty by the cautious limit, open by the permissive one


def test_diameter_window_is_the_intersection_of_its_four_limits() -> None:
    # corridor 4.4: bites from 4.9; least 4.0; wall allows 6.2; ream allows 6.4
    window = diameter_window(LIMITS, corridor=4.4, ream_limit=6.2)
    assert float(window.lo) == pytest.approx(4.9)
    assert float(window.hi) == pytest.approx(6.2)
    # corridor 3.0: the least diameter governs the low end, reaming the high end
    window = diameter_window(LIMITS, corridor=3.0, ream_limit=6.2)
    assert float(window.lo) == pytest.approx(4.0)
    assert float(window.hi) == pytest.approx(5.0)


def test_thread_span() -> None:
    first, tip = thread_span(SITE, 38.0, 14.0)
    assert (float(first), float(tip)) == (32.0, 46.0)


@pytest.mark.parametrize(
    ("changed", "rule", "value", "limit", "code"),
    [
        ({}, "run_out", 32.0, 26.0, PASS),
        ({"length": 32.0}, "run_out", 26.0, 26.0, PASS),
        ({"length": 31.9}, "run_out", 25.9, 26.0, FAIL),
        ({"length": 40.0}, "tip", 48.0, 48.0, PASS),
        ({"length": 40.1}, "tip", 48.1, 48.0, FAIL),
        ({"full": True, "length": 27.0}, "purchase", 35.0, 35.0, PASS),
        ({"full": True, "length": 26.9}, "purchase", 34.9, 35.0, FAIL),
        ({"diameter": 4.9}, "bite", 4.9, 4.9, PASS),
        ({"diameter": 4.8}, "bite", 4.8, 4.9, FAIL),
        ({"diameter": 3.9}, "diameter_min", 3.9, 4.0, FAIL),
        ({"diameter": 4.2}, "diameter_min", 4.2, 4.5, CAUTION),
        ({"diameter": 4.5}, "diameter_min", 4.5, 4.5, PASS),
        ({"diameter": 6.2}, "wall", 6.2, 6.2, PASS),
        ({"diameter": 6.3}, "wall", 6.3, 6.2, FAIL),
        ({"diameter": 6.4}, "ream", 2.0, 2.0, PASS),
        ({"diameter": 6.5}, "ream", 2.1, 2.0, FAIL),
        ({"core": 3.7}, "core", 3.7, 3.7, PASS),
        ({"core": 3.8}, "core", 3.8, 3.7, FAIL),
    ],
)
def test_each_rule_on_and_beyond_its_limit(
    changed: dict[str, object], rule: str, value: float, limit: float, code: int
) -> None:
    held = hold(SITE, LIMITS, stock(**changed), corridor=4.4, ream_limit=6.2)[rule]
    assert float(held.value[0]) == pytest.approx(value)
    assert float(held.limit[0]) == pytest.approx(limit)
    assert int(held.code[0]) == code


def test_an_assumed_fracture_level_cautions_before_it_fails() -> None:
    """The level is assumed from a band that ends 4 mm more distally: fine at its middle, not at its end."""
    site = dataclasses.replace(SITE, fracture_distal=28.0)
    held = hold(site, LIMITS, stock(length=[35.0, 36.0]), 4.4, 6.2)["run_out"]
    assert held.code.tolist() == [CAUTION, PASS]
    held = hold(site, LIMITS, stock(length=[30.0, 31.0], full=True), 4.4, 6.2)["purchase"]
    assert held.code.tolist() == [CAUTION, PASS]


def test_a_bite_missed_by_less_than_the_doubt_in_the_canal_is_a_caution() -> None:
    held = hold(SITE, LIMITS, stock(diameter=[4.4, 4.5, 4.6, 4.9]), 4.4, 6.2, bite_doubt=0.4)["bite"]
    assert held.code.tolist() == [FAIL, CAUTION, CAUTION, PASS]


def test_a_wall_that_holds_only_for_a_short_screw_or_an_assumed_width_is_a_caution() -> None:
    held = hold(SITE, LIMITS, stock(diameter=[5.5, 6.0, 6.2, 6.3]), 4.4, 6.2, ream_cautious=5.8)["wall"]
    assert held.code.tolist() == [PASS, CAUTION, CAUTION, FAIL]
    assert held.limit.tolist() == [5.8, 5.8, 5.8, 6.2]  # the limit broken: beyond 6.2 it fails
    # a cautious limit beyond the size's own limit never loosens it
    held = hold(SITE, LIMITS, stock(diameter=[6.2, 6.3]), 4.4, 6.2, ream_cautious=7.0)["wall"]
    assert held.code.tolist() == [PASS, FAIL]


def test_a_tip_between_the_two_published_ends_is_a_caution() -> None:
    site = dataclasses.replace(SITE, straight_cautious=44.0)
    held = hold(site, LIMITS, stock(length=[34.0, 36.0, 41.0]), 4.4, 6.2)["tip"]
    assert held.code.tolist() == [PASS, CAUTION, FAIL]
    assert held.margin.tolist() == pytest.approx([0.0, -2.0, -7.0])
    assert held.limit.tolist() == pytest.approx([42.0, 42.0, 48.0])


def test_a_rule_that_does_not_apply_passes_without_numbers() -> None:
    held = hold(SITE, LIMITS, stock(full=[True, False]), 4.4, 6.2)
    assert np.isnan(held["run_out"].value[0])
    assert np.isnan(held["purchase"].limit[1])
    assert held["run_out"].code[0] == PASS


def test_draws_times_sizes_come_out_as_one_array() -> None:
    site = Site(8.0, np.array([[24.0], [30.0]]), np.array([[24.0], [30.0]]), 2.0, 50.0, 50.0)
    held = hold(site, LIMITS, stock(length=[32.0, 38.0, 40.0]), 4.4, 6.2)
    assert worst(held).tolist() == [[PASS, PASS, PASS], [FAIL, PASS, PASS]]


def test_least_length_margin_is_the_smaller_end() -> None:
    held = hold(SITE, LIMITS, stock(length=[33.0, 39.0, 36.0]), 4.4, 6.2)
    assert least_length_margin(held).tolist() == pytest.approx([1.0, 1.0, 4.0])
    held = hold(SITE, LIMITS, stock(length=[30.0], full=True), 4.4, 6.2)
    assert least_length_margin(held).tolist() == pytest.approx([3.0])


def test_a_size_exactly_on_its_limit_is_not_lost_to_rounding() -> None:
    assert 0.1 + 0.2 > 0.3
    assert at_least(1.0 - 0.9, 0.1).code == PASS
    assert at_most(0.1 + 0.2, 0.3).code == PASS
    assert at_least(46.0999, 46.1).code == FAIL
    assert at_most(0.3001, 0.3).code == FAIL
