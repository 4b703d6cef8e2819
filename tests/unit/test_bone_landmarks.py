"""The whole chain: a synthetic bone of known parameters, two films, noisy clicks, stations, and stated intervals."""

import numpy as np
import pytest

from fixplan.bone.bow import CHI2, LEAST_STATIONS, bow_of, by_chance, fit_bow, sagitta_factor
from fixplan.bone.landmarks import FilmClicks, film_stations, marker_scale, to_profile
from fixplan.bone.profile import Profile

LENGTH, STRAIGHT, ISTHMUS = 71.0, 45.0, 33.0
CURVATURE = {"ap": 0.006, "lateral": -0.004}
WIDTH = {"ap": (4.2, 0.0035), "lateral": (5.4, 0.003)}
# how each film lies on its detector: magnification, rotation, mirrored or not; 0.143 mm a pixel
VIEW = {"ap": (1.06, 0.3, 1), "lateral": (1.045, -1.9, -1)}
PITCH, MARKER = 0.143, 25.0
LEVELS = np.linspace(10.0, 64.0, 14)


def line(film, s):
    return CURVATURE[film] * np.maximum(s - STRAIGHT, 0.0) ** 2 / 2


def width(film, s):
    least, flare = WIDTH[film]
    return least + flare * (s - ISTHMUS) ** 2


def project(film, s, y):
    """Points (s, y) of one plane on its film [px]: magnified, rotated, perhaps mirrored, shifted."""
    m, turn, side = VIEW[film]
    across = side * np.asarray(y)
    x = np.cos(turn) * s - np.sin(turn) * across
    z = np.sin(turn) * s + np.cos(turn) * across
    return np.stack([x, z], axis=-1) * m / PITCH + np.array([900.0, 1200.0])


def films(rng, repeats, noise):
    """Stations of both films from clicks with `noise` px, and scale from a marker clicked with the same noise."""
    out = {}
    for film in ("ap", "lateral"):
        s = LEVELS

        def clicked(points, rng=rng):
            return points + rng.normal(0, noise, (repeats, *points.shape))

        def edges(wide, s=s, film=film):
            return np.stack([project(film, s, line(film, s) + k * wide / 2) for k in (-1, 1)], axis=-2)

        seen = MARKER * VIEW[film][0] / PITCH
        scale, relative = marker_scale(
            clicked(np.array([[50.0, 80.0], [50.0, 80.0 + seen]])), MARKER, click_sd_px=noise
        )
        clicks = FilmClicks(
            film,
            clicked(edges(width(film, s))),
            clicked(edges(width(film, s) + 4.5)),
            clicked(project(film, 0.0, 0.0)),
            clicked(project(film, LENGTH, line(film, LENGTH))),
            clicked(np.stack([project(film, 23.0, 1.0), project(film, 25.0, -1.0)])),
        )
        out[film] = film_stations(clicks, scale, click_sd_px=noise, scale_rel_sd=relative)
    return out["ap"], out["lateral"]


def test_clean_clicks_give_the_bone_back():
    """No noise: the known widths, levels, length and centre line, within the tilt of the fitted axis (0.02 rad)."""
    ap, lateral = films(np.random.default_rng(0), 1, 0.0)
    profile = to_profile(ap, lateral)
    assert profile.s[0] == pytest.approx(LEVELS, abs=0.05)
    assert profile.canal_ap[0] == pytest.approx(width("ap", LEVELS), rel=1e-3)
    assert profile.canal_lateral[0] == pytest.approx(width("lateral", LEVELS), rel=5e-3)
    assert profile.outer_ap[0] == pytest.approx(width("ap", LEVELS) + 4.5, rel=1e-3)
    assert ap.length[0] == pytest.approx(LENGTH, abs=0.05)
    assert ap.fracture[0] == pytest.approx([23.0, 25.0], abs=0.05)
    ends = profile.sagitta()
    factor = sagitta_factor(STRAIGHT, LEVELS[0], LEVELS[-1])
    # the greatest offset at a station lies a little under the curve's own
    assert ends[0][0] == pytest.approx(CURVATURE["ap"] * factor, rel=0.02)
    assert ends[1][0] == pytest.approx(CURVATURE["lateral"] * factor, rel=0.02)


