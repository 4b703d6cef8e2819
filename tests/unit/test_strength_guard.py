"""Refusals: which number, which bound, which remedy; and no more than that."""

import numpy as np
import pytest
import sympy

from fixplan.mechanics.guard import at_most, below, finite, not_negative, positive, ratio, refuse_unless

X = sympy.Symbol("x")
NAN, INF = float("nan"), float("inf")


@pytest.mark.parametrize("value", [0.0, -1.0, NAN, INF, np.array([1.0, 0.0])])
def test_positive_refuses(value):
    with pytest.raises(ValueError, match=r"^width = .*: width must be finite and > 0; check the sign and the unit$"):
        positive("width", value)


@pytest.mark.parametrize("value", [-1e-9, NAN, INF, -INF, np.array([[1.0], [-2.0]])])
def test_not_negative_refuses(value):
    with pytest.raises(ValueError, match=r"^width = .*: width must be finite and >= 0; check the sign and the unit$"):
        not_negative("width", value)


@pytest.mark.parametrize("value", [NAN, INF, -INF, np.array([1.0, NAN])])
def test_finite_refuses(value):
    with pytest.raises(ValueError, match=r"^u = .*: u must be finite; give a finite number$"):
        finite("u", value)


def test_the_bounds_themselves():
    positive("x", 1e-300)
    not_negative("x", 0.0)
    not_negative("x", np.zeros(3))
    finite("x", -5.0)
    at_most("x", 2.0, "y", 2.0, "")
    with pytest.raises(ValueError, match=r"^x = 2: x must be < y; swap$"):
        below("x", 2.0, "y", 2.0, "swap")
    with pytest.raises(ValueError, match=r"^x = 2.5: x must be <= y; swap$"):
        at_most("x", 2.5, "y", 2.0, "swap")
    below("x", np.array([1.0, 2.0]), "y", np.array([1.5, 2.5]), "")


def test_the_first_offender_is_named_also_when_it_comes_by_broadcasting():
    with pytest.raises(ValueError, match="x = 3: x must be < y"):
        below("x", np.array([1.0, 3.0, 9.0]), "y", np.array([[2.0], [2.5]]), "")
    with pytest.raises(ValueError, match=r"^a = 7: a is wrong; mend it$"):
        refuse_unless(np.array([True, False, False]), "a", np.array([5.0, 7.0, 8.0]), "is wrong", "mend it")


@pytest.mark.parametrize("check", [positive, not_negative, finite])
def test_symbols_pass(check):
    check("x", X)


def test_symbols_pass_comparisons():
    below("x", X, "y", 1.0, "")
    below("x", 1.0, "y", X, "")
    at_most("x", X, "y", 1.0, "")
    at_most("x", 2.0, "y", X, "")


def test_a_remedy_can_be_given():
    with pytest.raises(ValueError, match=r"; measure again$"):
        positive("x", -1, "measure again")
    with pytest.raises(ValueError, match=r"; measure again$"):
        not_negative("x", -1, "measure again")
    with pytest.raises(ValueError, match=r"; measure again$"):
        finite("x", NAN, "measure again")


def test_ratio_at_nothing_is_infinite():
    assert ratio(2.0, 0.0) == INF
    np.testing.assert_array_equal(ratio(6.0, np.array([0.0, 3.0])), [INF, 2.0])
    assert ratio(X, 2) == X / 2
    assert ratio(3, X) == 3 / X
