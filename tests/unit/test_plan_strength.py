"""What the plan says of the chosen screw's strength: cycles, torsion, purchase, straightening."""

from __future__ import annotations

import datetime
import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fixplan.case import parse_case, read_case
from fixplan.kits import KitSet, load_kits
from fixplan.plan import bow, life, purchase_view
from fixplan.plan.make import make_plan
from fixplan.plan.types import Plan
from fixplan.report.html import render_html
from fixplan.resources import resource_dir

DAY = datetime.date(2026, 11, 25)


@cache
def kits() -> KitSet:
    return load_kits()


@cache
def demo(name: str) -> Plan:
    return make_plan(read_case(resource_dir("demo_cases") / f"{name}.toml"), kits(), DAY, worksheet=False)


def plan_of(**fracture: Any) -> Plan:
    table = {
        "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
        "fracture": {"zone": 2, **fracture},
        "patient": {"activity": "running"},
    }
    return make_plan(parse_case(table, "test", Path(), quick=True), kits(), DAY, worksheet=False)


def screw(plan: Plan):
    return next(s for s in kits().im_screws if s.item == plan.screw.first_choice)


def test_cycles_of_the_middle_load_by_hand():
    """Nominal stress of the bare core at the first thread, 32 M / (pi d^3) (GERE7); half the range as amplitude and
    mean (Goodman, SHIG9 eq. 6-46), K_f 2.2 (table 8-16, from memory), a line from 0.9 S_ut at 1000 to the design
    amplitude at a million cycles (SHIG9 eq. 6-13).
    """
    plan = demo("revision")
    one, part = screw(plan), next(p for p in plan.strength.life if p.activity == "cutting")
    end = part.ends[0]
    assert end.section == "first thread"
    assert one.solid
    chosen, bone = plan.screw.candidates[0], plan.bone
    assert chosen.item == one.item
    lever = (bone.length_mm - chosen.first_thread_mm) / (bone.length_mm - bone.fracture_mm)
    half = 32 * part.moments_N_mm[1] * lever / (math.pi * one.d_core**3) / 2
    metal = one.material
    local = 2.2 * half / (1 - half / metal.ultimate_MPa)
    assert end.amplitude_MPa[1] == pytest.approx(local, rel=1e-4)
    slope = math.log10(0.9 * metal.ultimate_MPa / metal.fatigue_MPa) / 3
    cycles = 10 ** (3 + math.log10(0.9 * metal.ultimate_MPa / local) / slope)
    assert end.middle == pytest.approx(cycles, rel=0.05)  # told to two digits
    assert end.words[1].replace(" ", "") == f"{end.middle:.0f}"


def test_outside_the_line_no_number_is_told():
    end = next(p for p in demo("revision").strength.life if p.activity == "protected").ends[0]
    assert (end.worst, end.middle, end.best) == (None, None, None)
    assert set(end.words) == {"above 1 000 000"}
    assert life._told(999.0, False, 1e3, 1e6) == (None, "below 1 000")
    assert life._told(1e3, False, 1e3, 1e6)[0] == 1000
    assert life._told(5e5, True, 1e3, 1e6) == (None, "yields in the first load")


def test_the_band_runs_from_worst_to_best_and_no_weeks_are_promised():
    for name in ("revision", "zone-2-runner", "least-input"):
        for part in demo(name).strength.life:
            assert list(part.moments_N_mm) == sorted(part.moments_N_mm, reverse=True)
            assert list(part.cycles_per_day) == [s / 2 for s in part.steps_per_day]
            for end in part.ends:
                assert list(end.amplitude_MPa) == sorted(end.amplitude_MPa, reverse=True)
            assert "not weeks" in part.note
            assert "says when bone heals" in part.note
    # Tudor-Locke: low active from 5000, somewhat active from 7500, active from 10 000 steps (from memory)
    assert demo("revision").strength.life[0].steps_per_day == (10000.0, 7500.0, 5000.0)


