"""Refusals shared by the closed forms: a bad number is named, never repaired.

Each check lets symbols through, so that a closed form can still be called with them.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from fixplan.formula import is_symbolic


def refuse_unless(ok: Any, name: str, value: Any, bound: str, remedy: str) -> None:
    """Raise ValueError with name, value, bound and remedy unless every element of `ok` holds.

    `ok` is a boolean or a boolean array that broadcasts with `value`; the first offending value is shown.
    """
    if np.all(ok):
        return
    at, seen = np.broadcast_arrays(np.asarray(ok, dtype=bool), np.asarray(value))
    bad = seen[~at].flat[0]
    raise ValueError(f"{name} = {bad:g}: {name} {bound}; {remedy}")


def finite(name: str, value: Any, remedy: str = "give a finite number") -> None:
    """Refuse NaN and infinity."""
    if not is_symbolic(value):
        refuse_unless(np.isfinite(value), name, value, "must be finite", remedy)


def positive(name: str, value: Any, remedy: str = "check the sign and the unit") -> None:
    """Refuse anything but finite numbers above zero."""
    if not is_symbolic(value):
        ok = np.isfinite(value) & (value > 0 * value)
        refuse_unless(ok, name, value, "must be finite and > 0", remedy)


def not_negative(name: str, value: Any, remedy: str = "check the sign and the unit") -> None:
    """Refuse anything but finite numbers of zero or more."""
    if not is_symbolic(value):
        ok = np.isfinite(value) & (value >= 0 * value)
        refuse_unless(ok, name, value, "must be finite and >= 0", remedy)


def below(name: str, value: Any, limit_name: str, limit: Any, remedy: str) -> None:
    """Refuse unless value < limit, elementwise."""
    if not is_symbolic(value, limit):
        refuse_unless(value < limit, name, value, f"must be < {limit_name}", remedy)


def at_most(name: str, value: Any, limit_name: str, limit: Any, remedy: str) -> None:
    """Refuse unless value <= limit, elementwise."""
    if not is_symbolic(value, limit):
        refuse_unless(value <= limit, name, value, f"must be <= {limit_name}", remedy)


def ratio(numerator: Any, denominator: Any) -> Any:
    """Quotient in which a zero denominator gives infinity: the true limit of a factor at no load."""
    if is_symbolic(numerator, denominator):
        return numerator / denominator
    with np.errstate(divide="ignore"):
        return np.divide(numerator, denominator)
