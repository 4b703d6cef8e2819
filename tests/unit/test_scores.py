"""Scores are computed only from what is given; what is missing is named, never guessed."""

import pytest

from fixplan.appraisal.score import CANNOT
from fixplan.appraisal.scores import (
    ScoreInputs,
    bone_stress_rule,
    calcaneal_pitch,
    cortical_index,
    engel,
    meary,
    metatarsus_adductus,
    scores,
    triad_score,
    vitamin_d,
)
from fixplan.sources import GRADES, source

FULL = {
    "energy_availability": "no dietary restriction",
    "bmi": 21.0,
    "menarche_age": 13.0,
    "menses_per_year": 12.0,
    "bmd_z": 0.0,
    "earlier_stress_fractures": 0,
}


def test_with_nothing_given_nothing_is_computed():
    found = scores(ScoreInputs())
    assert len({s.name for s in found}) == len(found) == 8
    for s in found:
        assert s.value is None, s.name
        assert s.band is None, s.name
        assert CANNOT in s.text, s.name
        assert s.missing, s.name


def test_every_score_carries_sources_grade_and_population():
    for s in scores(ScoreInputs()):
        for id in s.sources:
            source(id)
        assert s.grade in GRADES
        assert s.population


@pytest.mark.parametrize("left_out", FULL)
def test_one_missing_item_leaves_the_sum_open_and_is_named(left_out):
    given = {k: v for k, v in FULL.items() if k != left_out}
    s = triad_score(**given)
    assert s.value is None
    assert len(s.missing) == 1
    assert CANNOT in s.text
    assert s.missing[0] in s.text
    assert (s.low, s.high) == (0, 2)
    assert s.band is None


def test_a_stratum_is_stated_only_when_every_possible_value_leads_to_it():
    # four items of 2 points: at least 8, whatever the other two are
    s = triad_score(energy_availability="eating disorder", bmi=17.0, menarche_age=16.0, menses_per_year=0)
    assert s.value is None
    assert (s.low, s.high) == (8, 12)
    assert s.band == "high"
    assert "Whatever they are, the stratum is high." in s.text
    # at least 2 and at most 4 points: moderate for sure
    s = triad_score(**(FULL | {"menses_per_year": 0, "bmd_z": None}))
    assert (s.low, s.high, s.band) == (2, 4, "moderate")


def test_one_earlier_fracture_needs_its_site():
    open_item = triad_score(**(FULL | {"earlier_stress_fractures": 1}))
    assert open_item.value is None
    assert (open_item.low, open_item.high) == (1, 2)
    assert "high-risk site" in open_item.missing[0]
    assert triad_score(**(FULL | {"earlier_stress_fractures": 1}), earlier_at_high_risk_site=False).value == 1
    assert triad_score(**(FULL | {"earlier_stress_fractures": 1}), earlier_at_high_risk_site=True).value == 2
    unknown_count = FULL | {"earlier_stress_fractures": None}
    assert triad_score(**unknown_count, earlier_at_high_risk_site=True).value == 2
    assert triad_score(**unknown_count, earlier_at_high_risk_site=False).value is None


def test_the_rule_is_open_until_it_cannot_turn():
    s = bone_stress_rule(bony_tenderness=True)
    assert s.value is None
    assert (s.low, s.high, s.band) == (3, 8, "positive")
    s = bone_stress_rule(bony_tenderness=False, earlier_injury=False, load_raised=False)
    assert (s.low, s.high, s.band) == (0, 2, "negative")
    s = bone_stress_rule(bony_tenderness=False, earlier_injury=True)
    assert s.band is None
    assert s.missing == ("pes cavus", "more walking or running")


def test_earlier_fractures_of_the_case_feed_the_rule():
    def rule(n):
        given = ScoreInputs(earlier_stress_fractures=n, bony_tenderness=False, pes_cavus=False, load_raised=False)
        return next(s for s in scores(given) if s.name == "bone-stress-rule").value

    assert rule(0) == 0
    assert rule(1) == 2
    assert rule(None) is None


def test_scores_pass_their_inputs_on():
    given = ScoreInputs(
        ray=4,
        metatarsus_adductus_angle=22,
        calcaneal_pitch=31,
        meary_angle=5,
        engel_angle=25,
        vitamin_d=25,
        outer_ap=9.0,
        canal_ap=6.0,
        pes_cavus=True,
        load_raised=True,
        bony_tenderness=True,
        earlier_at_high_risk_site=False,
        **(FULL | {"earlier_stress_fractures": 1}),
    )
    bands = {s.name: s.band for s in scores(given)}
    assert bands == {
        "triad": "low",
        "bone-stress-rule": "positive",
        "vitamin-d": "20 to below 30",
        "metatarsus-adductus": "moderate",
        "engel": "abnormal",
        "calcaneal-pitch": "cavus",
        "meary": "mild cavus",
        "cortical-index": "below 1.62",
    }


def test_an_unverified_cut_off_says_so():
    s = engel(25.0)
    assert s.grade == "M-m"
    assert "unverified" in s.text


def test_the_cut_off_of_the_fourth_is_not_lent_to_other_rays():
    s = cortical_index(5, 9.0, 6.0)
    assert s.value == pytest.approx(1.5)
    assert s.band is None
    assert cortical_index(None, 9.0, 6.0).band is None


@pytest.mark.parametrize(("outer", "canal"), [(None, 5.0), (9.0, None), (None, None)])
def test_the_cortical_index_needs_both_widths(outer, canal):
    s = cortical_index(4, outer, canal)
    assert s.value is None
    assert CANNOT in s.text


@pytest.mark.parametrize("canal", [9.0, 10.0])
def test_a_canal_as_wide_as_the_bone_is_refused(canal):
    with pytest.raises(ValueError, match="canal_ap"):
        cortical_index(4, 9.0, canal)


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"energy_availability": "some"}, "energy_availability: 'some'"),
        ({"bmi": 0.0}, "bmi: 0.0 is not above 0"),
        ({"bmi": float("nan")}, "bmi: nan is not a finite number"),
        ({"menarche_age": -1.0}, "menarche_age"),
        ({"menses_per_year": -1.0}, "menses_per_year: -1.0 is below 0"),
        ({"bmd_z": float("inf")}, "bmd_z"),
        ({"earlier_stress_fractures": -1}, "earlier_stress_fractures"),
    ],
)
def test_impossible_items_are_refused_by_name(change, what):
    with pytest.raises(ValueError, match=what):
        triad_score(**(FULL | change))


@pytest.mark.parametrize("score", [metatarsus_adductus, engel, calcaneal_pitch, meary, vitamin_d])
def test_readings_that_are_not_numbers_are_refused(score):
    with pytest.raises(ValueError, match="not a finite number"):
        score(float("nan"))


def test_a_vitamin_level_of_nothing_is_refused():
    with pytest.raises(ValueError, match="vitamin_d"):
        vitamin_d(0.0)
