"""Evidence: every entry carries source, grade and population; series that disagree stand side by side."""

import re
from importlib.resources import files

import pytest

from fixplan.appraisal import evidence
from fixplan.appraisal.evidence import (
    RISKS,
    TOPICS,
    Applies,
    bench,
    context,
    measures,
    results,
    statement,
    statements,
)
from fixplan.appraisal.scores import EATING
from fixplan.case.fields import fields
from fixplan.sources import GRADES, all_sources, read_table, source

ENTRIES = [*statements().values(), *results().values()]
SITES = [(5, z) for z in (1, 2, 3)] + [(r, z) for r in (1, 2, 3, 4) for z in ("base", "shaft", "neck")]


def _rows():
    table = read_table("fixplan.appraisal", "evidence.toml")
    return [row for rows in table.values() for row in rows]


def test_every_row_of_the_data_file_carries_source_grade_and_population():
    rows = _rows()
    assert len(rows) == len({row["id"] for row in rows})
    for row in rows:
        assert row["sources"], row["id"]
        for id in row["sources"]:
            assert id in all_sources(), row["id"]
        assert row["grade"] in GRADES, row["id"]
        assert row["population"].strip(), row["id"]


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda e: e.id)
def test_entries_from_memory_with_medium_confidence_are_flagged(entry):
    assert entry.unverified == (entry.grade in {"M-m", "M-l"})
    if entry.unverified:
        words = getattr(entry, "text", "") + getattr(entry, "note", "")
        assert "unverified" in words


@pytest.mark.parametrize("entry", list(statements().values()), ids=lambda e: e.id)
def test_statements_are_sentences_that_advise_nothing(entry):
    assert entry.text.endswith(".")
    assert "!" not in entry.text
    assert not re.search(r"\b(should|must|recommend\w*|you|your|safe(ly)?|ensure|best)\b", entry.text, re.IGNORECASE)
    assert not re.search(r"®|™|https?://|www\.", entry.text)


def test_no_number_from_low_confidence_memory_is_kept():
    assert not [e.id for e in ENTRIES if e.grade == "M-l"]


@pytest.mark.parametrize("entry", list(results().values()), ids=lambda e: e.id)
def test_results_are_ordered_numbers_with_a_unit_and_a_named_interval(entry):
    assert entry.unit in {"%", "week"}
    numbers = [x for x in (entry.low, entry.value, entry.high) if x is not None]
    assert numbers == sorted(numbers)
    assert all(x >= 0 for x in numbers)
    if entry.unit == "%":
        assert all(x <= 100 for x in numbers)
    assert (entry.low is None) == (entry.high is None)
    assert bool(entry.interval) == (entry.low is not None)


@pytest.mark.parametrize(
    ("id", "count", "of"),
    [
        # counts as printed in the abstracts
        ("mol05-failure-of-treatment-surgery", 1, 19),
        ("mol05-failure-of-treatment-no-surgery", 8, 18),
        ("lar02-refracture-screw", 4, 15),
        ("lar02-nonunion-screw", 2, 15),
        ("nay21-refracture-screw", 3, 23),
        ("nay21-nonunion-screw", 3, 23),
        ("wat20-refracture-screw", 1, 26),
        ("hun11-refracture-revision", 1, 21),
        ("oma96-refracture-no-surgery", 8, 64),
    ],
)
def test_shares_follow_from_the_printed_counts(id, count, of):
    r = results()[id]
    assert r.n == of
    assert r.value is not None
    assert r.value == pytest.approx(100 * count / of, abs=0.5)


def test_pooled_results_with_and_without_surgery_stand_side_by_side():
    # HOL21: union 87 (83-90) and 56 (41-70); refracture 7 (4-10) and 12 (5-24)
    found = {m.name: m for m in measures(5, 3)}
    union = {r.arm: r for r in found["union"].results if r.sources == ("HOL21",)}
    assert (union["surgery"].value, union["surgery"].low, union["surgery"].high) == (87, 83, 90)
    assert (union["no surgery"].value, union["no surgery"].low, union["no surgery"].high) == (56, 41, 70)
    again = {r.arm: r for r in found["refracture"].results if r.sources == ("HOL21",)}
    assert (again["surgery"].value, again["no surgery"].value) == (7, 12)


def test_contradictory_series_are_both_there():
    refracture = {r.sources[0]: r.value for m in measures(5, 2) if m.name == "refracture" for r in m.results}
    assert refracture["POR05"] == 0
    assert refracture["LAR02"] is not None
    assert refracture["LAR02"] > 20
    favours = {s.favours for s in bench("screw against plate")}
    assert {"screw", "plate"} <= favours
    varus = {s.sources[0] for r in context(5, 2, risks=["hindfoot varus"]).risks for s in r.statements}
    assert {"RAI08", "MTS17"} <= varus


def test_acute_results_leave_when_healing_has_failed():
    acute = {r.id for m in measures(5, 2, healing="acute") for r in m.results}
    late = {r.id for m in measures(5, 2, healing="nonunion") for r in m.results}
    assert "mol05-failure-of-treatment-surgery" in acute - late
    assert late < acute


