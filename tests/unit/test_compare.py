"""Compare: two separate plans number for number, words that name constructs, readings and bench evidence."""

from __future__ import annotations

import datetime
import html
import json
import math
import re
from dataclasses import replace
from functools import cache
from inspect import signature
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from fixplan.case import parse_case, read_case
from fixplan.case.model import Case
from fixplan.cli import compare_command, plan_command
from fixplan.cli_options import DRAWS
from fixplan.cli_stock import stock_command
from fixplan.commands import compare_constructs
from fixplan.declare import to_plain
from fixplan.kits import KitSet, load_kits
from fixplan.plan.compare import compare
from fixplan.plan.compare_bench import SPAN, TESTS, BenchTest, alike, verdict_of
from fixplan.plan.compare_types import Comparison
from fixplan.plan.make import make_plan
from fixplan.plan.types import Plan
from fixplan.problems import InputError
from fixplan.report.compare_html import render_compare_html, value_text
from fixplan.report.compare_text import render_compare_text
from fixplan.report.jsonio import COMPARE_SCHEMA_FILE, compare_schema, render_compare_json, schema_text
from fixplan.resources import resource_dir
from fixplan.sources import all_sources

DAY = datetime.date(2026, 11, 25)
LEAST: dict[str, Any] = {
    "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
    "fracture": {"zone": 2},
}
OFFSHELF = "S45S-ST-40-T16"


@cache
def kits() -> KitSet:
    return load_kits()


def least(**sections: Any) -> Case:
    table = json.loads(json.dumps(LEAST))
    for name, values in sections.items():
        table.setdefault(name, {}).update(values)
    return parse_case(table, "test", quick=True)


@cache
def compared(*words: str) -> Comparison:
    return compare(least(), kits(), DAY, words)


def row(c: Comparison, name: str) -> Any:
    return next(r for r in c.rows if r.name == name)


def same(a: Any, b: Any) -> bool:
    """Whether two results agree word for word and number for number, but for the order of a floating-point sum."""
    a, b = (v if isinstance(v, dict | list | float | int | str) else to_plain(v) for v in (a, b))
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(same(a[k], b[k]) for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, float) and isinstance(b, float):
        return math.isclose(a, b, rel_tol=1e-12, abs_tol=1e-15)
    return bool(a == b)


def both(r: Any, quantity: str) -> tuple[float, float]:
    return getattr(r.loose, quantity), getattr(r.bonded, quantity)


def least_of(responses: Any, quantity: str, activity: str, sign: int = 1) -> Any:
    """The load case of an activity with the least (sign 1) or most (-1) of a quantity at the loose end."""
    same = [r for r in responses if r.activity == activity]
    return sorted(same, key=lambda r: sign * getattr(r.loose, quantity))[0]


def test_compare_equals_two_separate_plans_number_for_number() -> None:
    """The screw, the plate, and the same screw with the gap closed: each cell is the number of a plan of its own."""
    c = compared("screw", "plate", "screw gap=closed:60N")
    open_plan = make_plan(least(), kits(), DAY, worksheet=False)
    closed_plan = make_plan(least(fracture={"compression": "60 N"}), kits(), DAY, worksheet=False)
    assert open_plan.screw is not None
    assert open_plan.plate is not None
    assert closed_plan.screw is not None
    alone = [
        next(x for x in open_plan.screw.candidates if x.item == open_plan.screw.first_choice),
        next(x for x in open_plan.plate.candidates if x.item == open_plan.plate.first_choice),
        next(x for x in closed_plan.screw.candidates if x.item == open_plan.screw.first_choice),
    ]
    assert same([k.screw or k.plate for k in c.constructs], alone)
    weakest, wide = "yield_factor", "gap_opening_mm"

    def strained(rows: Any) -> Any:
        """A gap that closes is strained too: a plate beside it may close the far side more than any case opens it."""
        return max((r for r in rows if r.activity == "protected"), key=lambda r: r.loose.gap_strain or 0.0)

    values = {
        "stiffness-0": lambda r: both(r[0], "stiffness_N_per_mm"),
        "stiffness-1": lambda r: both(r[1], "stiffness_N_per_mm"),
        "stress": lambda r: both(least_of(r, weakest, "protected"), "peak_stress_MPa"),
        "yield": lambda r: both(least_of(r, weakest, "protected"), weakest),
        "gap-strain": lambda r: both(strained(r), "gap_strain"),
        "gap-opening": lambda r: both(least_of(r, wide, "protected", -1), wide),
    }
    for name, value in values.items():
        assert same([(x.low, x.high) for x in row(c, name).cells], [value(a.response) for a in alone]), name
    assert row(c, "wall").cells[0].low == alone[0].wall_left_mm
    assert row(c, "working-length").cells[1].low == alone[1].working_length_mm
    for cell, held in zip(row(c, "trolley").cells, alone):
        assert all(tool in cell.text for tool in held.instruments)


