"""The worked sheet: each line gives the number it is linked to, and works out again from the numbers put in.

What is worked by hand here rests on: section moduli of hollow sections (Gere, App. D), flexure (Gere, ch. 5), a contact
that opens where M Z^-1 reaches F/A (the kern), end moments of a cantilever and of four-point bending (Gere, ch. 4).
"""

from __future__ import annotations

import datetime
import json
import math
import re
from functools import cache
from typing import Any

import pytest

from fixplan.case import parse_case, read_case
from fixplan.kits import KitSet, load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.types import LoadResponse, Plan, PlateCandidate, ScrewCandidate, WorkedLine
from fixplan.report.html import render_html
from fixplan.resources import resource_dir

DAY = datetime.date(2026, 11, 25)
DEMOS = sorted(p.stem for p in resource_dir("demo_cases").glob("*.toml"))
# A tube of bone, every width the same all along, so that sections are worked out by hand.
TUBE: dict[str, Any] = {
    "case": {"label": "TEST-W", "side": "left"},
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
    "patient": {"activity": "cutting"},
    "plan": {"kits": ["im-screws-cannulated-ti", "mini-plates-2.0"], "consider": ["screw", "plate"]},
}  # fmt: skip
STATES: dict[str, dict[str, Any]] = {
    "open": {},
    "compressed": {"fracture": {"compression": "10 N"}},
    "compressed hard": {"fracture": {"compression": "1000 N"}},
    "compressed by nothing": {"fracture": {"compression": "0 N"}},
    "callus": {"fracture": {"callus_modulus": "20 MPa"}},
    "no gap": {"fracture": {"gap": "0 mm"}},
    "thread all along": {"plan": {"kits": ["im-screws-variable-pitch-ti", "mini-plates-2.7"]}},
    "thread all along, compressed": {
        "plan": {"kits": ["im-screws-variable-pitch-ti", "mini-plates-2.7"]},
        "fracture": {"compression": "25 N"},
    },
    "thread all along, callus": {
        "plan": {"kits": ["im-screws-variable-pitch-ti", "mini-plates-2.7"]},
        "fracture": {"callus_modulus": "20 MPa"},
    },
    "dorsal plate": {"bone": {"ray": 2}, "fracture": {"zone": "shaft", "from_base": "35 mm"}},
    "dorsal plate, compressed": {
        "bone": {"ray": 2},
        "fracture": {"zone": "shaft", "from_base": "35 mm", "compression": "25 N"},
    },
}


@cache
def kits() -> KitSet:
    return load_kits()


@cache
def demo(name: str) -> Plan:
    return make_plan(read_case(resource_dir("demo_cases") / f"{name}.toml"), kits(), DAY)


@cache
def tube(state: str) -> Plan:
    table = json.loads(json.dumps(TUBE))
    for name, values in STATES[state].items():
        table[name].update(values)
    return make_plan(parse_case(table, "test"), kits(), DAY)


def plans() -> list[Any]:
    found = [pytest.param(demo, name, id=name) for name in DEMOS]
    return found + [pytest.param(tube, name, id=name) for name in STATES]


def chosen(plan: Plan) -> dict[str, ScrewCandidate | PlateCandidate]:
    found: dict[str, ScrewCandidate | PlateCandidate] = {}
    for kind, part in (("screw", plan.screw), ("plate", plan.plate)):
        if part is not None and part.first_choice is not None:
            found[kind] = next(c for c in part.candidates if c.item == part.first_choice)
    return found


