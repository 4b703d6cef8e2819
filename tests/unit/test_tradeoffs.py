"""Trade-off pictures: curves against single plans, and each reading against the curve behind it."""

from __future__ import annotations

import datetime
import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from fixplan.case import parse_case, read_case
from fixplan.kits import KitSet, load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.readings import at, crossing, read, two_digits
from fixplan.plan.types import Curve, Plan, TradeOff
from fixplan.report.around import charts_of, table_rows
from fixplan.report.html import render_html
from fixplan.report.tradeoff_charts import in_range
from fixplan.resources import resource_dir

DAY = datetime.date(2026, 11, 25)
LEAST: dict[str, Any] = {
    "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
    "fracture": {"zone": 2},
}


@cache
def kits() -> KitSet:
    return load_kits()


@cache
def plan() -> Plan:
    return make_plan(parse_case(LEAST, "test", quick=True), kits(), DAY, worksheet=False, pictures=True)


@cache
def picture(name: str) -> TradeOff:
    return next(t for t in plan().tradeoffs if t.name == name)


NAMES = ("stiffness-diameter", "stress-diameter", "wall-diameter", "length-margins", "strain-working-length")


def test_every_picture_is_there_and_none_without_being_asked_for() -> None:
    assert tuple(t.name for t in plan().tradeoffs) == NAMES
    bare = make_plan(parse_case(LEAST, "test", quick=True), kits(), DAY, worksheet=False)
    assert bare.tradeoffs == bare.questions == ()


def test_the_curve_passes_through_the_plan_of_the_chosen_size() -> None:
    screw, plate = plan().screw, plan().plate
    assert screw is not None
    assert plate is not None
    first = next(c for c in screw.candidates if c.item == screw.first_choice)
    r = first.response[0]
    # the stress is that of the case on which the size is judged, not of the first in the table
    hard = min((x for x in first.response if x.activity == r.activity), key=lambda x: x.loose.yield_factor)
    for name, loose, bonded in (
        ("stiffness-diameter", r.loose.stiffness_N_per_mm, r.bonded.stiffness_N_per_mm),
        ("stress-diameter", hard.loose.peak_stress_MPa, hard.bonded.peak_stress_MPa),
    ):
        t = picture(name)
        assert t.picked[0].at == first.diameter_mm
        assert [at(c, first.diameter_mm) for c in t.curves] == pytest.approx([loose, bonded])
    assert at(picture("wall-diameter").curves[0], first.diameter_mm) == pytest.approx(first.wall_left_mm)
    margins = [at(c, first.length_mm) for c in picture("length-margins").curves]
    assert margins == pytest.approx([first.margin_run_out_mm, first.margin_tip_mm])
    laid = next(c for c in plate.candidates if c.item == plate.first_choice)
    t = picture("strain-working-length")
    assert t.picked[0].at == pytest.approx(laid.working_length_mm)
    same = [x for x in laid.response if x.activity == r.activity]
    most = max(same, key=lambda x: x.loose.gap_strain or 0.0)
    assert most.loose.gap_strain != laid.response[0].loose.gap_strain
    strains = [most.loose.gap_strain, most.bonded.gap_strain]
    assert [at(c, t.picked[0].at) for c in t.curves] == pytest.approx(strains)


def test_every_point_of_the_curves_is_the_plan_of_that_size() -> None:
    """The other diameters of the family, each planned as a kit with nothing else in it."""
    screw = plan().screw
    assert screw is not None
    first = next(c for c in screw.candidates if c.item == screw.first_choice)
    me = next(s for s in kits().im_screws if s.item == first.item)
    kin = [s for s in kits().im_screws if (s.kit, s.length, s.thread_length) == (me.kit, me.length, me.thread_length)]
    assert len(kin) == 6
    for s in kin:
        shown = [c for c in screw.candidates if c.item == s.item]
        for c in shown:
            loose = c.response[0].loose
            assert at(picture("stiffness-diameter").curves[0], s.d_major) == pytest.approx(loose.stiffness_N_per_mm)


def altered(t: TradeOff, *scale: float) -> TradeOff:
    curves = tuple(replace(c, y=tuple(v * f for v in c.y)) for c, f in zip(t.curves, scale))
    return replace(t, curves=(*curves, *t.curves[len(scale) :]))


@pytest.mark.parametrize("name", NAMES)
def test_the_reading_is_made_from_the_curve_and_follows_it(name: str) -> None:
    t = picture(name)
    assert read(t) == t.reading
    assert read(altered(t, 3.0, 3.0)) != t.reading
    assert read(replace(t, reading="")) == t.reading


def hand(name: str, *curves: Curve, **rest: Any) -> str:
    """A reading of a curve made by hand, in the words of the picture of that name."""
    return read(replace(picture(name), curves=curves, **rest))


