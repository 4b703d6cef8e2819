"""The straight corridor against closed forms and against scipy's HiGHS on the same linear programme."""

import numpy as np
import pytest
from scipy.optimize import linprog

from fixplan.bone import simplex
from fixplan.bone.corridor import clearance, corridor, deepest_tip, silhouette
from fixplan.bone.profile import Profile, arc_sagitta

S = np.linspace(0.0, 60.0, 41)
ONE = np.ones_like(S)
MINUTE = 1e-3  # "within 0.1 % at the default resolution"


def canal(s, a, b, x, y):
    """A profile from semi-axes and centre line, with a cortex of 2 mm all round."""
    return Profile(s, 2 * a, 2 * b, 2 * a + 4, 2 * b + 4, x, y)


def arc(radius=200.0):
    """Centre line on a circular arc, convex towards +, 0 at mid length."""
    return np.sqrt(radius**2 - (S - 30) ** 2) - radius


def random_canals(rng, draws):
    a, b = np.exp(rng.normal(0.7, 0.2, (2, draws, S.size)))
    x, y = np.cumsum(rng.normal(0, 0.1, (2, draws, S.size)), axis=-1)
    return a, b, x, y


def by_highs(s, a, b, x, y, directions, entry=None):
    """Largest radius by scipy.optimize.linprog (HiGHS) over the given number of directions."""
    turn = 2 * np.pi * np.arange(directions) / directions
    u = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    rows = np.tile(u, (len(s), 1))
    z = np.repeat(s - s[0], directions)[:, None]
    matrix = np.concatenate([rows, z * rows, np.ones((len(rows), 1))], axis=1)
    h = np.sqrt((a[:, None] * u[:, 0]) ** 2 + (b[:, None] * u[:, 1]) ** 2)
    h = h + x[:, None] * u[:, 0] + y[:, None] * u[:, 1]
    bounds = [(None, None)] * 5 if entry is None else [(e, e) for e in entry] + [(None, None)] * 3
    found = linprog([0, 0, 0, 0, -1], matrix, h.ravel(), bounds=bounds, method="highs")
    assert found.status == 0
    return found.x[-1]


# --- closed forms -------------------------------------------------------------------------------------------


def test_straight_round_canal_holds_its_own_radius():
    """Geometry: the largest cylinder in a straight tube of radius R is the tube."""
    found = corridor(canal(S, 2.5 * ONE, 2.5 * ONE, 0.4 * ONE, -0.3 * ONE), 5.0, 55.0)
    assert found.radius == pytest.approx(2.5, rel=MINUTE)
    assert found.entry == pytest.approx([0.4, -0.3], abs=1e-5)


def test_a_single_ellipse_holds_its_smaller_semi_axis():
    """Geometry: the largest disc in an ellipse has its smaller semi-axis for radius."""
    for a, b in ((2.1, 2.9), (3.3, 1.7)):
        narrow = np.where(np.arange(S.size) == 20, 1.0, 3.0)
        found = corridor(canal(S, a * narrow, b * narrow, 0 * S, 0 * S), 0.0, 60.0)
        assert found.radius == pytest.approx(min(a, b), rel=MINUTE)


@pytest.mark.parametrize("plane", [0.0, 0.3, np.pi / 4, np.pi / 2, 4.0])
def test_a_bow_costs_half_its_sagitta(plane):
    """Circular canal of radius R on an arc of sagitta f, in any plane: r = R - f/2.

    The best line equioscillates about the arc (Chebyshev: the minimax straight line to a convex curve lies half way
    between the chord and the parallel tangent), so the axis is f/2 off at both ends and in the middle.
    """
    f = float(arc_sagitta(200.0, 60.0))
    found = corridor(canal(S, 2.5 * ONE, 2.5 * ONE, arc() * np.cos(plane), arc() * np.sin(plane)), 0.0, 60.0)
    assert found.radius == pytest.approx(2.5 - f / 2, rel=MINUTE)


def test_a_taper_holds_its_narrow_end():
    """Geometry: a straight cone holds the cylinder of its narrow end."""
    tips = np.array([15.0, 30.0, 60.0])
    found = corridor(canal(S, 3 - S / 60, 3.5 - S / 60, 0 * S, 0 * S), 0.0, tips)
    assert found.radius == pytest.approx(3 - tips / 60, rel=MINUTE)


