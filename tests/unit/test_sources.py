"""Every number has an origin: the data tables are complete, and an unknown id is refused."""

import re
from importlib.resources import files

import pytest

from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.sources import DEFAULT_GRADES, GRADES, KINDS, all_sources, source, threshold, thresholds

# thresholds that a case file may override by these names
OVERRIDABLE = [
    "run_out_margin",
    "purchase_min",
    "bite",
    "wall_min",
    "tip_clearance",
    "seat_depth",
    "diameter_min",
    "straight_fraction_cautious",
    "straight_fraction_permissive",
    "ream_max",
    "span_ratio_simple",
    "span_ratio_comminuted",
    "screw_density_max",
    "screws_per_side_min",
    "cortices_per_side_min",
    "edge_distance_min",
    "standoff_max",
    "plate_width_fraction_max",
    "strain_limit_bone",
    "strain_limit_cartilage",
    "strain_limit_granulation",
    "yield_factor_min",
]


def test_every_source_has_a_known_kind_a_text_and_says_how_it_is_known():
    for s in all_sources().values():
        assert s.kind in KINDS, s.id
        assert s.text.strip(), s.id
        assert s.verified in {
            "read",
            "read in part",
            "second-hand",
            "from memory",
            "measured here",
            "not applicable",
        }, s.id


def test_every_kind_is_used():
    assert {s.kind for s in all_sources().values()} == set(KINDS)


def test_a_second_id_of_a_publication_carries_its_text_and_points_to_the_first():
    second = source("SHAH01")
    assert second.same_as == "SHA01"
    assert second.text == source("SHA01").text
    assert second.id == "SHAH01"
    for s in all_sources().values():
        if s.same_as:
            assert source(s.same_as).same_as is None


def test_a_standard_or_book_from_memory_says_so():
    assert source("ISO5835").verified == "from memory"
    assert source("ROARK").verified == "from memory"
    # only the pages that it names were read
    assert source("SHIG9").verified == "read in part"
    assert "from memory" in source("SHIG9").text


def test_an_unknown_source_is_refused_and_the_nearest_is_named():
    with pytest.raises(KeyError, match="nearest: 'OCH15'"):
        source("OCH16")


def test_an_id_like_no_other_is_refused_without_a_hint():
    with pytest.raises(KeyError) as refused:
        source("@@@@@@@@@")
    assert "nearest" not in str(refused.value)


def test_every_threshold_that_a_case_may_override_is_there():
    assert set(OVERRIDABLE) <= set(thresholds())


def test_every_threshold_has_source_grade_meaning_and_an_end():
    for t in thresholds().values():
        assert t.kind == source(t.source).kind
        assert t.grade in GRADES, t.name
        assert t.grade in DEFAULT_GRADES, f"{t.name}: a default may not be unverified"
        assert len(t.meaning) > 20, t.name
        assert t.end in {"low", "high", "none"}, t.name
        assert t.unit in {"mm", "1", "MPa", "N/mm"}, t.name
        assert t.used_by in {"screw", "plate", "checks", "bone", "imaging", "plan"}, t.name
        if t.low is not None and t.high is not None:
            assert t.low < t.high


def test_a_project_default_is_called_one():
    for t in thresholds().values():
        assert (t.grade == "P") == (t.kind == "project default"), t.name


@pytest.mark.parametrize(
    ("name", "value", "id"),
    [
        # from the papers' abstracts: CUB22 8.1 ± 2.7 mm; OCH15 68 %; DES16 40.4 / 70.4; SCO15 4.5 mm
        ("seat_depth", 8.1, "CUB22"),
        ("straight_fraction_permissive", 0.68, "OCH15"),
        ("diameter_caution", 4.5, "SCO15"),
        # strain theory, PER02 (second-hand): 2, 10, 100 %
        ("strain_limit_bone", 0.02, "PER02"),
        ("strain_limit_cartilage", 0.10, "PER02"),
        ("strain_limit_granulation", 1.0, "PER02"),
        # AOF: no more than half of the holes; AOM: two or more screws in the shaft; HUN11: solid 5.5 mm or more
        ("screw_density_max", 0.5, "AOF"),
        ("screws_per_side_min", 2.0, "AOM"),
        ("revision_diameter", 5.5, "HUN11"),
    ],
)
def test_published_thresholds_carry_the_printed_value(name, value, id):
    assert threshold(name).value == value
    assert threshold(name).source == id


def test_the_cautious_straight_fraction_is_the_apex_of_des16_on_the_lateral_film():
    # DES16: base to apex 40.4 mm, length 70.4 mm, both on the lateral film
    assert threshold("straight_fraction_cautious").value == pytest.approx(40.4 / 70.4, abs=5e-4)


def test_the_series_that_disagree_on_the_least_diameter_are_both_named():
    t = threshold("diameter_min")
    assert {"DES16", "SCO15"} <= {t.source, *t.also}
    assert "disagree" in t.note


def test_an_unknown_threshold_is_refused_and_the_nearest_is_named():
    with pytest.raises(KeyError, match="nearest: 'wall_min'"):
        threshold("wal_min")


def test_an_unlike_threshold_is_refused_without_a_hint():
    with pytest.raises(KeyError, match="no entry '@@@@'"):
        threshold("@@@@")


def test_tables_name_no_maker_and_no_address():
    for name in ("sources.toml", "thresholds.toml"):
        text = (files("fixplan") / name).read_text(encoding="utf-8")
        assert not re.search(r"®|™|https?://|www\.|\.com\b", text), name


def test_cautions_say_all_that_has_to_be_said():
    text = " ".join(CAUTIONS)
    for words in (
        "Not a medical device",
        "not a treatment recommendation",
        "surgeon decides",
        "images",
        "instructions for use",
        "local policy",
        "licensed practice",
        "kit in the room",
        "bracket",
        "do not predict",
    ):
        assert words in text
    for words in ("not a medical device", "surgeon decides", "instructions for use", "kit in the room"):
        assert words in CAUTION_SHORT
