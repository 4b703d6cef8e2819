"""The straight corridor: the largest straight cylinder inside a family of elliptical sections.

Between the seat s_0 and the tip s_1 the axis is p(s) = e + (s - s_0) t, with e the entry point at the seat
and t the slope, both in the x-y plane (x towards lateral, y towards dorsal). The radius r is the largest
with

    u . (p(s_i) - c(s_i)) + r <= h_i(u),   h_i(u) = sqrt((a_i u_x)^2 + (b_i u_y)^2)

for every station i and every unit vector u: h is the support function of the ellipse with semi-axes a, b
about c (Boyd and Vandenberghe, Convex Optimization, section 8.5.1: largest ball in a set given by
supporting half-planes). With a fixed set of directions u_k this is a linear programme in five unknowns.

Discretisation. K directions replace each ellipse by a polygon of tangents around it, so the radius of the
plain linear programme is too large, by at most (1 - cos(pi/K)) times the offset of the axis from the centre
line of the touched section. By default nothing of this is left: direction rows are refined by Newton's
method to the exact touching direction and added until no section is violated by more than `simplex.TOLERANCE`, and
what is violated at the end is taken off the radius. So the cylinder returned is inside every section, and
`gap` bounds what a better one could gain.

Sections are held at every station, at the seat and at every tip (there interpolated); in between nothing is checked.
Between two stations whose ellipses differ in shape the linear interpolation is narrower than both by a term of second
order in that difference, so stations every few millimetres leave nothing that matters.

The radius is that of the disc in each cross-section; a cylinder about the tilted axis that stays inside
these discs has the radius r cos(tilt), see `Corridor.cylinder_radius`. Core units: mm, rad.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from fixplan.bone.profile import Floats, Profile, finite, interpolate, refuse
from fixplan.bone.simplex import Batch, excess, touching_angle

DIRECTIONS = 32  # over the full turn, where the search for the exact one starts
CHUNK = 1024  # draws solved together; bounds the memory
WALLS = np.array(["lateral", "dorsal", "medial", "plantar"])

Wall = Literal["canal", "outer"]


@dataclass(frozen=True)
class Corridor:
    """The straight corridor of each draw (leading dimensions ...) for each of T tips.

    `radius` [mm] may be negative: then no straight line stays inside the sections, and -radius is how far
    it leaves them. Unused contact rows (fixed entry) hold NaN in `contact_s` and `contact_angle`, and 0 in
    `contact_share`.
    """

    seat: Floats
    """(..., T) level of the entry point [mm]"""
    tip: Floats
    """(..., T) [mm]"""
    radius: Floats
    """(..., T) of the disc that fits every section [mm]"""
    gap: Floats
    """(..., T) the best possible radius is at most radius + gap [mm]"""
    entry: Floats
    """(..., T, 2) axis at the seat, x and y [mm]"""
    slope: Floats
    """(..., T, 2) dx/ds and dy/ds of the axis [1]"""
    contact_s: Floats
    """(..., T, 5) stations of the active rows [mm]"""
    contact_angle: Floats
    """(..., T, 5) directions of the active rows, from +x (lateral) towards +y (dorsal) [rad]"""
    contact_share: Floats
    """(..., T, 5) multipliers of the active rows, sum 1: above 0 the wall there decides the radius [1]"""

    @property
    def tilt(self) -> Floats:
        """Angle between the axis and the s direction, (..., T) [rad]."""
        return np.asarray(np.arctan(np.hypot(self.slope[..., 0], self.slope[..., 1])), dtype=np.float64)

    @property
    def cylinder_radius(self) -> Floats:
        """Radius of the true cylinder about the tilted axis inside the discs, r cos(tilt), (..., T) [mm]."""
        return np.asarray(self.radius * np.cos(self.tilt), dtype=np.float64)

    @property
    def contact_wall(self) -> npt.NDArray[np.str_]:
        """The wall of each contact, (..., T, 5): lateral, dorsal, medial, plantar; empty where no contact decides."""
        binding = self.contact_share > 1e-6
        angle = np.where(binding, self.contact_angle, 0.0)
        return np.where(binding, WALLS[np.rint(angle / (np.pi / 2)).astype(int) % 4], "")


def corridor(
    profile: Profile,
    seat: npt.ArrayLike,
    tip: npt.ArrayLike,
    *,
    inside: Wall = "canal",
    wall_min: npt.ArrayLike = 0.0,
    entry: npt.ArrayLike | None = None,
    directions: int = DIRECTIONS,
    exact: bool = True,
    centred: bool = False,
) -> Corridor:
    """Largest straight cylinder from `seat` (...,) to each of `tip` (T,) or (..., T) [mm].

    `inside` is the canal (no cutting) or the outer surface. `wall_min` (...,) [mm] is the wall to be left there: a
    cylinder of radius r leaves the wall w in an ellipse exactly when one of radius r + w fits it, so w is taken off
    the radius (the reaming limit is inside="outer" with the least cortical wall). `entry` (..., 2) [mm] prescribes
    the axis at the seat. `directions` K is a multiple of 4, at least 8. With exact=False the result is the plain
    linear programme over the K directions, whose radius may exceed the true one by the bound given above.

    Often many axes are equally good (one narrow place decides). The axis returned is then a corner of their set; with
    centred=True (16 times the work, meant for a drawing, not for draws) it is the mean of the corners in 16 directions,
    which is as good and lies amid the freedom there is.

    A scalar `tip` drops the T dimension. Tips solved in one call are nested: a deeper one never has the larger radius.
    Raises ValueError for a seat or tip outside the stations, a tip not beyond the seat, or an unusable argument.
    """
    if inside not in ("canal", "outer"):
        raise refuse("inside", repr(inside), "'canal' or 'outer'", "name the surface the cylinder stays in")
    if directions < 8 or directions % 4:
        raise refuse("directions", directions, "a multiple of 4, at least 8", f"leave it at {DIRECTIONS}")
    seats, tips = finite("seat", seat), finite("tip", tip)
    wall = finite("wall_min", wall_min)
    if not np.all(wall >= 0):
        raise refuse("wall_min", np.min(wall), "0 or more", "give the wall to be left")
    single = tips.ndim == 0
    tips = np.atleast_1d(tips)
    point = None if entry is None else finite("entry", entry)
    if point is not None and point.shape[-1:] != (2,):
        raise refuse("entry", f"shape {point.shape}", "(..., 2)", "give x and y of the entry point")
    given = () if point is None else point.shape[:-1]
    lead = np.broadcast_shapes(profile.lead, seats.shape, tips.shape[:-1], wall.shape, given)
    seats = np.array(np.broadcast_to(seats, lead))
    tips = np.array(np.broadcast_to(tips, (*lead, tips.shape[-1])))
    ahead = tips - seats[..., None]
    if not np.all(ahead > 0):
        raise refuse("tip", f"{np.min(ahead):g} mm from the seat", "beyond the seat", "give a longer screw")
    if point is not None:
        point = np.broadcast_to(point, (*lead, 2))

    def run(push: tuple[int, ...]) -> list[Floats]:
        return _run(profile, lead, seats, tips, point, inside, directions, exact, push)

    radius, gap, at_seat, slope, *contacts = run((1, 1, 1, 1))
    if centred:
        corners = [run(push) for push in itertools.product((-1, 1), repeat=4)]
        at_seat = np.mean([c[2] for c in corners], axis=0)
        slope = np.mean([c[3] for c in corners], axis=0)
        best = radius + gap
        # the radius is a concave function of the axis: the mean axis is at least as good as the mean of the corners
        radius = np.mean([c[0] for c in corners], axis=0)
        gap = best - radius
    columns = [
        np.broadcast_to(seats[..., None], tips.shape),
        tips,
        radius - wall[..., None],
        gap,
        at_seat,
        slope,
        *contacts,
    ]
    return Corridor(*(np.take(c, 0, axis=len(lead)) if single else c for c in columns))


def _run(
    profile: Profile,
    lead: tuple[int, ...],
    seats: Floats,
    tips: Floats,
    point: Floats | None,
    inside: Wall,
    directions: int,
    exact: bool,
    push: tuple[int, ...],
) -> list[Floats]:
    """Flatten the draws, solve them in chunks with the tips in order, and put everything back in shape."""
    n, count = int(np.prod(lead, dtype=int)), tips.shape[-1]
    tips, seat = tips.reshape(n, count), seats.reshape(n)
    order = np.argsort(tips, axis=-1, kind="stable")
    tips = np.take_along_axis(tips, order, axis=-1)
    s = _levels(np.broadcast_to(profile.s, (*lead, profile.s.shape[-1])).reshape(n, -1), seat, tips)
    sections = _sections(profile, lead, s, inside)
    fixed = None if point is None else point.reshape(n, 2)
    parts = []
    for start in range(0, n, CHUNK):
        k = slice(start, start + CHUNK)
        own = None if fixed is None else fixed[k]
        parts.append(Batch(s[k], seat[k], tips[k], [c[k] for c in sections], own, directions, exact, push).solve())
    back = np.argsort(order, axis=-1, kind="stable")

    def shaped(column: Floats) -> Floats:
        tail = column.shape[2:]
        index = back.reshape(n, count, *(1 for _ in tail))
        return np.take_along_axis(column, index, axis=1).reshape(*lead, count, *tail)

    return [shaped(np.concatenate(column)) for column in zip(*parts)]


def clearance(
    profile: Profile,
    s: npt.ArrayLike,
    x: npt.ArrayLike,
    y: npt.ArrayLike,
    *,
    inside: Wall = "canal",
) -> tuple[Floats, Floats]:
    """Distance from the axis to the nearest wall in each section, and its direction: (..., m) [mm], (..., m) [rad].

    The axis passes the levels `s` (m,) or (..., m) at `x`, `y` (..., m) [mm]. Negative distances lie outside the
    surface. A cylinder of radius r leaves the wall distance - r; the wall left by a drill or a screw is the distance
    with inside="outer" minus its radius. The distance is the exact one to the ellipse.
    """
    levels = finite("s", s)
    names = (f"{inside}_ap", f"{inside}_lateral", "offset_ap", "offset_lateral")
    a, b, cx, cy = interpolate(profile.s, [getattr(profile, k) for k in names], levels)
    px, py = finite("x", x) - cx, finite("y", y) - cy
    ax, ay, a, b = np.broadcast_arrays(np.abs(px), np.abs(py), a / 2, b / 2)
    grid = np.linspace(0.0, np.pi / 2, DIRECTIONS // 4 + 1)
    table = excess(ax[..., None], ay[..., None], a[..., None], b[..., None], grid)
    angle = touching_angle(ax, ay, a, b, grid[np.argmax(table, axis=-1)], 2 * np.pi / DIRECTIONS)
    full = np.arctan2(np.sin(angle) * np.where(py < 0, -1.0, 1.0), np.cos(angle) * np.where(px < 0, -1.0, 1.0))
    return -excess(ax, ay, a, b, angle), np.asarray(full, dtype=np.float64)


def silhouette(
    profile: Profile,
    s: npt.ArrayLike,
    x: npt.ArrayLike,
    y: npt.ArrayLike,
    radius: npt.ArrayLike,
    *,
    inside: Wall = "outer",
) -> Floats:
    """What the two films show between a cylinder and the wall: (..., m, 4) [mm] to lateral, dorsal, medial, plantar.

    Distances along x and y between the outlines, as drawn in the two planes. The least wall in space may lie
    between the planes: that one is `clearance`.
    """
    names = (f"{inside}_ap", f"{inside}_lateral", "offset_ap", "offset_lateral")
    a, b, cx, cy = interpolate(profile.s, [getattr(profile, k) for k in names], finite("s", s))
    px, py, r = finite("x", x) - cx, finite("y", y) - cy, finite("radius", radius)
    return np.stack(np.broadcast_arrays(a / 2 - px - r, b / 2 - py - r, a / 2 + px - r, b / 2 + py - r), axis=-1)


def deepest_tip(
    profile: Profile,
    seat: npt.ArrayLike,
    radius: npt.ArrayLike,
    *,
    inside: Wall = "canal",
    wall_min: npt.ArrayLike = 0.0,
    entry: npt.ArrayLike | None = None,
) -> Floats:
    """Deepest tip that a straight cylinder of this radius reaches from the seat without cutting, (...,) [mm].

    Here the canal leaves the straight cylinder. NaN where none fits even 1/1000 of the way; the last station
    where it fits all along. Found by three rounds of nested tips, to 1/4096 of the way, on the near side.
    """
    want, seats, wall = finite("radius", radius), finite("seat", seat), finite("wall_min", wall_min)
    lead = np.broadcast_shapes(want.shape, profile.lead, seats.shape, wall.shape)
    end = np.broadcast_to(profile.s[..., -1], lead)
    low = np.broadcast_to(seats, lead) + 1e-3 * (end - seats)
    high = end
    share = np.linspace(0.0, 1.0, 17)
    fits_first = np.zeros(lead, dtype=bool)
    for round_ in range(3):
        tips = low[..., None] + share * (high - low)[..., None]
        tips[..., -1] = high
        fits = corridor(profile, seats, tips, inside=inside, wall_min=wall, entry=entry).radius >= want[..., None]
        if round_ == 0:
            fits_first = fits[..., 0]
        last = np.maximum(np.sum(np.logical_and.accumulate(fits, axis=-1), axis=-1) - 1, 0)[..., None]
        low = np.take_along_axis(tips, last, -1)[..., 0]
        high = np.take_along_axis(tips, np.minimum(last + 1, 16), -1)[..., 0]
        if np.all(low == high):
            break
    return np.where(fits_first, low, np.nan)


def _levels(s: Floats, seat: Floats, tips: Floats) -> Floats:
    """Stations from seat to the deepest tip, the seat and every tip among them, sorted: (n, k + 1 + T).

    k is the most stations that any draw has between the two. Where a draw has fewer, its deepest tip is repeated, which
    changes nothing, so that every draw keeps the same number of rows.
    """
    moved = np.minimum(np.maximum(s, seat[:, None]), tips[:, -1:])
    every = np.sort(np.concatenate([moved, seat[:, None], tips], axis=-1), axis=-1)
    before = np.sum(moved == seat[:, None], axis=-1)
    most = int(np.max(np.sum((moved > seat[:, None]) & (moved < tips[:, -1:]), axis=-1), initial=0))
    kept = np.minimum(before[:, None] + np.arange(most + 1 + tips.shape[-1]), every.shape[-1] - 1)
    return np.take_along_axis(every, kept, axis=-1)


def _sections(profile: Profile, lead: tuple[int, ...], s: Floats, inside: Wall) -> list[Floats]:
    """Semi-axes a, b and centre x, y at the levels s (n, m), each (n, m)."""
    n = s.shape[0]
    names = (f"{inside}_ap", f"{inside}_lateral", "offset_ap", "offset_lateral")

    def rows(v: Floats) -> Floats:
        return np.broadcast_to(v, (*lead, v.shape[-1])).reshape(n, v.shape[-1])

    grid = profile.s if profile.s.ndim == 1 else rows(profile.s)
    a, b, x, y = interpolate(grid, [rows(getattr(profile, k)) for k in names], s)
    return [a / 2, b / 2, x, y]
