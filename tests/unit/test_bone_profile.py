"""Stations of the bone: refusals, interpolation, sagitta, the angle of the bow, and the least input."""

import numpy as np
import pytest

from fixplan.bone.profile import Profile, arc_radius, arc_sagitta, from_least_input

GOOD = {
    "s": [0.0, 20.0, 50.0],
    "canal_ap": [5.0, 4.0, 6.0],
    "canal_lateral": [6.0, 5.0, 6.0],
    "outer_ap": [12.0, 9.0, 10.0],
    "outer_lateral": [11.0, 8.0, 9.0],
    "offset_ap": [0.0, 0.5, 0.0],
    "offset_lateral": 0.0,
}
LEAST = {
    "length": 71.5,
    "straight": 50.0,
    "isthmus_at": 33.0,
    "canal_ap": 4.7,
    "canal_lateral": 5.6,
    "outer_ap": 9.6,
    "outer_lateral": 8.4,
    "fracture_at": 24.0,
}


@pytest.mark.parametrize(
    "change, says",
    [
        ({"canal_ap": [5.0, 9.0, 6.0]}, "canal_ap = 9: must be less than outer_ap = 9"),
        ({"canal_lateral": [6.0, np.nan, 6.0]}, "canal_lateral = nan: must be a finite number"),
        ({"outer_ap": [12.0, np.inf, 10.0]}, "outer_ap = inf"),
        ({"canal_ap": [5.0, -4.0, 6.0]}, "canal_ap = -4: must be greater than 0"),
        ({"offset_ap": [0.0, np.nan, 0.0]}, "offset_ap = nan"),
        ({"s": [0.0, 50.0, 50.0]}, "s = station 3: must be beyond the station before it"),
        ({"s": [20.0, 0.0, 50.0]}, "s = station 2"),
        ({"s": 3.0}, "at least two stations"),
        ({"s": [3.0]}, "at least two stations"),
    ],
)
def test_impossible_stations_are_refused(change, says):
    with pytest.raises(ValueError) as refused:
        Profile(**(GOOD | change))
    assert says in str(refused.value)


def test_columns_have_to_match_the_stations():
    with pytest.raises(ValueError, match=r"stations = canal_ap \(3,\).* must be \(..., 2\) as in s"):
        Profile(**(GOOD | {"s": [0.0, 50.0]}))


def test_stations_cannot_be_changed_afterwards():
    profile = Profile(**GOOD)
    with pytest.raises(ValueError):
        profile.canal_ap[0] = 1.0
    with pytest.raises(ValueError):
        profile.s[0] = 1.0


def test_interpolation_is_numpys_own():
    """numpy.interp, column by column."""
    profile = Profile(**GOOD)
    where = np.array([0.0, 7.0, 20.0, 33.3, 50.0])
    at = profile.at(where)
    for name in ("canal_ap", "canal_lateral", "outer_ap", "outer_lateral", "offset_ap", "offset_lateral"):
        column = np.broadcast_to(GOOD[name], 3)
        assert getattr(at, name) == pytest.approx(np.interp(where, GOOD["s"], column))


def test_interpolation_with_draws_on_either_side():
    """Stations of their own for each draw, levels of their own, or both: the same as one by one."""
    rng = np.random.default_rng(2)
    s = np.cumsum(rng.uniform(1, 5, (4, 6)), axis=1)
    widths = rng.uniform(3, 5, (4, 6))
    own = Profile(s, widths, widths, widths + 3, widths + 3, widths, -widths)
    levels = s[:, :1] + np.array([0.1, 0.5, 0.9]) * (s[:, -1:] - s[:, :1])
    both = own.at(levels)
    common = own.at([6.0, 8.0])
    for i in range(4):
        assert both.canal_ap[i] == pytest.approx(np.interp(levels[i], s[i], widths[i]))
        assert common.offset_lateral[i] == pytest.approx(np.interp([6.0, 8.0], s[i], -widths[i]))
    one = Profile(**GOOD).at(np.array([[0.0, 10.0], [20.0, 30.0]]))
    assert one.canal_ap == pytest.approx(np.array([[5.0, 4.5], [4.0, 4 + 2 / 3]]))
    assert one.lead == (2,)


@pytest.mark.parametrize("level", [-0.1, 50.1])
def test_no_extrapolation(level):
    with pytest.raises(ValueError, match="from 0 to 50 mm"):
        Profile(**GOOD).at([0.0, level] if level > 0 else [level, 1.0])


