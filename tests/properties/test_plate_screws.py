"""Every plate screw listed reaches the far cortex of the bone as drawn, or a finding says that it is not known."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from fixplan.case import parse_case
from fixplan.kits import load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.types import BoneStations, PlateCandidate
from fixplan.report.planes import SURFACES, between, panels

KITS = load_kits()


def far_cortex(bone: BoneStations, plate: PlateCandidate) -> list[float]:
    """Depth of the far cortex below the top of the plate under each filled hole, from the bone as the page draws it."""
    film, sign = SURFACES[plate.surface]
    panel = next(p for p in panels(bone) if p.y_sign == film)

    def surface(s: float, side: int) -> float:
        return sign * between(s, bone.s_mm, panel.centre) + side * between(s, bone.s_mm, panel.outer) / 2

    ends = bone.fracture_mm + plate.proximal_end_mm, bone.fracture_mm + plate.distal_end_mm
    rests = max(surface(s, 1) for s in (*ends, *(s for s in bone.s_mm if ends[0] < s < ends[1])))
    top = rests + plate.standoff_mm + plate.thickness_mm
    return [top - surface(bone.fracture_mm + s.at_mm, -1) for s in plate.screws if s.filled]


@settings(max_examples=8, deadline=None)
@given(
    ray=st.sampled_from([2, 4, 5]),
    at_isthmus=st.floats(6.0, 11.0),
    at_fracture=st.floats(7.0, 20.0) | st.none(),
    from_base=st.floats(22.0, 40.0),
    standoff=st.floats(0.0, 2.0),
)
def test_every_listed_screw_reaches_the_far_cortex(
    ray: int, at_isthmus: float, at_fracture: float | None, from_base: float, standoff: float
) -> None:
    def widths(outer: float) -> dict[str, str]:
        return {
            "canal_ap": "3 mm",
            "canal_lateral": "3 mm",
            "outer_ap": f"{outer:.2f} mm",
            "outer_lateral": f"{outer:.2f} mm",
        }

    table: dict[str, Any] = {
        "bone": {"ray": ray, "length": "72 mm", "isthmus": {"at": "42 mm", **widths(at_isthmus)}},
        "imaging": {"source": "ct"},
        "fracture": {"zone": 2 if ray == 5 else "shaft", "from_base": f"{from_base:.2f} mm", "extent": "2 mm"},
        "plate": {"standoff": f"{standoff:.2f} mm"},
        "plan": {"consider": ["plate"]},
    }
    if at_fracture is not None:
        table["bone"]["at_fracture"] = widths(at_fracture)
    plan = make_plan(parse_case(table, "test", Path(), quick=True), KITS, datetime.date(2026, 11, 25), worksheet=False)
    assert plan.plate is not None
    for c in plan.plate.candidates:
        held = {f.rule: f for f in c.findings}
        lengths = [s.length_mm for s in c.screws if s.filled]
        for length, needed in zip(lengths, far_cortex(plan.bone, c), strict=True):
            assert length is None or length >= needed - 1e-6
        if None in lengths:
            assert held["cortices_per_side"].verdict != "pass"
        assert (held["cortices_per_side"].verdict == "pass") <= (at_fracture is not None)
        off = [s.standoff_mm for s in c.screws if s.filled and s.standoff_mm is not None]
        assert all(o >= c.standoff_mm - 1e-6 for o in off)
        if off and max(off) > 2.0 + 1e-6:
            assert held["standoff"].verdict != "pass"
