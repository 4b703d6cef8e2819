"""What a plan takes from the case file: true sizes by film, sources of spreads, keys of what was measured."""

from __future__ import annotations

import datetime
import json
import re
import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from fixplan.case import parse_case, read_case
from fixplan.kits import KitSet, load_kits
from fixplan.plan.frame import Reader
from fixplan.plan.make import make_plan
from fixplan.plan.resolve import resolve
from fixplan.report.html import render_html
from fixplan.report.jsonio import SCHEMA_FILE, plan_document
from fixplan.report.text import render_text
from fixplan.resources import resource_dir

DAY = datetime.date(2026, 11, 25)
# two films of their own scale: a 25 mm marker seen as 26 mm from the front and as 27 mm from the side
FILMS: dict[str, Any] = {
    "case": {"label": "TEST-I", "side": "right"},
    "bone": {"ray": 5, "length": "72.9 mm", "isthmus": {"at": "40.5 mm", "canal_ap": "5.2 mm"}},
    "imaging": {
        "source": "radiograph",
        "marker_true": "25 mm",
        "marker_seen_ap": "26 mm",
        "marker_seen_lateral": "27 mm",
    },
    "fracture": {"zone": 2, "from_base": "24.3 mm"},
}


@cache
def kits() -> KitSet:
    return load_kits()


def case(**more: dict[str, Any]) -> Any:
    table = json.loads(json.dumps(FILMS))
    for name, values in more.items():
        table.setdefault(name, {}).update(values)
    return parse_case(table, "test", Path(), quick=True)


def document(**more: dict[str, Any]) -> dict[str, Any]:
    return plan_document(make_plan(case(**more), kits(), DAY, worksheet=False))


@pytest.mark.parametrize(
    ("name", "true"),
    [
        # read length times marker over marker seen, by hand
        ("length", 72.9 * 25 / 27),
        ("isthmus_at", 40.5 * 25 / 27),
        ("from_base", 24.3 * 25 / 27),
        ("canal_ap", 5.2 * 25 / 26),
    ],
)
def test_a_length_is_divided_by_the_scale_of_its_own_film_wherever_it_is_used(name: str, true: float) -> None:
    """Similar triangles; the value printed and the value computed with are the same."""
    given = {g["name"]: g for g in document()["given"]}
    assert given[f"{name}_true"]["value"] == pytest.approx(true, rel=1e-12)
    assert float(Reader(resolve(case())).true(name)) == pytest.approx(true, rel=1e-12)


def test_outer_widths_assumed_are_those_of_the_bone_true_to_size() -> None:
    """A bone read on two magnified films has the assumed widths of the same bone read without magnification."""
    flat = case(
        bone={"length": "67.5 mm", "isthmus": {"at": "37.5 mm", "canal_ap": "5 mm"}},
        fracture={"from_base": "22.5 mm"},
        imaging={"marker_seen_ap": "25 mm", "marker_seen_lateral": "25 mm"},
    )
    for name in ("outer_ap", "outer_lateral", "fracture_outer_ap", "fracture_outer_lateral"):
        assert resolve(case()).parameters[name].value == resolve(flat).parameters[name].value


def test_a_spread_of_another_source_than_the_mean_is_named() -> None:
    """RB75 gives the mean of the modulus; the spread is of another series, known from memory alone."""
    found = document()
    for table in ("given", "thresholds"):
        row = next(g for g in found[table] if g["name"] == "cortical_modulus")
        assert (row["source"], row["sd_source"]) == ("RB75", "MEMORY")
    assert {"RB75", "MEMORY"} <= {s["id"] for s in found["sources"]}
    page = render_html(make_plan(case(), kits(), DAY, worksheet=False))
    assert page.count('± <a class="ref" href="#src-MEMORY">[MEMORY]</a>') == 2
    own = document(plan={"thresholds": {"cortical_modulus": "15000 MPa"}})
    row = next(g for g in own["given"] if g["name"] == "cortical_modulus")
    assert (row["source"], row["sd_source"]) == ("plan.thresholds.cortical_modulus", "")


def test_a_threshold_set_in_the_case_file_is_printed_with_all_its_digits() -> None:
    own = {"bite": "0.35 mm", "run_out_margin": "1.25 mm", "wall_min": "1.15 mm", "standoff_max": "2.05 mm"}
    plan = make_plan(case(plan={"thresholds": own}), kits(), DAY, worksheet=False)
    page = " ".join(render_html(plan).split())
    for text in own.values():
        assert f'<td class="num">{text}</td>' in page
    for how in ("+ 2 x bite 0.35", "+ run-out 1.25 +", "- 2 x wall 1.15", "(at most 2.05 mm)"):
        assert how in page