@pytest.mark.parametrize("name", ["zone-2-runner", "revision", "second-base-nonunion"])
def test_compare_of_a_demo_case_is_its_plan(name: str) -> None:
    case = read_case(resource_dir("demo_cases") / f"{name}.toml")
    plan = make_plan(case, kits(), DAY, worksheet=False)
    part = plan.screw if plan.screw is not None and plan.screw.first_choice else plan.plate
    assert part is not None
    items = [c.item for c in part.candidates[:2]]
    c = compare(case, kits(), DAY, items)
    assert same([k.screw or k.plate for k in c.constructs], list(part.candidates[:2]))


PAIRS = {
    "zone-2-runner": ("screw", "plate"),
    "revision": ("screw", "plate"),
    "least-input": ("screw", "plate"),
    "second-base-nonunion": ("plate", "plate shorter"),
}


@cache
def demo_pair(name: str) -> tuple[Plan, Comparison]:
    case = read_case(resource_dir("demo_cases") / f"{name}.toml")
    return make_plan(case, kits(), DAY, worksheet=False), compare(case, kits(), DAY, PAIRS[name])


def flat(text: str) -> str:
    """The words of a page or a terminal text, with no break inside a hyphenated one."""
    return re.sub(r"(?<=\w)- (?=\w)", "-", " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split()))


@pytest.mark.parametrize("name", PAIRS)
def test_each_construct_carries_the_cautions_of_its_plan(name: str) -> None:
    """A first choice compared has every finding that its plan does not let pass, in words, table, page and terminal."""
    plan, c = demo_pair(name)
    checked = 0
    for k in c.constructs:
        part = plan.screw if k.kind == "screw" else plan.plate
        assert part is not None
        if k.item != part.first_choice:
            continue
        own = next(x for x in part.candidates if x.item == k.item)
        of_screw = ("stiffness_published", "purchase_wanted", "revision_diameter")
        on_it = [
            f for f in plan.findings if f.label.startswith(f"{k.kind}:") or (f.rule in of_screw and k.kind == "screw")
        ]
        wanted = {(f.rule, f.why) for f in (*own.findings, *on_it) if f.verdict != "pass"}
        assert {(f.rule, f.why) for f in k.cautions} == wanted
        assert k.under_load == part.under_load
        checked += 1
        fit = row(c, "fit").cells["ABCD".index(k.letter)].text
        page, text = flat(render_compare_html(c)), flat(render_compare_text(c))
        for f in k.cautions:
            assert f.why in fit
            assert f.why in page
            assert f"{k.letter}" in text
            assert f.why in text
        for shown in (page, text):
            assert k.under_load in shown
            if k.cautions:
                words = "with cautions" if k.verdict == "pass" else "not met"
                rules = ", ".join(f.label.removeprefix(f"{k.kind}: ") for f in k.cautions)
                assert f"{words}: {rules}" in shown
    assert checked
    assert sum(bool(k.cautions) for k in c.constructs)


@pytest.mark.parametrize(("name", "draws_decide"), [("zone-2-stations", True), ("zone-2-runner", False)])
def test_screw_stands_for_the_first_choice_of_the_plan_with_the_same_draws(name: str, draws_decide: bool) -> None:
    case, n = read_case(resource_dir("demo_cases") / f"{name}.toml"), 200
    plan = make_plan(case, kits(), DAY, draws=n, seed=3, worksheet=False)
    c = compare(case, kits(), DAY, ["screw", "plate"], draws=n, seed=3)
    assert plan.screw is not None
    assert c.constructs[0].item == plan.screw.first_choice
    assert (c.provenance.draws, c.provenance.seed) == (n, 3)
    assert f"{n}, seed 3" in flat(render_compare_html(c))
    if draws_decide:  # a comparison that forgot to draw would not pass here
        by_readings = make_plan(case, kits(), DAY, worksheet=False).screw
        assert by_readings is not None
        assert by_readings.first_choice != plan.screw.first_choice


def test_plan_stock_and_compare_draw_alike_unless_told_otherwise() -> None:
    for name in ("seed", "draws"):
        of = [signature(f).parameters[name].default for f in (plan_command, compare_command)]
        assert of[0] == of[1]
    assert signature(stock_command).parameters["draws"].default == DRAWS
    assert signature(compare_command).parameters["draws"].default == DRAWS


@pytest.mark.parametrize("name", PAIRS)
def test_the_yield_rows_are_those_of_the_plans_findings(name: str) -> None:
    """The hardest load case decides: a plate that bends from lateral is not shown by its factor from plantar."""
    plan, c = demo_pair(name)
    seen = 0
    for rule, found in (("yield_factor", "yield"), ("yield_factor_activity", "yield-activity")):
        if found not in {r.name for r in c.rows}:
            continue
        for k, cell in zip(c.constructs, row(c, found).cells):
            part = plan.screw if k.kind == "screw" else plan.plate
            assert part is not None
            if k.item == part.first_choice:
                f = next((f for f in plan.findings if f.rule == rule and f.label.startswith(k.kind)), None)
                assert f is None or cell.low == pytest.approx(f.value, rel=1e-12)
                seen += f is not None
    assert seen


def test_what_holds_of_the_case_whatever_the_construct_is_said() -> None:
    plan, c = demo_pair("revision")
    wanted = [
        f for f in plan.findings if f.rule in ("plantar_gap", "revision", "level_and_zone") and f.verdict != "pass"
    ]
    assert wanted
    assert list(c.findings) == wanted
    for text in (flat(render_compare_html(c)), flat(render_compare_text(c))):
        assert all(f.why in text for f in wanted)


@pytest.mark.parametrize(
    ("words", "has"),
    [
        ("screw solid", {"solid"}),
        ("screw steel", {"steel"}),
        ("screw steel solid", {"steel", "solid"}),
        ("screw, longer", {"34 mm"}),
        ("screw shorter", {"30 mm"}),
        ("screw wider", {"6.0 x"}),
        ("screw narrower", {"5.0 x"}),
        (OFFSHELF, {"4.5 x 40"}),
    ],
)
def test_words_name_one_piece_of_stock(words: str, has: set[str]) -> None:
    """The first choice here is 5.5 x 32 mm, cannulated titanium."""
    base = "plate" if words.startswith("plate") else "screw"
    first, second = compared(base, words).constructs
    text = f"{second.label} {second.screw.material if second.screw else ''}".lower().replace("cannulated", "hollow")
    assert all(word in text for word in has), second.label
    assert second.item != first.item


@pytest.mark.parametrize(("word", "sign"), [("shorter", -1), ("longer", 1)])
def test_a_longer_or_shorter_plate_is_the_next_of_its_family(word: str, sign: int) -> None:
    """The demo plates come with 4 to 8, 10 and 12 holes."""
    first, second = (k.plate for k in compared("plate", f"plate {word}").constructs)
    assert first is not None
    assert second is not None
    stocked = [4, 5, 6, 7, 8, 10, 12]
    assert second.holes == stocked[stocked.index(first.holes) + sign]
    assert (second.kit, second.thickness_mm, second.width_mm) == (first.kit, first.thickness_mm, first.width_mm)


def test_a_length_that_is_not_stocked_is_said_not_hidden() -> None:
    """Solid screws of the demo kits come every 5 mm: 32 mm is not among them, 30 mm is the nearest."""
    second = compared("screw", "screw solid").constructs[1]
    assert second.screw is not None
    assert second.screw.length_mm == 30
    assert any("Not stocked in 32 mm" in n and "30 mm" in n for n in second.notes)


def test_fewer_or_more_plate_screws() -> None:
    """Asked for one a side: one a side is laid, and the rule of the plan still fails it."""
    second = compared("plate", "plate screws=1").constructs[1]
    assert second.plate is not None
    for side in ("proximal", "distal"):
        assert sum(s.filled and s.side == side for s in second.plate.screws) == 1
    found = next(f for f in second.plate.findings if f.rule == "screws_per_side")
    assert (found.value, found.limit, found.verdict) == (1.0, 2.0, "fail")
    assert second.plate.working_length_mm is not None
    first = compared("plate", "plate screws=1").constructs[0].plate
    assert first is not None
    assert first.working_length_mm is not None
    assert second.plate.working_length_mm > first.working_length_mm


def test_a_construct_of_another_kit_is_compared_and_marked() -> None:
    case = least(plan={"kits": ["im-screws-cannulated-ti"]})
    second = compare(case, kits(), DAY, ["screw", OFFSHELF]).constructs[1]
    assert any("Not of the kits" in n for n in second.notes)
    assert second.verdict == "fail"  # compared whether it fits or not


def test_purchase_by_the_formula_of_the_source() -> None:
    """CHAP96, F = S L pi D (0.5 + 0.57735 (D - d) / (2 p)), S 51.6 (TURNER01) to 68 MPa (RB75), worked out here."""
    c = compared("screw", "screw wider", "plate")
    cells = row(c, "purchase").cells
    for k, cell in zip(c.constructs[:2], cells):
        s = next(s for s in kits().im_screws if s.item == k.item)
        length = float(re.findall(r"([0-9.]+) mm of thread", cell.text)[0])
        assert k.screw is not None
        assert length == pytest.approx(k.screw.thread_mm, abs=0.05)  # the whole thread lies beyond the fracture
        per_MPa = length * math.pi * s.d_major * (0.5 + 0.57735 * (s.d_major - s.d_core) / (2 * s.pitch))
        assert (cell.low, cell.high) == pytest.approx((51.6 * per_MPa, 68.0 * per_MPa), rel=1e-6)
    assert cells[2].low is None
    assert "upper bound" in row(c, "purchase").label
    assert "Read no capacity" in row(c, "purchase").note


def test_each_row_says_which_is_higher_from_its_own_cells() -> None:
    c = compared("screw", "screw wider", "plate")
    for r in c.rows:
        known = [(k.letter, x) for k, x in zip(c.constructs, r.cells) if x.low is not None and x.high is not None]
        if len(known) < 2 or r.name == "tightest":
            continue
        for end in ("low", "high"):
            best = max(getattr(x, end) for _, x in known)
            top = [letter for letter, x in known if alike(getattr(x, end), best)]
            if len(top) == 1:
                assert re.search(rf"\b{top[0]}\b (is|and)", r.reading), (r.name, r.reading)
        lows = [min(x.low, x.high) for _, x in known]
        highs = [max(x.low, x.high) for _, x in known]
        overlap = max(lows) <= min(highs) and r.ends != ("", "")
        if "Alike" not in r.reading:
            assert ("overlap" in r.reading) == overlap, (r.name, r.reading)


def test_no_overall_winner_is_named_anywhere() -> None:
    c = compared("screw", "screw wider", "plate")
    for text in (render_compare_html(c), render_compare_text(c)):
        flat = " ".join(text.split())
        assert "No overall winner" in flat
        assert not re.search(r"\b(best|better choice|recommended|winner is|superior)\b", flat, re.IGNORECASE)


DENIED = [
    # what is compared, row, and the bench test that found no difference (as printed in the abstracts)
    (("screw", "screw wider"), "stiffness-0", {"KEL01", "HOR04"}),  # HOR04 of torsion: named beside, see below
    (("screw", "screw wider"), "yield", {"SHA01"}),
    ((OFFSHELF, "S45C-ST-40-T16"), "stiffness-0", {"WILL20"}),
    (("S55C-TI-40-T16", "V55C-TI-40"), "stiffness-0", {"SID06"}),
]


@pytest.mark.parametrize(("words", "name", "ids"), DENIED)
def test_relations_that_bench_tests_deny_are_marked_so(words: tuple[str, str], name: str, ids: set[str]) -> None:
    items = {s.item for s in kits().im_screws}
    named = tuple(w if w.startswith("screw") or w in items else _variable_pitch() for w in words)
    c = compared(*named)
    says = row(c, name).bench
    assert len(says) == 1
    assert {x for e in says[0].evidence for x in e.source.split(", ")} == ids
    a, b = row(c, name).cells
    higher = not (alike(a.low, b.low) and alike(a.high, b.high))
    assert (says[0].verdict == "denies") == higher
    page = render_compare_html(c)
    if higher:
        assert "bench tests differ" in page
        assert "bench tests showed no difference" in page
    for i in ids:
        assert f'href="#src-{i}"' in page


def test_a_bench_test_of_another_load_stands_beside_and_decides_nothing() -> None:
    """HOR04 is torsion, STO03 axial load and torsion; THI24 turns on the direction of bending (their abstracts)."""
    other = {"bench-diameter-torsion", "bench-working-length", "bench-working-length-tension"}
    assert {t.statement for t in TESTS if t.load} == other
    [says] = row(compared("screw", "screw wider"), "stiffness-0").bench
    assert says.text.endswith("Beside it, of another load and without a say: torsion (HOR04).")
    [says] = row(compared("plate", "plate screws=1"), "stiffness-0").bench
    assert "axial load and torsion (STO03); bending, and the finding turns on its direction (THI24)" in says.text
    # the opposite found under another load changes no verdict; alone, it is no test of this row
    a = BenchTest("stiffness", SPAN, "bench-working-length-femur", "shorter")
    b = BenchTest("stiffness", SPAN, "bench-working-length", "longer", "torsion")
    assert verdict_of(("shorter", "longer"), [a, b], (1, 1))[0] == "agrees"
    assert verdict_of(("shorter", "longer"), [b], (1, 1))[0] == "not tested"


MARKED = [
    # relations of the model that no bench test denies: what the page says of them
    (("screw", "screw steel"), "stiffness-0", "not tested", "the beams put the steel higher"),
    (("plate", "plate screws=1"), "stiffness-0", "agrees", "the beams put the shorter working length higher"),
    (("plate", "plate screws=1"), "gap-strain", "agrees", "the beams put the longer working length higher"),
]


@pytest.mark.parametrize(("words", "name", "verdict", "said"), MARKED)
def test_relations_that_bench_tests_bear_out_or_leave_open_are_marked_so(
    words: tuple[str, str], name: str, verdict: str, said: str
) -> None:
    c = compared(*words)
    [says] = row(c, name).bench
    assert says.verdict == verdict
    assert said in says.text
    shown = {"agrees": "bench tests agree", "not tested": "not tested"}[verdict]
    assert f'<span class="bench-word">{shown}</span>' in render_compare_html(c)


def test_a_bench_test_of_screws_says_nothing_of_plates() -> None:
    """SU24 set a 30 mm screw against one of 40 mm; no such pair of plates was tested."""
    c = compared("plate", "plate longer")
    assert "longer against shorter" in c.differences[0]
    assert all(not r.bench for r in c.rows)
    assert any(r.bench for r in compared("screw", "screw longer").rows)


def test_purchase_and_margins_are_those_of_the_plan() -> None:
    plan, c = demo_pair("zone-2-runner")
    assert plan.strength is not None
    assert plan.screw is not None
    assert c.constructs[0].item == plan.strength.item
    first = next(x for x in plan.screw.candidates if x.item == plan.screw.first_choice)
    cell = row(c, "purchase").cells[0]
    assert (cell.low, cell.high) == (plan.strength.purchase.pullout_N[0], plan.strength.purchase.pullout_N[-1])
    margins = {
        "run-out": first.margin_run_out_mm, "tip": first.margin_tip_mm,
        "bite": first.margin_bite_mm, "wall": first.margin_wall_mm,
    }  # fmt: skip
    tightest = row(c, "tightest").cells[0]
    assert tightest.low == pytest.approx(min(m for m in margins.values() if m is not None), rel=1e-12)
    assert margins[tightest.text] == pytest.approx(tightest.low, rel=1e-12)


def _variable_pitch() -> str:
    return next(s.item for s in kits().im_screws if s.thread_length is None and s.d_major == 5.5 and s.length == 40)


def test_screw_against_plate_shows_that_the_tests_disagree() -> None:
    says = row(compared("screw", "plate"), "stiffness-0").bench
    assert [b.verdict for b in says] == ["disagrees"]
    assert {e.source for e in says[0].evidence} == {"HUH16", "SHI"}


def test_a_pair_that_differs_in_several_ways_claims_no_bench_test() -> None:
    c = compared("screw", "screw steel wider")
    assert all(not r.bench for r in c.rows)
    assert "several differ" in c.differences[0]


def test_every_bench_statement_named_in_the_table_exists_and_is_of_that_comparison() -> None:
    from fixplan.appraisal.evidence import statement

    for t in TESTS:
        assert statement(t.statement).comparison == t.comparison, t


def test_the_document_holds_every_number_with_its_origin() -> None:
    c = compared("screw", "plate")
    document = json.loads(render_compare_json(c))
    patterns = [re.compile(p.replace("*", "[^/]+") + r"(/\*)?") for p in document.pop("origins")]

    def leaves(value: Any, path: str = "") -> Any:
        if isinstance(value, dict):
            for k, v in value.items():
                yield from leaves(v, f"{path}/{k}")
        elif isinstance(value, list):
            for v in value:
                yield from leaves(v, f"{path}/*")
        elif isinstance(value, int | float) and not isinstance(value, bool):
            yield path

    for path in leaves(document):
        assert any(p.fullmatch(path) for p in patterns), path
    assert {s.id for s in c.sources} <= set(all_sources())
    assert document["cautions"]


def test_the_schema_of_a_comparison_is_sound_and_current() -> None:
    """The file is made from the declarations: `python -m fixplan.report.jsonio` writes it anew."""
    jsonschema.Draft202012Validator.check_schema(compare_schema())
    assert COMPARE_SCHEMA_FILE.read_text("utf-8") == schema_text(compare_schema())


@pytest.mark.parametrize("name", [*PAIRS, "quick"])
def test_the_document_follows_its_schema(name: str) -> None:
    c = compared("screw", "plate", "S55C-TI-70-T16") if name == "quick" else demo_pair(name)[1]
    schema = json.loads(COMPARE_SCHEMA_FILE.read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(json.loads(render_compare_json(c)))


def test_what_the_command_writes_follows_the_schema(tmp_path: Path) -> None:
    case = resource_dir("demo_cases") / "zone-2-runner.toml"
    found = compare_constructs(case, ["screw", "plate"], tmp_path, (resource_dir("implant_specs"),), DAY)
    written = json.loads((tmp_path / "DEMO-5A-compare.json").read_text("utf-8"))
    schema = json.loads(COMPARE_SCHEMA_FILE.read_text("utf-8"))
    for document in (written, json.loads(found.json())):
        jsonschema.Draft202012Validator(schema).validate(document)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "fixplan-plan/1"),
        (("constructs", 0, "verdict"), "fits"),
        (("constructs", 0, "kind"), "nail"),
        (("constructs", 0, "cautions"), None),
        (("rows", 1, "cells", 0, "low"), "0.5"),
        (("cautions",), "none"),
        (("winner",), "A"),
    ],
)
def test_the_schema_refuses_what_a_comparison_cannot_hold(path: tuple[Any, ...], value: object) -> None:
    document = json.loads(render_compare_json(compared("screw", "plate")))
    part: Any = document
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document, compare_schema())


