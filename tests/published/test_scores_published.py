"""Scores at their published boundaries.

Triad: item table of the cumulative risk score of the female athlete triad (MOU14, read) and its strata
(De Souza et al., Br J Sports Med 2014;48:289, DES14, from memory). Bone stress rule: Sports Health 2020, PMC7485018
(CPR20, read). Angles: radiology reference site (RAD, second-hand); J Am Podiatr Med Assoc 2011;101:475 (JAP11,
15 degrees); the grades of metatarsus adductus and of the talus to first metatarsal angle, and the cut-off of Engel,
from memory. Vitamin D: BUR11, SHM16, KNE21, MIL20 (read). Cortical index: Lenz et al. 2022 (LEN22, read).
"""

import math

import pytest

from fixplan.appraisal.scores import (
    bone_stress_rule,
    calcaneal_pitch,
    cortical_index,
    engel,
    meary,
    metatarsus_adductus,
    triad_score,
    vitamin_d,
)

# every item at 0 points
ZERO = {
    "energy_availability": "no dietary restriction",
    "bmi": 18.5,
    "menarche_age": 14.9,
    "menses_per_year": 10.0,
    "bmd_z": -1.0,
    "earlier_stress_fractures": 0,
}
ONE = {
    "energy_availability": "some dietary restriction",
    "bmi": 18.0,
    "menarche_age": 15.0,
    "menses_per_year": 9.0,
    "bmd_z": -1.5,
    "earlier_stress_fractures": 1,
}
TWO = {
    "energy_availability": "eating disorder",
    "bmi": 17.5,
    "menarche_age": 16.0,
    "menses_per_year": 5.0,
    "bmd_z": -2.0,
    "earlier_stress_fractures": 2,
}


@pytest.mark.parametrize(
    ("item", "value", "points"),
    [
        # MOU14: BMI >= 18.5 / 17.5 to 18.5 / <= 17.5
        ("bmi", 18.5, 0),
        ("bmi", 18.49, 1),
        ("bmi", 17.51, 1),
        ("bmi", 17.5, 2),
        ("bmi", 16.0, 2),
        # menarche < 15 / 15 to 16 / >= 16 years
        ("menarche_age", 14.99, 0),
        ("menarche_age", 15.0, 1),
        ("menarche_age", 15.99, 1),
        ("menarche_age", 16.0, 2),
        # menses > 9 / 6 to 9 / < 6 in twelve months
        ("menses_per_year", 10.0, 0),
        ("menses_per_year", 9.0, 1),
        ("menses_per_year", 6.0, 1),
        ("menses_per_year", 5.0, 2),
        ("menses_per_year", 0.0, 2),
        # Z-score >= -1 / -1 to -2 / <= -2
        ("bmd_z", -1.0, 0),
        ("bmd_z", -1.01, 1),
        ("bmd_z", -1.99, 1),
        ("bmd_z", -2.0, 2),
        # earlier stress fractures 0 / 1 / 2 or more, or a high-risk site
        ("earlier_stress_fractures", 0, 0),
        ("earlier_stress_fractures", 1, 1),
        ("earlier_stress_fractures", 2, 2),
        ("earlier_stress_fractures", 5, 2),
        # energy availability: three grades
        ("energy_availability", "no dietary restriction", 0),
        ("energy_availability", "some dietary restriction", 1),
        ("energy_availability", "eating disorder", 2),
    ],
)
def test_triad_points_at_every_printed_boundary(item, value, points):
    s = triad_score(**(ZERO | {item: value}), earlier_at_high_risk_site=False)
    assert s.value == points


def test_triad_one_fracture_at_a_high_risk_site_counts_two():
    assert triad_score(**(ZERO | {"earlier_stress_fractures": 1}), earlier_at_high_risk_site=True).value == 2