def test_compression_is_a_mean_stress_not_an_amplitude():
    gap = plan_of().strength.life[0].ends[1]
    closed = plan_of(compression="60 N", gap="0 mm").strength.life[0].ends[1]
    assert closed.amplitude_MPa[1] < gap.amplitude_MPa[1]
    assert "alone carries" in plan_of().strength.life[0].note
    assert "faces carry their part" in plan_of(compression="60 N", gap="0 mm").strength.life[0].note


def test_another_ray_is_told_whose_moment_it_is():
    from fixplan.plan.frame import Reader, build
    from fixplan.plan.resolve import resolve
    from fixplan.plan.response import setting

    table = {"bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}}, "fracture": {"zone": 2}}
    resolved = resolve(parse_case(table, "test", Path(), quick=True))
    frame, read, one = build(resolved), Reader(resolved), screw(plan_of())
    seat = float(np.asarray(frame.site.seat))
    other, fifth = (life.life_parts(setting(frame, read, ray, None), one, seat)[0].note for ray in (4, 5))
    assert "none was found for this ray" in other
    assert "none was found" not in fifth


def test_without_a_design_amplitude_no_cycles_are_told():
    plan = plan_of()
    one = screw(plan)
    bare = replace(one, material=replace(one.material, fatigue_MPa=None))
    from fixplan.plan.frame import Reader, build
    from fixplan.plan.resolve import resolve
    from fixplan.plan.response import setting

    table = {"bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}}, "fracture": {"zone": 2}}
    resolved = resolve(parse_case(table, "test", Path(), quick=True))
    frame = build(resolved)
    (part,) = life.life_parts(setting(frame, Reader(resolved), 5, None), bare, float(np.asarray(frame.site.seat)))
    assert part.ends == ()
    assert "no cycles are told" in part.note


def test_torsion_of_a_standard_screw_has_its_row_and_others_say_so():
    one = screw(plan_of())
    standard = replace(one, d_major=3.5, d_core=2.4, d_cannula=0.0)
    part = life.torsion_part(standard)
    # ISO 6475 from memory: HA 3.5, 2.3 N m
    assert (part.standard, part.standard_torque_N_mm) == ("HA 3.5, stainless steel", 2300.0)
    # pi d^3/16 of a solid core, tau = 0.577 S_y (GERE7 ch. 3, SHIG9 eq. 5-21)
    assert part.yield_torque_N_mm == pytest.approx(math.pi * 2.4**3 / 16 * 0.577 * one.material.yield_MPa)
    hollow = life.torsion_part(replace(standard, d_cannula=1.0))
    assert (hollow.standard, hollow.standard_torque_N_mm) == ("no row", None)
    assert "has no row" in hollow.text


def test_purchase_verdicts():
    plan = plan_of()
    one = screw(plan)
    chosen = plan.screw.candidates[0]
    bone = replace(chosen, corridor_mm=one.d_core - 0.1)
    face = chosen.first_thread_mm - 1
    most = purchase_view.purchase_part(one, bone, face, 10.0).pullout_N
    assert list(most) == sorted(most)
    assert purchase_view.purchase_part(one, bone, face, most[0] - 1).verdict == "pass"
    assert purchase_view.purchase_part(one, bone, face, most[0] + 1).verdict == "caution"
    assert purchase_view.purchase_part(one, bone, face, most[2] + 1).verdict == "fail"
    wide = replace(chosen, corridor_mm=(one.d_core + one.d_major) / 2)
    half = purchase_view.purchase_part(one, wide, face, 10.0)
    assert half.verdict == "caution"
    assert half.depth_share == pytest.approx(0.5)
    none = purchase_view.purchase_part(one, chosen, chosen.tip_mm, 10.0)
    assert (none.engaged_mm, none.verdict) == (0.0, "fail")


def test_purchase_is_listed_only_where_a_compression_is_wanted():
    assert purchase_view.RULE not in {f.rule for f in plan_of().findings}
    plan = plan_of(compression="60 N")
    (found,) = (f for f in plan.findings if f.rule == purchase_view.RULE)
    assert (found.limit, found.unit) == (60.0, "N")
    assert plan.strength.purchase.engaged_mm == pytest.approx(
        plan.screw.candidates[0].tip_mm - plan.screw.candidates[0].first_thread_mm
    )


def test_an_unmeasured_bow_is_not_known():
    part = demo("least-input").strength.straightening
    assert not part.known
    assert part.rows == ()
    assert "not known" in part.note


def test_a_tip_that_fails_says_what_it_does_to_the_bone():
    told = 0
    for name in ("zone-2-stations", "zone-2-landmarks", "least-input", "zone-2-runner"):
        plan = demo(name)
        for c in plan.screw.candidates:
            tip = next(f for f in c.findings if f.rule == "tip")
            found = [f for f in c.findings if f.rule == bow.RULE]
            assert len(found) == (tip.verdict != "pass")
            told += len(found)
    assert told


def test_straightening_on_a_circle_by_hand():
    """Stations on an arc that turns lateral beyond 30 mm: x^2/(2 R) off the axis, less the room, over the lever."""
    from fixplan.bone.profile import Profile

    s = np.linspace(2.0, 68.0, 67)
    radius = 120.0
    turn = np.where(s > 30, radius - np.sqrt(radius**2 - np.maximum(s - 30, 0) ** 2), 0.0)
    one = np.ones_like(s)
    profile = Profile(s, 6 * one, 6 * one, 10 * one, 9 * one, turn, 0 * s)
    frame = _frame()
    site = replace(frame.site, straight_cautious=np.asarray(30.0), fracture=np.asarray(22.0))
    frame = replace(frame, profile=profile, site=site)
    plan = plan_of()
    c = replace(plan.screw.candidates[0], tip_mm=52.0, diameter_mm=5.0)
    part = bow.straightening_part(frame, True, [c])
    assert part.known
    assert part.radius_ap_mm == pytest.approx(radius, rel=0.05)  # the fit is a parabola
    assert part.radius_lateral_mm is None
    ap = next(r for r in part.rows if r.film == "AP film")
    offset = radius - math.sqrt(radius**2 - 22.0**2)
    angle = (offset - 0.5) / 30.0
    assert ap.side == "lateral"
    assert ap.angle_deg == pytest.approx(math.degrees(angle), rel=0.08)
    assert ap.gap_mm == pytest.approx(10.0 * math.radians(ap.angle_deg))
    assert ap.angle_high_deg > ap.angle_deg
    assert bow.straightening_part(frame, True, [replace(c, tip_mm=29.0)]).rows == ()
    (far, _) = bow.straightening_part(frame, True, [replace(c, tip_mm=69.0)]).rows
    assert far.angle_deg is None
    assert "not known" in far.text
    straight = replace(frame, profile=replace(profile, offset_ap=0 * s))
    assert bow.straightening_part(straight, True, [c]).note == bow.NOT_SEEN
    few = replace(frame, profile=Profile(*(getattr(profile, n)[::22] for n in profile.__dataclass_fields__)))
    assert bow.straightening_part(few, True, [c]).note == bow.FEW


def _frame():
    from fixplan.plan.frame import build
    from fixplan.plan.resolve import resolve

    table = {"bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}}, "fracture": {"zone": 2}}
    return build(resolve(parse_case(table, "test", Path(), quick=True)))


@pytest.mark.parametrize("name", ["revision", "zone-2-stations", "least-input"])
def test_the_page_shows_it(name):
    html = render_html(demo(name))
    for words in (
        "Loading cycles to the design line",
        "Torsion of the core",
        "Straightening of the bow",
        "promise no weeks",
    ):
        assert words in html