def test_revision_results_come_only_with_an_earlier_screw():
    without = {r.id for m in measures(5, 2) for r in m.results}
    with_screw = {r.id for m in measures(5, 2, previous="broken") for r in m.results}
    assert "hun11-time-to-return-revision" in with_screw - without


@pytest.mark.parametrize("risk", RISKS)
@pytest.mark.parametrize(("ray", "zone"), SITES)
def test_a_ticked_risk_is_never_passed_over(ray, zone, risk):
    found = context(ray, zone, risks=[risk])
    assert [r.name for r in found.risks] == [risk]
    assert found.risks[0].statements
    for s in found.risks[0].statements:
        assert s.risk == risk
        for id in s.sources:
            source(id)


def test_where_nothing_is_published_on_a_risk_the_context_says_so():
    (risk,) = context(2, "shaft", risks=["hindfoot varus"]).risks
    assert risk.statements[0].text == "Nothing was found on hindfoot varus for this site."
    assert risk.statements[0].grade == "P"


def test_risks_not_ticked_stay_out_and_topics_keep_their_order():
    found = context(5, 2)
    assert found.risks == ()
    assert all(not s.risk for t in found.topics for s in t.statements)
    names = [t.name for t in found.topics]
    assert names == [n for n in TOPICS if n in names]
    assert "bench" not in names


@pytest.mark.parametrize(("ray", "zone"), SITES)
def test_every_site_has_something_on_the_site_and_on_imaging(ray, zone):
    names = {t.name for t in context(ray, zone).topics}
    assert {"site", "imaging", "union", "delayed"} <= names


def test_statements_on_other_rays_stay_out():
    texts = [s.id for t in context(2, "base").topics for s in t.statements]
    assert "watershed" not in texts
    assert "second-base-plate" in texts


def test_bench_comparisons_each_say_whom_they_favour():
    assert {s.comparison for s in bench()} >= {
        "screw against plate",
        "smaller against larger diameter",
        "solid against hollow",
        "steel against titanium",
        "longer against shorter",
        "plate screws and working length",
        "gap strain",
    }
    for s in bench():
        assert s.favours
        assert s.comparison


def test_theory_of_strain_has_its_counter_evidence_beside_it():
    assert [s.sources for s in bench("gap strain")] == [("PER02",), ("BJRgap",)]


def test_an_unknown_comparison_or_risk_is_refused():
    with pytest.raises(ValueError, match="comparison: 'left'"):
        bench("left")
    with pytest.raises(ValueError, match="risks: 'left'"):
        context(5, 2, risks=["left"])
    with pytest.raises(KeyError):
        statement("no-such-statement")


def test_an_entry_bound_to_a_state_needs_that_state_said():
    bound = Applies(previous=("broken",), healing=("nonunion",))
    assert bound.to(5, "2", "nonunion", "broken")
    assert not bound.to(5, "2", None, "broken")
    assert not bound.to(5, "2", "nonunion", None)


GOOD = {"id": "x", "topic": "site", "text": "A.", "sources": ["HOL21"], "grade": "F", "population": "p"}
NUMBER = {
    "id": "x",
    "measure": "union",
    "arm": "screw",
    "unit": "%",
    "sources": ["HOL21"],
    "grade": "F",
    "population": "p",
    "value": 3.0,
}


@pytest.mark.parametrize(
    ("kind", "change", "what"),
    [
        ("statement", {"sources": []}, "no source"),
        ("statement", {"grade": "good"}, "grade 'good'"),
        ("statement", {"topic": "weather"}, "topic 'weather'"),
        ("statement", {"risk": "weather"}, "risk 'weather'"),
        ("statement", {"sources": ["HOL22"]}, "HOL22"),
        ("result", {"value": None}, "neither a value"),
        ("result", {"low": 1.0, "high": 4.0}, "give interval"),
    ],
)
def test_a_bad_entry_is_refused_when_read(monkeypatch, kind, change, what):
    row = {k: v for k, v in ((GOOD if kind == "statement" else NUMBER) | change).items() if v is not None}
    monkeypatch.setattr(evidence, "read_table", lambda *_: {kind: [row]})
    read = statements.__wrapped__ if kind == "statement" else results.__wrapped__
    with pytest.raises((ValueError, KeyError), match=what):
        read()


def test_an_id_that_stands_twice_is_refused(monkeypatch):
    monkeypatch.setattr(evidence, "read_table", lambda *_: {"statement": [GOOD, GOOD]})
    with pytest.raises(ValueError, match="stands twice"):
        statements.__wrapped__()


def test_the_file_names_no_maker_and_no_address():
    text = (files("fixplan.appraisal") / "evidence.toml").read_text(encoding="utf-8")
    assert not re.search(r"®|™|https?://|www\.|\.com\b", text)


def test_the_case_file_offers_the_same_risks_and_grades_of_energy_availability():
    known = fields()
    assert set(known["patient.risks"].choices) == set(RISKS)
    assert known["patient.energy.energy_availability"].choices == EATING