def test_sagitta_and_turn_of_an_arc():
    """Circular segment: f = R - sqrt(R^2 - c^2/4); the tangents at the ends of the chord meet at 2 asin(c/2R)."""
    radius, chord = 150.0, 50.0
    s = np.linspace(0.0, chord, 401)
    line = np.sqrt(radius**2 - (s - chord / 2) ** 2)
    one = np.ones_like(s)
    profile = Profile(s, 4 * one, 4 * one, 9 * one, 9 * one, line, -0.5 * line)
    ap, lateral = profile.sagitta()
    assert ap == pytest.approx(arc_sagitta(radius, chord), rel=1e-6)
    assert lateral == pytest.approx(-0.5 * arc_sagitta(radius, chord), rel=1e-6)
    flat = Profile(s, 4 * one, 4 * one, 9 * one, 9 * one, line, 0 * s)
    assert flat.turn(1.0, chord - 1.0) == pytest.approx(2 * np.arcsin((chord / 2 - 1) / radius), rel=2e-3)
    assert flat.turn(20.0, 20.0) == 0
    assert flat.slope()[0][0] == pytest.approx((line[1] - line[0]) / (s[1] - s[0]))
    with pytest.raises(ValueError, match="level"):
        flat.turn(0.0, chord + 1)


def test_radius_from_sagitta_undoes_sagitta_from_radius():
    """Machinery's handbook form of the circular segment, r = (c^2 + 4 h^2)/(8 h) (from memory)."""
    assert arc_radius(arc_sagitta(210.0, 35.0), 35.0) == pytest.approx(210.0)
    assert arc_radius(3.0, 24.0) == pytest.approx((24**2 + 4 * 3**2) / (8 * 3))


def test_no_arc_has_a_chord_longer_than_its_diameter():
    assert arc_sagitta(10.0, 20.0) == 10.0
    with pytest.raises(ValueError, match="chord"):
        arc_sagitta(10.0, 20.1)


def test_least_input_is_uniform_and_straight():
    profile = from_least_input(**LEAST)
    assert profile.s.ndim == 1
    assert (profile.s[0], profile.s[-1]) == (0.0, pytest.approx(71.5, abs=1e-6))
    assert np.all(profile.canal_ap == 4.7)
    assert np.all(profile.outer_lateral == 8.4)
    assert np.all(profile.offset_ap == 0)
    for level in (24.0, 33.0, 50.0):
        assert np.min(np.abs(profile.s - level)) < 1e-5


def test_least_input_with_a_fracture_level_runs_linearly_between():
    profile = from_least_input(**LEAST, fracture_canal_ap=5.6, fracture_outer_lateral=9.3)
    at = profile.at([10.0, 24.0, 28.5, 33.0, 60.0])
    assert at.canal_ap == pytest.approx([5.6, 5.6, 5.15, 4.7, 4.7])
    assert at.outer_lateral == pytest.approx([9.3, 9.3, 8.85, 8.4, 8.4])
    same = from_least_input(**(LEAST | {"fracture_at": 33.0}), fracture_canal_ap=5.6)
    assert same.canal_ap == pytest.approx(np.full(same.s.size, 4.7))


def test_least_input_bows_beyond_the_straight_segment():
    """Parabola: offset kappa (s - S)^2/2 beyond S."""
    profile = from_least_input(**LEAST, bow_ap=0.005, bow_lateral=-0.01, stations=200)
    at = profile.at([30.0, 50.0, 60.0, 70.0])
    assert at.offset_ap == pytest.approx([0, 0, 0.25, 1.0], abs=1e-3)
    assert at.offset_lateral == pytest.approx([0, 0, -0.5, -2.0], abs=1e-3)


def test_least_input_with_draws():
    draws = from_least_input(**(LEAST | {"length": [71.5, 65.0], "canal_ap": [4.7, 4.1]}))
    one = from_least_input(**(LEAST | {"length": 65.0, "canal_ap": 4.1}))
    assert draws.s.shape == (2, one.s.size)
    assert draws.s[1] == pytest.approx(one.s)
    assert draws.canal_ap[1] == pytest.approx(one.canal_ap)


@pytest.mark.parametrize(
    "change, says",
    [
        ({"straight": 72.0}, "straight = 72 mm: must be less than the length 71.5 mm"),
        ({"fracture_at": [24.0, 80.0]}, "fracture_at = 80 mm"),
        ({"isthmus_at": 0.0}, "isthmus_at = 0"),
        ({"canal_ap": 9.6}, "canal_ap = 9.6"),
        ({"stations": 3}, "stations = 3"),
    ],
)
def test_least_input_refuses_levels_outside_the_bone(change, says):
    with pytest.raises(ValueError) as refused:
        from_least_input(**(LEAST | change))
    assert says in str(refused.value)
