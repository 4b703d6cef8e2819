"""The bone as stations: canal and outer ellipses about a centre line, along the axis s.

Axes (house convention): s runs from the proximal end towards the head; x is positive towards lateral
and is what the AP film shows; y is positive towards dorsal and is what the lateral film shows.
`canal_ap` is therefore the full canal width along x, `canal_lateral` the full canal height along y,
and `offset_ap`, `offset_lateral` are the centre line (x, y). All lengths in mm, curvatures in 1/mm, angles
in rad.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.formula import formula, is_symbolic, sqrt

Floats = npt.NDArray[np.float64]
WIDTHS = ("canal_ap", "canal_lateral", "outer_ap", "outer_lateral")
OFFSETS = ("offset_ap", "offset_lateral")


def refuse(name: str, value: Any, bound: str, remedy: str) -> ValueError:
    """The one form of a refusal: name, value, bound, remedy."""
    return ValueError(f"{name} = {value}: must be {bound}; {remedy}")


def finite(name: str, value: npt.ArrayLike, *, above: float | None = None) -> Floats:
    """`value` as a float array; ValueError unless every entry is finite (and greater than `above`)."""
    array = np.asarray(value, dtype=np.float64)
    if not np.all(np.isfinite(array)):
        bad = array[~np.isfinite(array)].flat[0]
        raise refuse(name, bad, "a finite number", "measure it again or leave the station out")
    if above is not None and not np.all(array > above):
        bad = array[~(array > above)].flat[0]
        raise refuse(name, f"{bad:g}", f"greater than {above:g}", "check the reading and its unit (mm)")
    return array


@dataclass(frozen=True)
class Profile:
    """Stations of one bone, or of many draws of it.

    `s` has shape (n,) or (..., n), n >= 2, strictly increasing along the last axis [mm]; every other
    field broadcasts to (..., n) [mm, full widths]. Between stations every width and the centre line run
    linearly. Raises ValueError for values that are not finite, widths that are not positive, a canal as
    wide as the bone, or stations out of order.
    """

    s: Floats
    canal_ap: Floats
    canal_lateral: Floats
    outer_ap: Floats
    outer_lateral: Floats
    offset_ap: Floats
    offset_lateral: Floats

    def __post_init__(self) -> None:
        s = finite("s", self.s)
        if s.ndim == 0 or s.shape[-1] < 2:
            raise refuse("s", s, "at least two stations", "give a section at both ends of the part planned")
        if not np.all(np.diff(s, axis=-1) > 0):
            at = int(np.argmax(np.any(np.diff(s, axis=-1) <= 0, axis=tuple(range(s.ndim - 1)))))
            raise refuse("s", f"station {at + 2}", "beyond the station before it", "sort the stations by s")
        values = {w: finite(w, getattr(self, w), above=0.0) for w in WIDTHS}
        values |= {o: finite(o, getattr(self, o)) for o in OFFSETS}
        shape = self._shape(s, values)
        for plane in ("ap", "lateral"):
            canal, outer = np.broadcast_arrays(values[f"canal_{plane}"], values[f"outer_{plane}"])
            if not np.all(canal < outer):
                k = np.unravel_index(int(np.argmax(canal >= outer)), canal.shape)
                raise refuse(
                    f"canal_{plane}",
                    f"{canal[k]:g}",
                    f"less than outer_{plane} = {outer[k]:g}",
                    "swap the two columns, or measure again",
                )
        for name, value in values.items():
            full = np.array(np.broadcast_to(value, shape))
            full.flags.writeable = False
            object.__setattr__(self, name, full)
        own = np.array(s)
        own.flags.writeable = False
        object.__setattr__(self, "s", own)

    @staticmethod
    def _shape(s: Floats, values: dict[str, Floats]) -> tuple[int, ...]:
        try:
            return np.broadcast_shapes(s.shape, *(v.shape for v in values.values()))
        except ValueError:
            shapes = ", ".join(f"{k} {v.shape}" for k, v in values.items())
            right = "give every column for every station"
            raise refuse("stations", shapes, f"(..., {s.shape[-1]}) as in s", right) from None

    @property
    def lead(self) -> tuple[int, ...]:
        """The leading (draw) dimensions."""
        return self.canal_ap.shape[:-1]

    def at(self, s: npt.ArrayLike) -> Profile:
        """The profile with stations at `s`, shape (m,) or (..., m), increasing; ValueError outside the
        stations.

        Widths and centre line are interpolated linearly between stations.
        """
        where = finite("s", s)
        columns = interpolate(self.s, [getattr(self, f.name) for f in fields(self)[1:]], where)
        return Profile(where, *columns)

    def slope(self) -> tuple[Floats, Floats]:
        """Slope of the centre line between stations, dx/ds and dy/ds, each (..., n-1) [1]."""
        ds = np.diff(self.s, axis=-1)
        return np.diff(self.offset_ap, axis=-1) / ds, np.diff(self.offset_lateral, axis=-1) / ds

    def sagitta(self) -> tuple[Floats, Floats]:
        """Signed sagitta of the centre line over its chord, AP and lateral, each (...,) [mm].

        The chord runs from the first to the last station. Positive when the line bows towards lateral
        (AP film) or dorsal (lateral film).
        """
        along = (self.s - self.s[..., :1]) / (self.s[..., -1:] - self.s[..., :1])

        def from_chord(line: Floats) -> Floats:
            off = line - (line[..., :1] + along * (line[..., -1:] - line[..., :1]))
            k = np.argmax(np.abs(off), axis=-1)[..., None]
            return np.take_along_axis(off, k, axis=-1)[..., 0]

        return from_chord(self.offset_ap), from_chord(self.offset_lateral)

    def turn(self, start: npt.ArrayLike, end: npt.ArrayLike) -> Floats:
        """Angle between the centre line's directions at `start` and at `end`, (...,) [rad].

        The angle a straight screw forces on the bow when it runs from the one level to the other.
        """
        span = np.ptp(self.s, axis=-1)
        d = 1e-3 * span
        lo, hi = self.s[..., 0], self.s[..., -1]

        def direction(s: npt.ArrayLike) -> tuple[Floats, Floats]:
            mid = np.asarray(finite("level", s))
            if not (np.all(mid >= lo) and np.all(mid <= hi)):
                raise refuse("level", mid, "between the first and the last station", "give more stations")
            # one-sided at the ends: the window of the difference stays on the bone
            a = np.maximum(mid - d, lo)
            b = np.minimum(mid + d, hi)
            q = np.stack(np.broadcast_arrays(a, b), axis=-1)
            x, y = interpolate(self.s, [self.offset_ap, self.offset_lateral], q)
            w = q[..., 1] - q[..., 0]
            return (x[..., 1] - x[..., 0]) / w, (y[..., 1] - y[..., 0]) / w

        ax, ay = direction(start)
        bx, by = direction(end)
        cross = np.sqrt((ay - by) ** 2 + (bx - ax) ** 2 + (ax * by - ay * bx) ** 2)
        return np.asarray(np.arctan2(cross, ax * bx + ay * by + 1.0), dtype=np.float64)


def interpolate(s: Floats, columns: list[Floats], where: Floats) -> list[Floats]:
    """Linear interpolation along the last axis of columns (..., n) given at s (n,) or (..., n).

    `where` is (m,) or (..., m); the results are (..., m). Raises ValueError outside [s first, s last].
    """
    lo, hi = s[..., :1], s[..., -1:]
    # one part in 1e12 of slack: a tip computed as seat + length may miss the last station by rounding
    slack = 1e-12 * np.maximum(np.abs(lo), np.abs(hi))
    outside = (where < lo - slack) | (where > hi + slack)
    if np.any(outside):
        bad = np.broadcast_to(where, outside.shape)[outside].flat[0]
        raise refuse(
            "s",
            f"{bad:g} mm",
            f"from {np.max(lo):g} to {np.min(hi):g} mm, where there are stations",
            "add stations",
        )
    last = s.shape[-1] - 2
    if s.ndim == 1:
        k = np.minimum(np.maximum(np.searchsorted(s, where, side="right") - 1, 0), last)
        left, right = s[k], s[k + 1]
    else:
        lead = np.broadcast_shapes(s.shape[:-1], where.shape[:-1])
        full = np.broadcast_to(s, (*lead, s.shape[-1]))
        where = np.broadcast_to(where, (*lead, where.shape[-1]))
        k = np.sum(full[..., None, 1:-1] <= where[..., :, None], axis=-1)
        left, right = np.take_along_axis(full, k, -1), np.take_along_axis(full, k + 1, -1)
    w = (where - left) / (right - left)
    out = []
    for column in columns:
        if k.ndim == 1:
            a, b = column[..., k], column[..., k + 1]
        else:
            lead = np.broadcast_shapes(column.shape[:-1], k.shape[:-1])
            c = np.broadcast_to(column, (*lead, column.shape[-1]))
            kk = np.broadcast_to(k, (*lead, k.shape[-1]))
            a, b = np.take_along_axis(c, kk, -1), np.take_along_axis(c, kk + 1, -1)
        out.append(a + w * (b - a))
    return out


def from_least_input(
    *,
    length: npt.ArrayLike,
    straight: npt.ArrayLike,
    isthmus_at: npt.ArrayLike,
    canal_ap: npt.ArrayLike,
    canal_lateral: npt.ArrayLike,
    outer_ap: npt.ArrayLike,
    outer_lateral: npt.ArrayLike,
    fracture_at: npt.ArrayLike,
    fracture_canal_ap: npt.ArrayLike | None = None,
    fracture_canal_lateral: npt.ArrayLike | None = None,
    fracture_outer_ap: npt.ArrayLike | None = None,
    fracture_outer_lateral: npt.ArrayLike | None = None,
    bow_ap: npt.ArrayLike = 0.0,
    bow_lateral: npt.ArrayLike = 0.0,
    stations: int = 24,
) -> Profile:
    """A profile from a few numbers: widths at the isthmus, perhaps also at the fracture, and where the bow
    starts.

    All arguments are scalars or arrays that broadcast over the leading (draw) dimensions [mm]; `bow_ap` and
    `bow_lateral` are curvatures of the centre line beyond `straight` [1/mm]. Widths given at two levels run
    linearly between them and stay constant outside; widths given at the isthmus alone are the same all
    along, since no published flare exists and none is made up. The centre line is straight up to `straight`
    and a parabola of the given curvature beyond; with curvature 0 (unknown) it stays straight and the limit
    at `straight` is the caller's. `s` is (n,) when every level is a scalar, else (..., n); the levels
    themselves are among the stations. Raises ValueError for levels outside the bone.
    """
    total = finite("length", length, above=0.0)
    levels = {
        "straight": finite("straight", straight, above=0.0),
        "isthmus_at": finite("isthmus_at", isthmus_at, above=0.0),
        "fracture_at": finite("fracture_at", fracture_at, above=0.0),
    }
    for name, level in levels.items():
        inside = level < total
        if not np.all(inside):
            i = np.unravel_index(int(np.argmin(inside)), inside.shape)
            bad, end = (np.broadcast_to(v, inside.shape)[i] for v in (level, total))
            raise refuse(name, f"{bad:g} mm", f"less than the length {end:g} mm", "measure both from the proximal end")
    if stations < 6:
        raise refuse("stations", stations, "at least 6", "leave it at its default")
    lead = np.broadcast_shapes(total.shape, *(v.shape for v in levels.values()))
    even = np.linspace(0.0, 1.0, stations) * total[..., None]
    marks = [np.broadcast_to(v, lead)[..., None] for v in levels.values()]
    s = np.sort(np.concatenate([np.broadcast_to(even, (*lead, stations)), *marks], axis=-1), axis=-1)
    s = _part(s, total[..., None])
    isthmus, fracture = levels["isthmus_at"][..., None], levels["fracture_at"][..., None]
    span = fracture - isthmus
    # at one and the same level the isthmus reading counts
    w = np.where(span == 0, 0.0, (s - isthmus) / np.where(span == 0, 1.0, span))
    w = np.minimum(np.maximum(w, 0.0), 1.0)

    def width(name: str, at_isthmus: npt.ArrayLike, at_fracture: npt.ArrayLike | None) -> Floats:
        here = finite(name, at_isthmus, above=0.0)[..., None]
        if at_fracture is None:
            return here * np.ones_like(s)
        there = finite(f"fracture_{name}", at_fracture, above=0.0)[..., None]
        return np.asarray(here + w * (there - here), dtype=np.float64)

    beyond = np.maximum(s - levels["straight"][..., None], 0.0) ** 2 / 2
    return Profile(
        s,
        width("canal_ap", canal_ap, fracture_canal_ap),
        width("canal_lateral", canal_lateral, fracture_canal_lateral),
        width("outer_ap", outer_ap, fracture_outer_ap),
        width("outer_lateral", outer_lateral, fracture_outer_lateral),
        finite("bow_ap", bow_ap)[..., None] * beyond,
        finite("bow_lateral", bow_lateral)[..., None] * beyond,
    )


def _part(s: Floats, total: Floats) -> Floats:
    """Sorted stations pulled apart by 1e-9 of the length where two coincide, so that all increase."""
    step = 1e-9 * total * np.arange(s.shape[-1])
    return np.asarray(np.maximum.accumulate(s - step, axis=-1) + step, dtype=np.float64)


@formula(
    symbol="f",
    unit="mm",
    text="sagitta of a circular arc",
    args={"radius": ("R", "mm", "radius of curvature"), "chord": ("c", "mm", "chord of the arc")},
    source="GEOM",
    where="circular segment",
    valid="chord <= 2 R, the flatter of the two arcs",
)
def arc_sagitta(radius: Any, chord: Any) -> Any:
    """Sagitta f = R - sqrt(R^2 - c^2/4) of an arc of radius R over a chord c [mm], 0 <= c <= 2 R.

    Raises ValueError for a chord longer than the diameter: no such arc exists.
    """
    if not is_symbolic(radius, chord) and not bool(np.all(np.asarray(chord) <= 2 * np.asarray(radius))):
        raise refuse("chord", chord, f"at most 2 R = {2 * np.asarray(radius)}", "check radius and chord")
    return radius - sqrt(radius**2 - chord**2 / 4)


@formula(
    symbol="R",
    unit="mm",
    text="radius of curvature from chord and sagitta",
    args={"sagitta": ("f", "mm", "sagitta of the arc"), "chord": ("c", "mm", "chord of the arc")},
    source="GEOM",
    where="circular segment",
    valid="f > 0",
)
def arc_radius(sagitta: Any, chord: Any) -> Any:
    """Radius of curvature R = c^2/(8 f) + f/2 of an arc with sagitta f over a chord c [mm]."""
    return chord**2 / (8 * sagitta) + sagitta / 2
