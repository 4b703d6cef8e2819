"""Closed forms: one function gives the number, the expression and the worked line.

A closed form is an ordinary Python function of numbers or NumPy arrays, marked with `formula`.
Called with SymPy symbols the same function returns its expression, so the worked sheet of a plan is made
from the code that computed the number. Nothing here imports SymPy until an expression is wanted.

Core units, everywhere below this module: mm, N, MPa (= N/mm2), N*mm, rad.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple, ParamSpec, TypeVar

import numpy as np

P = ParamSpec("P")
R = TypeVar("R")


class Arg(NamedTuple):
    """One argument of a closed form: how it is written, its unit, and what it is."""

    symbol: str
    unit: str
    text: str


@dataclass(frozen=True)
class Formula:
    """A closed form and all that a reader needs to check it.

    `symbol` and the `symbol` of each `Arg` are plain names with an optional subscript after `_`
    ("d_i", "EI_e"); greek letters are spelled ("sigma", "beta"). `unit` is a pint-readable unit in core units
    ("mm**4", "MPa", "1"). `source` is an id of sources.toml, `where` the page, table or equation.
    """

    name: str
    fn: Callable[..., Any]
    symbol: str
    unit: str
    text: str
    args: Mapping[str, Arg]
    source: str
    where: str
    valid: str

    def expression(self) -> Any:
        """The formula as a SymPy expression, obtained by calling the function with symbols."""
        import sympy

        symbols = {k: sympy.Symbol(a.symbol, positive=True) for k, a in self.args.items()}
        return self.fn(**symbols)


FORMULAS: dict[str, Formula] = {}


def formula(
    *,
    symbol: str,
    unit: str,
    text: str,
    args: Mapping[str, tuple[str, str, str]],
    source: str,
    where: str = "",
    valid: str = "",
) -> Callable[[Callable[P, R]], Callable[P, R]]:
    """Register a closed form under `module.function` (module without the package name)."""

    def mark(fn: Callable[P, R]) -> Callable[P, R]:
        name = f"{fn.__module__.removeprefix('fixplan.')}.{fn.__name__}"
        FORMULAS[name] = Formula(
            name, fn, symbol, unit, text, {k: Arg(*v) for k, v in args.items()}, source, where, valid
        )
        return fn

    return mark


def is_symbolic(*values: Any) -> bool:
    """True when any value is a SymPy expression."""
    return any(hasattr(v, "free_symbols") for v in values)


def pi_like(*values: Any) -> Any:
    """pi as a float, or SymPy's exact pi when any of `values` is symbolic."""
    if is_symbolic(*values):
        import sympy

        return sympy.pi
    return math.pi


def _dispatch(name: str, x: Any) -> Any:
    if is_symbolic(x):
        import sympy

        return getattr(sympy, name)(x)
    return getattr(np, name)(x)


def sqrt(x: Any) -> Any:
    """Square root of a number, an array or an expression."""
    return _dispatch("sqrt", x)


def exp(x: Any) -> Any:
    """Exponential of a number, an array or an expression."""
    return _dispatch("exp", x)


def log(x: Any) -> Any:
    """Natural logarithm of a number, an array or an expression."""
    return _dispatch("log", x)


def log10(x: Any) -> Any:
    """Decimal logarithm of a number, an array or an expression."""
    if is_symbolic(x):
        import sympy

        return sympy.log(x, 10)
    return np.log10(x)


def minimum(a: Any, b: Any) -> Any:
    """The smaller of two numbers, arrays or expressions."""
    if is_symbolic(a, b):
        import sympy

        return sympy.Min(a, b)
    return np.minimum(a, b)


def maximum(a: Any, b: Any) -> Any:
    """The larger of two numbers, arrays or expressions."""
    if is_symbolic(a, b):
        import sympy

        return sympy.Max(a, b)
    return np.maximum(a, b)
