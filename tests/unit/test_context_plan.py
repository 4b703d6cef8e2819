"""Context and after surgery in the plan: each entry with source and grade, on the page too; revision by hand."""

from __future__ import annotations

import datetime
import re
from functools import cache
from typing import Any

import pytest

from fixplan.appraisal.evidence import RISKS, results, statements
from fixplan.case import parse_case, read_case
from fixplan.kits import KitSet, load_kits
from fixplan.plan.context import score_inputs
from fixplan.plan.make import make_plan
from fixplan.plan.types import AftercarePart, ContextPart, Plan
from fixplan.report.html import render_html
from fixplan.resources import resource_dir
from fixplan.sources import GRADES, all_sources

DAY = datetime.date(2026, 11, 25)

# A bone for hand arithmetic: canal and outer surface are one circular tube from end to end.
TUBE: dict[str, Any] = {
    "case": {"label": "TEST-R", "side": "left"},
    "bone": {
        "ray": 5,
        "length": "70 mm",
        "straight_segment": "50 mm",
        "isthmus": {
            "at": "35 mm", "canal_ap": "4.0 mm", "canal_lateral": "4.0 mm", "outer_ap": "9.0 mm",
            "outer_lateral": "9.0 mm",
        },
    },
    "imaging": {"source": "ct"},
    "fracture": {"zone": 2, "from_base": "24 mm", "extent": "2 mm", "gap": "1 mm", "healing": "nonunion"},
    "plan": {
        "consider": ["screw"],
        "thresholds": {
            "bite": "0.25 mm", "wall_min": "1.0 mm", "diameter_min": "4.0 mm", "diameter_caution": "4.5 mm",
            "ream_max": "3.0 mm", "run_out_margin": "1 mm", "tip_clearance": "2 mm", "seat_depth": "6 mm",
        },
    },
}  # fmt: skip


@cache
def kits() -> KitSet:
    return load_kits()


def plan_of(table: dict[str, Any]) -> Plan:
    return make_plan(parse_case(table, "test"), kits(), DAY, worksheet=False)


@cache
def revision() -> Plan:
    case = read_case(resource_dir("demo_cases") / "revision.toml")
    return make_plan(case, kits(), DAY, worksheet=False)


def entries(context: ContextPart, after: AftercarePart) -> list[Any]:
    found: list[Any] = [s for t in (*context.topics, *context.risks) for s in t.statements]
    found += [r for m in context.measures for r in m.results]
    found += [*context.scores, *after.signs, *after.union, *after.removal, *after.watch]
    found += [r for m in after.milestones for r in m.rows]
    if context.revision:
        found += [*context.revision.model, *context.revision.published]
    return found


CASES = [
    (5, 1, "acute", None), (5, 2, "acute", None), (5, 2, "nonunion", "broken"), (5, 3, "delayed", "in place"),
    (4, "base", "delayed", None), (3, "shaft", "acute", None), (2, "base", "nonunion", None), (1, "shaft", None, None),
]  # fmt: skip


@pytest.mark.parametrize(("ray", "zone", "healing", "previous"), CASES)
def test_every_entry_of_context_and_aftercare_has_source_and_grade(
    ray: int, zone: Any, healing: str | None, previous: str | None
) -> None:
    table: dict[str, Any] = {
        "bone": {"ray": ray, "length": "70 mm", "isthmus": {"canal": "4 mm"}},
        "fracture": {"zone": zone, "from_base": "15 mm"} | ({"healing": healing} if healing else {}),
        "patient": {"risks": list(RISKS)},
    }
    if previous:
        table["previous"] = {"screw_diameter": "4.5 mm", "state": previous}
    plan = make_plan(parse_case(table, "test", quick=True), kits(), DAY, worksheet=False)
    assert plan.context is not None
    assert plan.aftercare is not None
    found = entries(plan.context, plan.aftercare)
    assert len(found) > 20
    listed = {s.id for s in plan.sources}
    for e in found:
        ids = [x.strip() for x in e.source.split(",")]
        assert ids, e
        assert set(ids) <= set(all_sources()), e
        assert set(ids) <= listed, e
        assert e.grade in GRADES
        assert e.grade_text == GRADES[e.grade]
        assert e.unverified == (e.grade in {"M-m", "M-l"})


