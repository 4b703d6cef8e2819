"""Is this usually a case for a construct? The verdict by site, its grounds, and what it never sees."""

import pytest

from fixplan.appraisal.scope import OUTSIDE, PLAN, QUESTION, appraise_scope
from fixplan.sources import GRADES, source

SITES = [(5, z) for z in (1, 2, 3)] + [(r, z) for r in (1, 2, 3, 4) for z in ("base", "shaft", "neck")]
HEALING = (None, "acute", "delayed", "nonunion")


@pytest.mark.parametrize(
    ("ray", "zone", "healing", "verdict"),
    [
        (5, 1, None, OUTSIDE),
        (5, 1, "acute", OUTSIDE),
        (5, 1, "nonunion", QUESTION),
        (5, 2, "acute", PLAN),
        (5, 2, None, PLAN),
        (5, 3, "delayed", PLAN),
        (2, "shaft", "acute", OUTSIDE),
        (2, "neck", None, OUTSIDE),
        (3, "shaft", None, OUTSIDE),
        (3, "neck", "acute", OUTSIDE),
        (3, "neck", "nonunion", QUESTION),
        (4, "shaft", "acute", OUTSIDE),
        (4, "base", None, PLAN),
        (4, "base", "nonunion", PLAN),
        (2, "base", "acute", QUESTION),
        (2, "base", "nonunion", PLAN),
        (3, "base", None, QUESTION),
        (1, "base", None, QUESTION),
        (1, "shaft", "nonunion", QUESTION),
    ],
)
def test_verdict_by_site_and_healing(ray, zone, healing, verdict):
    assert appraise_scope(ray, zone, healing=healing).verdict == verdict


@pytest.mark.parametrize(
    ("ray", "zone", "ids"),
    [
        # avulsion: LUI16, BUS21, threshold for surgery RAM04
        (5, 1, {"LUI16", "BUS21", "RAM04"}),
        # low-risk site BOD00, cast shoe and protected weight bearing RAM04
        (2, "shaft", {"BOD00", "RAM04"}),
        (3, "neck", {"BOD00", "RAM04"}),
        (5, 2, {"BOD00", "HOL21", "MOL05", "TOR84"}),
        (5, 3, {"BOD00", "HOL21", "LUI16"}),
        (2, "base", {"MCI16", "MOR20", "SAR07", "OMA96"}),
    ],
)
def test_the_grounds_name_their_sources(ray, zone, ids):
    found = {id for r in appraise_scope(ray, zone).reasons for id in r.sources}
    assert ids <= found


@pytest.mark.parametrize("healing", HEALING)
@pytest.mark.parametrize(("ray", "zone"), SITES)
def test_every_site_has_a_sentence_and_sourced_graded_grounds(ray, zone, healing):
    s = appraise_scope(ray, zone, healing=healing)
    assert s.sentence.endswith(".")
    assert s.reasons
    for r in s.reasons:
        assert r.text.endswith(".") or r.text.endswith("?")
        assert r.grade in GRADES
        assert r.sources
        for id in r.sources:
            source(id)
    assert "age" in s.not_asked


@pytest.mark.parametrize("ray", [2, 3, 4])
@pytest.mark.parametrize("zone", ["shaft", "neck"])
def test_a_low_risk_site_opens_with_usually_not(ray, zone):
    s = appraise_scope(ray, zone, healing="acute")
    assert s.sentence.startswith("Usually not a case for this construct")
    assert "rest and protected load" in s.sentence


def test_zone_1_opens_with_usually_not():
    assert appraise_scope(5, 1).sentence.startswith("Usually not a case for this construct")


def test_an_earlier_screw_counts_as_failed_healing():
    assert appraise_scope(5, 1, previous="broken").verdict == QUESTION
    assert appraise_scope(2, "base", previous="removed").verdict == PLAN


def test_ground_from_memory_is_graded_so():
    older = [r for r in appraise_scope(5, 2).reasons if "TOR84" in r.sources]
    assert [r.grade for r in older] == ["M-m"]
    assert "unverified" in older[0].text


def test_comminution_asks_whether_it_is_a_stress_fracture():
    plain, asked = appraise_scope(5, 2), appraise_scope(5, 2, pattern="comminuted")
    assert asked.verdict == plain.verdict
    assert "is this one?" in asked.reasons[-1].text


def test_a_plate_across_the_joint_is_questioned_away_from_the_base():
    assert appraise_scope(5, 2, crosses_tmt=True).verdict == QUESTION
    assert appraise_scope(2, "shaft", crosses_tmt=True).verdict == OUTSIDE
    base = appraise_scope(2, "base", healing="nonunion", crosses_tmt=True)
    assert base.verdict == PLAN
    assert base == appraise_scope(2, "base", healing="nonunion")


@pytest.mark.parametrize(
    ("ray", "zone", "what"),
    [(0, 2, "ray: 0"), (6, 2, "ray: 6"), (True, "base", "ray: True"), (5, 4, "zone: 4"), (5, "shaft", "zone: 'shaft'")],
)
def test_sites_that_do_not_exist_are_refused(ray, zone, what):
    with pytest.raises(ValueError, match=what):
        appraise_scope(ray, zone)


@pytest.mark.parametrize("zone", [1, "tip"])
def test_zones_of_the_fifth_are_refused_elsewhere(zone):
    with pytest.raises(ValueError, match="base, shaft, neck"):
        appraise_scope(2, zone)
