"""Numbers as they are printed: rounding, signs, units, and characters that must not act unseen."""

from __future__ import annotations

import pytest

from fixplan.report import formats


@pytest.mark.parametrize(
    "value, decimals, text", [(-0.04, 1, "0.0"), (-1.25, 2, "\u22121.25"), (12.0, 0, "12"), (2.5, 1, "2.5")]
)
def test_a_number_has_a_true_minus_and_no_negative_zero(value: float, decimals: int, text: str) -> None:
    assert formats.number(value, decimals) == text


@pytest.mark.parametrize(
    "value, digits, text",
    [
        (0.0, 2, "0"),
        (0.0314, 2, "0.031"),
        (9.96, 2, "10"),
        (412.0, 2, "410"),
        (24.2, 2, "24"),
        (1.0, 2, "1.0"),
        (99.6, 2, "100"),
        (-31.4, 2, "\u221231"),
    ],
)
def test_significant_digits_by_hand(value: float, digits: int, text: str) -> None:
    """Rounded by hand; no exponent is ever written."""
    assert formats.significant(value, digits) == text


def test_millimetres_have_one_decimal_and_their_uncertainty() -> None:
    assert formats.quantity(71.5, "mm", 0.8) == "71.5\u00a0±\u00a00.8\u00a0mm"
    assert formats.quantity(4.74, "mm") == "4.7\u00a0mm"
    assert formats.quantity(None, "mm") == "not known"
    assert formats.quantity(6.24, "mm**4") == "6.24\u00a0mm⁴"
    assert formats.quantity(12.34, "deg") == "12.3°"


def test_a_share_of_draws_is_never_rounded_to_certainty() -> None:
    assert formats.chance(0.999) == "above 99\u00a0%"
    assert formats.chance(0.001) == "below 1\u00a0%"
    assert formats.chance(1.0) == "100\u00a0%"
    assert formats.chance(0.0) == "0\u00a0%"
    assert formats.chance(0.714) == "71\u00a0%"


def test_a_size_is_written_as_the_theatre_says_it() -> None:
    assert formats.size(5.0, 42.0) == "5.0\u00a0×\u00a042"
    assert formats.size(4.5, 42.5) == "4.5\u00a0×\u00a042.5"


@pytest.mark.parametrize("character", ["\u202e", "\u2066", "\x1b", "\x07", "\u200b", "\ufeff"])
def test_characters_that_act_unseen_are_written_out(character: str) -> None:
    shown = formats.visible(f"a{character}b")
    assert character not in shown
    assert shown == f"a[U+{ord(character):04X}]b"
