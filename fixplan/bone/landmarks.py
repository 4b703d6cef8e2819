"""From points clicked on a film to stations along the bone, with the uncertainty of each number.

One film at a time. The axis is the straight line through the canal's middle points (total least squares, the first
principal axis); s = 0 at the foot of the proximal tip on it. A width is the distance of two edge points across the
axis; the centre line is the middle of the two canal edges. Nothing is smoothed: the least of several noisy
widths is on average less than the narrowest width (it leans to the safe side for what fits, not for what bites).

Uncertainty, first order (JCGM100, 5.1.2): each click has the standard deviation `click_sd` in x and in y,
independently; the scale of a film has a relative standard deviation common to all its lengths. All functions take
arrays with leading (draw) dimensions, so that a Monte Carlo run perturbs the clicks themselves. Units: px, mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from fixplan.bone.profile import Floats, Profile, finite, interpolate, refuse

Film = Literal["ap", "lateral"]
# the edge on the negative and on the positive side of the axis: x towards lateral, y towards dorsal
EDGES: dict[str, tuple[str, str]] = {"ap": ("medial", "lateral"), "lateral": ("plantar", "dorsal")}


@dataclass(frozen=True)
class FilmClicks:
    """Points of one film [px], the last axis being x (column) and y (row).

    `canal`, `outer` (..., n, 2, 2): n >= 3 positions from proximal to distal; at each the edge on the medial (AP) or
    plantar (lateral film) side, then the one on the lateral or dorsal side. `tip`, `head` (..., 2): the proximal end
    and the far end of the head. `fracture` (..., 2, 2): its proximal and distal end along the bone, if seen.
    Raises ValueError for shapes that do not match or values that are not finite.
    """

    film: Film
    canal: Floats
    outer: Floats
    tip: Floats
    head: Floats
    fracture: Floats | None = None

    def __post_init__(self) -> None:
        if self.film not in EDGES:
            raise refuse("film", repr(self.film), "'ap' or 'lateral'", "name the film")
        for name, tail in (("canal", (2, 2)), ("outer", (2, 2)), ("tip", (2,)), ("head", (2,)), ("fracture", (2, 2))):
            value = getattr(self, name)
            if value is None and name == "fracture":
                continue
            array = finite(f"{self.film} {name}", value)
            if array.shape[-len(tail) :] != tail:
                raise refuse(f"{self.film} {name}", f"shape {array.shape}", f"(..., {tail})", "give x and y in pixels")
            object.__setattr__(self, name, array)
        if self.canal.ndim < 3 or self.canal.shape[-3] < 3 or self.outer.shape[-3:] != self.canal.shape[-3:]:
            right = "at least three positions, with canal and outer edges at each"
            raise refuse(f"{self.film} positions", self.canal.shape[:-2], right, "click more positions")


@dataclass(frozen=True)
class FilmStations:
    """Stations of one film, each (..., n) [mm] unless said otherwise, sorted by s.

    The `_sd` of a width, of the offset and of s hold the clicks alone; `scale_rel_sd` [1] is common to all lengths.
    """

    film: Film
    s: Floats
    canal: Floats
    outer: Floats
    offset: Floats
    length: Floats
    """(...,) tip to head along the axis"""
    fracture: Floats | None
    """(..., 2) levels of its proximal and distal end"""
    click_sd: Floats
    """(...,) standard deviation of a click in one direction"""
    scale_rel_sd: float

    @property
    def width_sd(self) -> Floats:
        """Of a width: two clicks, (...,) [mm]."""
        return np.asarray(self.click_sd * np.sqrt(2.0), dtype=np.float64)

    @property
    def offset_sd(self) -> Floats:
        """Of a centre line point: the mean of two clicks, (...,) [mm]."""
        return np.asarray(self.click_sd / np.sqrt(2.0), dtype=np.float64)

    @property
    def level_sd(self) -> Floats:
        """Of a station's s: the mean of four clicks against the tip's click, (...,) [mm]."""
        return np.asarray(self.click_sd * np.sqrt(1.25), dtype=np.float64)

    def interval(self, width: npt.ArrayLike, z: float = 1.959964) -> tuple[Floats, Floats]:
        """Interval of a width: width -+ z sqrt(sd_click^2 + (width * scale_rel_sd)^2), z = 1.96 for 95 % [mm]."""
        w = np.asarray(width, dtype=np.float64)
        half = z * np.hypot(self.width_sd[..., None], w * self.scale_rel_sd)
        return w - half, w + half


def film_stations(
    clicks: FilmClicks,
    mm_per_px: npt.ArrayLike,
    *,
    click_sd_px: npt.ArrayLike = 0.0,
    scale_rel_sd: float = 0.0,
) -> FilmStations:
    """Stations of one film. `mm_per_px` (...,) is at the bone (true mm per pixel), `click_sd_px` (...,).

    Raises ValueError where the edges are swapped at a position, two positions coincide, or the tip lies distal to
    the first position.
    """
    scale = finite("mm_per_px", mm_per_px, above=0.0)
    noise = finite("click_sd_px", click_sd_px)
    if not np.all(noise >= 0) or not finite("scale_rel_sd", scale_rel_sd) >= 0:
        raise refuse("click_sd_px, scale_rel_sd", f"{noise}, {scale_rel_sd}", "0 or more", "give standard deviations")
    middle = np.mean(clicks.canal, axis=-2)
    centre = np.mean(middle, axis=-2, keepdims=True)
    spread = np.swapaxes(middle - centre, -1, -2) @ (middle - centre)
    along = np.linalg.eigh(spread)[1][..., :, 1]
    towards = np.sum((clicks.head - clicks.tip) * along, axis=-1, keepdims=True)
    along = np.where(towards < 0, -along, along)
    # films may be mirrored: the named edges, not the screen, say which way across is positive
    across = np.stack([-along[..., 1], along[..., 0]], axis=-1)
    canal_width = _dot(clicks.canal[..., 1, :] - clicks.canal[..., 0, :], across[..., None, :])
    flip = np.where(np.sum(np.sign(canal_width), axis=-1) < 0, -1.0, 1.0)
    across = across * flip[..., None]
    canal_width = canal_width * flip[..., None]
    outer_width = _dot(clicks.outer[..., 1, :] - clicks.outer[..., 0, :], across[..., None, :])
    for name, width in (("canal", canal_width), ("outer", outer_width)):
        if not np.all(width > 0):
            at = int(np.argwhere(~(width > 0))[0][-1]) + 1
            low, high = EDGES[clicks.film]
            edges = f"with the {low} edge first and the {high} edge second"
            raise refuse(f"{clicks.film} {name} at index {at}", "edges crossed", edges, "swap the two points")
    unit = scale[..., None]
    level = _dot(np.mean(clicks.canal + clicks.outer, axis=-2) / 2, along[..., None, :])
    tip = _dot(clicks.tip, along)
    s = (level - tip[..., None]) * unit
    if not np.all(np.diff(s, axis=-1) > 0):
        at = int(np.argwhere(~(np.diff(s, axis=-1) > 0))[0][-1]) + 2
        raise refuse(f"{clicks.film} index {at}", "not beyond the one before", "from proximal to distal", "renumber")
    if not np.all(s[..., 0] >= 0):
        raise refuse(f"{clicks.film} index 1", f"{np.min(s):g} mm", "distal to the proximal tip", "check the tip")
    fracture = None
    if clicks.fracture is not None:
        fracture = np.sort((_dot(clicks.fracture, along[..., None, :]) - tip[..., None]) * unit, axis=-1)
    return FilmStations(
        clicks.film,
        s,
        canal_width * unit,
        outer_width * unit,
        _dot(middle - centre, across[..., None, :]) * unit,
        (_dot(clicks.head, along) - tip) * scale,
        fracture,
        np.asarray(noise * scale, dtype=np.float64),
        float(scale_rel_sd),
    )


def marker_scale(
    marker: npt.ArrayLike, marker_true: npt.ArrayLike, *, click_sd_px: float = 0.0, marker_sd: float = 0.0
) -> tuple[Floats, float]:
    """True mm per pixel from two points across a marker (..., 2, 2) [px] of known size [mm], and its relative sd.

    The marker has to lie at the height of the bone. The sd is that of the mean draw.
    """
    points = finite("marker", marker)
    size = finite("marker_true", marker_true, above=0.0)
    seen = np.hypot(points[..., 1, 0] - points[..., 0, 0], points[..., 1, 1] - points[..., 0, 1])
    finite("marker_seen", seen, above=0.0)
    # of two clicks only the errors along the line between them change the distance
    relative = np.hypot(np.sqrt(2.0) * click_sd_px / np.mean(seen), marker_sd / np.mean(size))
    return np.asarray(size / seen, dtype=np.float64), float(relative)


def to_profile(ap: FilmStations, lateral: FilmStations) -> Profile:
    """One profile from two films, over the part of the bone that both show.

    Stations lie in that part as the AP film's positions lie in theirs (where both films show the same part, these
    are its own positions to within the reading error); both films are interpolated linearly to them, so every
    draw has the same number of stations. Raises ValueError where the films have no part in common.
    """
    if ap.film != "ap" or lateral.film != "lateral":
        raise refuse("films", f"{ap.film}, {lateral.film}", "the AP film, then the lateral film", "swap them")
    low = np.maximum(ap.s[..., :1], lateral.s[..., :1])
    high = np.minimum(ap.s[..., -1:], lateral.s[..., -1:])
    if not np.all(high > low):
        part = f"{np.min(high - low):g} mm"
        raise refuse("part common to both films", part, "more than 0 mm", "click the same part on both films")
    own = (ap.s - ap.s[..., :1]) / (ap.s[..., -1:] - ap.s[..., :1])
    # the ends exactly, not to within rounding: interpolation refuses what lies outside
    s = np.minimum(low + own * (high - low), high)
    across = interpolate(ap.s, [ap.canal, ap.outer, ap.offset], s)
    height = interpolate(lateral.s, [lateral.canal, lateral.outer, lateral.offset], s)
    return Profile(s, across[0], height[0], across[1], height[1], across[2], height[2])


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(np.sum(a * b, axis=-1), dtype=np.float64)
