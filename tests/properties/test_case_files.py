"""Whatever a case file holds, it is either read faithfully or refused with CaseError; nothing else ever happens."""

from __future__ import annotations

import copy
import tempfile
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixplan.case import CaseError, fields, parse_case, read_case
from fixplan.case.identify import identifying
from fixplan.case.kinds import read_value
from fixplan.problems import InputError, Problem
from fixplan.values import DIMENSIONS, parse

UNITS = {"mm": 1.0, "cm": 0.1, "m": 0.001, "in": 1 / 25.4}


@st.composite
def lengths(draw: st.DrawFn, low: float, high: float) -> tuple[str, float]:
    """A length in [low, high] mm as text in any unit, with its value."""
    value = round(draw(st.floats(low, high)), 2)
    unit = draw(st.sampled_from(sorted(UNITS)))
    return f"{value * UNITS[unit]:.9f} {unit}", value


@st.composite
def cases(draw: st.DrawFn) -> tuple[dict[str, Any], dict[str, float]]:
    """A case that is possible, and some of its lengths in mm."""
    known: dict[str, float] = {}

    def put(table: dict[str, Any], key: str, low: float, high: float) -> float:
        table[key], known[key] = draw(lengths(low, high))
        return known[key]

    bone: dict[str, Any] = {"ray": draw(st.integers(1, 5))}
    length = put(bone, "length", 50, 90)
    if draw(st.booleans()):
        put(bone, "straight_segment", 30, 49)
    isthmus: dict[str, Any] = {}
    if draw(st.booleans()):
        put(isthmus, "canal", 2, 6)
    else:
        put(isthmus, "canal_ap", 2, 6)
        put(isthmus, "canal_lateral", 2, 6)
    if draw(st.booleans()):
        put(isthmus, "outer_ap", 6.1, 12)
    bone["isthmus"] = isthmus
    fracture: dict[str, Any] = {}
    fracture["zone"] = draw(st.sampled_from([1, 2, 3] if bone["ray"] == 5 else ["base", "shaft", "neck"]))
    if draw(st.booleans()):
        put(fracture, "from_base", 10, 40)
        put(fracture, "extent", 2, 8)
        put(fracture, "gap", 0, 2)
    table = {"case": {"label": "DEMO", "side": draw(st.sampled_from(["left", "right"]))}, "bone": bone}
    table["fracture"] = fracture
    assert length > 49
    return table, known


LEAVES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**6), 10**6),
    st.floats(),
    st.text(max_size=30),
    st.dates(),
    st.just(datetime(2026, 1, 1)),
    st.just(time(8)),
    st.sampled_from(
        ["71 mm", "7 m", "-3 mm", "nan mm", "4.7 ± 0.3 mm", "4.6 mm, 4.9 mm", "1e99 mm", "5 mm**2", "4 °", "± mm"]
    ),
)
ANYTHING = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=12), inner, max_size=3),
    max_leaves=6,
)
KEYS = st.sampled_from(sorted({part for path in fields() for part in path.split(".")})) | st.text(max_size=12)


@settings(max_examples=60, deadline=None)
@given(cases())
def test_a_possible_case_is_read_faithfully(made: tuple[dict[str, Any], dict[str, float]]) -> None:
    table, known = made
    case = parse_case(table, "a test")
    for section in (case.bone, case.bone.isthmus, case.fracture):
        for key, value in known.items():
            if (found := getattr(section, key, None)) is not None:
                assert found.value == pytest.approx(value, abs=1e-6)
                assert found.raw in str(table)


@settings(max_examples=150, deadline=None)
@given(cases(), st.data())
def test_a_spoilt_case_is_read_or_refused(made: tuple[dict[str, Any], dict[str, float]], data: st.DataObject) -> None:
    table = copy.deepcopy(made[0])
    for _ in range(data.draw(st.integers(1, 3))):
        at: Any = table
        while True:
            key = data.draw(st.sampled_from(sorted(at)) | KEYS if at else KEYS)
            if isinstance(at.get(key), dict) and data.draw(st.booleans()):
                at = at[key]
                continue
            at[key] = data.draw(ANYTHING)
            break
    problems: tuple[Problem, ...] | None = None
    try:
        parse_case(table, "a test")
    except CaseError as error:
        problems = error.problems
    if problems is not None:
        assert problems
        assert all(p.where and str(p).isprintable() for p in problems)
        assert len(set(problems)) == len(problems)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda s: s.encode("utf-8", "surrogatepass")))
def test_any_bytes_are_refused_and_nothing_worse(content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "case.toml"
        path.write_bytes(content)
        with pytest.raises(CaseError):
            read_case(path)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(sorted(fields())), ANYTHING)
def test_any_field_takes_any_object_or_refuses_it(key: str, given_value: Any) -> None:
    field = fields()[key]
    if field.kind == "thresholds" and not isinstance(given_value, dict):
        return
    problems: tuple[Problem, ...] = ()
    try:
        read_value(field, given_value, None)
    except InputError as error:
        problems = error.problems
    assert all(p.where.startswith(key) for p in problems)


@settings(max_examples=150, deadline=None)
@given(
    st.text(max_size=40) | st.text("0123456789.,;±+-/ ()mckNGPa°%*^²eE", max_size=20),
    st.sampled_from(sorted(DIMENSIONS)),
)
def test_any_text_is_a_quantity_or_refused(text: str, dimension: str) -> None:
    try:
        found = parse(text, dimension, "x")
    except InputError:
        return
    assert 0 <= found.value < float("inf")
    assert 0 <= found.sd < float("inf")


@settings(max_examples=60, deadline=None)
@given(
    st.floats(0.01, 1000),
    st.floats(0, 100),
    st.sampled_from(sorted(UNITS)),
    st.sampled_from(["±", " ± ", " +/- ", "+/-"]),
)
def test_a_written_uncertainty_is_read_back(value: float, sd: float, unit: str, sign: str) -> None:
    found = parse(f"{value:.6f}{sign}{sd:.6f} {unit}", "length", "x")
    assert found.value * UNITS[unit] == pytest.approx(value, abs=1e-6)
    assert found.sd * UNITS[unit] == pytest.approx(sd, abs=1e-6)
    assert found.sd_origin == "given"


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(1, 100), min_size=2, max_size=8))
def test_readings_in_any_order_give_the_same(values: list[float]) -> None:
    def of(order: list[float]) -> tuple[float, float]:
        found = parse(", ".join(f"{v:.6f} mm" for v in order), "length", "x")
        return found.value, found.sd

    assert of(values) == pytest.approx(of(sorted(values)), abs=1e-9)
    mean, sd = of(values)
    assert min(values) - 1e-5 <= mean <= max(values) + 1e-5
    assert sd <= (max(values) - min(values)) / 2 + 1e-5


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(["name", "dob", "birth_date", "nhs_number", "email", "mrn"]), st.text(" -_.", max_size=3))
def test_identifying_keys_cannot_be_disguised_by_marks_or_case(key: str, marks: str) -> None:
    assert identifying(marks + key.upper() + marks)
    assert identifying(key.replace("_", marks))


def test_dates_are_not_taken_for_numbers() -> None:
    with pytest.raises(InputError):
        read_value(fields()["bone.length"], date(2026, 1, 1), None)
