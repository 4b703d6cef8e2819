"""Screw lengths of a plate by hand: the bone under each hole, plate and standoff, rounded up to stock."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fixplan.case import parse_case
from fixplan.kits import load_kits
from fixplan.plan.frame import build
from fixplan.plan.make import make_plan
from fixplan.plan.plates import _depth
from fixplan.plan.resolve import resolve
from fixplan.plan.types import PlateCandidate
from fixplan.problems import InputError

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


def six_holes(ray: int, standoff: str) -> PlateCandidate:
    """Six holes at 7.2 mm, 1.2 mm thick: holes 3.6, 10.8 and 18 mm from the fracture on each side.

    Holes at 3.6 mm lie 2.6 mm from the edge of the fracture, less than 4, and stay empty.
    """
    plan = make_plan(parse_case(table(ray, standoff), "test", Path(), quick=True), load_kits(), DAY, worksheet=False)
    assert plan.plate is not None
    found = [c for c in plan.plate.candidates if c.holes == 6 and c.thickness_mm == 1.2]
    assert found
    return found[0]


@pytest.mark.parametrize(
    ("ray", "standoff", "lengths"),
    [
        # lateral, across the AP width: 13 mm up to the fracture at 24 mm, then straight to 9 mm at 40 mm. Holes at 6,
        # 13.2, 34.8 and 42 mm: 13, 13, 13 - 4 x 10.8 / 16 = 10.3 and 9; with 1.2: 14.2, 14.2, 11.5, 10.2
        (5, "0 mm", [16.0, 16.0, 12.0, 12.0]),
        # 0.5 mm off the bone: 14.7, 14.7, 12.0 (stock as long as wanted is long enough), 10.7
        (5, "0.5 mm", [16.0, 16.0, 12.0, 12.0]),
        # 0.6 mm off: 12.1 at the third
        (5, "0.6 mm", [16.0, 16.0, 14.0, 12.0]),
        # dorsal, across the height: 12, 12, 12 - 4 x 10.8 / 16 = 9.3 and 8; with 1.2: 13.2, 13.2, 10.5, 9.2
        (4, "0 mm", [14.0, 14.0, 12.0, 10.0]),
        # 1 mm off: 14.2, 14.2, 11.5, 10.2
        (4, "1 mm", [16.0, 16.0, 12.0, 12.0]),
    ],
)
def test_screw_lengths_by_hand(ray: int, standoff: str, lengths: list[float]) -> None:
    screws = six_holes(ray, standoff).screws
    assert [s.at_mm for s in screws] == pytest.approx([-18.0, -10.8, -3.6, 3.6, 10.8, 18.0])
    assert [s.filled for s in screws] == [True, True, False, False, True, True]
    assert [s.length_mm for s in screws if s.filled] == lengths
    assert all(s.length_mm is None and not s.screw for s in screws if not s.filled)


def test_under_a_hole_beyond_the_stations_the_bone_is_not_known() -> None:
    frame = build(resolve(parse_case(table(5, "0 mm"), "test", Path(), quick=True)))
    some = replace(frame, profile=replace(frame.profile, s=frame.profile.s + 5.0))
    first, last = float(some.profile.s[0]), float(some.profile.s[-1])
    assert _depth(some, "lateral", first - 0.1) is None
    assert _depth(some, "lateral", last + 0.1) is None
    assert _depth(some, "lateral", first) == pytest.approx(float(np.asarray(some.profile.outer_ap)[0]))
    assert _depth(some, "dorsal", last) == pytest.approx(float(np.asarray(some.profile.outer_lateral)[-1]))


def test_a_plate_without_screws_in_any_kit_is_refused_by_name() -> None:
    case = parse_case(table(5, "0 mm"), "test", Path(), quick=True)
    with pytest.raises(InputError, match=r"no kit considered holds a screw of 2\.4 mm"):
        make_plan(case, replace(load_kits(), cortical_screws=()), DAY, worksheet=False)
