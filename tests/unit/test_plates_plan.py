"""Screw lengths of a straight plate by hand: the bone under each hole, and how far the plate is off it there."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from fixplan.case import parse_case
from fixplan.kits import KitSet, load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.plate_screws import reaching, with_cortices
from fixplan.plan.types import Finding, Plan, PlateCandidate
from fixplan.plan.words import finding
from fixplan.problems import InputError
from fixplan.sizing.plate import PlateBed, PlateThresholds, StockPlate, best_placement
from fixplan.sizing.plate_lie import Surface

DAY = datetime.date(2026, 11, 25)


def table(ray: int, standoff: str) -> dict[str, Any]:
    widths = {"canal_ap": "4 mm", "canal_lateral": "4.5 mm"}
    return {
        "bone": {
            "ray": ray,
            "length": "72 mm",
            "isthmus": {"at": "40 mm", "outer_ap": "9 mm", "outer_lateral": "8 mm", **widths},
            "at_fracture": {"outer_ap": "13 mm", "outer_lateral": "12 mm", **widths},
        },
        "imaging": {"source": "ct"},
        "fracture": {"zone": 2 if ray == 5 else "shaft", "from_base": "24 mm", "extent": "2 mm"},
        "plate": {"standoff": standoff},
        "plan": {"consider": ["plate"], "kits": ["mini-plates-2.4", "cortical-screws-ti"]},
    }


def planned(table: dict[str, Any], kits: KitSet | None = None) -> Plan:
    return make_plan(parse_case(table, "test", Path(), quick=True), kits or load_kits(), DAY, worksheet=False)


def six_holes(given: dict[str, Any], kits: KitSet | None = None) -> PlateCandidate:
    """Six holes at 7.2 mm, 1.2 mm thick: holes 3.6, 10.8 and 18 mm from the fracture on each side.

    Holes at 3.6 mm lie 2.6 mm from the edge of the fracture, less than 4, and stay empty.
    """
    plan = planned(given, kits)
    assert plan.plate is not None
    found = [c for c in plan.plate.candidates if c.holes == 6 and c.thickness_mm == 1.2]
    assert found
    return found[0]


def rule(candidate: PlateCandidate, name: str) -> Finding:
    return next(f for f in candidate.findings if f.rule == name)


@pytest.mark.parametrize(
    ("ray", "standoff", "lengths"),
    [
        # lateral, across the AP width: 13 mm up to the fracture at 24 mm, then straight to 9 mm at 40 mm. Holes at 6,
        # 13.2, 34.8 and 42 mm: 13, 13, 13 - 4 x 10.8 / 16 = 10.3 and 9 mm wide. The straight plate touches where the
        # bone is widest, 6.5 mm out; under the distal holes the bone is 1.35 and 2 mm lower. Wide + lower + 1.2:
        # 14.2, 14.2, 12.85, 12.2
        (5, "0 mm", [16.0, 16.0, 14.0, 14.0]),
        # 1.15 mm off at its nearest: 15.35, 15.35, 14 (stock as long as wanted is long enough), 13.35
        (5, "1.15 mm", [16.0, 16.0, 14.0, 14.0]),
        # 1.2 mm: 15.4, 15.4, 14.05, 13.4
        (5, "1.2 mm", [16.0, 16.0, 16.0, 14.0]),
        # dorsal, across the height: 12, 12, 12 - 4 x 10.8 / 16 = 9.3 and 8 wide, 1.35 and 2 lower: 13.2, 13.2, 11.85,
        # 11.2
        (4, "0 mm", [14.0, 14.0, 12.0, 12.0]),
        # 1 mm: 14.2, 14.2, 12.85, 12.2
        (4, "1 mm", [16.0, 16.0, 14.0, 14.0]),
    ],
)
def test_screw_lengths_by_hand(ray: int, standoff: str, lengths: list[float]) -> None:
    screws = six_holes(table(ray, standoff)).screws
    assert [s.at_mm for s in screws] == pytest.approx([-18.0, -10.8, -3.6, 3.6, 10.8, 18.0])
    assert [s.filled for s in screws] == [True, True, False, False, True, True]
    assert [s.length_mm for s in screws if s.filled] == lengths
    assert all(s.length_mm is None and not s.screw for s in screws if not s.filled)


def test_the_standoff_is_held_at_the_hole_where_a_straight_plate_lies_farthest_off() -> None:
    # by hand as above: nearest proximally; 1.35 mm and 2 mm more at the filled distal holes, so 2.0 with none stated
    level = six_holes(table(5, "0 mm"))
    assert [s.standoff_mm for s in level.screws if s.filled] == pytest.approx([0.0, 0.0, 1.35, 2.0])
    assert [s.needed_mm for s in level.screws if s.filled] == pytest.approx([14.2, 14.2, 12.85, 12.2])
    assert (rule(level, "standoff").verdict, rule(level, "standoff").value) == ("pass", pytest.approx(2.0))
    off = rule(six_holes(table(5, "0.5 mm")), "standoff")
    assert (off.verdict, off.value, off.limit) == ("caution", pytest.approx(2.5), 2.0)
    assert "2.5 mm off at hole 6, more than 2.0 mm. Bend the plate" in off.why
    assert rule(six_holes(table(5, "0.5 mm")), "cortices_per_side").verdict == "pass"


def test_no_plate_is_chosen_where_even_bent_its_screws_end_short() -> None:
    # holes 1 and 2 need 14.2 mm on the bone itself (1.2 mm plate; more for a thicker one): 14 mm do not reach
    kits = load_kits()
    short = replace(kits, cortical_screws=tuple(s for s in kits.cortical_screws if s.length <= 14))
    plan = planned(table(5, "0 mm"), short)
    assert plan.plate is not None
    assert plan.plate.first_choice is None
    assert planned(table(5, "0 mm")).plate.first_choice is not None  # type: ignore[union-attr]


# widest at the fracture: 14 mm there, 8 mm at 20 mm on either side, so 10.4 mm at 12 mm; heights 7, 4 and 5.2 mm
HILL = PlateBed(2.0, 2.0, 30.0, 30.0, None, 0.0, False, Surface((-20.0, 0.0, 20.0), (4.0, 7.0, 4.0), (8.0, 14.0, 8.0)))
LIMITS = PlateThresholds(1.0, 1.0, 2.0, 4.0, 4.0, 5.0, 1.0)


@pytest.mark.parametrize(
    ("longest", "verdict", "value", "why"),
    [
        # a straight plate of 1 mm touches at the fracture: 1.8 mm off at 12 mm, 3 mm off at 20 mm; the screws need
        # 1 + 1.8 + 10.4 = 13.2 and 1 + 3 + 8 = 12 mm
        (13.2, "pass", 4.0, "both cortices taken by each screw"),
        # bent to the bone they need 11.4 and 9 mm
        (12.0, "caution", 2.0 + 1.0, "12 mm, ends short of the far cortex: hole 2 needs 13.2 mm, 1.2 mm more; hole 5"),
        (11.0, "fail", 1.0 + 1.0, "11 mm, ends short of the far cortex: hole 1 needs 12.0 mm, 1.0 mm more; hole 2"),
    ],
)
def test_cortices_are_counted_by_the_longest_screw_in_stock(
    longest: float, verdict: str, value: float, why: str
) -> None:
    kits = load_kits()
    plate = replace(kits.plates[0], holes=6, hole_spacing=8.0, length=48.0, thickness=1.0)
    stock = [replace(kits.cortical_screws[0], length=x) for x in (8.0, longest)]
    placed = best_placement(StockPlate(6, 8.0, 48.0, 6.0), HILL, LIMITS)
    assert [x for x, f in zip(placed.positions, placed.filled) if f] == [-20.0, -12.0, 12.0, 20.0]
    held = with_cortices(placed, plate, HILL, stock, 4.0)
    found = finding("cortices_per_side", held.held["cortices_per_side"], (), "GAU03")
    assert found is not None
    said = reaching(found, held, plate, HILL, stock, False)
    assert (said.verdict, said.value) == (verdict, value)
    assert why in said.why
    assert ("Bend the plate to the bone" in said.why) == (verdict == "caution")


def test_across_the_joint_the_words_follow_the_room_that_is_computed() -> None:
    given = table(2, "1 mm")
    given["fracture"] = {"zone": "base", "from_base": "9 mm", "extent": "3 mm", "crosses_tmt": True}
    given["plate"] |= {"room_proximal": "19 mm", "room_distal": "40 mm"}
    plan = planned(given)
    assert plan.plate is not None
    assert "crosses the joint on to the cuneiform" in plan.plate.answer
    room = next(g for g in plan.given if g.name == "room_proximal")
    assert room.label == "bone free for the plate, on the cuneiform, from the joint"
    first = plan.plate.candidates[0]
    assert "cuneiform, which was not measured" in rule(first, "cortices_per_side").why
    assert all(s.length_mm is None for s in first.screws if s.filled and s.side == "proximal")


def test_no_firm_length_where_the_isthmus_stands_in_for_the_bone() -> None:
    given = table(5, "0 mm")
    del given["bone"]["at_fracture"]
    candidate = six_holes(given)
    held = rule(candidate, "cortices_per_side")
    assert held.verdict == "caution"
    assert "Widths beyond the isthmus: taken as at the isthmus." in held.why
    assert all(s.length_mm is None and s.needed_mm is None for s in candidate.screws)
    assert candidate.instruments


def test_a_plate_without_screws_in_any_kit_is_refused_by_name() -> None:
    case = parse_case(table(5, "0 mm"), "test", Path(), quick=True)
    with pytest.raises(InputError, match=r"no kit considered holds a screw of 2\.4 mm"):
        make_plan(case, replace(load_kits(), cortical_screws=()), DAY, worksheet=False)