def numbers(plan: Plan) -> dict[str, float | None]:
    """Every number of a plan that a worked line may name, by its key, in the unit of the line."""
    found: dict[str, float | None] = {}
    for kind, c in chosen(plan).items():
        found |= {f"{kind}:{k}": v for k, v in vars(c).items() if isinstance(v, float)}
        for f in c.findings:
            found |= {f"finding:{f.label}:value": f.value, f"finding:{f.label}:limit": f.limit}
        for r in c.response:
            for end in ("loose", "bonded"):
                values = dict(vars(getattr(r, end)))
                if values["EI_N_m2"] is not None:
                    values["EI_N_m2"] *= 1e6
                found |= {f"{kind}:{r.label}:{end}:{k}": v for k, v in values.items()}
        for activity in dict.fromkeys(r.activity for r in c.response):
            found[f"{kind}:under:{activity}"] = hardest(c, activity).loose.yield_factor
    if plan.strength is not None and plan.strength.torsion is not None and plan.strength.purchase is not None:
        found |= {
            f"strength:{k}": v
            for part in (plan.strength.torsion, plan.strength.purchase)
            for k, v in vars(part).items()
        }
        if plan.strength.purchase.pullout_N:
            found["strength:pullout_low"] = plan.strength.purchase.pullout_N[0]
            found["strength:pullout_high"] = plan.strength.purchase.pullout_N[-1]
    for f in plan.findings:
        found |= {f"finding:{f.label}:value": f.value, f"finding:{f.label}:limit": f.limit}
    if plan.screw is not None:
        found |= {f"limit:{m.name}:{m.thread}": m.value_mm for m in plan.screw.limits}
    if plan.plate is not None:
        found |= {f"span:{m.name}": m.value_mm for m in plan.plate.limits}
    return found


def hardest(c: ScrewCandidate | PlateCandidate, activity: str) -> LoadResponse:
    return min((r for r in c.response if r.activity == activity), key=lambda r: r.loose.yield_factor)


def line(plan: Plan, id: str) -> WorkedLine:
    return next(w for w in plan.worked if w.id == id)


@pytest.mark.parametrize(("make", "name"), plans())
def test_a_line_gives_every_number_that_it_says_it_shows(make: Any, name: str) -> None:
    plan = make(name)
    known = numbers(plan)
    claimed: set[str] = set()
    for w in plan.worked:
        for key in w.shows:
            assert known[key] == pytest.approx(w.value, rel=1e-9, abs=1e-9), (w.id, key)
            assert key not in claimed, f"{key} leads to two lines"
            claimed.add(key)
    assert len({w.id for w in plan.worked}) == len(plan.worked)


UNITS = "N·mm²|N·mm|N/mm|mm⁴|mm³|mm²|mm|MPa|N|rad"


def put_in(text: str) -> float:
    """The value of a line's numbers put in: powers of ten, units and signs of multiplication read as a reader does."""
    side = text.split(" = ")[-2]
    side = re.sub(rf"(?<=[0-9)]) (?:{UNITS})(?=[ ),^]|$)", "", side)
    side = side.replace("×10^", "*10^").replace("×", "*").replace("^", "**").replace("π", "pi").replace("√", "sqrt")
    found = eval(side, {"__builtins__": {}}, {"pi": math.pi, "sqrt": math.sqrt, "min": min, "max": max})
    return float(found)


@pytest.mark.parametrize(("make", "name"), plans())
def test_the_numbers_put_in_work_out_to_the_result(make: Any, name: str) -> None:
    """To the six digits shown; a difference of near numbers keeps what their digits leave."""
    for w in make(name).worked:
        largest = max((abs(float(x)) for x in re.findall(r"[0-9]+[.]?[0-9]*", w.text)), default=1.0)
        assert put_in(w.text) == pytest.approx(w.value, rel=2e-4, abs=2e-6 * min(largest, 1e3)), w.text


SHOWN = re.compile(r'<a href="#worked-([^"]+)">([^<]+)</a>')


def readings(value: float, unit: str) -> list[float]:
    """The same number in every unit in which the page may print it."""
    found = [value, 100 * value] if unit == "" else [value]
    return found + {"N·mm": [value / 1e3], "N·mm²": [value / 1e6]}.get(unit, [])


def prints(value: float, shown: str) -> bool:
    """Whether a number rounds to what is printed: to its decimals, or to its last digit that is not a trailing zero."""
    whole, _, decimals = shown.partition(".")
    step = 10.0 ** -len(decimals) if decimals else 10.0 ** (len(whole) - len(whole.rstrip("0") or "0"))
    return abs(value - float(shown.replace("−", "-"))) <= 0.5 * step * (1 + 1e-9)