def test_the_page_shows_source_and_grade_of_every_entry_and_flags_the_unverified() -> None:
    plan = revision()
    page = render_html(plan)
    items = [i for block in re.findall(r'<ul class="evidence">(.*?)</ul>', page, re.S) for i in
             re.findall(r"<li>(.*?)</li>", block, re.S)]  # fmt: skip
    assert len(items) > 40
    for item in items:
        assert 'class="ref"' in item, item
        assert any(text in item for text in GRADES.values()), item
    assert plan.context is not None
    assert plan.aftercare is not None
    unverified = [e for e in entries(plan.context, plan.aftercare) if e.unverified]
    shown = {t.name for t in plan.context.topics} - {"revision", "union", "delayed", "removal"}
    twice = [s for t in plan.context.topics if t.name not in shown for s in t.statements if s.unverified]
    assert unverified
    assert page.count('class="unverified"') == len(unverified) - len(twice)
    texts = [s.text for t in plan.context.topics for s in t.statements]
    squeezed = " ".join(re.sub(r"<[^>]+>", "", page).split()).replace("&#39;", "'").replace("&amp;", "&")
    assert all(" ".join(t.split()) in squeezed for t in texts)


def test_the_data_file_is_reached_in_full_by_some_case() -> None:
    """Every statement and result of the data file is shown by at least one site: none is dead text."""
    from fixplan.appraisal.aftercare import aftercare
    from fixplan.appraisal.evidence import bench, context

    seen: set[str] = {s.id for s in bench()}
    numbers: set[str] = set()
    zones: dict[int, tuple[Any, ...]] = {5: (1, 2, 3)} | dict.fromkeys((1, 2, 3, 4), ("base", "shaft", "neck"))
    for ray, sites in zones.items():
        for zone in sites:
            for healing in ("acute", "delayed", "nonunion"):
                for previous in (None, "removed", "broken", "in place"):
                    c = context(ray, zone, healing=healing, previous=previous, risks=RISKS)
                    seen |= {s.id for t in (*c.topics, *c.risks) for s in t.statements}
                    numbers |= {r.id for m in c.measures for r in m.results}
                    aftercare(None, ray, zone, healing=healing, previous=previous)
    assert set(statements()) - seen == set()
    assert set(results()) - numbers == set()


def test_revision_windows_before_and_after_by_hand() -> None:
    """A 4.0 mm canal in a 9.0 mm tube, an old hole of 5.0 mm.

    Before: bites from 4.0 + 2 x 0.25 = 4.5; wall 9.0 - 2 x 1.0 = 7.0; widened by at most 3: 4.0 + 3.0 = 7.0.
    After: from 5.0 + 0.5 = 5.5; wall still 7.0; 5.0 + 3.0 = 8.0, so the wall governs: 5.5 to 7.0.
    Length, 16 mm thread: 24 + 1 + 1 + 16 - 6 = 36 to 50 - 2 - 6 = 42, before and after.
    """
    table = TUBE | {"previous": {"screw_diameter": "5.0 mm", "state": "removed"}}
    before, after = plan_of(TUBE), plan_of(table)
    assert before.screw is not None
    assert after.screw is not None
    assert before.context is not None
    assert after.context is not None
    part = after.context.revision
    assert part is not None
    assert part.window_without is not None
    assert part.window_with is not None
    assert (part.window_without.lo_mm, part.window_without.hi_mm) == pytest.approx((4.5, 7.0))
    assert (part.window_with.lo_mm, part.window_with.hi_mm) == pytest.approx((5.5, 7.0))
    for plan, (lo, hi) in ((before, (4.5, 7.0)), (after, (5.5, 7.0))):
        assert plan.screw is not None
        assert (plan.screw.diameter_window.lo_mm, plan.screw.diameter_window.hi_mm) == pytest.approx((lo, hi))
        window = next(w for w in plan.screw.length_windows if w.thread == "16 mm")
        assert (window.lo_mm, window.hi_mm) == pytest.approx((36.0, 42.0))
    assert part.text == (
        "Diameter window without the old hole: 4.5 to 7.0 mm; with it: 5.5 to 7.0 mm. The low end moves by 1.0 mm, the "
        "high end by 0.0 mm. The length windows do not depend on the hole."
    )
    assert before.context.revision is not None  # a nonunion without a screw: published practice, no window
    assert before.context.revision.window_with is None


