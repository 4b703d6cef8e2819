"""The trainee's questions: made from the case, answered with numbers that other parts of the plan hold too."""

from __future__ import annotations

import datetime
import json
import re
from functools import cache
from typing import Any

import pytest

from fixplan.case import parse_case, read_case
from fixplan.kits import KitSet, load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.questions import _half
from fixplan.plan.readings import two_digits
from fixplan.plan.types import Curve, Picked, Plan, Question, TradeOff
from fixplan.report.html import render_html
from fixplan.resources import resource_dir
from fixplan.sources import all_sources

DAY = datetime.date(2026, 11, 25)

# Every limit of this case can be worked out by hand: a circular tube, every threshold given.
HAND: dict[str, Any] = {
    "case": {"label": "TEST-Q", "side": "left"},
    "bone": {
        "ray": 5,
        "length": "70 mm",
        "straight_segment": "52 mm",
        "isthmus": {
            "at": "35 mm", "canal_ap": "4.5 mm", "canal_lateral": "4.5 mm", "outer_ap": "9.0 mm",
            "outer_lateral": "9.0 mm",
        },
    },
    "imaging": {"source": "ct"},
    "fracture": {"zone": 2, "from_base": "24 mm", "extent": "2 mm", "gap": "1 mm"},
    "plan": {
        "kits": ["im-screws-cannulated-ti", "mini-plates-2.0"],
        "thresholds": {
            "bite": "0.25 mm", "wall_min": "1.0 mm", "diameter_min": "4.0 mm", "diameter_caution": "4.5 mm",
            "ream_max": "3.0 mm", "run_out_margin": "1 mm", "tip_clearance": "2 mm", "seat_depth": "6 mm",
        },
    },
}  # fmt: skip


@cache
def kits() -> KitSet:
    return load_kits()


def plan_of(**sections: Any) -> Plan:
    table = json.loads(json.dumps(HAND))
    for name, values in sections.items():
        table.setdefault(name, {}).update(values)
    return make_plan(parse_case(table, "test"), kits(), DAY)


@cache
def hand() -> Plan:
    return plan_of()


def asked(plan: Plan, name: str) -> Question:
    return next(q for q in plan.questions if q.name == name)


def first(plan: Plan) -> Any:
    assert plan.screw is not None
    return next(c for c in plan.screw.candidates if c.item == plan.screw.first_choice)


def test_the_questions_a_trainee_asks_are_all_there() -> None:
    assert [q.name for q in hand().questions] == [
        "length", "diameter", "next-size", "bore", "metal", "diameter-step", "yield-screw", "span", "half",
        "yield-plate",
    ]  # fmt: skip
    texts = " ".join(q.question for q in hand().questions)
    assert "What limits the length here?" in texts
    assert "Which input would move the answer to the next size?" in texts
    assert "What does halving the working length do to gap strain?" in texts


def test_what_limits_length_and_diameter_by_hand() -> None:
    """16 mm thread: 24 + 2/2 + 1 + 16 - 6 = 36.0 to 52 - 2 - 6 = 44.0; bite 4.5 + 0.5 = 5.0; wall 9.0 - 2.0 = 7.0."""
    length, diameter = asked(hand(), "length").answer, asked(hand(), "diameter").answer
    assert "36.0 mm" in length[0]
    assert "thread 16" in length[0]
    assert "44.0 mm" in length[1]
    margin = min(first(hand()).length_mm - 36.0, 44.0 - first(hand()).length_mm)
    assert f"{margin:.1f} mm to spare" in length[2]
    assert "5.0 mm" in diameter[0]
    assert "7.0 mm" in diameter[1]
    assert asked(hand(), "length").worked == ("length-low", "length-high", "margin-run-out", "margin-tip")


def test_the_answer_moves_with_the_case() -> None:
    shorter = plan_of(bone={"straight_segment": "48 mm"})
    assert "40.0 mm" in asked(shorter, "length").answer[1]
    assert asked(shorter, "length") != asked(hand(), "length")


def test_the_next_size_and_what_would_move_the_answer_are_those_of_the_plan() -> None:
    plan = hand()
    lines = asked(plan, "next-size").answer
    assert plan.screw is not None
    for word, item in (("One up", plan.screw.one_up), ("One down", plan.screw.one_down)):
        if item is None:
            continue
        c = next(c for c in plan.screw.candidates if c.item == item)
        assert any(line.startswith(f"{word}, {c.diameter_mm:.1f} x {c.length_mm:g} mm") for line in lines)
    for change in plan.changes:
        assert any(change.text.lower() == line.lower() for line in lines)


def test_solid_against_hollow_by_the_ring() -> None:
    """I of a ring (Gere, appendix): the bore takes (d_i/d)^4 of it."""
    plan = hand()
    me = next(s for s in kits().im_screws if s.item == first(plan).item)
    share = 100 * (me.d_cannula / me.d_bridge) ** 4
    line = asked(plan, "bore").answer[0]
    assert f"= {share:.1f} %" in line
    numbers = re.findall(r"stiffness ([0-9.]+) to ([0-9.]+) N/mm", asked(plan, "bore").answer[1])[0]
    assert float(numbers[0]) == pytest.approx(first(plan).response[0].loose.stiffness_N_per_mm, rel=0.05)
    assert float(numbers[1]) >= float(numbers[0])


