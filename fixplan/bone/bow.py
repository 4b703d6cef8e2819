"""Where the straight segment ends and how strong the bow is, from noisy centre lines, with honest intervals.

Model of each plane: y(s) = alpha + beta s + kappa (s - S)^2 / 2 beyond S, no last term before it; S is common to both
planes. For a given S the model is linear in the rest, so the sum of squared residuals is minimised over a grid of
S alone (separable least squares: GOLUB73) and the best is polished between grid points.

Intervals are profile-likelihood intervals: all values whose best fit is worse by no more than chi2(1, level), then
widened in quadrature by what the residuals cannot show (the tip's click and the scale of the film). A straight
bone or a few noisy stations give a wide interval, not a false narrow one. Whether there is a bow at all is another
question: on a straight bone S means nothing, and the best of many S always fits better than none. Davies' bound
(DAVIES87) for a parameter that exists only under the alternative answers it. Units: mm, 1/mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fixplan.bone.landmarks import FilmStations
from fixplan.bone.profile import Floats, Profile, finite, refuse

GRID = 241
"""Values of S tried on a bone; the best is polished between them."""
LEVEL = 0.95
"""Level of the intervals; a bow is seen where a straight bone shows as much by a chance below 1 - LEVEL."""
LEAST_STATIONS = 5
"""A plane of the fit has four unknowns (level, slope, curvature, S): the fewest stations that leave a residual."""
# chi-square with one degree of freedom: standard normal quantile squared (tables)
CHI2 = {0.68: 0.988946, 0.90: 2.705543, 0.95: 3.841459, 0.99: 6.634897}


@dataclass(frozen=True)
class Estimate:
    """Best value and the ends of its interval, each (...,)."""

    value: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True)
class Bow:
    """`straight` [mm]; `curvature_*` [1/mm] beyond it and `sagitta_*` [mm] over `chord`, signed (see `profile`).

    `seen` (...,): the bow is told from a straight bone at the level asked for (`by_chance` below 1 - level); where it
    is not, `straight` reaches the last station and only its low end means something.
    """

    straight: Estimate
    curvature_ap: Estimate
    curvature_lateral: Estimate
    sagitta_ap: Estimate
    sagitta_lateral: Estimate
    chord: tuple[Floats, Floats]
    seen: npt.NDArray[np.bool_]


def fit_bow(ap: FilmStations, lateral: FilmStations, *, level: float = LEVEL) -> Bow:
    """Fit the bow to the centre lines of two films (see the module's head).

    Raises ValueError with fewer than LEAST_STATIONS on a film, or clicks without a standard deviation.
    """
    if level not in CHI2:
        raise refuse("level", level, f"one of {sorted(CHI2)}", "choose one of them")
    planes = []
    # the mean of both films: the greater of two noisy ends would shorten the chord on average
    low = (ap.s[..., 0] + lateral.s[..., 0]) / 2
    high = (ap.s[..., -1] + lateral.s[..., -1]) / 2
    grid = low[..., None] + np.linspace(0.0, 1.0, GRID) * (high - low)[..., None]
    for film in (ap, lateral):
        if film.s.shape[-1] < LEAST_STATIONS:
            raise refuse(f"{film.film} stations", film.s.shape[-1], f"{LEAST_STATIONS} or more", "click more positions")
        sd = finite("click_sd", film.click_sd, above=0.0) / np.sqrt(2.0)
        planes.append(_plane(film.s, film.offset, sd, grid))
    loss = planes[0].loss + planes[1].loss
    best = np.argmin(loss, axis=-1)
    straight = _vertex(grid, loss, best)
    least = np.min(loss, axis=-1, keepdims=True)
    room = CHI2[level] - (loss - least)
    flat = planes[0].flat + planes[1].flat
    # what a film says of S grows with its bow: an error of its scale or of its tip counts by that share
    told = np.stack([_at(p.kappa**2 * p.weight, best) for p in planes])
    share = (told + 1e-300) / np.sum(told + 1e-300, axis=0)
    shared = np.hypot(share[0] * ap.scale_rel_sd, share[1] * lateral.scale_rel_sd)
    tip_sd = np.hypot(share[0] * ap.click_sd, share[1] * lateral.click_sd)
    z = np.sqrt(CHI2[level])
    s_low, s_high = _ends(grid, room)
    s_sd = z * np.hypot(tip_sd, straight * shared)
    estimates = []
    for plane, film in zip(planes, (ap, lateral)):
        kappa = _at(plane.kappa, best)
        half = np.sqrt(np.where(room > 0, room, np.nan) / plane.weight)
        for factor in (np.ones_like(grid), sagitta_factor(grid, low[..., None], high[..., None])):
            f_best = _at(factor, best)
            a, b = factor * (plane.kappa - half), factor * (plane.kappa + half)
            value = kappa * f_best
            scale = z * np.abs(value) * film.scale_rel_sd
            lo = value - np.hypot(value - np.nanmin(np.minimum(a, b), axis=-1), scale)
            hi = value + np.hypot(np.nanmax(np.maximum(a, b), axis=-1) - value, scale)
            estimates.append(Estimate(value, lo, hi))
    return Bow(
        Estimate(straight, straight - np.hypot(straight - s_low, s_sd), straight + np.hypot(s_high - straight, s_sd)),
        estimates[0],
        estimates[2],
        estimates[1],
        estimates[3],
        (low, high),
        by_chance(flat[..., None] - loss) < 1 - level,
    )


def by_chance(gain: npt.ArrayLike) -> Floats:
    """Upper bound of the probability that a straight bone shows so great a gain for some S; gain (..., G) gives (...,).

    `gain` is the fall of the weighted sum of squares over the straight line, at each S of a grid: chi-square with two
    degrees of freedom at each S (a curvature in each plane), M its greatest value, V the sum of the steps of its
    square root from S to S: exp(-M/2) + V sqrt(M) exp(-M/2) / 2, at most 1. DAVIES87, eq. 3.4.
    """
    root = np.sqrt(np.maximum(np.asarray(gain, dtype=np.float64), 0.0))
    most = np.max(root, axis=-1)
    steps = np.sum(np.abs(np.diff(root, axis=-1)), axis=-1)
    return np.asarray(np.minimum(1.0, np.exp(-(most**2) / 2) * (1 + steps * most / 2)), dtype=np.float64)


def sagitta_factor(straight: npt.ArrayLike, low: npt.ArrayLike, high: npt.ArrayLike) -> Floats:
    """Sagitta per curvature of a line, straight up to S and parabolic beyond, over the chord low to high [mm^2].

    With D = high - low and e = high - S: the end lies e^2/2 off, the chord's slope is e^2/(2 D), the line is
    parallel to the chord at S + e^2/(2 D), and the distance there is e^2/(2 D) (S - low) + e^4/(8 D^2). Negative, as
    a line curving towards +y lies below its chord. Derived from the model of this module.
    """
    s, a, b = (np.asarray(v, dtype=np.float64) for v in (straight, low, high))
    slope = (b - s) ** 2 / (2 * (b - a))
    return np.asarray(-(slope * (s - a) + slope**2 / 2), dtype=np.float64)


@dataclass(frozen=True)
class _Plane:
    kappa: Floats
    """(..., G) best curvature for each S"""
    weight: Floats
    """(..., G) its inverse variance"""
    loss: Floats
    """(..., G) weighted sum of squared residuals"""
    flat: Floats
    """(...,) the same for a straight line"""


def _plane(s: Floats, y: Floats, sd: Floats, grid: Floats) -> _Plane:
    # residuals of y and of the bow term after a straight line fit leave one unknown, kappa
    t = s - np.mean(s, axis=-1, keepdims=True)
    norm = np.sum(t * t, axis=-1)

    def off_line(v: Floats, tt: Floats, nn: Floats) -> Floats:
        v = v - np.mean(v, axis=-1, keepdims=True)
        return np.asarray(v - (np.sum(v * tt, axis=-1) / nn)[..., None] * tt, dtype=np.float64)

    bow = np.maximum(s[..., None, :] - grid[..., :, None], 0.0) ** 2 / 2
    q = off_line(bow, t[..., None, :], norm[..., None])
    r = off_line(y, t, norm)
    qq = np.sum(q * q, axis=-1)
    # S at the last stations leaves no bow to see: no weight, curvature 0
    blind = qq <= 1e-12 * np.max(qq, axis=-1, keepdims=True)
    qr = np.sum(q * r[..., None, :], axis=-1)
    safe = np.where(blind, 1.0, qq)
    kappa = np.where(blind, 0.0, qr / safe)
    variance = sd[..., None] ** 2
    flat = np.sum(r * r, axis=-1)
    loss = (flat[..., None] - np.where(blind, 0.0, qr**2 / safe)) / variance
    return _Plane(kappa, np.where(blind, 1e-300, qq) / variance, loss, flat / variance[..., 0])


def _at(v: Floats, k: npt.NDArray[np.intp]) -> Floats:
    return np.take_along_axis(v, k[..., None], axis=-1)[..., 0]


def _vertex(grid: Floats, loss: Floats, best: npt.NDArray[np.intp]) -> Floats:
    """Least point of the parabola through the best grid point and its neighbours."""
    mid = np.minimum(np.maximum(best, 1), grid.shape[-1] - 2)
    a, b, c = (_at(loss, mid + d) for d in (-1, 0, 1))
    bend = a - 2 * b + c
    shift = np.where((bend > 0) & (best == mid), (a - c) / np.where(bend > 0, 2 * bend, 1.0), best - mid)
    return np.asarray(_at(grid, mid) + shift * (grid[..., 1] - grid[..., 0]), dtype=np.float64)


def _ends(grid: Floats, room: Floats) -> tuple[Floats, Floats]:
    """First and last S with room left, linearly between grid points; the grid's end where it is never used up."""
    inside = room >= 0
    n = grid.shape[-1]
    first = np.argmax(inside, axis=-1)
    last = n - 1 - np.argmax(inside[..., ::-1], axis=-1)

    def cross(k: npt.NDArray[np.intp], other: npt.NDArray[np.intp]) -> Floats:
        a, b = _at(room, k), _at(room, other)
        w = np.where(other == k, 0.0, a / np.where(other == k, 1.0, a - b))
        return np.asarray(_at(grid, k) + w * (_at(grid, other) - _at(grid, k)), dtype=np.float64)

    return cross(first, np.maximum(first - 1, 0)), cross(last, np.minimum(last + 1, n - 1))


def bow_of(profile: Profile, offset_sd: npt.ArrayLike, *, level: float = LEVEL, scale_rel_sd: float = 0.0) -> Bow:
    """The same fit to a table of stations: where its canal leaves the straight, and how much it bows.

    `offset_sd` (...,) is the standard uncertainty of a centre line point [mm]. Raises ValueError as `fit_bow` does.
    """
    sd = np.broadcast_to(finite("offset_sd", offset_sd, above=0.0) * np.sqrt(2.0), profile.lead)
    length = profile.s[..., -1]
    s = np.broadcast_to(profile.s, profile.offset_ap.shape)
    ap = FilmStations("ap", s, profile.canal_ap, profile.outer_ap, profile.offset_ap, length, None, sd, scale_rel_sd)
    lateral = FilmStations(
        "lateral",
        s,
        profile.canal_lateral,
        profile.outer_lateral,
        profile.offset_lateral,
        length,
        None,
        sd,
        scale_rel_sd,
    )
    return fit_bow(ap, lateral, level=level)
