"""The corridor is monotone and safe, whatever the canal."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixplan.bone.corridor import clearance, corridor, deepest_tip
from fixplan.bone.profile import Profile

SLACK = 3e-6  # mm; each radius is found to 1e-6


@st.composite
def canals(draw):
    """Stations at uneven levels, widths from 2 to 9 mm, any centre line within 3 mm."""
    n = draw(st.integers(3, 9))
    steps = draw(st.lists(st.floats(0.5, 12.0), min_size=n, max_size=n))
    s = np.cumsum(steps)

    def column(low, high):
        return np.array(draw(st.lists(st.floats(low, high), min_size=n, max_size=n)))

    ap, lateral = column(2.0, 9.0), column(2.0, 9.0)
    return Profile(s, ap, lateral, ap + column(0.5, 4.0), lateral + column(0.5, 4.0), column(-3, 3), column(-3, 3))


@st.composite
def reaches(draw, profile):
    first, last = profile.s[0], profile.s[-1]
    seat = first + draw(st.floats(0.0, 0.4)) * (last - first)
    shares = draw(st.lists(st.floats(0.5, 1.0), min_size=2, max_size=4))
    return seat, np.sort(first + np.array(shares) * (last - first))


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_a_deeper_tip_never_enlarges_the_corridor(data):
    profile = data.draw(canals())
    seat, tips = data.draw(reaches(profile))
    for inside in ("canal", "outer"):
        radius = corridor(profile, seat, tips, inside=inside).radius
        assert np.all(np.diff(radius) <= SLACK)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_the_cylinder_is_inside_every_section(data):
    """Points on the cylinder's surface, sampled densely, satisfy the ellipses' own inequality (no support function)."""
    profile = data.draw(canals())
    seat, tips = data.draw(reaches(profile))
    found = corridor(profile, seat, tips[-1])
    inside = profile.s[(profile.s > seat) & (profile.s < tips[-1])]
    at = profile.at(np.unique(np.concatenate([[seat], inside, tips[-1:]])))
    turn = np.linspace(0, 2 * np.pi, 721)
    x = found.entry[0] + found.slope[0] * (at.s - seat) - at.offset_ap
    y = found.entry[1] + found.slope[1] * (at.s - seat) - at.offset_lateral
    r = float(found.radius)
    # a negative radius says how far the line leaves the canal: then there is no cylinder to be inside
    if r >= 0:
        edge_x, edge_y = x[:, None] + r * np.cos(turn), y[:, None] + r * np.sin(turn)
        level = (edge_x / at.canal_ap[:, None] * 2) ** 2 + (edge_y / at.canal_lateral[:, None] * 2) ** 2
        assert np.max(level) <= 1 + 1e-9
    least = clearance(profile, at.s, x + at.offset_ap, y + at.offset_lateral)[0].min()
    assert least == pytest.approx(found.radius, abs=SLACK)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_adding_stations_never_enlarges_the_corridor(data):
    """A station measured in between can only take away: any ellipse at a new level is one more constraint."""
    profile = data.draw(canals())
    new = profile.s[:-1] + 0.5 * np.diff(profile.s)
    more = profile.at(np.sort(np.concatenate([profile.s, new])))
    wider = np.isin(more.s, new) * data.draw(st.floats(0.0, 2.0))
    more = Profile(
        more.s,
        more.canal_ap + wider,
        more.canal_lateral + wider,
        more.outer_ap + wider,
        more.outer_lateral + wider,
        more.offset_ap,
        more.offset_lateral,
    )
    # from station to stations that both have: interpolated ends would lie between nearer neighbours in the one
    start, ends = profile.s[0], profile.s[1:]
    assert np.all(corridor(more, start, ends).radius <= corridor(profile, start, ends).radius + SLACK)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_moving_and_mirroring_the_bone_changes_nothing(data):
    profile = data.draw(canals())
    seat, tips = data.draw(reaches(profile))
    shift = data.draw(st.floats(-20, 20))
    moved = Profile(
        profile.s + 7,
        profile.canal_lateral,
        profile.canal_ap,
        profile.outer_lateral,
        profile.outer_ap,
        -profile.offset_lateral + shift,
        profile.offset_ap + 0.02 * profile.s,
    )
    assert corridor(moved, seat + 7, tips + 7).radius == pytest.approx(corridor(profile, seat, tips).radius, abs=SLACK)


@settings(max_examples=15, deadline=None)
@given(st.data())
def test_what_fits_to_the_deepest_tip_fits(data):
    profile = data.draw(canals())
    radius = data.draw(st.floats(0.2, 4.0))
    deepest = float(deepest_tip(profile, profile.s[0], radius))
    if np.isnan(deepest):
        first = profile.s[0] + 1e-3 * np.ptp(profile.s)
        assert corridor(profile, profile.s[0], first).radius < radius + SLACK
    else:
        assert corridor(profile, profile.s[0], deepest).radius >= radius - SLACK
