"""Verdicts of the checks, each on, just below and just above its limit; the limits are those of the threshold table.

The responses are made by hand, so that what is tested is the verdict alone. What the numbers mean: yield at a factor of
1 by definition, 1.5 a project default; 10 % of gap strain (PER02); 9 and 25 N/mm the lowest and highest published mean
(HUS02, WILL20); a plantar gap of 1 mm (LEE13).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from fixplan.case import parse_case
from fixplan.plan.remarks import _films, mechanics_findings, under_load, yield_finding
from fixplan.plan.resolve import Resolved, resolve
from fixplan.plan.types import EndResponse, Finding, LoadResponse


def end(factor: float, stiffness: float = 15.0, strain: float | None = 0.05) -> EndResponse:
    return EndResponse(stiffness, None, None, 400.0, 100.0, "shank", factor, 0.05, strain)


def load(loose: EndResponse, bonded: EndResponse | None = None, activity: str = "protected") -> LoadResponse:
    return LoadResponse(
        "cantilever_plantar", f"force at the head, {activity}", activity, 300.0, 400.0, 500.0, "PROJECT",
        bonded or end(9.0, 30.0, 0.01), loose, None, None, (),
    )  # fmt: skip


def resolved(gap: str = "0.5 mm", **limits: Any) -> Resolved:
    table = {
        "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
        "imaging": {"source": "ct"},
        "fracture": {"zone": 2, "gap": gap},
        "plan": {"thresholds": limits},
    }
    return resolve(parse_case(table, "test", Path(), quick=True))


def checks(*responses: LoadResponse, kind: str = "screw", **limits: Any) -> dict[str, Finding]:
    chosen: Any = SimpleNamespace(response=responses)
    return {f.rule: f for f in mechanics_findings(kind, chosen, resolved(**limits))}


@pytest.mark.parametrize(
    ("factor", "verdict"),
    [(1.51, "pass"), (1.5, "pass"), (1.49, "caution"), (1.0, "caution"), (0.99, "fail")],
)
def test_yield_passes_from_1_5_and_fails_below_1(factor: float, verdict: str) -> None:
    found = yield_finding("screw", (load(end(factor)),), resolved().thresholds)
    assert (found.verdict, found.value, found.limit, found.source) == (verdict, factor, 1.5, "PROJECT, PROJECT")


def test_yield_is_that_of_the_hardest_case_of_the_protected_moment() -> None:
    cases = (load(end(2.0)), load(end(1.2)), load(end(0.4), activity="running"))
    found = yield_finding("screw", cases, resolved().thresholds)
    assert (found.value, found.verdict) == (1.2, "caution")
    assert under_load(cases).startswith(
        "Least factor against yield, loose end, assumed moments: protected 1.2; running before union 0.4 (it would"
    )


@pytest.mark.parametrize(("factor", "verdict"), [(1.5, "pass"), (1.49, "caution"), (0.5, "caution")])
def test_an_activity_before_union_cautions_and_never_fails(factor: float, verdict: str) -> None:
    found = checks(load(end(3.0)), load(end(factor), activity="running"))["yield_factor_activity"]
    assert (found.verdict, found.value) == (verdict, factor)
    assert ("would bend" in found.why) == (factor < 1)


def test_a_yield_factor_set_in_the_case_is_the_one_held() -> None:
    found = yield_finding("screw", (load(end(1.9)),), resolved(yield_factor_min=2.0).thresholds)
    assert (found.verdict, found.limit) == ("caution", 2.0)
    assert found.source.startswith("plan.thresholds.yield_factor_min")


@pytest.mark.parametrize(
    ("stiffness", "verdict"),
    [(8.99, "caution"), (9.0, "pass"), (17.0, "pass"), (25.0, "pass"), (25.01, "caution")],
)
def test_stiffness_passes_between_the_published_means(stiffness: float, verdict: str) -> None:
    found = checks(load(end(2.0, stiffness)))["stiffness_published"]
    assert (found.verdict, found.value) == (verdict, stiffness)
    assert "stiffness_published" not in checks(load(end(2.0, stiffness)), kind="plate")


@pytest.mark.parametrize(
    ("strain", "verdict", "words"),
    [
        (0.02, "pass", "bone and softer"),
        (0.021, "pass", "cartilage and softer"),
        (0.10, "pass", "cartilage and softer"),
        (0.101, "caution", "granulation tissue and softer"),
        (1.0, "caution", "granulation tissue and softer"),
        (1.01, "caution", "above all three limits"),
    ],
)
def test_gap_strain_cautions_above_a_tenth_and_never_fails(strain: float, verdict: str, words: str) -> None:
    found = checks(load(end(2.0, strain=strain)))["gap_strain"]
    assert (found.verdict, found.limit) == (verdict, 0.10)
    assert words in found.why
    assert "(2, 10 and 100 %)" in found.why


def test_strain_limits_set_in_the_case_are_the_ones_printed() -> None:
    found = checks(load(end(2.0, strain=0.04)), strain_limit_bone=0.05, strain_limit_cartilage=0.2)["gap_strain"]
    assert "tolerated in theory by bone" in found.why
    assert "(5, 20 and 100 %)" in found.why
    assert "plan.thresholds.strain_limit_bone" in found.source


def test_a_closed_gap_has_no_strain_to_judge() -> None:
    assert "gap_strain" not in checks(load(end(2.0, strain=None)))


@pytest.mark.parametrize(("gap", "verdict"), [("0.99 mm", "pass"), ("1.0 mm", "caution"), ("1.01 mm", "caution")])
def test_a_plantar_gap_cautions_from_1_mm(gap: str, verdict: str) -> None:
    found = _gap(gap)
    assert (found.verdict, found.limit, found.source) == (verdict, 1.0, "LEE13")


def test_a_plantar_gap_set_in_the_case_is_the_one_printed() -> None:
    found = _gap("1.5 mm", plantar_gap_poor="2 mm")
    assert (found.verdict, found.limit, found.source) == ("pass", 2.0, "plan.thresholds.plantar_gap_poor")
    assert "2 mm" in found.why
    assert "series" not in found.why


def test_the_gap_found_is_true_to_size_and_a_reading_at_the_limit_still_cautions() -> None:
    """1.02 mm read at 26 mm for a marker of 25 mm: 0.98 mm true; LEE13 does not say which of the two it means."""
    film = {"source": "radiograph", "marker_true": "25 mm", "marker_seen_lateral": "26 mm"}
    found = _gap("1.02 mm", film)
    assert found.value == pytest.approx(1.02 * 25 / 26)
    assert found.verdict == "caution"
    assert "True to size it is 0.98 mm, on the film it reads 1.02 mm" in found.why
    assert _gap("0.99 mm", film).verdict == "pass"


def _gap(gap: str, imaging: dict[str, str] | None = None, **limits: Any) -> Finding:
    table = {
        "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
        "imaging": imaging or {"source": "ct"},
        "fracture": {"zone": 2, "gap": gap},
        "plan": {"thresholds": limits},
    }
    case = parse_case(table, "test", Path(), quick=True)
    return next(f for f in _films(case, resolve(case)) if f.rule == "plantar_gap")


def test_the_strain_of_the_finding_is_the_largest_of_the_protected_cases() -> None:
    """Also where the hardest case closes the gap: the plate beside the bone, bent through its thickness."""
    opens, closes = load(end(2.0, strain=0.02)), load(end(2.0, strain=0.4))
    closes = replace(closes, label="other", loose=replace(closes.loose, gap_opening_mm=-0.01))
    found = checks(opens, closes)["gap_strain"]
    assert found.value == 0.4
    assert found.verdict == "caution"