def test_pictures_mark_the_constructs_by_letter() -> None:
    c = compared("screw", "screw wider", "plate")
    marked = {t.name: [(p.label, p.at) for p in t.picked] for t in c.tradeoffs}
    assert marked["stiffness-diameter"] == [("A", 5.5), ("B", 6.0)]
    assert [label for label, _ in marked["strain-working-length"]] == ["C"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["screw"], "1 construct named"),
        (["screw", "plate", "screw wider", "screw longer", "screw steel"], "5 constructs named"),
        (["screw", "screw"], "same construct"),
        (["plate", "plate screws=2"], "same construct"),
        (["screw", "bolt"], "neither an item code"),
        (["screw", "screw blue"], "'blue'"),
        (["screw", "plate wider"], "no plate like"),
        (["screw", "S40C-ST-70-T16 longer"], "nothing is longer"),
    ],
)
def test_what_cannot_be_compared_is_refused(words: list[str], said: str) -> None:
    with pytest.raises(InputError, match=re.escape(said)):
        compare(least(), kits(), DAY, words)


def test_no_first_choice_is_no_construct() -> None:
    case = read_case(resource_dir("demo_cases") / "narrow-canal.toml")
    with pytest.raises(InputError, match="no screw fits this case"):
        compare(case, kits(), DAY, ["screw", "plate"])


