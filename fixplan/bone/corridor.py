"""The straight corridor: the largest straight cylinder inside a family of elliptical sections.

Between the seat s_0 and the tip s_1 the axis is p(s) = e + (s - s_0) t, with e the entry point at the seat
and t the slope, both in the x-y plane (x towards lateral, y towards dorsal). The radius r is the largest
with

    u . (p(s_i) - c(s_i)) + r <= h_i(u),   h_i(u) = sqrt((a_i u_x)^2 + (b_i u_y)^2)

for every station i and every unit vector u: h is the support function of the ellipse with semi-axes a, b
about c (Boyd and Vandenberghe, Convex Optimization, section 8.5.1: largest ball in a set given by
supporting half-planes). With a fixed set of directions u_k this is a linear programme in five unknowns.

How it is solved. A dual simplex runs over all draws at once: five active rows per draw, the most violated
row of all stations enters, the ratio test says which row leaves. Its rows depend on station and direction
only, and a deeper tip only adds rows, so the optimum of one tip is the start for the next. The cost is
perturbed by `PERTURBATION`, which rules out cycling in symmetric canals and costs at most that share of the
canal's width in radius.

Discretisation. K directions replace each ellipse by a polygon of tangents around it, so the radius of the
plain linear programme is too large, by at most (1 - cos(pi/K)) times the offset of the axis from the centre
line of the touched section. By default nothing of this is left: direction rows are refined by Newton's
method to the exact touching direction and added until no section is violated by more than `TOLERANCE`, and
what is violated at the end is taken off the radius. So the cylinder returned is inside every section, and
`gap` bounds what a better one could gain.

The radius is that of the disc in each cross-section; a cylinder about the tilted axis that stays inside
these discs has the radius r cos(tilt), see `Corridor.cylinder_radius`. Core units: mm, rad.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from fixplan.bone.profile import Floats, Profile, finite, interpolate, refuse

TOLERANCE = 1e-7  # mm; greatest violation left when cuts stop
PERTURBATION = 1e-9  # share of the cost, against cycling
DIRECTIONS = 64  # over the full turn
MAX_PIVOTS = 400  # per tip; a draw that reaches it keeps a safe radius and a wide gap
CHUNK = 512  # draws solved together: the direction table of a chunk stays in the processor's cache
WALLS = np.array(["lateral", "dorsal", "medial", "plantar"])

Wall = Literal["canal", "outer"]
Ints = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]


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
) -> Corridor:
    """Largest straight cylinder from `seat` (...,) to each of `tip` (T,) or (..., T) [mm].

    `inside` is the canal (no cutting) or the outer surface. `wall_min` (...,) [mm] is the wall to be left
    there: a cylinder of radius r leaves the wall w in an ellipse exactly when one of radius r + w fits it,
    so w is taken off the radius (the reaming limit is inside="outer" with the least cortical wall). `entry`
    (..., 2) [mm] prescribes the axis at the seat. `directions` K is a multiple of 4, at least 8. With
    exact=False the result is the plain linear programme over the K directions, whose radius may exceed the
    true one by the bound given above. A scalar `tip` drops the T dimension. Tips solved in one call are
    nested: a deeper one never has the larger radius. Raises ValueError for a seat or tip outside the
    stations, a tip not beyond the seat, or an unusable argument.
    """
    if inside not in ("canal", "outer"):
        raise refuse("inside", repr(inside), "'canal' or 'outer'", "name the surface the cylinder stays in")
    if directions < 8 or directions % 4:
        raise refuse("directions", directions, "a multiple of 4, at least 8", f"leave it at {DIRECTIONS}")
    seats = finite("seat", seat)
    tips = finite("tip", tip)
    wall = finite("wall_min", wall_min)
    if not np.all(wall >= 0):
        raise refuse("wall_min", np.min(wall), "0 or more", "give the wall to be left")
    single = tips.ndim == 0
    tips = np.atleast_1d(tips)
    point = None if entry is None else finite("entry", entry)
    if point is not None and point.shape[-1:] != (2,):
        raise refuse("entry", f"shape {point.shape}", "(..., 2)", "give x and y of the entry point")
    lead = np.broadcast_shapes(
        profile.lead, seats.shape, tips.shape[:-1], wall.shape, () if point is None else point.shape[:-1]
    )
    count = tips.shape[-1]
    seats = np.broadcast_to(seats, lead)
    tips = np.broadcast_to(tips, (*lead, count))
    if not np.all(tips > seats[..., None]):
        raise refuse(
            "tip", f"{np.min(tips - seats[..., None]):g} mm from the seat", "beyond the seat", "give a longer screw"
        )

    n = int(np.prod(lead, dtype=int))
    order = np.argsort(tips, axis=-1, kind="stable").reshape(n, count)
    sorted_tips = np.take_along_axis(tips.reshape(n, count), order, axis=-1)
    flat_seats = seats.reshape(n)
    s = _levels(np.broadcast_to(profile.s, (*lead, profile.s.shape[-1])).reshape(n, -1), flat_seats, sorted_tips)
    sections = _sections(profile, lead, s, inside)
    fixed = None if point is None else np.broadcast_to(point, (*lead, 2)).reshape(n, 2)
    parts = [
        _Batch(
            s[k],
            flat_seats[k],
            sorted_tips[k],
            [c[k] for c in sections],
            None if fixed is None else fixed[k],
            directions,
            exact,
        ).solve()
        for k in (slice(i, i + CHUNK) for i in range(0, n, CHUNK))
    ]
    back = np.argsort(order, axis=-1, kind="stable")

    def gather(i: int, *tail: int) -> Floats:
        joined = np.concatenate([p[i] for p in parts]) if parts else np.empty((0, count, *tail))
        index = back.reshape(n, count, *(1 for _ in tail))
        shaped = np.take_along_axis(joined, index, axis=1).reshape(*lead, count, *tail)
        return np.take(shaped, 0, axis=len(lead)) if single else shaped

    radius = gather(0) - (wall if single else wall[..., None])
    seat_out = np.array(np.broadcast_to(seats[..., None], tips.shape))
    tip_out = np.array(tips)
    return Corridor(
        seat_out[..., 0] if single else seat_out,
        tip_out[..., 0] if single else tip_out,
        radius,
        gather(1),
        gather(2, 2),
        gather(3, 2),
        gather(4, 5),
        gather(5, 5),
        gather(6, 5),
    )


def _levels(s: Floats, seat: Floats, tips: Floats) -> Floats:
    """Stations from seat to the deepest tip, the seat and every tip among them, sorted: (n, m + 1 + T).

    Stations outside are moved onto the seat or the deepest tip: repeated there they change nothing, and every
    draw keeps the same number of rows.
    """
    moved = np.minimum(np.maximum(s, seat[:, None]), tips[:, -1:])
    return np.sort(np.concatenate([moved, seat[:, None], tips], axis=-1), axis=-1)


def _sections(profile: Profile, lead: tuple[int, ...], s: Floats, inside: Wall) -> list[Floats]:
    """Semi-axes a, b and centre x, y at the levels s (n, m), each (n, m)."""
    n = s.shape[0]
    names = (f"{inside}_ap", f"{inside}_lateral", "offset_ap", "offset_lateral")

    def rows(v: Floats) -> Floats:
        return np.broadcast_to(v, (*lead, v.shape[-1])).reshape(n, v.shape[-1])

    grid = profile.s if profile.s.ndim == 1 else rows(profile.s)
    a, b, x, y = interpolate(grid, [rows(getattr(profile, k)) for k in names], s)
    return [a / 2, b / 2, x, y]


def touching_angle(x: Floats, y: Floats, a: Floats, b: Floats, start: Floats, reach: float) -> Floats:
    """Angle in [0, pi/2] at which x cos + y sin - h is greatest, for x, y >= 0, from a start within `reach`
    of it.

    Three safeguarded Newton steps; a step that does not improve is not taken. All arguments broadcast [mm,
    rad].
    """
    best = start
    value = _excess(x, y, a, b, best)
    d = b * b - a * a
    lo, hi = np.maximum(start - reach, 0.0), np.minimum(start + reach, np.pi / 2)
    for _ in range(3):
        c, s = np.cos(best), np.sin(best)
        h = np.sqrt((a * c) ** 2 + (b * s) ** 2)
        first = y * c - x * s - d * s * c / h
        second = -x * c - y * s - d * (c * c - s * s) / h + (d * s * c) ** 2 / h**3
        # where the curve is not concave, Newton would head for a minimum: go half the way uphill instead
        step = np.where(second < 0, -first / np.where(second < 0, second, 1.0), np.sign(first) * reach / 2)
        trial = np.minimum(np.maximum(best + step, lo), hi)
        there = _excess(x, y, a, b, trial)
        better = there > value
        best, value = np.where(better, trial, best), np.where(better, there, value)
    return np.asarray(best, dtype=np.float64)


def _excess(x: Floats, y: Floats, a: Floats, b: Floats, angle: Floats) -> Floats:
    """u . d - h(u) for the direction at `angle`: minus the distance of the point d from that tangent [mm]."""
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(x * c + y * s - np.sqrt((a * c) ** 2 + (b * s) ** 2), dtype=np.float64)


class _Batch:
    """Dual simplex for a chunk of draws. Rows are (station level, direction); columns are the unknowns.

    Unknowns: axis at the seat (2), shift of the axis over the span (2), radius; with a fixed entry the
    first two drop out. The span is from seat to deepest tip, so that the position along it, z, is from 0 to
    1.
    """

    def __init__(
        self,
        s: Floats,
        seat: Floats,
        tips: Floats,
        sections: list[Floats],
        entry: Floats | None,
        directions: int,
        exact: bool,
    ) -> None:
        self.a, self.b, self.cx, self.cy = sections
        self.seat, self.tips, self.s, self.exact = seat, tips, s, exact
        self.span = tips[:, -1] - seat
        self.z = (s - seat[:, None]) / self.span[:, None]
        self.entry = entry
        if entry is not None:
            self.cx = self.cx - entry[:, :1]
            self.cy = self.cy - entry[:, 1:]
        # h is even in x and in y, so the worst direction lies in the quadrant of the offset: a quarter turn is enough
        quarter = np.linspace(0.0, np.pi / 2, directions // 4 + 1)
        self.quarter, self.reach = quarter, np.pi * 2 / directions
        self.cos, self.sin = np.cos(quarter), np.sin(quarter)
        self.cos[-1] = self.sin[0] = 0.0
        self.h = np.sqrt((self.a[..., None] * self.cos) ** 2 + (self.b[..., None] * self.sin) ** 2)
        self.count = np.stack([np.sum(s <= tips[:, j : j + 1], axis=1) for j in range(tips.shape[1])], axis=1)
        self._start()

    def _start(self) -> None:
        """Five rows whose combination with weights above 0 is the (perturbed) cost: dual feasible for every draw."""
        n = self.s.shape[0]
        end = self.count[:, 0] - 1  # the first tip: every later problem holds it too
        start = np.zeros(n, dtype=np.intp)
        half = np.pi / 2
        if self.entry is None:
            rows = [(start, 0.0), (start, 2 * half), (start, half), (end, 0.0), (end, half)]
        else:
            rows = [(end, 0.0), (end, 2 * half), (end, half)]
        k = len(rows)
        self.station = np.stack([r[0] for r in rows], axis=1)
        self.angle = np.broadcast_to(np.array([r[1] for r in rows]), (n, k)).copy()
        self.matrix = np.empty((n, k, k))
        self.rhs = np.empty((n, k))
        every = np.arange(n)
        for j, (station, angle) in enumerate(rows):
            self.matrix[:, j], self.rhs[:, j] = self._row(every, station, np.full(n, angle))
        weights = np.array([0.5, 0.5, 0.0, 0.0, 0.0])[:k] + PERTURBATION * np.array([1.0, 1.7, 2.3, 3.1, 3.9])[:k]
        self.cost = np.einsum("j,njk->nk", weights, self.matrix)

    def _row(self, draw: Ints, station: Ints, angle: Floats) -> tuple[Floats, Floats]:
        c, s, z = np.cos(angle), np.sin(angle), self.z[draw, station]
        a, b = self.a[draw, station], self.b[draw, station]
        rhs = np.sqrt((a * c) ** 2 + (b * s) ** 2) + c * self.cx[draw, station] + s * self.cy[draw, station]
        head = [c, s] if self.entry is None else []
        return np.stack([*head, z * c, z * s, np.ones_like(c)], axis=1), rhs

    def _offsets(self, draw: Ints, x: Floats, m: int) -> tuple[Floats, Floats]:
        z = self.z[draw, :m]
        px = z * x[:, -3:-2] - self.cx[draw, :m]
        py = z * x[:, -2:-1] - self.cy[draw, :m]
        if self.entry is None:
            px += x[:, 0:1]
            py += x[:, 1:2]
        return px, py

    def _worst(self, draw: Ints, x: Floats, tip: int) -> tuple[Ints, Floats, Floats]:
        """Most violated row of each draw: station, direction, violation [mm]."""
        m = int(np.max(self.count[draw, tip]))
        px, py = self._offsets(draw, x, m)
        ax, ay = np.abs(px), np.abs(py)
        table = ax[..., None] * self.cos + ay[..., None] * self.sin - self.h[draw, :m]
        cell = np.argmax(table, axis=-1)
        value = np.take_along_axis(table, cell[..., None], -1)[..., 0]
        angle = self.quarter[cell]
        if self.exact:
            a, b = self.a[draw, :m], self.b[draw, :m]
            angle = touching_angle(ax, ay, a, b, angle, self.reach)
            value = _excess(ax, ay, a, b, angle)
        value = np.where(np.arange(m) < self.count[draw, tip][:, None], value, -np.inf)
        station = np.argmax(value, axis=1)
        pick = np.arange(len(draw)), station
        full = np.arctan2(np.sin(angle[pick]) * _sign(py[pick]), np.cos(angle[pick]) * _sign(px[pick]))
        return station, np.asarray(full, dtype=np.float64), value[pick] + x[:, -1]

    def solve(self) -> tuple[Floats, ...]:
        """Radius, gap, entry, slope, contact level, angle and share, each (n, T, ...)."""
        stages = [self._tip(j) for j in range(self.tips.shape[1])]
        return tuple(np.stack(column, axis=1) for column in zip(*stages))

    def _tip(self, tip: int) -> tuple[Floats, ...]:
        n, k = self.rhs.shape
        answer, over = np.empty((n, k)), np.zeros(n)
        todo = np.arange(n)
        tolerance = TOLERANCE if self.exact else 1e-10
        for pivot in range(MAX_PIVOTS):
            inverse = np.linalg.inv(self.matrix[todo])
            x = np.einsum("nij,nj->ni", inverse, self.rhs[todo])
            station, angle, violation = self._worst(todo, x, tip)
            done = (violation <= tolerance) | (pivot == MAX_PIVOTS - 1)
            answer[todo[done]] = x[done]
            over[todo[done]] = violation[done]
            go = ~done
            if not np.any(go):
                break
            todo = todo[go]
            self._pivot(todo, inverse[go], station[go], angle[go])
        return self._stage(answer, np.maximum(over, 0.0) if self.exact else np.zeros(n))

    def _pivot(self, draw: Ints, inverse: Floats, station: Ints, angle: Floats) -> None:
        row, rhs = self._row(draw, station, angle)
        share = np.einsum("nj,njk->nk", self.cost[draw], inverse)
        alpha = np.einsum("nj,njk->nk", row, inverse)
        # the radius column is all ones, so the alphas sum to 1 and one of them is above 0: the ratio is never empty
        ratio = np.where(alpha > 1e-9, share / np.where(alpha > 1e-9, alpha, 1.0), np.inf)
        out = np.argmin(ratio, axis=1)
        self.matrix[draw, out], self.rhs[draw, out] = row, rhs
        self.station[draw, out], self.angle[draw, out] = station, angle

    def _stage(self, x: Floats, over: Floats) -> tuple[Floats, ...]:
        n, k = x.shape
        share = np.einsum("nj,njk->nk", self.cost, np.linalg.inv(self.matrix))
        level = np.full((n, 5), np.nan)
        angle = np.full((n, 5), np.nan)
        full = np.zeros((n, 5))
        level[:, :k] = np.take_along_axis(self.s, self.station, axis=1)
        angle[:, :k] = self.angle
        full[:, :k] = share
        entry = x[:, :2].copy() if self.entry is None else self.entry.copy()
        return x[:, -1] - over, over, entry, x[:, -3:-1] / self.span[:, None], level, angle, full


def _sign(v: Floats) -> Floats:
    return np.asarray(np.where(v < 0, -1.0, 1.0), dtype=np.float64)