def test_a_slanting_straight_canal_is_followed():
    """A straight canal that runs obliquely loses nothing: the axis takes its slope."""
    found = corridor(canal(S, 2.2 * ONE, 2.2 * ONE, 0.05 * S, 1 - 0.03 * S), 6.0, 60.0)
    assert found.radius == pytest.approx(2.2, rel=MINUTE)
    assert found.slope == pytest.approx([0.05, -0.03], abs=1e-6)
    assert found.tilt == pytest.approx(np.arctan(np.hypot(0.05, 0.03)), rel=1e-6)
    assert found.cylinder_radius == pytest.approx(found.radius * np.cos(found.tilt))


def test_the_wall_is_taken_off_the_outer_corridor():
    """Disc of radius r with wall w all round inside an ellipse: a disc of radius r + w inside it (Minkowski sum)."""
    profile = canal(S, 2.5 * ONE, 2.5 * ONE, arc(), 0 * S)
    f = float(arc_sagitta(200.0, 60.0))
    found = corridor(profile, 0.0, [30.0, 60.0], inside="outer", wall_min=1.5)
    assert found.radius[1] == pytest.approx(4.5 - f / 2 - 1.5, rel=MINUTE)
    per_draw = corridor(profile, 0.0, [30.0, 60.0], inside="outer", wall_min=[1.0, 1.5])
    assert per_draw.radius.shape == (2, 2)
    assert per_draw.radius[1] == pytest.approx(found.radius)


# --- the same programme by another solver --------------------------------------------------------------------


def test_equals_highs_on_200_random_canals():
    """scipy.optimize.linprog (HiGHS) on the same stations and 64 directions, within 1e-6 mm."""
    a, b, x, y = random_canals(np.random.default_rng(11), 200)
    found = corridor(canal(S, a, b, x, y), 0.0, 60.0, directions=64, exact=False)
    expected = [by_highs(S, a[i], b[i], x[i], y[i], 64) for i in range(200)]
    assert np.max(np.abs(found.radius - expected)) < 1e-6


def test_equals_highs_at_every_nested_tip_and_with_a_prescribed_entry():
    """The same with tips between stations, warm-started one from the other, free and with the entry held."""
    a, b, x, y = random_canals(np.random.default_rng(12), 6)
    profile = canal(S, a, b, x, y)
    tips = np.array([50.7, 13.3, 33.0])
    entry = np.array([0.2, -0.1])
    levels = np.unique(np.concatenate([S[S >= 6.0], [6.0], tips]))
    at = profile.at(levels)
    for held in (None, entry):
        found = corridor(profile, 6.0, tips, entry=held, directions=32, exact=False)
        for i in range(6):
            for j, tip in enumerate(tips):
                m = levels <= tip
                sections = (
                    at.canal_ap[i, m] / 2,
                    at.canal_lateral[i, m] / 2,
                    at.offset_ap[i, m],
                    at.offset_lateral[i, m],
                )
                assert found.radius[i, j] == pytest.approx(by_highs(levels[m], *sections, 32, held), abs=1e-6)


def test_exact_mode_is_the_limit_of_many_directions():
    """HiGHS over 4096 tangents: too large by at most (1 - cos(pi/4096)) times the offset, here below 3e-7 of 3 mm."""
    s = np.linspace(0.0, 50.0, 9)
    rng = np.random.default_rng(3)
    for _ in range(4):
        a, b = rng.uniform(1.5, 4.0, (2, s.size))
        x, y = rng.normal(0, 0.7, (2, s.size))
        found = corridor(canal(s, a, b, x, y), 0.0, 50.0)
        many = by_highs(s, a, b, x, y, 4096)
        assert many - 1e-5 <= found.radius <= many + 1e-9


def test_plain_mode_errs_on_the_large_side_within_its_bound():
    """1 - cos(pi/K) of the offset: circular canals on an arc, where the offset is f/2 and K = 16 misses the plane."""
    f = float(arc_sagitta(200.0, 60.0))
    turned = np.pi / 16
    profile = canal(S, 2.5 * ONE, 2.5 * ONE, arc() * np.cos(turned), arc() * np.sin(turned))
    plain = corridor(profile, 0.0, 60.0, directions=16, exact=False).radius
    true = 2.5 - f / 2
    assert true < plain <= true + f / 2 * (1 - np.cos(np.pi / 16)) + 1e-9


# --- what else is returned -----------------------------------------------------------------------------------


def test_walls_touched_in_a_bow_towards_lateral():
    """A canal bowed towards lateral: the screw meets the medial cortex in mid length, as published (EBR00)."""
    found = corridor(canal(S, 2.5 * ONE, 2.5 * ONE, arc(), 0 * S), 0.0, 60.0)
    deciding = found.contact_share > 0.01
    touched = set(zip(found.contact_wall[deciding], found.contact_s[deciding]))
    assert touched == {("lateral", 0.0), ("medial", 30.0), ("lateral", 60.0)}
    assert found.contact_share.sum() == pytest.approx(1.0, abs=1e-6)
    assert set(found.contact_wall[found.contact_share <= 1e-6]) <= {""}