def test_readings_of_curves_made_by_hand() -> None:
    from fixplan.plan.types import Mark, Picked

    pick = (Picked("first choice", 5.0),)
    wall = Curve("wall left", (4.0, 5.0, 6.0), (2.0, 1.4, 0.8))
    least = (Mark("least wall", 1.1, None, "limit", "PROJECT"),)
    # 0.6 mm a millimetre; 1.1 lies half way between 1.4 at 5 and 0.8 at 6
    assert hand("wall-diameter", wall, picked=pick, marks=least) == (
        "From 4 to 6 mm each millimetre of diameter costs 0.6 mm of wall; 1.4 mm is left at 5 mm, and the least wall "
        "of 1.1 mm is reached at 5.5 mm."
    )
    capped = Curve("wall left", (4.0, 4.5, 5.0, 6.0), (1.2, 1.2, 1.0, 0.5))
    assert hand("wall-diameter", capped, picked=(), marks=()) == (
        "Up to 4.5 mm the wall is the bone's own, 1.2 mm; from 5 to 6 mm each millimetre of diameter costs 0.5 mm."
    )
    assert "From 4 to 6 mm the wall is the bone's own, 1.2 mm" in hand(
        "wall-diameter", replace(wall, y=(1.2, 1.2, 1.2)), picked=pick, marks=()
    )
    up = replace(wall, y=(1.0, 1.2, 1.4))
    assert hand("wall-diameter", up, picked=pick, marks=()).startswith(
        "From 4 to 6 mm each millimetre of diameter adds 0.2 mm"
    )
    loose, bonded = Curve("loose end", (4.0, 6.0), (10.0, 30.0)), Curve("bonded end", (4.0, 6.0), (50.0, 90.0))
    tick = (Mark("a test", 40.0, None, "published", "PROJECT"),)
    said = hand("stiffness-diameter", loose, bonded, picked=pick, marks=tick)
    assert "rises from 10 to 30 N/mm at the loose end; it rises from 50 to 90 N/mm at the bonded end" in said
    assert "within the bracket at 5 mm" in said  # 20 to 70 at 5 mm
    assert "below the bracket" in hand(
        "stiffness-diameter", loose, bonded, picked=pick, marks=(replace(tick[0], at=15.0),)
    )
    limit = (Mark("least yield", 100.0, None, "limit", "PROJECT"),)
    falling = Curve("loose end", (4.0, 6.0), (150.0, 50.0))
    assert "passes the least yield of 100 MPa at about 5.0 mm" in hand("stress-diameter", falling, marks=limit)
    high = replace(falling, y=(250.0, 150.0))
    assert "above the least yield of 100 MPa at every size" in hand("stress-diameter", high, marks=limit)
    low, tip = Curve("run-out", (40.0, 42.0, 44.0), (-1.0, 1.0, 3.0)), Curve("tip", (40.0, 42.0, 44.0), (4.0, 2.0, 0.0))
    assert hand("length-margins", low, tip, picked=(Picked("x", 42.0),)) == (
        "Both margins are met by 42 to 44 mm; at 42 mm the smaller is 1.0 mm (run-out), and from 40 to 44 mm each "
        "millimetre of length moves 1.0 mm from the tip's margin to the other."
    )
    none = replace(tip, y=(-1.0, -2.0, -3.0))
    assert hand("length-margins", low, none, picked=()).startswith("No length meets both margins")
    strain = Curve("loose end", (6.0, 12.0, 24.0), (0.01, 0.02, 0.05))
    assert hand("strain-working-length", strain, picked=(Picked("x", 24.0),)) == (
        "Halving the working length from 24.0 to 12.0 mm takes the gap strain from 5.0 to 2.0 % at the loose end."
    )
    assert "cannot be halved" in hand("strain-working-length", strain, picked=(Picked("x", 10.0),))


def test_a_trend_says_over_which_range_it_holds() -> None:
    """Not even, not one way, not over the range of the others: each is said."""
    bent = Curve("wall left", (4.0, 5.0, 6.0), (2.0, 1.8, 0.8))
    assert "From 4 to 6 mm each millimetre of diameter costs on average 0.6 mm" in hand(
        "wall-diameter", bent, picked=(), marks=()
    )
    last = Curve("wall left", (4.0, 4.5, 5.0), (1.2, 1.2, 1.0))
    assert hand("wall-diameter", last, picked=(), marks=()) == (
        "Up to 4.5 mm the wall is the bone's own, 1.2 mm; at 5 mm it is 1.0 mm."
    )
    hill = Curve("loose end", (4.0, 5.0, 6.0), (10.0, 50.0, 30.0))
    short = Curve("bonded end", (4.0, 5.0), (50.0, 90.0))
    said = hand("stiffness-diameter", hill, short, picked=(), marks=())
    assert "goes from 10 by way of 50 at 5 mm to 30 N/mm at the loose end" in said
    assert "rises from 50 to 90 N/mm at the bonded end from 4 to 5 mm" in said
    for name in NAMES:
        t = picture(name)
        assert re.search(r"rom [0-9.]+ to [0-9.]+ mm|Up to|cannot be halved|Both margins are met", t.reading), t.reading