@pytest.mark.parametrize("noise", [0.4, 0.8])
def test_stated_intervals_hold_the_truth_in_93_to_97_percent(noise):
    """1 000 repeats of the whole chain; each 95 % interval is to hold the known value in 93 to 97 % of them."""
    rng = np.random.default_rng(20)
    ap, lateral = films(rng, 1000, noise)
    bow = fit_bow(ap, lateral)
    factor = sagitta_factor(STRAIGHT, LEVELS[0], LEVELS[-1])
    at = int(np.argmin(np.abs(LEVELS - ISTHMUS)))
    canal = {film.film: film.interval(film.canal[:, at : at + 1]) for film in (ap, lateral)}
    intervals = {
        "straight segment": (bow.straight.low, bow.straight.high, STRAIGHT),
        "bow, AP": (bow.sagitta_ap.low, bow.sagitta_ap.high, CURVATURE["ap"] * factor),
        "bow, lateral": (bow.sagitta_lateral.low, bow.sagitta_lateral.high, CURVATURE["lateral"] * factor),
        "curvature, AP": (bow.curvature_ap.low, bow.curvature_ap.high, CURVATURE["ap"]),
        "curvature, lateral": (bow.curvature_lateral.low, bow.curvature_lateral.high, CURVATURE["lateral"]),
        "canal, AP": (*canal["ap"], width("ap", LEVELS[at])),
        "canal, lateral": (*canal["lateral"], width("lateral", LEVELS[at])),
    }
    held = {name: float(np.mean((low <= true) & (true <= high))) for name, (low, high, true) in intervals.items()}
    assert all(0.93 <= share <= 0.97 for share in held.values()), held
    assert bow.seen.all()


def test_a_straight_bone_shows_no_bow_and_an_open_interval():
    """A straight bone is inside the interval of its bow; it seems bowed no more often than the level says."""
    rng = np.random.default_rng(21)
    s = np.linspace(8.0, 64.0, 15)
    one = np.ones((400, 15))
    noise = rng.normal(0, 0.08, (2, 400, 15))
    bow = bow_of(Profile(s, 4 * one, 5 * one, 9 * one, 9 * one, noise[0], noise[1]), 0.08)
    assert np.mean(bow.straight.high >= 63.0) > 0.9
    assert np.mean((bow.sagitta_ap.low <= 0) & (bow.sagitta_ap.high >= 0)) > 0.9
    # 5 % are meant and the bound is an upper one: 2 % were counted in 4 000 repeats
    assert bow.seen.mean() <= 0.05


def test_the_chance_of_a_bow_on_a_straight_bone_by_hand():
    """Gain 0, 4, 0 over three S: M = 2, V = 2 + 2, exp(-2) (1 + 4 * 2 / 2) = 5 exp(-2); and never above 1."""
    assert by_chance([0.0, 4.0, 0.0]) == pytest.approx(5 * np.exp(-2))
    assert by_chance([9.0]) == pytest.approx(np.exp(-4.5))  # one S only: chi-square with two degrees of freedom
    assert by_chance([0.0, 1.0, 0.0, 1.0]) == 1.0


def test_a_weak_bow_is_seen_as_soon_as_its_fit_is_good_enough():
    """No noise: the gain is what curvature and standard uncertainty make it, and the bound is crossed once."""
    s = np.linspace(8.0, 64.0, 15)
    one = np.ones((40, 15))
    kappa = np.linspace(0.0, 2e-3, 40)[:, None]
    line = kappa / 2 * np.maximum(s - 40.0, 0.0) ** 2
    seen = bow_of(Profile(s, 4 * one, 5 * one, 9 * one, 9 * one, line, 0 * line), 0.08).seen
    assert not seen[0]
    assert seen[-1]
    assert np.sum(np.diff(seen.astype(int)) != 0) == 1


def test_more_noise_gives_wider_intervals():
    rng = np.random.default_rng(22)
    widths = [np.mean(b.high - b.low) for b in (fit_bow(*films(rng, 50, n)).straight for n in (0.2, 0.4, 0.8))]
    assert widths[0] < widths[1] < widths[2]


def test_sagitta_factor_is_the_sagitta_of_the_model():
    """Second witness: the sagitta of a finely sampled line, straight and then parabolic."""
    s = np.linspace(5.0, 65.0, 20_001)
    kappa = 0.007
    one = np.ones_like(s)
    profile = Profile(s, 4 * one, 4 * one, 9 * one, 9 * one, kappa / 2 * np.maximum(s - 41.0, 0) ** 2, 0 * s)
    assert profile.sagitta()[0] == pytest.approx(kappa * sagitta_factor(41.0, 5.0, 65.0), rel=1e-6)


def test_the_fewest_stations_leave_a_residual_and_one_less_leaves_none():
    """Level, slope, curvature and a best S: four points of a bow they pass exactly, five not."""
    s = np.linspace(8.0, 64.0, LEAST_STATIONS)
    y = np.array([0.0, 0.05, 0.45, 1.2, 1.2])
    for n, exact in ((LEAST_STATIONS - 1, True), (LEAST_STATIONS, False)):
        left = []
        for start in np.linspace(s[0], s[n - 2], 4001):
            terms = np.stack([np.ones(n), s[:n], np.maximum(s[:n] - start, 0.0) ** 2], axis=-1)
            found = np.linalg.lstsq(terms, y[:n], rcond=None)[0]
            left.append(np.sum((terms @ found - y[:n]) ** 2))
        assert (min(left) < 1e-4) == exact, (n, min(left))