@pytest.mark.parametrize(("day", "found"), [("2026-11-24", True), ("2026-11-25", False), ("2026-12-03", False)])
def test_a_day_of_surgery_before_the_day_of_the_plan_is_a_finding(day: str, found: bool) -> None:
    plan = make_plan(case(case={"planned_for": datetime.date.fromisoformat(day)}), kits(), DAY, worksheet=False)
    dated = [f for f in plan.findings if f.rule == "planned_for"]
    assert bool(dated) == found
    page, text = " ".join(render_html(plan).split()), " ".join(render_text(plan).split())
    for shown in (page, text):
        assert (f"The day planned for, {day}, lies before the day of this plan, 2026-11-25." in shown) == found
    assert [f.verdict for f in dated] == ["caution"] * found


@pytest.mark.parametrize("name", ["zone-2-runner", "zone-2-stations", "second-base-nonunion", "revision"])
def test_every_length_and_load_of_the_case_file_is_shown_as_measured_with_its_key(name: str) -> None:
    path = resource_dir("demo_cases") / f"{name}.toml"
    plan = make_plan(read_case(path), kits(), DAY, worksheet=False)
    keys = set()

    def walk(table: dict[str, Any], at: str) -> None:
        for key, value in table.items():
            if isinstance(value, dict):
                walk(value, f"{at}{key}.")
            elif isinstance(value, str) and re.match(r"[0-9.]+ ", value) and not f"{at}{key}".startswith("patient."):
                keys.add(f"{at}{key}")

    walk(tomllib.loads(path.read_text("utf-8")), "")
    assert len(keys) >= 6
    shown = [*plan.given, *(t for t in plan.thresholds if t.origin == "measured")]
    told = {key for g in shown if g.origin != "assumed" for key in g.source.split(" / ")}
    assert keys - told == set()
    page = render_html(plan)
    for g in shown:
        if g.origin == "measured":
            assert f"[{g.source}]" in page


def test_a_seat_set_in_the_case_file_is_measured_not_assumed() -> None:
    """The seat of the screw: as given, with its key, in the values, the thresholds and the drawing."""
    plan = make_plan(case(plan={"thresholds": {"seat_depth": "6.5 ± 0.5 mm"}}), kits(), DAY, worksheet=False)
    for rows, name in ((plan.given, "seat"), (plan.thresholds, "seat_depth")):
        row = next(g for g in rows if g.name == name)
        assert (row.value, row.sd, row.origin, row.source) == (6.5, 0.5, "measured", "plan.thresholds.seat_depth")
    assert plan.bone.seat_mm == 6.5
    document = plan_document(plan)
    assert "seat" not in {g["name"] for g in document["assumed"]}
    first = " ".join(render_html(plan).split())
    assert "Seat of the head below the proximal end <b>" not in first  # the list of what was assumed


@pytest.mark.parametrize(("canal", "words"), [("6.6 ± 1.2 mm", "narrower"), ("5 mm", "wider")])
def test_a_screw_is_wider_or_narrower_than_its_corridor_never_negatively_wider(canal: str, words: str) -> None:
    wide = {"canal_ap": canal, "canal_lateral": canal, "outer_ap": "11 mm", "outer_lateral": "11 mm"}
    table = json.loads(json.dumps(FILMS)) | {"imaging": {"source": "ct"}}
    table["bone"] |= {"isthmus": wide, "straight_segment": "52 mm"}
    plan = make_plan(parse_case(table, "test", Path(), quick=True), kits(), DAY, worksheet=False)
    assert plan.screw is not None
    first = next(c for c in plan.screw.candidates if c.item == plan.screw.first_choice)
    assert first.corridor_mm is not None
    off = first.diameter_mm - first.corridor_mm
    assert (off < 0) == (words == "narrower")
    assert f" {abs(off):.1f} mm {words} than the straight corridor" in plan.screw.answer


def test_the_document_of_a_quick_answer_follows_the_schema() -> None:
    """Without a case file no side is said: the schema knows that word too."""
    table = {"bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}}, "fracture": {"zone": 2}}
    made = plan_document(make_plan(parse_case(table, "command line", quick=True), kits(), DAY, worksheet=False))
    assert made["case"]["side"] == "not said"
    jsonschema.validate(json.loads(json.dumps(made)), json.loads(SCHEMA_FILE.read_text("utf-8")))