def test_a_prescribed_entry_never_gains():
    """Fewer free unknowns never enlarge a maximum; the best entry given back loses nothing."""
    profile = canal(S, 2.5 * ONE, 2.2 * ONE, arc(), 0.3 * arc())
    free = corridor(profile, 4.0, [30.0, 56.0])
    held = corridor(profile, 4.0, [30.0, 56.0], entry=[0.8, 0.0])
    again = corridor(profile, 4.0, 56.0, entry=free.entry[1])
    assert np.all(held.radius < free.radius)
    assert held.entry == pytest.approx(np.array([[0.8, 0.0]] * 2))
    assert again.radius == pytest.approx(free.radius[1], abs=1e-5)
    assert np.isnan(held.contact_s[..., 3:]).all()


def test_the_centred_axis_lies_amid_the_freedom():
    """Symmetric taper: every axis through the narrow end's centre region is as good; the mean of them is the axis."""
    profile = canal(S, 3 - S / 60, 3.5 - S / 60, 0 * S, 0 * S)
    corner = corridor(profile, 0.0, [30.0, 60.0])
    centred = corridor(profile, 0.0, [30.0, 60.0], centred=True)
    assert centred.radius == pytest.approx(corner.radius, abs=1e-5)
    assert np.abs(corner.entry).max() > 0.3
    assert np.abs(centred.entry).max() < 1e-3
    assert np.abs(centred.slope).max() < 1e-4
    line = centred.entry[1, :, None] + centred.slope[1, :, None] * S
    least = clearance(profile, S, line[0], line[1])[0].min()
    assert least >= centred.radius[1] - 1e-9


def test_shapes_follow_draws_and_tips():
    a, b, x, y = random_canals(np.random.default_rng(5), 6)
    flat = corridor(canal(S, a, b, x, y), 2.0, [20.0, 40.0])
    shaped = corridor(canal(S, *(v.reshape(2, 3, -1) for v in (a, b, x, y))), 2.0, [40.0, 20.0])
    assert flat.radius.shape == (6, 2)
    assert flat.slope.shape == (6, 2, 2)
    assert flat.contact_wall.shape == (6, 2, 5)
    assert shaped.radius[..., ::-1].reshape(6, 2) == pytest.approx(flat.radius, abs=2e-6)
    assert corridor(canal(S, a, b, x, y), 2.0, 40.0).radius == pytest.approx(flat.radius[:, 1], abs=2e-6)


def test_levels_of_its_own_for_each_draw(monkeypatch):
    """Stations, seats and tips that differ between draws give what each draw gives alone, across chunks."""
    rng = np.random.default_rng(6)
    a, b, x, y = random_canals(rng, 5)
    s = S * rng.uniform(0.9, 1.1, (5, 1))
    seat, tip = rng.uniform(1, 8, 5), rng.uniform(20, 50, (5, 2))
    monkeypatch.setattr("fixplan.bone.corridor.CHUNK", 2)
    together = corridor(canal(s, a, b, x, y), seat, tip)
    for i in range(5):
        alone = corridor(canal(s[i], a[i], b[i], x[i], y[i]), seat[i], tip[i])
        assert together.radius[i] == pytest.approx(alone.radius, abs=3e-6)


def test_a_canal_without_any_straight_line_has_a_negative_radius():
    """Thin canal of radius 0.2 on an arc of sagitta f > 0.4: R - f/2 is below 0 and is reported, not hidden."""
    f = float(arc_sagitta(200.0, 60.0))
    found = corridor(canal(S, 0.2 * ONE, 0.2 * ONE, arc(), 0 * S), 0.0, 60.0)
    assert found.radius == pytest.approx(0.2 - f / 2, rel=MINUTE)
    assert found.radius < 0


def test_stopped_early_the_radius_is_still_safe(monkeypatch):
    """With hardly a pivot allowed, what is violated is taken off, and the gap tells how far the best may be."""
    a, b, x, y = random_canals(np.random.default_rng(7), 20)
    profile = canal(S, a, b, x, y)
    full = corridor(profile, 0.0, 60.0)
    monkeypatch.setattr(simplex, "MAX_PIVOTS", 3)
    short = corridor(profile, 0.0, 60.0)
    assert np.all(short.radius <= full.radius + 1e-9)
    assert np.all(full.radius <= short.radius + short.gap + 1e-6)
    assert np.max(short.gap) > 0.01


