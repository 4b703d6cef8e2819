"""What would change the answer: the size named beside a change is first by the readings of a case with that value."""

from __future__ import annotations

import datetime
import json
from functools import cache
from typing import Any

from fixplan.case import parse_case
from fixplan.kits import KitSet, load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.types import Change, Plan

DAY = datetime.date(2026, 11, 25)
SCREW: dict[str, Any] = {
    "bone": {
        "ray": 5,
        "length": "71 mm",
        "straight_segment": "46.5 ± 2 mm",
        "isthmus": {
            "canal_ap": "4.9 ± 0.4 mm",
            "canal_lateral": "6 mm",
            "outer_ap": "9.4 ± 0.4 mm",
            "outer_lateral": "9.6 mm",
        },
    },
    "imaging": {"source": "ct"},
    "fracture": {"zone": 2, "from_base": "24 ± 1.2 mm"},
    "plan": {"consider": ["screw"], "thresholds": {"seat_depth": "8 mm"}},
}
PLATE: dict[str, Any] = {
    "bone": {"ray": 5, "length": "72 mm", "isthmus": {"canal_ap": "4 mm", "outer_ap": "8 mm", "outer_lateral": "9 mm"}},
    "imaging": {"source": "ct"},
    "fracture": {"zone": 2, "from_base": "24 mm", "extent": "2 mm"},
    "plate": {"room_proximal": "20 ± 2 mm", "room_distal": "29 ± 2 mm", "surface_width": "6.4 ± 0.4 mm"},
    "plan": {"consider": ["plate"]},
}
KEYS = {
    "straight": ("bone", "straight_segment"),
    "from_base": ("fracture", "from_base"),
    "canal_ap": ("bone", "isthmus", "canal_ap"),
    "outer_ap": ("bone", "isthmus", "outer_ap"),
    "room_proximal": ("plate", "room_proximal"),
    "room_distal": ("plate", "room_distal"),
    "surface_width": ("plate", "surface_width"),
}


@cache
def kits() -> KitSet:
    return load_kits()


def plan_of(table: dict[str, Any]) -> Plan:
    return make_plan(parse_case(table, "test", quick=True), kits(), DAY, worksheet=False)


def beyond(table: dict[str, Any], change: Change, share: float) -> dict[str, Any]:
    """The case with the value of a change moved beyond the turning point by a share of its own uncertainty."""
    other = json.loads(json.dumps(table))
    *sections, key = KEYS[change.name]
    place = other
    for s in sections:
        place = place.setdefault(s, {})
    assert change.at is not None
    here, _, sd, _ = place[key].split()
    step = share * float(sd)
    place[key] = f"{change.at + (step if change.at > float(here) else -step):.4f} mm"
    return dict(other)


def known(plan: Plan) -> list[Change]:
    return [c for c in plan.changes if c.name in KEYS]


def test_the_screw_named_is_the_first_choice_of_a_case_with_that_value() -> None:
    plan = plan_of(SCREW)
    assert plan.screw is not None
    assert plan.screw.first_choice is not None
    assert len(known(plan)) >= 2
    for change in known(plan):
        other = plan_of(beyond(SCREW, change, 0.05)).screw
        assert other is not None
        then = next((c for c in other.candidates if c.item == other.first_choice), None)
        if then is None:
            assert "No size is left then." in change.text
        elif then.item == plan.screw.first_choice:
            assert "No other size does better then." in change.text
        else:
            words = {"pass": "A size that passes", "caution": "With a caution"}[then.verdict]
            wanted = f"{words} then: {then.diameter_mm:.1f} x {then.length_mm:g} mm"
            assert wanted in change.text, change.text


def test_the_plate_named_is_the_first_choice_of_a_case_with_that_value() -> None:
    plan = plan_of(PLATE)
    assert plan.plate is not None
    assert plan.plate.first_choice is not None
    assert known(plan)
    for change in known(plan):
        other = plan_of(beyond(PLATE, change, 0.0)).plate
        assert other is not None
        then = next((c for c in other.candidates if c.item == other.first_choice), None)
        if then is None:
            assert "No plate is left then." in change.text
        elif then.item == plan.plate.first_choice:
            assert "No other plate does better then." in change.text
        else:
            words = {"pass": "A plate that passes", "caution": "With a caution"}[then.verdict]
            assert f"{words} then: {then.label}." in change.text, change.text


def test_with_no_size_left_the_size_that_comes_in_is_the_first_choice_then() -> None:
    table = json.loads(json.dumps(SCREW))
    table["bone"]["straight_segment"] = "37 ± 2 mm"
    plan = plan_of(table)
    assert plan.screw is not None
    assert plan.screw.first_choice is None
    [change] = [c for c in plan.changes if c.name == "straight"]
    other = plan_of(beyond(table, change, 0.05)).screw
    assert other is not None
    then = next(c for c in other.candidates if c.item == other.first_choice)
    assert f"or more {then.diameter_mm:.1f} x {then.length_mm:g} mm comes in" in change.text


def test_with_draws_no_change_speaks_of_a_first_choice_that_no_draws_stand_behind() -> None:
    table = json.loads(json.dumps(SCREW))
    plan = make_plan(parse_case(table, "test", quick=True), kits(), DAY, worksheet=False, draws=100)
    assert plan.changes
    assert not [c.text for c in plan.changes if "irst choice" in c.text]


LEAST: dict[str, Any] = {
    "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
    "fracture": {"zone": 2},
}


def test_the_assumed_end_of_the_straight_segment_is_moved_between_its_two_published_fractions() -> None:
    """Just below the fraction named the size fails by its tip, just above it it does not: measured at that place."""
    plan = make_plan(parse_case(LEAST, "test", quick=True), kits(), DAY, worksheet=False, draws=200)
    assert plan.screw is not None
    [change] = [c for c in plan.changes if c.name == "straight_fraction_cautious"]
    assert change.at is not None
    assert 0.574 < change.at < 0.68  # apex of the bow (DES16), straight segment (OCH15)
    assert "0.574 to 0.68, assumed" in change.text
    verdicts = []
    for end in (change.at - 0.002, change.at + 0.002):
        table = json.loads(json.dumps(LEAST))
        table["plan"] = {
            "thresholds": dict.fromkeys(("straight_fraction_cautious", "straight_fraction_permissive"), end)
        }
        other = plan_of(table).screw
        assert other is not None
        same = [c for c in other.candidates if c.item == plan.screw.first_choice]
        verdicts.append(next((f.verdict for c in same for f in c.findings if f.rule == "tip"), "fail"))
    assert verdicts == ["fail", "pass"]
