"""The form of a closed formula: one function, three uses."""

import math

import numpy as np
import pytest
import sympy

from fixplan.formula import (
    FORMULAS,
    Arg,
    exp,
    formula,
    is_symbolic,
    log,
    log10,
    maximum,
    minimum,
    pi_like,
    sqrt,
)

X = sympy.Symbol("x", positive=True)
Y = sympy.Symbol("y", positive=True)


@pytest.mark.parametrize(
    ("fn", "reference"),
    [(sqrt, sympy.sqrt(X)), (exp, sympy.exp(X)), (log, sympy.log(X)), (log10, sympy.log(X, 10))],
)
def test_functions_of_one_argument_agree_as_number_array_and_expression(fn, reference):
    assert sympy.simplify(fn(X) - reference) == 0
    assert float(fn(2.5)) == pytest.approx(float(reference.subs(X, 2.5)))
    np.testing.assert_allclose(fn(np.array([2.5, 2.5])), float(reference.subs(X, 2.5)))


def test_smaller_and_larger():
    assert minimum(X, Y) == sympy.Min(X, Y)
    assert maximum(X, 3) == sympy.Max(X, 3)
    np.testing.assert_array_equal(minimum([1, 5], 3), [1, 3])
    np.testing.assert_array_equal(maximum([1, 5], 3), [3, 5])


def test_pi_is_exact_among_symbols_and_a_float_among_numbers():
    assert pi_like(1.0, X) is sympy.pi
    assert pi_like(1.0, np.ones(2)) == math.pi
    assert is_symbolic(1, X)
    assert not is_symbolic(1, np.ones(2))


def test_registration_records_what_a_reader_needs():
    @formula(
        symbol="A",
        unit="mm**2",
        text="area",
        args={"b": ("b", "mm", "base"), "h": ("h_1", "mm", "height")},
        source="GEOM",
        where="rectangle",
        valid="always",
    )
    def probe_area(b, h):
        return b * h

    name = next(n for n in FORMULAS if n.endswith(".probe_area"))
    form = FORMULAS.pop(name)
    assert form.args["h"] == Arg("h_1", "mm", "height")
    assert (form.symbol, form.unit, form.text, form.source, form.where, form.valid) == (
        "A", "mm**2", "area", "GEOM", "rectangle", "always",
    )  # fmt: skip
    assert form.expression() == sympy.Symbol("b", positive=True) * sympy.Symbol("h_1", positive=True)
    assert form.fn is probe_area
    assert not name.startswith("fixplan.")