def test_the_wider_screw_and_the_other_metal_are_those_of_the_kits() -> None:
    """F136 and 316L as the kit files state them; the ratio of the moduli is theirs."""
    plan = hand()
    answer = asked(plan, "metal").answer
    ratio = re.findall(r"ratio ([0-9]+[.][0-9]+)", answer[0])[0]
    steel = next(s.material for s in kits().im_screws if "steel" in s.material.name)
    titanium = next(s.material for s in kits().im_screws if "Titanium" in s.material.name)
    assert float(ratio) == pytest.approx(steel.E_MPa / titanium.E_MPa, abs=0.005)
    wider = asked(plan, "diameter-step").answer
    assert "KEL01" in wider[-1]
    assert "SHA01" in wider[-1]
    assert "HOR04" in wider[-1]
    assert plan.screw is not None
    beside = plan.screw.one_up or plan.screw.one_down
    if beside is not None:
        up = next(c for c in plan.screw.candidates if c.item == beside)
        if up.length_mm == first(plan).length_mm and up.response:
            loose = re.findall(r"stiffness [0-9.]+ to ([0-9.]+) N/mm", wider[1])[0]
            assert float(loose) == pytest.approx(up.response[0].loose.stiffness_N_per_mm, rel=0.05)


def test_the_moment_at_yield_of_a_compressed_fracture_is_not_factor_times_moment() -> None:
    """Beyond separation the stress grows as that of the section alone: M_y = M + (S_y - sigma) Z, by the sheet."""
    plan = plan_of(fracture={"compression": "60 N"})
    lines = {w.id: w.value for w in plan.worked}
    same = [r for r in first(plan).response if r.activity == first(plan).response[0].activity]
    hard = min(same, key=lambda r: r.loose.yield_factor)
    per_moment = lines["stress-alone"] / lines["moment-beyond"]
    strength = hard.loose.yield_factor * hard.loose.peak_stress_MPa
    moment = hard.moment_N_mm + (strength - hard.loose.peak_stress_MPa) / per_moment
    question = asked(plan, "yield-screw")
    assert f"reached at {two_digits(moment / 1000)} N m" in question.answer[0]
    assert "does not grow in proportion" in " ".join(question.answer)
    assert "separation" in question.worked
    opened = asked(hand(), "yield-screw")
    assert "does not grow in proportion" not in " ".join(opened.answer)
    callus = plan_of(fracture={"callus_modulus": "20 MPa"})
    r = min((r for r in first(callus).response if r.activity == "protected"), key=lambda r: r.loose.yield_factor)
    wanted = two_digits(r.loose.yield_factor * r.moment_N_mm / 1000)
    assert f"reached at {wanted} N m" in asked(callus, "yield-screw").answer[0]


def test_no_size_is_beyond_a_limit_by_nothing() -> None:
    for name in sorted(p.stem for p in resource_dir("demo_cases").glob("*.toml")):
        plan = make_plan(read_case(resource_dir("demo_cases") / f"{name}.toml"), kits(), DAY)
        for q in plan.questions:
            assert not re.search(r"by 0[.]0+ mm", " ".join(q.answer)), q
            # what is named below an answer is there
            assert set(q.worked) & {w.id for w in plan.worked}, q


def test_the_moment_at_yield_is_factor_times_moment() -> None:
    plan = hand()
    same = [r for r in first(plan).response if r.activity == first(plan).response[0].activity]
    hard = min(same, key=lambda r: r.loose.yield_factor)
    line = asked(plan, "yield-screw").answer[0]
    assert hard.label in line
    # the gap of this case is open: stress grows in proportion to the moment
    assert f"reached at {two_digits(hard.loose.yield_factor * hard.moment_N_mm / 1000)} N m" in line


def test_halving_the_working_length_is_the_reading_of_the_picture() -> None:
    plan = hand()
    picture = next(t for t in plan.tradeoffs if t.name == "strain-working-length")
    assert asked(plan, "half").answer[0] == picture.reading


@pytest.mark.parametrize("name", sorted(p.stem for p in resource_dir("demo_cases").glob("*.toml")))
def test_every_demo_case_asks_what_it_can_and_every_link_leads_somewhere(name: str) -> None:
    plan = make_plan(read_case(resource_dir("demo_cases") / f"{name}.toml"), kits(), DAY)
    page = render_html(plan)
    ids = set(re.findall(r'id="([^"]+)"', page))
    links = re.findall(r'href="#([^"]+)"', page)
    assert set(links) <= ids, sorted(set(links) - ids)
    for q in plan.questions:
        assert q.answer
        assert all("nan" not in line for line in q.answer)
        known = [x.strip() for x in q.source.split(",")]
        assert set(known) <= set(all_sources()), q
        assert f'id="question-{q.name}"' in page
    if plan.screw is not None or plan.plate is not None:
        assert plan.questions


def test_answers_are_hidden_until_asked_for_without_a_script() -> None:
    page = render_html(hand())
    assert "<script" not in page
    for q in hand().questions:
        assert f'<details class="question" id="question-{q.name}"><summary>' in page
    assert not re.search(r"<details[^>]*\bopen\b", page)


@pytest.mark.parametrize(
    ("half", "said"),
    [
        # 9.0 to 9.4 is 4 %, and printed it is another number; 1.0 to 1.04 is 4 % too, and printed it is none
        ((0.090, 0.094), "At the bonded end it goes from 9.4 to 9.0 %."),
        ((0.0100, 0.0104), "At the bonded end it stays at 1.0 %: there bone and plate move as one"),
    ],
)
def test_innermost_screws_hardly_matter_only_where_the_printed_numbers_are_one(
    half: tuple[float, float], said: str
) -> None:
    loose, bonded = Curve("loose end", (10.0, 20.0), (0.1, 0.2)), Curve("bonded end", (10.0, 20.0), half)
    t = TradeOff("strain-working-length", "", "", "mm", "", "1", (loose, bonded), (Picked("", 20.0),), (), "", "", ())
    asked = _half([t])
    assert asked is not None
    [line] = [x for x in asked.answer if "bonded end" in x]
    assert line.startswith(said)
    assert ("hardly matter" in line) == ("stays" in line)