def test_pictures_and_questions_name_the_load_case_of_their_numbers() -> None:
    """The hardest of protected walking for stress, the one that strains the gap most for strain."""
    for name, wanted in (
        ("stress-diameter", "the hardest on the size chosen"),
        ("strain-working-length", "strains the gap most"),
    ):
        how = picture(name).how
        assert how.startswith("Load case: ")
        assert "protected" in how
        assert wanted in how
    assert "force from plantar" in picture("stiffness-diameter").y_label
    whole = make_plan(parse_case(LEAST, "test", quick=True), kits(), DAY)
    for q in whole.questions:
        for line in q.answer:
            if "peak stress" in line.lower() or ("stiffness " in line and "N/mm" in line):
                assert re.search(r"\((force|four-point)", line), line
    half = next(q for q in whole.questions if q.name == "half")
    assert any(line.startswith("Load case: force at the head from lateral") for line in half.answer)


def test_crossing_and_two_digits() -> None:
    assert crossing(Curve("", (0.0, 1.0), (2.0, 1.0)), 1.0) == 1.0
    assert crossing(Curve("", (0.0, 1.0), (2.0, 1.0)), 2.0) == 0.0
    assert crossing(Curve("", (0.0, 1.0), (2.0, 1.0)), 0.5) is None
    assert [two_digits(v) for v in (0.0, 0.0266, 9.96, 12.34, 123.4, -3.14)] == [
        "0",
        "0.027",
        "10",
        "12",
        "120",
        "-3.1",
    ]


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_has_title_description_and_a_table_with_every_point(name: str) -> None:
    t = picture(name)
    svg = str(dict(zip(NAMES, (s for _, s in charts_of(plan().tradeoffs))))[name])
    title = re.search(r"<title[^>]*>(.*?)</title>", svg)
    description = re.search(r"<desc[^>]*>(.*?)</desc>", svg)
    assert title
    assert description
    assert title.group(1) == t.title
    assert t.reading[:30].replace("'", "&#39;") in description.group(1)
    assert svg.count("<polyline") == len(t.curves)
    assert 'class="picked"' in svg
    rows = table_rows(t)
    assert sum(y is not None for _, ys in rows for y in ys) == sum(len(c.x) for c in t.curves)
    assert [x for x, _ in rows] == sorted({x for c in t.curves for x in c.x})
    # curves are told apart by dash and dot, not by colour
    assert len({f"curve-{k}" for k in range(len(t.curves)) if f"curve-{k}" in svg}) == len(t.curves)


def test_published_tests_are_ticks_and_their_values_are_as_printed() -> None:
    """HUS02: 9 and 19 N/mm; WILL20: 24.2 and 24.7 N/mm (as printed in the abstracts)."""
    t = picture("stiffness-diameter")
    assert sorted((m.at, m.source) for m in t.marks) == [
        (9.0, "HUS02"), (9.0, "HUS02"), (19.0, "HUS02"), (24.2, "WILL20"), (24.7, "WILL20"),
    ]  # fmt: skip
    assert all(m.kind == "published" for m in in_range(t))


def test_what_bench_tests_deny_is_said_under_the_picture() -> None:
    assert "bench tests did not show that a larger diameter is stiffer" in picture("stiffness-diameter").reading
    # HOR04 is a torsion test: it says nothing of a picture of bending
    assert {e.source for e in picture("stiffness-diameter").evidence} == {"KEL01"}
    assert {"SHA01"} <= {e.source for e in picture("stress-diameter").evidence}


@pytest.mark.parametrize("name", sorted(p.stem for p in resource_dir("demo_cases").glob("*.toml")))
def test_every_demo_case_draws_what_it_can(name: str) -> None:
    made = make_plan(
        read_case(resource_dir("demo_cases") / f"{name}.toml"), kits(), DAY, worksheet=False, pictures=True
    )
    for t, svg in charts_of(made.tradeoffs):
        assert t.reading.endswith(".")
        assert "nan" not in svg
        assert "nan" not in t.reading
    if made.screw is not None and made.screw.first_choice is not None:
        assert {"stiffness-diameter", "wall-diameter", "length-margins"} <= {t.name for t in made.tradeoffs}


def test_the_table_holds_points_that_only_one_curve_has() -> None:
    t = picture("wall-diameter")
    two = replace(t, curves=(Curve("a", (4.0, 5.0), (1.0, 2.0)), Curve("b", (5.0, 6.0), (3.0, 4.0))))
    assert table_rows(two) == [(4.0, [1.0, None]), (5.0, [2.0, 3.0]), (6.0, [None, 4.0])]


def test_a_limit_and_a_published_value_keep_their_digits() -> None:
    """795 MPa (F136) is not 800 beside a reading that says 795; 24.7 N/mm (WILL20) as printed."""
    least = {**LEAST, "case": {"label": "TEST-T", "side": "left"}}
    page = render_html(make_plan(parse_case(least, "test"), kits(), DAY))
    assert re.search(r"limit: least yield, Titanium[^<]* 795 MPa", page)
    assert re.search(r"published: [^<]* 24[.]7 ± 5[.]5 N/mm", page)
