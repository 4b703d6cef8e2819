"""How many digits of a number are told: a number that was given keeps all its own, one that was computed is rounded."""

from __future__ import annotations

GIVEN_DIGITS = 4
"""Project default: a number of no more significant digits was given (a threshold, a size), not computed."""


def given(value: float) -> bool:
    """Whether a few digits write the number in full."""
    text = f"{abs(value):.10g}"
    return "e" not in text and len(text.replace(".", "").strip("0")) <= GIVEN_DIGITS


def all_digits(value: float, least: int = 1) -> str:
    """Every digit of the number, and at least so many decimals."""
    text = f"{value:.10g}"
    decimals = len(text.partition(".")[2])
    return f"{value:.{max(decimals, least)}f}"


def told(value: float, decimals: int = 1) -> str:
    """A length for a sentence: all digits of one that was given, else so many decimals."""
    return all_digits(value, decimals) if given(value) else f"{value:.{decimals}f}"


def apart(a: float, b: float, most: int = 4) -> int:
    """The fewest decimals, at least one, that tell two numbers apart; `most` where none does."""
    return next((d for d in range(1, most) if f"{a:.{d}f}" != f"{b:.{d}f}"), most)


def beside(value: float, *limits: float) -> str:
    """A factor with one decimal, and with more where one would set it on a limit that it does not stand on."""
    return f"{value:.{max((apart(value, x) for x in limits if value != x), default=1)}f}"
