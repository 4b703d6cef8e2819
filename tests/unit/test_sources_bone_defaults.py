"""Bone defaults: published for ray 5, asked for elsewhere, and one foot called one foot."""

import numpy as np
import pytest

from fixplan.bone.defaults import NotPublished, default, measurements, outer_default, outer_widths
from fixplan.sources import DEFAULT_GRADES, source

NAMES = (
    "length",
    "canal_ap",
    "canal_lateral",
    "apex_fraction",
    "ellipticity",
    "straight_fraction_cautious",
    "straight_fraction_permissive",
    "seat_depth",
    "extent",
    "gap",
)


@pytest.mark.parametrize("name", NAMES)
def test_every_default_of_ray_5_has_source_grade_note_and_known_series(name):
    d = default(5, name)
    assert d.value > 0
    assert d.sd >= 0
    source(d.source)
    source(d.sd_source)
    assert d.grade in DEFAULT_GRADES
    assert d.note
    assert d.population
    for s in d.other:
        source(s.source)
        assert s.value is not None or s.low is not None
    for id in d.also:
        source(id)


@pytest.mark.parametrize("ray", [1, 2, 3, 4])
@pytest.mark.parametrize("name", ["canal_ap", "canal_lateral", "length", "apex_fraction", "seat_depth"])
def test_rays_1_to_4_are_asked_for_instead_of_invented(ray, name):
    with pytest.raises(NotPublished, match=f"{name} of ray {ray}.*no reliable population value"):
        default(ray, name)


def test_the_question_says_what_to_measure_on_which_film_and_how():
    with pytest.raises(NotPublished, match=r"measure it \(AP\): narrowest width of the canal.*At the isthmus"):
        default(2, "canal_ap")


def test_a_name_without_guidance_is_still_asked_for():
    with pytest.raises(NotPublished, match="give the value"):
        default(2, "bow_radius")


@pytest.mark.parametrize("zone", [1, 2, 3, "2"])
def test_zones_give_a_middle_inside_their_band_and_say_that_no_source_prints_borders(zone):
    d = default(5, "from_base", zone=zone)
    assert d.low is not None
    assert d.high is not None
    assert d.value == pytest.approx((d.low + d.high) / 2)
    # standard deviation of an even spread over the band: width / sqrt(12) (GUM, JCGM 100:2008, 4.3.7)
    assert d.sd == pytest.approx((d.high - d.low) / np.sqrt(12), abs=0.06)
    assert "No source gives the borders" in d.note
    # the middles are derived, but from borders that are recalled: no better than these
    assert d.grade == "M-h"


def test_zones_lie_one_beyond_the_other():
    one, two, three = (default(5, "from_base", zone=z) for z in (1, 2, 3))
    assert one.high == two.low
    assert two.high == three.low


def test_the_zone_is_needed_for_the_distance():
    with pytest.raises(NotPublished, match="from_base"):
        default(5, "from_base")


def test_an_impossible_zone_or_ray_is_refused():
    with pytest.raises(ValueError, match="zone: 4"):
        default(5, "from_base", zone=4)
    with pytest.raises(ValueError, match="ray: 6"):
        default(6, "length")


def test_outer_widths_call_themselves_one_foot():
    ap, lateral = outer_default(5, 71.3, 35.65)
    for d in (ap, lateral):
        assert d.source == "ONEFOOT"
        assert d.grade == "one foot"
        assert "not a population" in d.population
        assert d.sd_source == "FRA17"
        # FRA17: head height 13.0 ± 1.1 mm
        assert d.sd / d.value == pytest.approx(1.1 / 13.0, abs=1e-3)


def test_outer_widths_scale_with_the_length_and_take_arrays():
    u = np.array([0.1, 0.33, 0.5, 0.9])
    for ray in (1, 2, 3, 4, 5):
        small, large = outer_widths(ray, 60.0, 60.0 * u), outer_widths(ray, 72.0, 72.0 * u)
        for a, b in zip(small, large, strict=True):
            assert a.shape == u.shape
            np.testing.assert_allclose(b / a, 72.0 / 60.0)


def test_the_fifth_is_wider_than_high_at_mid_shaft_and_the_second_nearly_round():
    # description of the measured foot: fifth 7.6 high and 11.3 wide at 60 % of 71.3 mm
    ap, lateral = outer_widths(5, 71.3, 0.6 * 71.3)
    assert float(ap) == pytest.approx(11.3, abs=0.05)
    assert float(lateral) == pytest.approx(7.6, abs=0.05)


@pytest.mark.parametrize("at", [0.0, 7.0, 64.5, float("nan")])
def test_outer_widths_are_refused_where_the_shape_was_not_kept(at):
    with pytest.raises(ValueError, match="measure the outer width there"):
        outer_widths(5, 71.3, at)


def test_a_length_of_nothing_is_refused():
    with pytest.raises(ValueError, match="length: 0"):
        outer_widths(5, 0.0, 30.0)


def test_every_measurement_says_film_what_how_and_source():
    for name, m in measurements().items():
        assert m.name == name
        assert m.film
        assert m.what
        assert m.how.endswith(".")
        source(m.source)