def test_chi_square_quantiles_are_scipys():
    from scipy.stats import chi2

    for level, value in CHI2.items():
        assert value == pytest.approx(chi2.ppf(level, 1), abs=1e-6)


def test_mirrored_film_gives_the_same_stations():
    ap, _ = films(np.random.default_rng(1), 1, 0.0)
    clicks = {"tip": (0.0, 0.0), "head": (710.0, 0.0)}
    y = np.array([0.0, 1.0, 0.0, -2.0])
    x = np.array([100.0, 250.0, 400.0, 600.0])
    for side in (1, -1):
        canal = np.stack([np.stack([x, side * (y + k * 20)], axis=-1) for k in (-1, 1)], axis=-2)
        outer = np.stack([np.stack([x, side * (y + k * 45)], axis=-1) for k in (-1, 1)], axis=-2)
        found = film_stations(FilmClicks("ap", canal, outer, **clicks), 0.1)
        if side == 1:
            first = found
    assert found.offset == pytest.approx(first.offset)
    assert found.s == pytest.approx(first.s)
    assert ap.width_sd.shape == (1,)


def test_a_profile_covers_what_both_films_show():
    ap, lateral = films(np.random.default_rng(1), 3, 0.3)
    part = {k: getattr(lateral, k)[:, 2:9] for k in ("s", "canal", "outer", "offset")}
    short = type(lateral)(**(vars(lateral) | part))
    profile = to_profile(ap, short)
    assert profile.s[:, 0] == pytest.approx(short.s[:, 0])
    assert profile.s[:, -1] == pytest.approx(short.s[:, -1])
    assert profile.canal_ap[1] == pytest.approx(np.interp(profile.s[1], ap.s[1], ap.canal[1]))
    assert profile.offset_lateral[2] == pytest.approx(np.interp(profile.s[2], short.s[2], short.offset[2]))
    with pytest.raises(ValueError, match="films"):
        to_profile(lateral, ap)
    none = type(lateral)(**(vars(lateral) | {"s": lateral.s + 100}))
    with pytest.raises(ValueError, match="part common to both films = -"):
        to_profile(ap, none)


def good(film="ap", n=4):
    x = np.linspace(100.0, 600.0, n)
    canal = np.stack([np.stack([x, np.full(n, k * 20.0)], axis=-1) for k in (-1, 1)], axis=-2)
    outer = np.stack([np.stack([x, np.full(n, k * 45.0)], axis=-1) for k in (-1, 1)], axis=-2)
    return {"film": film, "canal": canal, "outer": outer, "tip": (0.0, 0.0), "head": (710.0, 0.0)}


def swapped(key, index):
    given = good()
    given[key] = given[key].copy()
    given[key][index] = given[key][index][::-1]
    return given


@pytest.mark.parametrize(
    "given, says",
    [
        (good() | {"film": "oblique"}, "film = 'oblique'"),
        (good() | {"tip": (0.0, np.nan)}, "ap tip = nan"),
        (good() | {"tip": (0.0,)}, "ap tip = shape"),
        (good(n=2), "ap positions"),
        (good() | {"outer": good(n=5)["outer"]}, "ap positions"),
        (swapped("canal", 2), "ap canal at index 3 = edges crossed"),
        (swapped("outer", 1), "ap outer at index 2 = edges crossed"),
        (good() | {"tip": (300.0, 0.0)}, "ap index 1 = "),
        (good() | {k: good()[k][[0, 2, 1, 3]] for k in ("canal", "outer")}, "ap index 3 = not beyond"),
    ],
)
def test_impossible_clicks_are_refused(given, says):
    with pytest.raises(ValueError) as refused:
        film_stations(FilmClicks(**given), 0.1)
    assert says in str(refused.value)


def test_impossible_uncertainties_are_refused():
    clicks = FilmClicks(**good())
    for more in ({"click_sd_px": -1.0}, {"scale_rel_sd": -0.1}):
        with pytest.raises(ValueError, match="0 or more"):
            film_stations(clicks, 0.1, **more)
    with pytest.raises(ValueError, match="mm_per_px"):
        film_stations(clicks, 0.0)
    ap, lateral = (film_stations(FilmClicks(**good(f, 4)), 0.1, click_sd_px=0.5) for f in ("ap", "lateral"))
    with pytest.raises(ValueError, match="ap stations = 4: must be 5 or more"):
        fit_bow(ap, lateral)
    with pytest.raises(ValueError, match=r"level = 0\.5"):
        fit_bow(ap, lateral, level=0.5)
    with pytest.raises(ValueError, match="marker_seen"):
        marker_scale([[1.0, 1.0], [1.0, 1.0]], 25.0)
    with pytest.raises(ValueError, match="click_sd = 0"):
        fit_bow(*(film_stations(FilmClicks(**good(f, 6)), 0.1) for f in ("ap", "lateral")))
