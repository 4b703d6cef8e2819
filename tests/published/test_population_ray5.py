"""Population of the fifth metatarsal: DeSandis et al., Foot Ankle Int 2016;37:528 (DES16, 241 CT), Ochenjele et al.,
Foot Ankle Int 2015;36:293 (OCH15, 119 CT), Scott et al., J Foot Ankle Surg 2015;54:227 (SCO15, 20 cadavers).

Values as printed in the abstracts.
"""

import pytest

from fixplan.bone.defaults import canal_share, default

# DES16 abstract: mean ± SD (95 % interval)
DES16 = {
    "length": (71.4, 6.1, 59.3, 83.5),
    "canal_ap": (4.1, 0.9, 2.2, 5.9),
    "canal_lateral": (5.3, 1.1, 3.2, 7.5),
}


@pytest.mark.parametrize("name", DES16)
def test_defaults_are_the_printed_means_spreads_and_intervals(name):
    mean, sd, low, high = DES16[name]
    d = default(5, name)
    assert (d.value, d.sd, d.low, d.high) == (mean, sd, low, high)
    assert d.source == "DES16"
    assert d.grade == "F"


@pytest.mark.parametrize("name", DES16)
def test_the_printed_intervals_are_those_of_a_normal_distribution(name):
    # 1.96 from the table of the normal distribution; tolerance: half a unit of the last printed digit in mean,
    # standard deviation and limit
    d = default(5, name)
    assert d.low is not None
    assert d.high is not None
    slack = 0.05 + 1.96 * 0.05 + 0.05
    assert d.value - 1.96 * d.sd == pytest.approx(d.low, abs=slack)
    assert d.value + 1.96 * d.sd == pytest.approx(d.high, abs=slack)


def test_the_apex_fraction_follows_from_the_printed_means():
    # DES16: lateral film, base to apex 40.4 ± 6.4, length 70.4; AP film 42.6 ± 5.8, length 71.4
    d = default(5, "apex_fraction")
    assert d.value == pytest.approx(40.4 / 70.4, abs=5e-4)
    assert d.sd == pytest.approx(6.4 / 70.4, abs=5e-4)
    assert d.other[0].value == pytest.approx(42.6 / 71.4, abs=5e-4)
    assert d.other[0].sd == pytest.approx(5.8 / 71.4, abs=5e-4)


def test_the_ellipticity_follows_from_the_printed_means():
    d = default(5, "ellipticity")
    assert d.value == pytest.approx(5.3 / 4.1, abs=5e-3)
    # SCO15: dorsoplantar 6.475, mediolateral 4.6
    assert d.other[0].value == pytest.approx(6.475 / 4.6, abs=5e-3)


def test_other_series_stand_beside_the_canal_width():
    found = {s.source: s for s in default(5, "canal_ap").other}
    assert found["OCH15"].value == 5.0
    assert (found["SCO15"].value, found["SCO15"].sd) == (4.6, 0.85)
    assert (found["ISE15"].low, found["ISE15"].high) == (3.6, 7.0)


def test_the_straight_segment_of_ochenjele_is_68_percent():
    # OCH15: straight segment 52 mm, 68 % of the length
    assert default(5, "straight_fraction_permissive").value == 0.68
    assert default(5, "length").other[0].value == pytest.approx(52 / 0.68, abs=0.05)


def test_the_share_of_canals_above_4_5_mm_in_both_series_and_their_disagreement():
    share = canal_share()
    # table of the standard normal distribution: Phi(0.44) = 0.6700, Phi(0.45) = 0.6736; z = (4.5 - 4.1) / 0.9 = 0.444
    assert 1 - 0.6736 < share.normal_des16 < 1 - 0.6700
    # OCH15: wider than 4.5 mm in 81 % of men and 74 % of women
    assert (share.men_och15, share.women_och15) == (0.81, 0.74)
    assert share.normal_des16 < min(share.men_och15, share.women_och15)
    for words in ("33 %", "81 %", "74 %", "disagree", "DES16", "OCH15", "Measure the canal"):
        assert words in share.text
