"""The plan as a whole: origins, the answer against direct checks of all stock, draws, every demo case."""

from __future__ import annotations

import dataclasses
import datetime
import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from fixplan.case import parse_case, read_case
from fixplan.case.fields import fields
from fixplan.kits import KitSet, load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.types import Plan
from fixplan.problems import InputError
from fixplan.report.jsonio import SCHEMA_FILE, plan_document
from fixplan.resources import resource_dir
from fixplan.sources import all_sources, thresholds

DAY = datetime.date(2026, 11, 25)
DEMOS = sorted(p.stem for p in resource_dir("demo_cases").glob("*.toml"))
LEAST = {"bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}}, "fracture": {"zone": 2}}


@cache
def kits() -> KitSet:
    return load_kits()


@cache
def demo(name: str, draws: int = 0) -> Plan:
    return make_plan(read_case(resource_dir("demo_cases") / f"{name}.toml"), kits(), DAY, draws=draws)


def plan_of(table: dict[str, Any], **options: Any) -> Plan:
    return make_plan(parse_case(table, "test", Path(), quick=True), kits(), DAY, worksheet=False, **options)


def leaves(value: Any, path: str = "") -> Any:
    """(path, number) of every number below a JSON value; list items are written '*'."""
    if isinstance(value, dict):
        for k, v in value.items():
            yield from leaves(v, f"{path}/{k}")
    elif isinstance(value, list):
        for v in value:
            yield from leaves(v, f"{path}/*")
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path, value


def texts(value: Any, key: str = "") -> Any:
    if isinstance(value, dict):
        for k, v in value.items():
            yield from texts(v, k)
    elif isinstance(value, list):
        for v in value:
            yield from texts(v, key)
    elif isinstance(value, str):
        yield key, value


@pytest.mark.parametrize("name", DEMOS)
def test_every_number_in_the_document_has_an_origin(name: str) -> None:
    document = json.loads(json.dumps(plan_document(demo(name))))
    known = document.pop("origins")
    patterns = [re.compile(p.replace("*", "[^/]+") + r"(/\*)?") for p in known]
    for path, number in leaves(document):
        assert any(p.fullmatch(path) for p in patterns), f"{path} = {number} has no origin"
    for path, origin in known.items():
        assert origin["origin"] in ("measured", "derived", "assumed", "threshold", "kit", "record"), path
        assert origin["text"], path
        assert origin["unit"], path


@pytest.mark.parametrize("name", DEMOS)
def test_every_source_named_is_a_source_a_key_or_an_item(name: str) -> None:
    document = plan_document(demo(name))
    listed = {s["id"] for s in document["sources"]}
    sources = all_sources()
    # a key of the case file, or a value that the document itself lists
    keys = set(fields()) | {t["name"] for t in document["thresholds"]} | {g["name"] for g in document["given"]}
    for key, text in texts({k: v for k, v in document.items() if k not in ("origins", "sources")}):
        if key != "source":
            continue
        for part in text.split(","):
            word = part.strip()
            is_key = re.fullmatch(r"[a-z_]+(\.[a-z_]+)+( / [a-z_]+(\.[a-z_]+)+)?", word)
            is_derived = re.fullmatch(r"[a-z_]+ / magnification_(ap|lateral)", word)
            if is_key:
                for one in word.split(" / "):
                    assert one in keys or one.startswith("plan.thresholds."), f"key {one!r}"
            assert word in sources or is_key or is_derived, f"source {word!r}"
            if word in sources:
                assert word in listed, f"{word} is named and not listed"


def test_the_least_input_lists_each_assumed_value_with_its_source() -> None:
    document = plan_document(demo("least-input"))
    assumed = {g["name"]: g for g in document["assumed"]}
    measured = {g["name"] for g in document["given"] if g["origin"] == "measured"}
    assert measured == {"length", "canal_ap"}
    for name, source in (
        ("ellipticity", "DES16"),
        ("from_base", "JON02"),
        ("straight_fraction_cautious", "DES16"),
        ("straight_fraction_permissive", "OCH15"),
        ("seat", "CUB22"),
        ("outer_ap", "ONEFOOT"),
        ("cortical_modulus", "RB75"),
        ("extent", "PROJECT"),
        ("gap", "PROJECT"),
        ("standoff", "PROJECT"),
    ):
        assert assumed[name]["source"] == source
    assert all(g["source"] for g in document["assumed"])


@pytest.mark.parametrize("name", DEMOS)
def test_the_document_follows_its_schema(name: str) -> None:
    schema = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    document = json.loads(json.dumps(plan_document(demo(name))))
    jsonschema.Draft202012Validator(schema).validate(document)


def test_the_document_with_draws_follows_its_schema() -> None:
    schema = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(json.loads(json.dumps(plan_document(demo("least-input", 300)))))


STRAIGHT = {
    "bone": {
        "ray": 5,
        "length": "72 mm",
        "straight_segment": "50 mm",
        "isthmus": {
            "at": "36 mm",
            "canal_ap": "4.5 mm",
            "canal_lateral": "5.5 mm",
            "outer_ap": "10.5 mm",
            "outer_lateral": "8.5 mm",
        },
    },
    "imaging": {"source": "ct"},
    "fracture": {"zone": 2, "from_base": "24 mm", "extent": "2 mm", "gap": "1 mm"},
    "plan": {
        "consider": ["screw"],
        "thresholds": {
            "run_out_margin": "1 mm",
            "purchase_min": "10 mm",
            "bite": "0.25 mm",
            "wall_min": "1.5 mm",
            "tip_clearance": "2 mm",
            "seat_depth": "8 mm",
            "diameter_min": "4 mm",
            "diameter_caution": "4.5 mm",
            "ream_max": "2 mm",
        },
    },
}


def test_windows_of_a_measured_case_by_hand() -> None:
    """All thresholds given, so each window is the intersection of its limits.

    Diameter: corridor 4.5 (the narrower plane), bite to 5.0; wall 8.5 - 2 x 1.5 = 5.5; widening 4.5 + 2 = 6.5; so 5.0
    to 5.5. Length with 16 mm thread: 24 + 1 + 1 + 16 - 8 = 34 to 50 - 2 - 8 = 40; threaded all along from 24 + 1 + 10
    - 8 = 27.
    """
    screw = plan_of(STRAIGHT).screw
    assert screw is not None
    w = screw.diameter_window
    assert (w.lo_mm, w.hi_mm, w.lo_by, w.hi_by, w.empty) == (5.0, 5.5, "bite", "wall", False)
    by_thread = {w.thread: (w.lo_mm, w.hi_mm, w.hi_permissive_mm, w.empty) for w in screw.length_windows}
    assert by_thread["16 mm"] == (34.0, 40.0, None, False)
    assert by_thread["22 mm"] == (40.0, 40.0, None, False)
    assert by_thread["full-length"] == (27.0, 40.0, None, False)
    first = next(c for c in screw.candidates if c.item == screw.first_choice)
    # 5.5 is the larger of the two diameters inside, 37 sits in the middle of 34 to 40: 36 or 38 leave 2 mm
    assert first.diameter_mm == 5.5
    assert first.thread_mm == 16.0
    assert first.verdict == "pass"
    assert first.wall_left_mm == pytest.approx(1.5)
    assert min(first.margin_run_out_mm, first.margin_tip_mm) >= 2.0


def test_the_shown_sizes_are_those_that_direct_checks_of_all_stock_leave() -> None:
    """Every stock size against every rule, in plain arithmetic on the hand-worked bone above."""
    screw = plan_of(STRAIGHT).screw
    assert screw is not None
    expected = {}
    for s in kits().im_screws:
        thread = s.length if s.thread_length is None else s.thread_length
        tip, first = 8 + s.length, 8 + s.length - thread
        ok = tip <= 48 and 5.0 <= s.d_major <= 5.5 and s.d_major - 4.5 <= 2.0 and s.d_core <= s.drill
        ok = ok and (tip >= 35 if s.thread_length is None else first >= 26)
        if ok:
            expected[s.item] = "caution" if s.thread_length is None else "pass"
    shown = {c.item: c.verdict for c in screw.candidates if c.verdict != "fail"}
    assert shown == expected
    assert len(expected) > 10
    assert screw.considered == len(kits().im_screws)


def test_one_up_and_one_down_are_the_next_diameters_of_the_same_kit() -> None:
    screw = plan_of(STRAIGHT).screw
    assert screw is not None
    by_item = {c.item: c for c in screw.candidates}
    first = by_item[screw.first_choice or ""]
    for item, step in ((screw.one_up, 1), (screw.one_down, -1)):
        other = by_item[item or ""]
        sizes = sorted({s.d_major for s in kits().im_screws if s.kit == first.kit})
        assert other.kit == first.kit
        assert other.diameter_mm == sizes[sizes.index(first.diameter_mm) + step]
    for item, sign in ((screw.one_longer, 1), (screw.one_shorter, -1)):
        other = by_item[item or ""]
        assert (other.diameter_mm, other.thread_mm) == (first.diameter_mm, first.thread_mm)
        assert (other.length_mm - first.length_mm) * sign > 0


def changed(**sections: Any) -> dict[str, Any]:
    table = json.loads(json.dumps(STRAIGHT))
    for name, values in sections.items():
        table.setdefault(name, {}).update(values)
    return table


def test_an_empty_length_window_says_what_clashes_and_what_would_open_it() -> None:
    """Fracture at 34 mm: 34 + 1 + 1 + 16 - 8 = 44 against 40: short by 4, so a 12 mm thread would do."""
    table = changed(fracture={"zone": 3, "from_base": "34 mm"})
    screw = plan_of(table).screw
    assert screw is not None
    window = next(w for w in screw.length_windows if w.thread == "16 mm")
    assert window.empty
    assert "4.0 mm short" in window.opens
    assert "12.0 mm or less" in window.opens
    assert "plate" in window.opens


def test_an_empty_diameter_window_names_both_limits() -> None:
    table = changed()
    table["bone"]["isthmus"].update(canal_ap="5.5 mm", canal_lateral="5.5 mm")
    screw = plan_of(table).screw
    assert screw is not None
    assert screw.diameter_window.empty  # bites from 6.0, wall allows 5.5
    assert "6.0 mm" in screw.diameter_window.opens
    assert "5.5 mm" in screw.diameter_window.opens
    assert screw.first_choice is None
    assert screw.answer.startswith("No stock size")


def test_a_marker_takes_the_magnification_out_of_every_length_of_the_film() -> None:
    """Seen 28 for 25 mm: 1.12. Lengths read 12 % long give the same plan as the true ones."""
    table = changed(imaging={"source": "radiograph", "marker_true": "25 mm", "marker_seen": "28 mm"})
    bone = table["bone"]
    for where, keys in ((bone, ("length", "straight_segment")), (table["fracture"], ("from_base", "extent", "gap"))):
        for k in keys:
            where[k] = f"{float(where[k].split()[0]) * 1.12:.6f} mm"
    for k, v in bone["isthmus"].items():
        bone["isthmus"][k] = f"{float(v.split()[0]) * 1.12:.6f} mm"
    one, two = plan_of(STRAIGHT).screw, plan_of(table).screw
    assert one is not None
    assert two is not None
    assert one.first_choice == two.first_choice
    assert two.diameter_window.lo_mm == pytest.approx(one.diameter_window.lo_mm, abs=1e-5)
    assert two.length_windows[0].hi_mm == pytest.approx(one.length_windows[0].hi_mm, abs=1e-5)


def test_revision_takes_the_old_hole_as_the_canal() -> None:
    """A 5.0 mm hole in a 4.5 mm canal: bites from 5.0 + 0.5 = 5.5; before, from 5.0."""
    before = plan_of(STRAIGHT).screw
    after = plan_of(changed(previous={"screw_diameter": "5.0 mm", "state": "removed"})).screw
    assert before is not None
    assert after is not None
    assert (before.diameter_window.lo_mm, after.diameter_window.lo_mm) == (5.0, 5.5)


@pytest.mark.parametrize(
    ("table", "where"),
    [
        ({"bone": {"ray": 5, "length": "71 mm"}, "fracture": {"zone": 2}}, "bone.isthmus"),
        (
            {"bone": {"ray": 2, "length": "73 mm", "isthmus": {"canal": "4 mm"}}, "fracture": {"zone": "base"}},
            "from_base",
        ),
        (
            {
                "bone": {"ray": 4, "length": "68 mm", "isthmus": {"canal": "4 mm"}},
                "fracture": {"zone": "shaft", "from_base": "30 mm"},
                "plan": {"consider": ["screw"]},
            },
            "bone.straight_segment",
        ),
    ],
)
def test_what_nobody_publishes_is_asked_for(table: dict[str, Any], where: str) -> None:
    with pytest.raises(InputError, match=re.escape(where)):
        plan_of(table)


def test_what_cannot_be_sized_is_left_out_and_said() -> None:
    table = {
        "bone": {"ray": 4, "length": "68 mm", "isthmus": {"canal": "4 mm"}},
        "fracture": {"zone": "shaft", "from_base": "30 mm"},
    }
    plan = plan_of(table)
    assert plan.screw is None
    assert plan.plate is not None
    assert [f.label for f in plan.findings if f.rule == "left_out"] == ["screw not sized"] * 2


def test_scope_comes_before_sizes() -> None:
    assert demo("zone-1-avulsion").fit_for_planning.verdict == "outside scope"
    assert demo("third-shaft").fit_for_planning.verdict == "outside scope"
    assert demo("zone-2-runner").fit_for_planning.verdict == "plan"
    assert demo("second-base-nonunion").fit_for_planning.verdict == "plan"
    for name in DEMOS:
        assert all(r.source for r in demo(name).fit_for_planning.reasons)


def test_the_worked_sheet_gives_the_numbers_of_the_plan() -> None:
    plan = demo("least-input")
    assert plan.screw is not None
    first = next(c for c in plan.screw.candidates if c.item == plan.screw.first_choice)
    lines = {w.id: w.value for w in plan.worked}
    window = next(w for w in plan.screw.length_windows if w.thread == first.thread)
    assert lines["length-low"] == pytest.approx(window.lo_mm)
    assert lines["length-high"] == pytest.approx(window.hi_mm)
    # the assumed bone's own wall is thinner than what this screw leaves of its outer width: (7.77 - 6.063) / 2 at the
    # isthmus, thicker nearer the fracture; the page shows the thinner of the two
    assert first.wall_left_mm is not None
    assert first.wall_left_mm < lines["wall"]
    tip, isthmus = first.tip_mm, 0.574 * 71
    outer = 7.77 + (13.44 - 7.77) * (isthmus - min(tip, isthmus)) / (isthmus - 22)
    assert first.wall_left_mm == pytest.approx((outer - 4.7 * 1.29) / 2, abs=0.01)
    # what is worked is the hardest case of protected walking, as the finding judges it
    hard = min((r for r in first.response if r.activity == "protected"), key=lambda r: r.loose.yield_factor)
    assert lines["yield"] == pytest.approx(hard.loose.yield_factor)
    assert lines["moment"] == pytest.approx(hard.moment_N_mm)
    # in an open gap the screw alone carries the moment, the same all along between the rollers
    assert hard.load_case.startswith("four_point")
    assert hard.loose.critical_section == "first thread"
    assert lines["moment"] / lines["screw-Z-thread"] == pytest.approx(lines["stress"])
    assert lines["stress"] == pytest.approx(hard.loose.peak_stress_MPa)


def test_the_bracket_has_its_ends_the_right_way_round() -> None:
    for name in DEMOS:
        plan = demo(name)
        for part in (plan.screw, plan.plate):
            for c in part.candidates if part else ():
                for r in c.response:
                    assert r.loose.stiffness_N_per_mm <= r.bonded.stiffness_N_per_mm * (1 + 1e-9)


def test_what_would_change_the_answer_does_change_it() -> None:
    """Each change named is put into the case as a measured value a little beyond the turning point."""
    plan = plan_of(STRAIGHT)
    assert plan.screw is not None
    keys = {"from_base": ("fracture", "from_base"), "straight": ("bone", "straight_segment")}
    tried = 0
    for change in plan.changes:
        if change.name not in keys or change.at is None:
            continue
        section, key = keys[change.name]
        here = float(STRAIGHT[section][key].split()[0])
        beyond = change.at + (0.2 if change.at > here else -0.2)
        other = plan_of(changed(**{section: {key: f"{beyond:.3f} mm"}})).screw
        assert other is not None
        assert other.first_choice != plan.screw.first_choice
        tried += 1
    assert tried >= 1


def test_draws_are_seeded_and_carry_their_numbers() -> None:
    one, two = demo("least-input", 300), plan_of(LEAST, draws=300)
    assert one.draws is not None
    assert two.draws is not None
    assert one.draws.n == 300
    assert one.draws == two.draws
    assert plan_of(LEAST, draws=300, seed=1).draws != two.draws
    assert one.screw is not None
    first = next(c for c in one.screw.candidates if c.item == one.screw.first_choice)
    assert first.chance is not None
    assert 0 < first.chance.passes <= first.chance.no_fail <= 1
    for band in one.draws.bands:
        assert band.lo <= band.mid <= band.hi
    assert set(one.screw.have_in_room) >= {one.screw.first_choice}


def test_certain_inputs_leave_nothing_to_chance() -> None:
    """With every uncertainty at (nearly) nothing the draws say what the single plan says: all or none."""
    table = json.loads(json.dumps(STRAIGHT))
    for section in (table["bone"], table["bone"]["isthmus"], table["fracture"]):
        for k, v in section.items():
            if isinstance(v, str):
                section[k] = f"{v.removesuffix(' mm')} ± 0.000001 mm"
    table["fracture"]["from_base"] = "24.3 ± 0.000001 mm"
    single, drawn = plan_of(table), plan_of(table, draws=50)
    assert single.screw is not None
    assert drawn.screw is not None
    assert drawn.screw.first_choice == single.screw.first_choice
    for c in drawn.screw.candidates:
        assert c.chance is not None
        if any(m is not None and abs(m) < 1e-4 for m in (c.margin_wall_mm, c.margin_bite_mm)):
            continue  # exactly on a limit: half the draws fall on either side
        assert c.chance.no_fail == (0.0 if c.verdict == "fail" else 1.0), c.item


def test_thresholds_of_the_case_file_come_first_and_are_marked() -> None:
    plan = plan_of(STRAIGHT)
    given = {t.name: t for t in plan.thresholds}
    assert given["wall_min"].value == 1.5
    assert given["wall_min"].origin == "measured"
    assert "default 1 mm" in given["wall_min"].note
    assert set(given) == set(thresholds())


def test_plans_are_frozen() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        demo("least-input").format = "x"  # type: ignore[misc]
