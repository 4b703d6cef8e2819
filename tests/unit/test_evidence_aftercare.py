"""After surgery and revision: dated bands of published series, and what an earlier screw changes."""

from datetime import date

import pytest

from fixplan.appraisal import aftercare as module
from fixplan.appraisal.aftercare import MEASURES, aftercare
from fixplan.appraisal.evidence import Result
from fixplan.appraisal.revision_context import STATES, revision_context
from fixplan.sources import GRADES, source

DAY = date(2026, 12, 3)


def _milestone(care, name):
    return next(m for m in care.milestones if m.name == name)


def test_printed_weeks_become_dates_by_the_calendar():
    # BUC20: union on films at 10.8 weeks; 10.8 * 7 = 75.6, that is 76 days: 28 left in December, 31, 17
    row = next(r for r in _milestone(aftercare(DAY, 5, 2), "time to union").rows if r.sources == ("BUC20",))
    assert (row.weeks_low, row.weeks_high) == (10.8, 10.8)
    assert row.earliest == row.latest == date(2027, 2, 17)
    assert row.how == "single printed value"


def test_a_printed_range_becomes_a_band():
    # WAT20: return 3.6 weeks (1.5 to 6): 10.5 days (to the even day) and 42 days
    row = next(r for r in _milestone(aftercare(DAY, 5, 2), "time to return").rows if r.sources == ("WAT20",))
    assert (row.earliest, row.latest) == (date(2026, 12, 13), date(2027, 1, 14))
    assert row.how == "range"
    assert row.weeks == 3.6


def test_a_mean_with_spread_becomes_a_band_of_one_standard_deviation():
    # MTS17 (quoted): 15.2 ± 10.5 weeks
    row = next(r for r in _milestone(aftercare(DAY, 5, 2), "time to return").rows if r.sources == ("MTS17",))
    assert (row.weeks_low, row.weeks_high) == pytest.approx((4.7, 25.7))
    assert "standard deviation" in row.how


def test_every_row_carries_source_grade_and_population():
    for care in (aftercare(DAY, 5, 2, previous="broken"), aftercare(DAY, 2, "base", healing="nonunion")):
        rows = [r for m in care.milestones for r in m.rows] + list(care.watch)
        assert rows
        for r in rows:
            assert r.sources
            for id in r.sources:
                source(id)
            assert r.grade in GRADES
            assert r.population
            assert r.unverified == (r.grade in {"M-m", "M-l"})


def test_the_band_of_a_milestone_holds_every_verified_series():
    for m in aftercare(DAY, 5, 2).milestones:
        for r in m.rows:
            if not r.unverified:
                assert m.weeks_low <= r.weeks_low <= r.weeks_high <= m.weeks_high


def test_an_unverified_series_does_not_widen_the_band(monkeypatch):
    fake = {
        "a": Result("a", "time to union", "screw", "week", ("BUC20",), "F", "p", value=8.0),
        "b": Result("b", "time to union", "screw", "week", ("ATT21",), "M-m", "p", value=30.0),
    }
    monkeypatch.setattr(module, "results", lambda: fake)
    m = _milestone(aftercare(None, 5, 2), "time to union")
    assert (m.weeks_low, m.weeks_high) == (8.0, 8.0)
    assert len(m.rows) == 2


def test_unverified_alone_still_shows(monkeypatch):
    fake = {"b": Result("b", "time to union", "screw", "week", ("ATT21",), "M-m", "p", value=30.0)}
    monkeypatch.setattr(module, "results", lambda: fake)
    assert _milestone(aftercare(None, 5, 2), "time to union").weeks_high == 30.0


def test_a_result_without_a_number_is_refused(monkeypatch):
    fake = {"b": Result("b", "time to union", "screw", "week", ("ATT21",), "F", "p")}
    monkeypatch.setattr(module, "results", lambda: fake)
    with pytest.raises(ValueError, match="neither a value"):
        aftercare(None, 5, 2)


def test_the_looks_at_6_to_8_and_10_to_12_weeks_are_dated():
    first, second = aftercare(DAY, 5, 2).watch
    assert (first.earliest, first.latest) == (date(2027, 1, 14), date(2027, 1, 28))
    assert (second.earliest, second.latest) == (date(2027, 2, 11), date(2027, 2, 25))