@pytest.mark.parametrize(
    ("ones", "twos", "total", "stratum"),
    # DES14: 0 to 1 low, 2 to 5 moderate, 6 and more high
    [
        (0, 0, 0, "low"),
        (1, 0, 1, "low"),
        (2, 0, 2, "moderate"),
        (0, 1, 2, "moderate"),
        (5, 0, 5, "moderate"),
        (6, 0, 6, "high"),
        (0, 3, 6, "high"),
        (0, 6, 12, "high"),
    ],
)
def test_triad_strata_at_their_boundaries(ones, twos, total, stratum):
    names = list(ZERO)
    given = ZERO | {k: ONE[k] for k in names[:ones]} | {k: TWO[k] for k in names[ones : ones + twos]}
    s = triad_score(**given, earlier_at_high_risk_site=False)
    assert (s.value, s.band) == (total, stratum)
    # TEN17: risk ratios of the strata
    for words in ("2.6 (1.3 to 5.5)", "3.8 (1.8 to 8.0)"):
        assert words in s.text


@pytest.mark.parametrize(
    ("tender", "earlier", "cavus", "raised", "points", "word"),
    # CPR20: tenderness 3, earlier injury 2, pes cavus 2, more walking or running 1; positive from 3
    [
        (False, False, False, False, 0, "negative"),
        (False, False, False, True, 1, "negative"),
        (False, True, False, False, 2, "negative"),
        (False, False, True, False, 2, "negative"),
        (False, False, True, True, 3, "positive"),
        (False, True, False, True, 3, "positive"),
        (True, False, False, False, 3, "positive"),
        (False, True, True, False, 4, "positive"),
        (True, True, True, True, 8, "positive"),
    ],
)
def test_bone_stress_rule_points_and_cut_off(tender, earlier, cavus, raised, points, word):
    s = bone_stress_rule(bony_tenderness=tender, earlier_injury=earlier, pes_cavus=cavus, load_raised=raised)
    assert (s.value, s.band) == (points, word)
    for words in ("97.5 %", "54.2 %", "98.2 %"):
        assert words in s.text


@pytest.mark.parametrize(
    ("angle", "grade"),
    # 15 or less normal (JAP11); 16 to 20 mild, 21 to 25 moderate, above 25 severe (from memory, whole degrees)
    [
        (8, "normal"),
        (15, "normal"),
        (16, "mild"),
        (20, "mild"),
        (21, "moderate"),
        (25, "moderate"),
        (26, "severe"),
        (40, "severe"),
    ],
)
def test_metatarsus_adductus_grades(angle, grade):
    assert metatarsus_adductus(angle).band == grade


@pytest.mark.parametrize(
    ("angle", "word"),
    # RAD: 30 or more cavus, below 18 flat
    [(17.9, "flat"), (18, "neither"), (29.9, "neither"), (30, "cavus"), (35, "cavus")],
)
def test_calcaneal_pitch_cut_offs(angle, word):
    assert calcaneal_pitch(angle).band == word


@pytest.mark.parametrize(
    ("angle", "word"),
    # from memory: 0 ± 4 normal; above 4 cavus, to 15 mild, to 30 moderate, above severe
    [
        (-5, "below normal"),
        (-4, "normal"),
        (0, "normal"),
        (4, "normal"),
        (math.nextafter(4, 5), "mild cavus"),
        (15, "mild cavus"),
        (16, "moderate cavus"),
        (30, "moderate cavus"),
        (31, "severe cavus"),
    ],
)
def test_talus_to_first_metatarsal_grades(angle, word):
    assert meary(angle).band == word


@pytest.mark.parametrize(("angle", "word"), [(18, "normal"), (24, "normal"), (24.1, "abnormal")])
def test_engel_cut_off_from_memory(angle, word):
    assert engel(angle).band == word


@pytest.mark.parametrize(
    ("level", "word"),
    # BUR11 below 20; SHM16 below 30; MIL20 below 40
    [
        (19.9, "below 20"),
        (20, "20 to below 30"),
        (29.9, "20 to below 30"),
        (30, "30 to below 40"),
        (39.9, "30 to below 40"),
        (40, "40 or more"),
    ],
)
def test_vitamin_d_cut_offs_of_the_series(level, word):
    assert vitamin_d(level).band == word


@pytest.mark.parametrize(("outer", "word"), [(8.09, "below 1.62"), (8.11, "1.62 or more")])
def test_cortical_index_of_the_fourth_at_1_62(outer, word):
    # LEN22: outer over endosteal width, cut-off 1.62; 1.62 * 5.0 mm = 8.10 mm
    assert cortical_index(4, outer, 5.0).band == word