# --- walls and depth -----------------------------------------------------------------------------------------


def test_clearance_is_the_distance_to_the_ellipse():
    """Against the least distance to 20 000 points of each ellipse, inside and outside (up to 1.3 um apart)."""
    rng = np.random.default_rng(8)
    a, b = rng.uniform(1, 4, (2, 12))
    s = np.arange(12.0)
    px, py = rng.uniform(-1, 1, (2, 12)) * np.array([a, b]) * 1.3
    found, angle = clearance(canal(s, a, b, 0 * s, 0 * s), s, px, py)
    turn = np.linspace(0, 2 * np.pi, 20_001)
    edge = np.stack([a[:, None] * np.cos(turn), b[:, None] * np.sin(turn)])
    near = np.hypot(edge[0] - px[:, None], edge[1] - py[:, None]).min(axis=1)
    inside = (px / a) ** 2 + (py / b) ** 2 < 1
    assert found == pytest.approx(np.where(inside, near, -near), abs=2e-5)
    nearest = np.stack([px, py]) + found * np.stack([np.cos(angle), np.sin(angle)])
    assert (nearest[0] / a) ** 2 + (nearest[1] / b) ** 2 == pytest.approx(np.ones(12), abs=1e-6)


@pytest.mark.parametrize("aspect", [1.0, 3.0, 30.0, 300.0])
def test_the_touching_direction_is_found_however_flat_the_ellipse(aspect):
    """Second witness: the greatest excess over 400 001 directions; flat ellipses have a sharp maximum."""
    rng = np.random.default_rng(9)
    a, b = 3.0 / aspect, 3.0
    s = np.arange(20.0)
    px, py = rng.uniform(-1.2, 1.2, (2, 20)) * np.array([[a], [b]])
    px[:2], py[1:3] = 0.0, 0.0
    found, _ = clearance(canal(s, a + 0 * s, b + 0 * s, 0 * s, 0 * s), s, px, py)
    turn = np.linspace(0, 2 * np.pi, 400_001)
    h = np.hypot(a * np.cos(turn), b * np.sin(turn))
    many = [np.max(x * np.cos(turn) + y * np.sin(turn) - h) for x, y in zip(px, py)]
    assert found == pytest.approx(-np.array(many), abs=1e-7)


def test_silhouette_is_what_the_films_show():
    """Outer 10 x 8 mm about (1, 0); cylinder of radius 2 on the axis (0, 0.5): lateral 1+5-0-2, medial 5-1-2, ..."""
    profile = Profile([0.0, 10.0], 4.0, 4.0, 10.0, 8.0, 1.0, 0.0)
    found = silhouette(profile, [5.0], 0.0, 0.5, 2.0)
    assert found[0] == pytest.approx([4.0, 1.5, 2.0, 2.5])


def test_deepest_tip_in_an_arc():
    """r = R - f/2 gives f = 2 (R - r), and a chord 2 sqrt(2 rho f - f^2) on the arc of radius rho."""
    rho, want = 150.0, 2.1
    s = np.linspace(0.0, 80.0, 321)
    line = np.sqrt(rho**2 - (s - 40) ** 2) - rho
    f = 2 * (2.5 - want)
    chord = 2 * np.sqrt(2 * rho * f - f**2)
    start = 40 - chord / 2
    found = deepest_tip(canal(s, 0 * s + 2.5, 0 * s + 2.5, line, 0 * s), start, [want, 2.5 + 1e-3, 1.0])
    assert found[0] == pytest.approx(40 + chord / 2, abs=0.15)
    assert np.isnan(found[1])
    assert found[2] == 80.0


@pytest.mark.parametrize(
    "change, says",
    [
        ({"inside": "bone"}, "inside = 'bone'"),
        ({"directions": 10}, "directions = 10"),
        ({"directions": 4}, "directions = 4"),
        ({"wall_min": -0.1}, "wall_min = -0.1"),
        ({"entry": [0.0]}, "entry = shape"),
        ({"tip": 5.0}, "tip = 0 mm from the seat"),
        ({"tip": 61.0}, "s = 61 mm"),
        ({"seat": -1.0}, "s = -1 mm"),
        ({"tip": np.nan}, "tip = nan"),
    ],
)
def test_refusals_name_value_bound_and_remedy(change, says):
    given = {"profile": canal(S, 2.5 * ONE, 2.5 * ONE, 0 * S, 0 * S), "seat": 5.0, "tip": 50.0} | change
    with pytest.raises(ValueError) as refused:
        corridor(**given)
    assert says in str(refused.value)
    assert "must be" in str(refused.value)
