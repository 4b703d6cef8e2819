"""The straight corridor in the plan: closed forms of tubes and arcs, a measured entry, the walls left, the page."""

from __future__ import annotations

import datetime
import itertools
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fixplan.case import parse_case
from fixplan.kits import load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.types import CorridorPart, Plan
from fixplan.problems import InputError
from fixplan.report.formats import toward
from fixplan.report.html import render_html

DAY = datetime.date(2026, 11, 25)
HEAD = "s [mm],canal_ap [mm],canal_lateral [mm],outer_ap [mm],outer_lateral [mm],offset_ap [mm],offset_lateral [mm]"
SEAT = 8.0


def table(
    folder: Path, offset: Any = lambda s: 0.0 * s, canal: float = 5.0, outer: float = 11.0, step: float = 0.5
) -> Path:
    """A tube along `offset` on the AP film, as a table of stations from 4 to 66 mm."""
    s = np.arange(4.0, 66.01, step)
    rows = [f"{a:.3f},{canal},{canal},{outer},{outer},{x:.9f},0" for a, x in zip(s, offset(s))]
    path = folder / "stations.csv"
    path.write_text("\n".join([HEAD, *rows]) + "\n")
    return path


def plan(folder: Path, **bone: str) -> Plan:
    given = {
        "bone": {"ray": 5, "length": "72 mm", "straight_segment": "46 mm", "stations": "stations.csv", **bone},
        "case": {"label": "TEST-1", "side": "right"},
        "imaging": {"source": "ct"},
        "fracture": {"zone": 2, "from_base": "22 mm", "extent": "1 mm", "gap": "1 mm"},
        "plan": {"consider": ["screw"], "thresholds": {"seat_depth": f"{SEAT} mm"}},
    }
    return make_plan(parse_case(given, "test", folder), load_kits(), DAY, worksheet=False)


def corridor(folder: Path, **bone: str) -> CorridorPart:
    found = plan(folder, **bone).corridor
    assert found is not None
    return found


def test_a_straight_tube_has_its_own_width_from_end_to_end(tmp_path: Path) -> None:
    """Uniform canal: the corridor is the canal, the reaming limit the bone less two walls of 1 mm."""
    table(tmp_path)
    c = corridor(tmp_path)
    assert c.wanted.canal_mm == pytest.approx(5.0, abs=1e-4)
    assert c.wanted.ream_mm == pytest.approx(9.0, abs=1e-4)
    assert (c.wanted.entry_ap_mm, c.wanted.turn_ap_deg) == pytest.approx((0.0, 0.0), abs=1e-4)
    for curve, y in zip(c.depth.curves, (5.0, 9.0)):
        assert curve.y == pytest.approx([y] * len(curve.y), abs=1e-4)
    assert c.reading[1] == (
        "It wants to enter in the middle of the canal at 8.0 mm, and to point along the axis of the stations."
    )
    assert c.measured is None
    assert c.between_deg is None


def test_an_arc_takes_half_its_sagitta_from_the_radius(tmp_path: Path) -> None:
    """Circular arc of sagitta f between the ends: r = R - f/2 by symmetry, the entry f/2 off the line."""
    radius = 400.0
    table(tmp_path, lambda s: np.sqrt(radius**2 - (s - 26.0) ** 2) - radius)
    c = corridor(tmp_path)
    half = (c.tip_mm - c.start_mm) / 2
    middle = (c.tip_mm + c.start_mm) / 2
    f = radius - np.sqrt(radius**2 - half**2)
    assert c.wanted.canal_mm == pytest.approx(5.0 - f, rel=1e-3)
    # the chord of the arc is tilted by the arc's own slope at its middle
    slope = -np.degrees(np.arcsin((middle - 26.0) / radius))
    assert c.wanted.turn_ap_deg == pytest.approx(slope, abs=0.1)
    assert c.wanted.entry_ap_mm == pytest.approx(f / 2, abs=0.02)
    # bowed to lateral: at both ends the straight axis runs lateral of the middle, halfway medial of it
    ends = {("lateral", round(c.start_mm)), ("lateral", round(c.tip_mm))}
    assert {(k.wall, round(k.at_mm)) for k in c.contacts} >= ends
    assert [k.at_mm for k in c.contacts if k.wall == "medial"] == pytest.approx([middle], abs=0.6)
    assert sum(k.share for k in c.contacts) == pytest.approx(1.0, abs=0.03)