def test_an_old_hole_no_wider_than_the_canal_changes_nothing_and_says_so() -> None:
    part = plan_of(TUBE | {"previous": {"screw_diameter": "4.0 mm", "state": "broken"}}).context
    assert part is not None
    assert part.revision is not None
    assert part.revision.window_with == part.revision.window_without
    assert "changes nothing" in part.revision.text


@pytest.mark.parametrize(("kit", "verdict"), [("im-screws-cannulated-ti", "caution"), ("im-screws-solid-ti", "pass")])
def test_revision_names_the_published_practice_beside_the_choice(kit: str, verdict: str) -> None:
    """HUN11 used solid screws of 5.5 mm or more; LAR02 found no difference of diameter: a caution, never a fail."""
    table = TUBE | {"previous": {"screw_diameter": "5.0 mm", "state": "removed"}}
    plan = plan_of(table | {"plan": TUBE["plan"] | {"kits": [kit]}})
    found = [f for f in plan.findings if f.rule == "revision_diameter"]
    assert [f.verdict for f in found] == [verdict]
    assert "HUN11" in found[0].source
    assert "LAR02" in found[0].source
    assert "LAR02" in found[0].why
    assert not [f for f in plan_of(TUBE).findings if f.rule == "revision_diameter"]


def test_aftercare_dates_count_from_the_planned_day() -> None:
    """Planned for 3 December 2026; WAT20 prints a return after 1.5 to 6 weeks: 42 days end on 14 January."""
    after = revision().aftercare
    assert after is not None
    assert after.planned_for == "2026-12-03"
    row = next(r for m in after.milestones if m.name == "time to return" for r in m.rows if r.source == "WAT20")
    assert row.latest == "2027-01-14"
    undated = plan_of(TUBE).aftercare
    assert undated is not None
    assert undated.planned_for is None
    assert all(r.earliest is None for m in undated.milestones for r in m.rows)


def test_scores_take_only_what_the_case_gives() -> None:
    """15 deg is read as normal (JAP11), the edge survives the way through radians; unknown stays unknown."""
    edge = TUBE | {"patient": {"metatarsus_adductus_angle": "15 deg", "risks": ["pes cavus"], "bony_tenderness": False}}
    given = score_inputs(parse_case(edge, "test"))
    assert given.metatarsus_adductus_angle == 15.0
    assert (given.pes_cavus, given.bony_tenderness, given.load_raised) == (True, False, None)
    assert (given.outer_ap, given.canal_ap) == (9.0, 4.0)
    context = plan_of(edge).context
    assert context is not None
    found = {s.name: s for s in context.scores}
    assert found["metatarsus-adductus"].band == "normal"
    assert found["vitamin-d"].value is None
    assert "cannot be computed from what is given" in found["vitamin-d"].text
    assert found["triad"].value is None
    assert "missing" in found["triad"].text


def test_a_complete_triad_score_by_hand() -> None:
    """MOU14: restriction 1, BMI 17.3 2, menarche 15.5 1, 7 menses 1, Z -1.4 1, one fracture at high risk 2: 8, high."""
    energy = {
        "energy_availability": "some dietary restriction", "bmi": "17.3 kg/m**2", "menarche_age": "15.5 year",
        "menses_per_year": 7, "bmd_z": -1.4, "earlier_stress_fractures": 1, "earlier_at_high_risk_site": True,
    }  # fmt: skip
    context = plan_of(TUBE | {"patient": {"energy": energy}}).context
    assert context is not None
    score = next(s for s in context.scores if s.name == "triad")
    assert (score.value, score.band) == (8.0, "high")


def test_series_that_disagree_stand_side_by_side() -> None:
    context = revision().context
    assert context is not None
    varus = next(r for r in context.risks if r.name == "hindfoot varus")
    assert {"RAI08", "MTS17"} <= {x for s in varus.statements for x in s.source.split(", ")}
    union = next(m for m in context.measures if m.name == "union")
    assert len({r.source for r in union.results}) > 3