@pytest.mark.parametrize("name", DEMOS)
def test_every_linked_number_of_the_page_is_the_result_of_its_line(name: str) -> None:
    plan = demo(name)
    page = render_html(plan)
    found = [(i, text) for i, text in SHOWN.findall(page) if re.match(r"[−0-9]", text)]
    if chosen(plan):
        assert len(found) > 20
    for id, text in found:
        w = line(plan, id)
        shown = re.split(r"[\s\u00a0]", text)[0]
        assert any(prints(v, shown) for v in readings(w.value, w.unit)), (id, text, w.value)
    assert "worked_" not in page
    assert set(re.findall(r'href="#([^"]+)"', page)) <= set(re.findall(r'id="([^"]+)"', page))


@pytest.mark.parametrize(("make", "name"), plans())
def test_the_case_that_is_judged_is_the_one_that_is_worked(make: Any, name: str) -> None:
    """First page, findings and the rows of the hardest and of the widest case lead to lines; so do all moments."""
    plan = make(name)
    shown = {key for w in plan.worked for key in w.shows}
    for kind, c in chosen(plan).items():
        if not c.response:
            continue
        now = c.response[0].activity
        wanted = {f"finding:{kind}: factor against yield:value"}
        for activity in dict.fromkeys(r.activity for r in c.response):
            hard = hardest(c, activity)
            wanted |= {f"{kind}:under:{activity}"} | {
                f"{kind}:{hard.label}:{e}:yield_factor" for e in ("loose", "bonded")
            }
        wanted |= {f"{kind}:{r.label}:{e}:moment_at_fracture_N_mm" for r in c.response for e in ("loose", "bonded")}
        # a stress that bone or callus and a plate share is solved, and has no line; all else of every row has one
        fields = ["yield_factor", "stiffness_N_per_mm", "ratio_to_intact", "EI_N_m2", "gap_opening_mm"]
        fields += ["peak_stress_MPa"] if kind == "screw" else []
        wanted |= {f"{kind}:{r.label}:{e}:{f}" for r in c.response for e in ("loose", "bonded") for f in fields}
        strained = [r for r in c.response if r.activity == now and r.loose.gap_strain is not None]
        if strained:
            most = max(strained, key=lambda r: r.loose.gap_strain or 0.0)
            wanted |= {f"{kind}:{most.label}:{e}:gap_strain" for e in ("loose", "bonded")}
            wanted |= {f"finding:{kind}: strain in the gap, a theory check:value"}
        assert wanted <= shown, sorted(wanted - shown)
    if "screw" in chosen(plan):
        margins = {"margin_run_out_mm", "margin_tip_mm", "margin_bite_mm", "margin_wall_mm", "wall_left_mm"}
        assert {f"screw:{m}" for m in margins} <= shown
        assert {
            f"strength:{k}" for k in ("yield_torque_N_mm", "plastic_torque_N_mm", "engaged_mm", "pullout_low")
        } <= shown
        assert plan.screw is not None
        assert {f"limit:{m.name}:{m.thread}" for m in plan.screw.limits if not m.name.startswith("diameter")} <= shown
    if "plate" in chosen(plan):
        assert {"plate:screw_density", "plate:working_length_mm", "span:room"} <= shown


def test_the_chain_of_a_compressed_fracture_by_hand() -> None:
    """60 N on a tube of 9.0 and 4.5 mm: load, moment, separation, what is beyond it, stress, factor."""
    table = json.loads(json.dumps(TUBE))
    table["fracture"]["compression"] = "60 N"
    plan = make_plan(parse_case(table, "test"), kits(), DAY)
    c = chosen(plan)["screw"]
    assert isinstance(c, ScrewCandidate)
    hard = hardest(c, "protected")
    d, d_f, bore = c.core_mm, c.shank_mm, c.cannula_mm
    assert hard.loose.critical_section == "first thread"
    assert d_f is not None
    hole = max(4.5, d_f)
    A, Z = math.pi * (9.0**2 - hole**2) / 4, math.pi * (9.0**4 - hole**4) / (32 * 9.0)
    M_sep = 60.0 * Z / A
    assert line(plan, "separation").value == pytest.approx(M_sep)
    assert line(plan, "moment-beyond").value == pytest.approx(400.0 - M_sep)
    # the core bears the same tension on less area than the shank
    tension = 60.0 / (math.pi * (d**2 - bore**2) / 4)
    assert line(plan, "tension-thread").value == pytest.approx(tension)
    Z_core = math.pi * (d**4 - bore**4) / (32 * d)
    # in four-point bending the moment beyond separation is the same all along; at a cantilever it goes by the lever
    at_thread = 400.0 - M_sep
    if hard.load_case.startswith("cantilever"):
        at_thread *= (70.0 - c.first_thread_mm) / (70.0 - 24.0)
    assert line(plan, "stress-alone").value == pytest.approx(at_thread / Z_core)
    own = line(plan, "moment-implant").value
    assert 0 < own < M_sep
    stress = own / Z_core + at_thread / Z_core + tension
    assert line(plan, "stress").value == pytest.approx(stress) == pytest.approx(hard.loose.peak_stress_MPa)
    titanium = 795.0  # F136, least yield
    assert line(plan, "yield").value == pytest.approx(titanium / stress) == pytest.approx(hard.loose.yield_factor)