def test_without_a_day_of_surgery_there_are_weeks_and_no_dates():
    care = aftercare(None, 5, 2)
    assert care.planned_for is None
    for m in care.milestones:
        assert m.earliest is None
        assert m.latest is None
        assert all(r.earliest is None and r.latest is None for r in m.rows)


def test_weight_bearing_in_a_boot_is_never_put_under_weight_bearing_and_at_once_has_no_date():
    # WAT20: as tolerated in a boot at once; TSU12 and BUC20 print weight bearing at 6 and 3.7 weeks, none calls it full
    care = aftercare(DAY, 5, 2)
    assert not [m.label for m in care.milestones if "full weight" in m.label]
    walked = _milestone(care, "time to weight bearing")
    assert {id for r in walked.rows for id in r.sources} == {"TSU12", "BUC20"}
    assert (walked.weeks_low, walked.weeks_high) == (3.7, 6.0)
    boot = _milestone(care, "time to weight bearing in a boot")
    assert "boot" in boot.label
    [row] = boot.rows
    assert (row.sources, row.weeks_low, row.weeks_high) == (("WAT20",), 0.0, 0.0)
    assert [row.earliest, row.latest, boot.earliest, boot.latest] == [None] * 4


def test_results_without_surgery_are_not_milestones():
    for m in aftercare(DAY, 5, 2).milestones:
        assert all(r.text != "no surgery" for r in m.rows)
        assert m.label == MEASURES[m.name]


def test_revision_results_come_only_after_an_earlier_screw():
    def ids(care):
        return {id for r in _milestone(care, "time to return").rows for id in r.sources}

    assert "HUN11" not in ids(aftercare(DAY, 5, 2))
    assert "HUN11" in ids(aftercare(DAY, 5, 2, previous="removed"))


def test_it_says_that_it_is_no_protocol_and_shows_the_signs():
    care = aftercare(DAY, 5, 2)
    assert "not a protocol" in care.note
    assert care.signs
    assert care.union
    assert care.removal
    assert any("LAR02" in s.sources for s in care.union)


def test_a_date_past_the_calendar_is_refused():
    with pytest.raises(ValueError, match="planned_for"):
        aftercare(date(9999, 12, 1), 5, 2)


@pytest.mark.parametrize("state", STATES)
def test_an_earlier_screw_names_the_hole_and_the_published_practice(state):
    found = revision_context(5, 2, previous=state, screw_diameter=4.5)
    assert found is not None
    assert state in found.heading
    assert "4.5 mm" in found.model[0].text
    assert any(s.sources == ("HUN11",) and "5.5 mm" in s.text and "autograft" in s.text for s in found.published)
    # diameter did not differ in LAR02: the contrary series stands beside
    assert any(s.sources == ("LAR02",) for s in found.published)


def test_a_broken_screw_leaves_an_unknown_hole_and_one_in_place_has_to_come_out():
    broken = revision_context(5, 2, previous="broken")
    assert broken is not None
    assert "not known" in broken.model[1].text
    kept = revision_context(5, 2, previous="in place")
    assert kept is not None
    assert "once the earlier screw is out" in kept.model[1].text


def test_a_nonunion_without_a_screw_shows_the_series_with_graft():
    found = revision_context(5, 3, healing="nonunion")
    assert found is not None
    assert found.heading == "Nonunion"
    assert found.model == ()
    assert {s.sources[0] for s in found.published} == {"TSU12"}
    late = revision_context(5, 3, healing="delayed")
    assert late is not None
    assert late.heading == "Delayed union"


@pytest.mark.parametrize("previous", [None, "removed"])
def test_where_nothing_is_published_it_says_so(previous):
    found = revision_context(4, "base", healing="nonunion", previous=previous)
    assert found is not None
    assert found.published == ()
    assert found.model[-1].text == "Nothing was found on revision at this site."


def test_a_first_operation_has_no_revision_section():
    assert revision_context(5, 2, healing="acute") is None
    assert revision_context(5, 2) is None


def test_an_unknown_state_or_a_diameter_of_nothing_is_refused():
    with pytest.raises(ValueError, match="previous: 'lost'"):
        revision_context(5, 2, previous="lost")
    with pytest.raises(ValueError, match="screw_diameter: 0"):
        revision_context(5, 2, previous="removed", screw_diameter=0.0)