def test_what_the_case_does_not_consider_can_still_be_compared() -> None:
    constructs = compare(least(plan={"consider": ["screw"]}), kits(), DAY, ["screw", "plate"]).constructs
    assert [k.kind for k in constructs] == ["screw", "plate"]
    assert constructs[1].item == compared("screw", "plate").constructs[1].item


@pytest.mark.parametrize("words", [["screw", "plate"], ["S55C-TI-40-T16", "plate"]])
def test_a_screw_that_cannot_be_sized_says_what_to_measure(words: list[str]) -> None:
    case = read_case(resource_dir("demo_cases") / "second-base-nonunion.toml")
    with pytest.raises(InputError, match="straight"):
        compare(case, kits(), DAY, words)


def test_a_construct_that_cannot_be_built_has_no_mechanics_and_says_so() -> None:
    """A 70 mm screw does not end inside a 71 mm bone with its seat at 8 mm."""
    c = compared("screw", "S55C-TI-70-T16")
    assert "No mechanics" in c.constructs[1].notes[0]
    assert row(c, "stiffness-0").cells[1].text == "not computed"
    assert not re.search(r"\bnan\b", render_compare_html(c))


def test_the_case_file_names_constructs_and_the_command_line_comes_first() -> None:
    case = replace(least(), compare=("screw", "plate"))
    assert [k.asked for k in compare(case, kits(), DAY).constructs] == ["screw", "plate"]
    assert [k.asked for k in compare(case, kits(), DAY, ["plate", "screw"]).constructs] == ["plate", "screw"]


def test_two_plates_have_no_row_of_screw_purchase() -> None:
    assert "purchase" not in {r.name for r in compared("plate", "plate longer").rows}
    assert "purchase" in {r.name for r in compared("screw", "plate").rows}


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.8012, "0.80"), (0.0931, "0.093"), (0.00234, "0.0023"), (0.00042, "below 0.001"), (0.0, "0"), (1.26, "1.3")],
)
def test_an_opening_of_the_gap_keeps_two_digits_and_is_never_nought_unless_it_is(value: float, text: str) -> None:
    assert value_text(value, "mm", "gap-opening") == text