def test_walls_of_a_concentric_tube(tmp_path: Path) -> None:
    """A hole of diameter d in the middle of a round bone D leaves (D - d)/2 all round."""
    table(tmp_path)
    p = plan(tmp_path)
    assert p.corridor is not None
    assert p.screw is not None
    first = next(c for c in p.screw.candidates if c.item == p.screw.first_choice)
    left = (11.0 - first.diameter_mm) / 2
    assert p.corridor.walls[0].s_mm == pytest.approx(first.first_thread_mm)
    assert p.corridor.walls[-1].s_mm == pytest.approx(first.tip_mm)
    for w in p.corridor.walls:
        shown = (w.least_mm, w.medial_mm, w.lateral_mm, w.dorsal_mm, w.plantar_mm)
        assert shown == pytest.approx([left] * 5, abs=1e-3)


def test_a_bow_beyond_the_tip_narrows_only_deeper_tips(tmp_path: Path) -> None:
    table(tmp_path, lambda s: np.where(s > 46.0, (s - 46.0) ** 2 / 120, 0.0))
    c = corridor(tmp_path)
    assert c.wanted.canal_mm == pytest.approx(5.0, abs=1e-4)
    canal = c.depth.curves[0].y
    assert all(a >= b - 1e-6 for a, b in itertools.pairwise(canal))
    assert canal[-1] < 4.6


@pytest.mark.parametrize(
    ("lateral", "dorsal", "off"), [("5.5 mm", "5.5 mm", 0.0), ("4.9 mm", "5.5 mm", 0.6), ("5.5 mm", "6.4 mm", 0.9)]
)
def test_an_entry_off_the_middle_takes_twice_its_offset(tmp_path: Path, lateral: str, dorsal: str, off: float) -> None:
    """Straight round canal of radius R entered at the distance e from its middle: at the entry r = R - e decides."""
    table(tmp_path)
    c = corridor(tmp_path, entry_from_lateral=lateral, entry_from_dorsal=dorsal)
    assert c.measured is not None
    assert c.measured.canal_mm == pytest.approx(5.0 - 2 * off, abs=2e-3)
    assert np.hypot(c.measured.entry_ap_mm, c.measured.entry_lateral_mm) == pytest.approx(off, abs=1e-4)
    assert c.between_deg is not None
    assert (c.between_deg > 0.05) == (off > 0)
    text = c.reading[-1]
    assert ("is the entry wanted" in text) == (off == 0)
    if lateral == "4.9 mm":
        assert "lies 0.6 mm lateral of the entry wanted" in text
    if dorsal == "6.4 mm":
        assert "lies 0.9 mm plantar of the entry wanted" in text


def test_an_entry_is_refused_where_it_cannot_be(tmp_path: Path) -> None:
    table(tmp_path)
    with pytest.raises(InputError) as past:
        plan(tmp_path, entry_from_lateral="11.5 mm", entry_from_dorsal="5 mm")
    assert [p.where for p in past.value.problems] == ["bone.entry_from_lateral"]
    assert "medial" in past.value.problems[0].what
    with pytest.raises(InputError) as one:
        plan(tmp_path, entry_from_dorsal="5 mm")
    assert [p.where for p in one.value.problems] == ["bone.entry_from_lateral"]
    least = {"bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}}, "fracture": {"zone": 2}}
    least["bone"] |= {"entry_from_lateral": "5 mm", "entry_from_dorsal": "5 mm"}  # type: ignore[operator]
    with pytest.raises(InputError) as no_table:
        parse_case(least, "test", quick=True)
    assert "measured along its length" in no_table.value.problems[0].what


def test_the_page_shows_the_corridor_only_where_it_is_known(tmp_path: Path) -> None:
    table(tmp_path, lambda s: np.where(s > 46.0, (s - 46.0) ** 2 / 120, 0.0))
    page = render_html(plan(tmp_path, entry_from_lateral="4.9 mm", entry_from_dorsal="5.5 mm"))
    section = page[page.index('id="corridor-title"') :]
    section = (
        section[: section.index("</section>\n<section aria-labelledby")]
        if "</section>\n<section aria-labelledby" in section
        else section
    )
    assert "From the entry measured" in section
    assert "0.6\u00a0mm lateral" in section
    assert page.count('class="axis-on"') == 2
    least = {
        "case": {"label": "TEST-2", "side": "left"},
        "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
        "fracture": {"zone": 2},
    }
    without = render_html(make_plan(parse_case(least, "test"), load_kits(), DAY, worksheet=False))
    assert "corridor-title" not in without
    assert not re.search(r'class="axis-on"', without)


def test_signed_numbers_name_their_side() -> None:
    assert toward(-0.31, " mm", "lateral", "medial") == "0.3\u00a0mm medial"
    assert toward(1.26, "°", "dorsal", "plantar") == "1.3° dorsal"
    assert toward(-0.04, "°", "dorsal", "plantar") == "0.0°"