def test_bone_and_screw_together_say_what_is_put_in() -> None:
    """E I of each, MPa and mm4, to N mm2: 17 GPa (population default) and 114 GPa (F136, from memory)."""
    plan = tube("open")
    c = chosen(plan)["screw"]
    assert isinstance(c, ScrewCandidate)
    assert c.shank_mm is not None
    w, E = line(plan, "composite"), {g.name: g.value for g in plan.given}["cortical_modulus"]
    bone = math.pi * (9.0**4 - max(4.5, c.shank_mm) ** 4) / 64
    screw = math.pi * (c.shank_mm**4 - c.cannula_mm**4) / 64
    assert w.value == pytest.approx(E * bone + 114_000.0 * screw)
    assert w.unit == "N·mm²"
    assert f"{E:g} MPa × {bone:.6g} mm⁴ + 114000 MPa × {screw:.6g} mm⁴" in w.text
    assert "slide" not in w.formula
    page = render_html(plan)
    assert f"{w.value / 1e6:.3g}\u00a0N·m²" in page


def test_the_limit_of_the_wall_says_whose_it_is_and_promises_nothing() -> None:
    for id in ("window-wall", "wall-limit"):
        title = line(tube("open"), id).note
        assert "planning limit" in title
        assert "PROJECT" in title
        assert "no publication behind it" in title
        assert "not what the bone bears" in title
        assert "safe" not in title.lower()
    table = json.loads(json.dumps(TUBE))
    table["plan"]["thresholds"] = {"wall_min": "1.3 mm"}
    own = line(make_plan(parse_case(table, "test"), kits(), DAY), "wall-limit").note
    assert "1.3 mm" in own
    assert "case file" in own
    assert "PROJECT" not in own


def test_what_is_for_the_screen_is_left_out_of_print_and_said_so() -> None:
    plan = tube("open")
    page = render_html(plan)
    aside = [w for w in plan.worked if w.aside]
    assert aside
    assert not [w for w in aside if w.id in ("stress", "yield", "strain", "margin-tip", "plate-yield")]
    assert f"{len(aside)} further lines" in page
    for part in {w.part for w in plan.worked}:
        lines = [w for w in plan.worked if w.part == part]
        assert len({w.aside for w in lines}) == 1, part


def test_a_line_names_the_source_of_its_formula_and_of_the_limit_put_in() -> None:
    plan = tube("open")
    assert line(plan, "yield").source == "SHIG9, F136-a"
    assert "Titanium" in line(plan, "yield").note
    assert line(plan, "moment").source == "GERE7, PROJECT"
    assert plan.screw is not None
    for id, name in (
        ("length-low", "run_out"),
        ("length-high", "tip"),
        ("window-bite", "bite"),
        ("window-wall", "wall"),
    ):
        limit = next(m for m in plan.screw.limits if m.name == name)
        assert {"GEOM", *limit.source.split(", ")} <= set(line(plan, id).source.split(", "))
    # a source named in words where the formula stands is one of its sources too
    assert "WHE" in line(plan, "length-low").source.split(", ")
    listed = {s.id for s in plan.sources}
    for w in plan.worked:
        assert set(w.source.split(", ")) <= listed, w.id
        assert w.symbols


def test_a_moment_of_3_75_is_rounded_alike_in_the_table_and_below_it() -> None:
    """The beam gives 3749.9999999995 N mm back for the 3750 that went in: cutting, a project default."""
    page = render_html(tube("open"))
    assert '<a href="#worked-moment-cutting">3.8</a>' in page
    assert ">3.7</a>" not in page
