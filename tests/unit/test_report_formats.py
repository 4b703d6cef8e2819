"""Numbers as they are printed: rounding, signs, units, and characters that must not act unseen."""

from __future__ import annotations

import pytest

from fixplan.digits import beside
from fixplan.plan.types import Finding, Window
from fixplan.report import formats
from fixplan.report.charts import window_text
from fixplan.report.formats import limit_mm
from fixplan.sources import threshold, thresholds


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


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.25, "mm", "0.25\u00a0mm"),
        (0.15, "mm", "0.15\u00a0mm"),
        (2.0, "mm", "2.0\u00a0mm"),
        (8.1, "mm", "8.1\u00a0mm"),
        (-0.25, "mm", "\u22120.25\u00a0mm"),
        (1.035, "1", "1.035"),
        (0.574, "1", "0.574"),
        (17000.0, "MPa", "17000\u00a0MPa"),
        # computed: more digits than anybody gave
        (24.85496, "mm", "24.9\u00a0mm"),
        (0.5193050193, "mm", "0.5\u00a0mm"),
    ],
)
def test_a_value_that_was_given_keeps_all_its_digits(value: float, unit: str, text: str) -> None:
    assert formats.kept(value, unit) == text


@pytest.mark.parametrize("name", [n for n, t in thresholds().items() if not t.sd])
def test_every_threshold_is_shown_as_it_stands_in_its_table(name: str) -> None:
    t = threshold(name)
    shown = formats.kept(t.value, t.unit).split("\u00a0")[0].replace("\u2212", "-")
    assert float(shown) == t.value
    assert float(formats.limit_mm(t.value)) == t.value


@pytest.mark.parametrize(
    ("value", "unit", "sd", "text"),
    [
        (1.035, "1", 0.009, "1.035\u00a0±\u00a00.009"),
        (26.0, "mm", 0.04, "26.00\u00a0±\u00a00.04\u00a0mm"),
        (71.5, "mm", 0.8, "71.5\u00a0±\u00a00.8\u00a0mm"),
        (17000.0, "MPa", 3900.0, "17000\u00a0±\u00a03900\u00a0MPa"),
    ],
)
def test_a_spread_is_never_shown_as_nought(value: float, unit: str, sd: float, text: str) -> None:
    assert formats.quantity(value, unit, sd) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.5, "0.5"),
        (-1.26, "\u22121.3"),
        (0.04, "0.04"),
        (-0.04, "\u22120.04"),
        (-0.004, "\u22120.004"),
        (0.0004, "below 0.001"),
        (-0.0004, "\u22120.001 or less"),
        (0.0, "0.0"),
        (-1e-12, "0.0"),
        (None, "not known"),
    ],
)
def test_a_margin_never_hides_on_which_side_of_its_limit_it_lies(value: float | None, text: str) -> None:
    """Beyond the rounding that the rules themselves allow (1e-9 mm) a margin shows its sign, however small."""
    assert formats.margin(value) == text


@pytest.mark.parametrize(
    ("value", "limit", "verdict", "shown"),
    [
        (5.504, 5.5, "fail", ("5.504\u00a0mm", "5.5\u00a0mm")),
        (5.5041237, 5.5, "fail", ("5.504\u00a0mm", "5.500\u00a0mm")),
        (5.5041237, 5.5, "pass", ("5.5\u00a0mm", "5.5\u00a0mm")),
        (0.2, 0.25, "fail", ("0.2\u00a0mm", "0.25\u00a0mm")),
        (None, 1.0, "fail", ("–", "1.0\u00a0mm")),
    ],
)
def test_what_is_beyond_a_limit_does_not_look_like_it(
    value: float | None, limit: float, verdict: str, shown: tuple[str, str]
) -> None:
    f = Finding("wall", "wall", verdict, value, limit, "mm", "", "PROJECT")
    assert formats.found_and_limit(f) == shown


def test_a_finding_in_words_tells_value_and_limit_apart_and_keeps_a_given_limit_whole() -> None:
    from fixplan.plan.words import finding
    from fixplan.sizing.rules import at_least, at_most

    whole = finding("standoff", at_most(1.0, 2.25), (), "AHM07")
    assert whole is not None
    assert whole.why == "The plate lies 1.0 mm off the bone (at most 2.25 mm)."
    near = finding("room", at_least(-0.0041739, 0.0), (), "PROJECT")
    assert near is not None
    assert near.verdict == "fail"
    assert near.why == "The plate runs 0.004 mm past the free bone."


def test_a_hole_is_named_by_the_side_it_lies_on_not_by_a_sign() -> None:
    assert formats.toward(-0.12, " mm", "distal", "proximal") == "0.1\u00a0mm proximal"
    assert formats.toward(0.12, " mm", "distal", "proximal") == "0.1\u00a0mm distal"
    assert formats.toward(-0.04, " mm", "distal", "proximal") == "0.0\u00a0mm"


@pytest.mark.parametrize(
    ("value", "limits", "text"),
    [
        (0.96, (1.0, 1.5), "0.96"),
        (1.04, (1.0, 1.5), "1.04"),
        (1.46, (1.0, 1.5), "1.46"),
        (1.4996, (1.5,), "1.4996"),
        (1.5, (1.0, 1.5), "1.5"),
        (2.02, (1.0, 1.5), "2.0"),
        (0.24, (1.0,), "0.2"),
    ],
)
def test_a_factor_is_never_rounded_onto_the_limit_it_is_held_against(
    value: float, limits: tuple[float, ...], text: str
) -> None:
    assert beside(value, *limits) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(6.49213, "6.49"), (6.50713, "6.51"), (6.49972, "6.4997"), (40.01732, "40.02"), (6.43271, "6.4"), (6.5, "6.5")],
)
def test_a_window_is_not_rounded_onto_a_stock_size_that_it_excludes(value: float, text: str) -> None:
    assert limit_mm(value) == text
    window = Window("diameter", "", 5.5, value, None, "bite", "wall", False, "")
    assert f"5.5 to {text} mm" in window_text(window)
