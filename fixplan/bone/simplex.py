"""Batched dual simplex for the straight corridor: the solver behind `fixplan.bone.corridor`.

Each draw is a linear programme in five unknowns (three with a prescribed entry) and very many rows, one per
station and direction. Five rows are active at a time. The most violated row of all stations enters; the
ratio test on the multipliers says which row leaves (dual simplex: Bertsimas and Tsitsiklis, Introduction to
Linear Optimization, section 4.5; rows found by separation: section 6.3). Since rows depend on station and
direction only, and a deeper tip only adds rows, the optimum of one tip starts the next. The cost is
perturbed by `PERTURBATION`, which rules out cycling in symmetric canals. Core units: mm, rad.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.bone.profile import Floats

TOLERANCE = 1e-6  # mm; greatest violation left when cuts stop
PERTURBATION = 1e-9  # share of the cost, against cycling
MAX_PIVOTS = 400  # per tip; a draw that reaches it keeps a safe radius and a wide gap

Ints = npt.NDArray[np.intp]


def touching_angle(x: Floats, y: Floats, a: Floats, b: Floats, start: Floats, reach: float) -> Floats:
    """Angle in [0, pi/2] at which x cos + y sin - h is greatest, for x, y >= 0, within `reach` of `start`.

    In this quadrant the curve rises to one maximum and falls (a point of the quadrant has one normal to the
    ellipse's arc there: Eberly's note on the distance from a point to an ellipse, from memory), so the best
    of a grid of step `reach` brackets it whatever the ellipse. Newton's method kept inside the bracket,
    halving it where Newton would leave. The arrays have one shape [mm, rad].
    """
    angle = np.array(start)
    lo, hi = np.maximum(angle - reach, 0.0), np.minimum(angle + reach, np.pi / 2)
    d = b * b - a * a
    for _ in range(60):
        c, s = np.cos(angle), np.sin(angle)
        h = np.sqrt((a * c) ** 2 + (b * s) ** 2)
        first = y * c - x * s - d * s * c / h
        second = -x * c - y * s - d * (c * c - s * s) / h + (d * s * c) ** 2 / h**3
        lo, hi = np.where(first > 0, angle, lo), np.where(first > 0, hi, angle)
        trial = angle - first / np.where(second < 0, second, -1.0)
        keep = (second < 0) & (trial >= lo) & (trial <= hi)
        trial = np.where(keep, trial, (lo + hi) / 2)
        moved = np.abs(trial - angle)
        angle = trial
        # at the maximum the excess is flat: an angle 1e-4 off costs half of 1e-8 times offset plus radius of curvature
        # (some ten millimetres), far below TOLERANCE
        if not np.any(moved > 1e-4):
            break
    return np.asarray(angle, dtype=np.float64)


def excess(x: Floats, y: Floats, a: Floats, b: Floats, angle: Floats) -> Floats:
    """u . d - h(u) for the direction at `angle`: minus the distance of the point d from that tangent [mm]."""
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(x * c + y * s - np.sqrt((a * c) ** 2 + (b * s) ** 2), dtype=np.float64)


class Batch:
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
        push: tuple[int, ...],
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
        long, short = np.maximum(self.a, self.b), np.minimum(self.a, self.b)
        # h + h'' is the radius of curvature of the ellipse, at most long^2 / short; h is at least short
        self.curve = long**2 / short - short
        self.count = np.stack([np.sum(s <= tips[:, j : j + 1], axis=1) for j in range(tips.shape[1])], axis=1)
        self._start(push)

    def _start(self, push: tuple[int, ...]) -> None:
        """Five rows whose combination with weights above 0 is the (perturbed) cost: dual feasible for every
        draw.

        `push` says to which side the perturbation draws the axis, x and y at the seat, x and y at the tip:
        where many axes are equally good, it picks a corner of their set.
        """
        n = self.s.shape[0]
        end = self.count[:, 0] - 1  # the first tip: every later problem holds it too
        start = np.zeros(n, dtype=np.intp)
        half = np.pi / 2
        x_in, y_in, x_out, y_out = push
        east, west = (0.0, 2 * half) if x_in > 0 else (2 * half, 0.0)
        if self.entry is None:
            rows = [(start, east), (start, west), (start, y_in * half)]
            rows += [(end, 0.0 if x_out > 0 else 2 * half), (end, y_out * half)]
        else:
            rows = [(end, east), (end, west), (end, y_out * half)]
        k = len(rows)
        self.station = np.stack([r[0] for r in rows], axis=1)
        self.angle = np.broadcast_to(np.array([r[1] for r in rows]), (n, k)).copy()
        self.matrix = np.empty((n, k, k))
        self.rhs = np.empty((n, k))
        every = np.arange(n)
        for j, (station, angle) in enumerate(rows):
            self.matrix[:, j], self.rhs[:, j] = self._row(every, station, np.full(n, angle))
        weights = np.array([0.5, 0.5, 0.0, 0.0, 0.0])[:k] + PERTURBATION * np.array([3.9, 1.0, 1.7, 2.3, 3.1])[:k]
        self.cost = np.einsum("j,njk->nk", weights, self.matrix)

    def _row(self, draw: Ints, station: Ints, angle: Floats) -> tuple[Floats, Floats]:
        c, s, z = np.cos(angle), np.sin(angle), self.z[draw, station]
        a, b = self.a[draw, station], self.b[draw, station]
        rhs = np.sqrt((a * c) ** 2 + (b * s) ** 2) + c * self.cx[draw, station] + s * self.cy[draw, station]
        head = [c, s] if self.entry is None else []
        return np.stack([*head, z * c, z * s, np.ones_like(c)], axis=1), rhs

    def _worst(self, draw: Ints, x: Floats, tip: Ints) -> tuple[Ints, Floats, Floats]:
        """Most violated row of each draw: station, direction, violation [mm]."""
        count = self.count[draw, tip][:, None]
        m = int(np.max(count))

        def part(v: Floats) -> Floats:
            # taking whole draws and cutting the view is faster than indexing both ways
            return v.take(draw, axis=0)[:, :m]

        z, a, b = part(self.z), part(self.a), part(self.b)
        px, py = z * x[:, -3:-2] - part(self.cx), z * x[:, -2:-1] - part(self.cy)
        if self.entry is None:
            px, py = px + x[:, 0:1], py + x[:, 1:2]
        ax, ay = np.abs(px), np.abs(py)
        table = ax[..., None] * self.cos
        table += ay[..., None] * self.sin
        table -= part(self.h)
        cell = np.argmax(table, axis=-1)
        value = np.take_along_axis(table, cell[..., None], -1)[..., 0]
        value = np.where(np.arange(value.shape[1]) < count, value, -np.inf)
        angle = self.quarter[cell]
        if self.exact:
            # a station is refined only where that can make it the worst: between two directions the excess rises
            # by half the squared distance times its curvature, and that is at most offset + curve
            room = value + self.reach**2 / 8 * (ax + ay + part(self.curve))
            i, j = np.nonzero(room >= np.max(value, axis=1, keepdims=True))
            x_in, y_in, a_in, b_in = ax[i, j], ay[i, j], a[i, j], b[i, j]
            angle[i, j] = touching_angle(x_in, y_in, a_in, b_in, angle[i, j], self.reach)
            value[i, j] = excess(x_in, y_in, a_in, b_in, angle[i, j])
        best = np.arange(len(draw)), np.argmax(value, axis=1)
        full = np.arctan2(np.sin(angle[best]) * _sign(py[best]), np.cos(angle[best]) * _sign(px[best]))
        return best[1], np.asarray(full, dtype=np.float64), value[best] + x[:, -1]

    def solve(self) -> tuple[Floats, ...]:
        """Radius, gap, entry, slope, contact level, angle and share, each (n, T, ...).

        Every draw goes on to its next tip as soon as it is done with one, so that the batch stays full.
        """
        n, count = self.tips.shape
        shapes = [(), (), (2,), (2,), (5,), (5,), (5,)]
        out = [np.empty((n, count, *shape)) for shape in shapes]
        todo, tip, pivots = np.arange(n), np.zeros(n, dtype=np.intp), np.zeros(n, dtype=np.intp)
        tolerance = TOLERANCE if self.exact else 1e-10
        while len(todo):
            inverse = np.linalg.inv(self.matrix[todo])
            x = np.einsum("nij,nj->ni", inverse, self.rhs[todo])
            share = np.einsum("nj,njk->nk", self.cost[todo], inverse)
            station, angle, violation = self._worst(todo, x, tip[todo])
            done = (violation <= tolerance) | (pivots[todo] >= MAX_PIVOTS)
            ready = todo[done]
            over = np.maximum(violation[done], 0.0) if self.exact else np.zeros(len(ready))
            for column, value in zip(out, self._result(ready, x[done], over, share[done])):
                column[ready, tip[ready]] = value
            tip[ready] += 1
            pivots[ready] = 0
            go = ~done
            self._pivot(todo[go], inverse[go], share[go], station[go], angle[go])
            pivots[todo[go]] += 1
            todo = todo[tip[todo] < count]
        return tuple(out)

    def _pivot(self, draw: Ints, inverse: Any, share: Any, station: Ints, angle: Floats) -> None:
        row, rhs = self._row(draw, station, angle)
        alpha = np.einsum("nj,njk->nk", row, inverse)
        # the radius column is all ones, so the alphas sum to 1 and one of them is above 0: the ratio is never empty
        ratio = np.where(alpha > 1e-9, share / np.where(alpha > 1e-9, alpha, 1.0), np.inf)
        out = np.argmin(ratio, axis=1)
        self.matrix[draw, out], self.rhs[draw, out] = row, rhs
        self.station[draw, out], self.angle[draw, out] = station, angle

    def _result(self, draw: Ints, x: Any, over: Floats, share: Any) -> tuple[Floats, ...]:
        n, k = len(draw), x.shape[1]
        level, angle, full = np.full((n, 5), np.nan), np.full((n, 5), np.nan), np.zeros((n, 5))
        level[:, :k] = self.s[draw[:, None], self.station[draw]]
        angle[:, :k] = self.angle[draw]
        full[:, :k] = share
        entry = x[:, :2] if self.entry is None else self.entry[draw]
        return x[:, -1] - over, over, entry, x[:, -3:-1] / self.span[draw, None], level, angle, full


def _sign(v: Floats) -> Floats:
    return np.asarray(np.where(v < 0, -1.0, 1.0), dtype=np.float64)
