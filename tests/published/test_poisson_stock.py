"""Stock depth against printed Poisson and newsvendor tables.

STEV14: Stevenson, Operations Management, 14th edition, chapter 12 (inventory), example 15, page 537, with its Poisson
table (appendix B, table C). ES6744: teaching question with printed solution, EdShare document 6744 (bulbs of a shop,
weekly Poisson demand). ORDERUP: printed table of p, F and the loss function of a Poisson demand with mean 1.25, lecture
notes on the order-up-to model. HOGG: Hogg, McKean and Craig, Introduction to Mathematical Statistics, 6th edition,
chapter 3, Poisson exercise of a grocer.
"""

from __future__ import annotations

import numpy as np
import pytest
import sympy

from fixplan.formula import FORMULAS
from fixplan.stock.depth import (
    demand_mean,
    expected_short,
    newsvendor_level,
    poisson_chance,
    poisson_service,
    stock_depth,
    worked_service,
)


def test_stevenson_example_15_poisson_table() -> None:
    """Cumulative frequencies for a mean of 4.0, printed to three decimals."""
    printed = [0.018, 0.092, 0.238, 0.433, 0.629, 0.785]
    np.testing.assert_allclose(poisson_service(4.0, np.arange(6)), printed, atol=0.0005)


def test_stevenson_example_15_stocking_level() -> None:
    """Shortage costs 3, excess 2: service level .60; "it is necessary to stock four"."""
    level = newsvendor_level(3.0, 2.0)
    assert level == pytest.approx(0.60, abs=1e-12)
    assert stock_depth(4.0, 1.0, level).stock.tolist() == [4]


def test_weekly_demand_of_three_at_ninety_per_cent() -> None:
    """ES6744: F = .050, .199, .423, .647, .815, .916; "so stock 5"; satisfied demand 2.866 on average."""
    np.testing.assert_allclose(
        poisson_service(3.0, np.arange(6)), [0.050, 0.199, 0.423, 0.647, 0.815, 0.916], atol=0.0005
    )
    np.testing.assert_allclose(poisson_chance(3.0, np.arange(5)), [0.050, 0.149, 0.224, 0.224, 0.168], atol=0.0005)
    depth = stock_depth(3.0 / 7.0, 7.0, 0.90)
    assert depth.stock.tolist() == [5]
    # five products and a tail, each printed to three decimals, add up to an error of 15 times 0.0005
    assert 3.0 - depth.short[0] == pytest.approx(2.866, abs=0.0075)


def test_loss_function_of_mean_one_and_a_quarter() -> None:
    """ORDERUP: Q, f(Q), F(Q), L(Q) for Q = 0 to 4, printed to five or six decimals."""
    stock = np.arange(5)
    f = [0.286505, 0.358131, 0.223832, 0.093263, 0.029145]
    cumulative = [0.286505, 0.644636, 0.868468, 0.961731, 0.990876]
    loss = [1.25000, 0.53650, 0.18114, 0.04961, 0.01134]
    np.testing.assert_allclose(poisson_chance(1.25, stock), f, atol=5e-7)
    np.testing.assert_allclose(poisson_service(1.25, stock), cumulative, atol=5e-7)
    np.testing.assert_allclose(expected_short(1.25, stock), loss, atol=6e-6)


def test_running_out_less_often_than_once_in_a_hundred() -> None:
    """HOGG: three sold a week on average; stock 8 for a chance of running out below 0.01 (answer from memory)."""
    assert stock_depth(3.0, 1.0, 0.99).stock.tolist() == [8]


def test_the_depth_is_the_smallest_that_is_enough() -> None:
    means = np.array([0.0, 0.01, 0.2, 1.0, 3.7, 12.0, 80.0])
    for level in (0.5, 0.9, 0.95, 0.999):
        depth = stock_depth(means, 1.0, level)
        assert (depth.service >= level).all()
        more_than_none = depth.stock > 0
        assert (poisson_service(means, depth.stock - 1)[more_than_none] < level).all()
    assert stock_depth(0.0, 10.0, 0.95).stock.tolist() == [0]


def test_the_sum_as_written_out_is_the_function_that_ran() -> None:
    """SymPy adds the terms up exactly."""
    m, k = sympy.Rational(5, 4), sympy.Symbol("k", integer=True)
    for s in range(5):
        exact = sympy.Sum(sympy.exp(-m) * m**k / sympy.factorial(k), (k, 0, s)).doit()
        assert float(exact) == pytest.approx(float(poisson_service(1.25, s)), rel=1e-12)
    assert worked_service(1.25, 2) == "F(2) = e^-m (1 + m + m^2/2!) with m = 1.25 = 0.868"
    assert worked_service(1.25, 0) == "F(0) = e^-m (1) with m = 1.25 = 0.287"


def test_the_registered_forms_say_where_they_come_from() -> None:
    assert FORMULAS["stock.depth.demand_mean"].source == FORMULAS["stock.depth.newsvendor_level"].source == "STEV14"
    assert demand_mean(0.5, 10.0) == 5.0


@pytest.mark.parametrize(
    ("rate", "days", "level", "word"),
    [
        (-1.0, 1.0, 0.9, "rate_per_day"),
        (float("nan"), 1.0, 0.9, "rate_per_day"),
        (1.0, -1.0, 0.9, "resupply_days"),
        (1.0, float("inf"), 0.9, "resupply_days"),
        (1.0, 1.0, 1.0, "service_level"),
        (1.0, 1.0, 0.0, "service_level"),
    ],
)
def test_what_makes_no_sense_is_refused(rate: float, days: float, level: float, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        stock_depth(rate, days, level)
