"""The assignment programme behind `allocate`, solved level by level with HiGHS (scipy.optimize.milp).

Alike things are pooled first, without loss: rows that serve the same items up to the same case date form a pool;
lines for the same item on the same day form a class. Pieces flow from pools to classes, so the size of the programme
grows with sizes times days, not with cases times rows. Parts of the list that share no row are solved apart.

Unknowns, all whole numbers: F (a role of a case is complete, 0 or 1), u, v and w (pieces of a line towards the first
choice, beyond it towards the back-ups, and beyond those for the room), X (pieces from a pool to a class), z (pieces of
a pool with one expiry date), y (a tray goes to a case).
"""

from __future__ import annotations

import datetime as dt
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csr_array

from fixplan.stock.model import Item

# levels are joined in one solve while their weights stay far inside the solver's tolerances
JOINED_WEIGHT = 1e5
ROOM = 3
"""Place in ROLES of the further sizes for the room: their pieces count one by one, not as a whole."""


@dataclass(frozen=True)
class Line:
    """One distinct item of one case: pieces wanted by role, in the order of ROLES. `rank` is the place in the list."""

    rank: int
    case: str
    date: dt.date
    item: Item
    wanted: tuple[int, ...]


@dataclass(frozen=True)
class Lot:
    """One usable shelf row and the items it can be."""

    row: int
    quantity: int
    expiry: dt.date | None
    tray: str
    serves: tuple[Item, ...]


@dataclass
class Pool:
    """Rows that serve the same items up to the same day."""

    lots: list[Lot]
    usable_days: int
    tray: str
    reusable: bool

    @property
    def quantity(self) -> int:
        """Pieces in all rows."""
        return sum(lot.quantity for lot in self.lots)


@dataclass
class Class:
    """Lines for one item on one day, and the pools that can serve them."""

    item: Item
    date: dt.date
    day: int
    lines: list[int] = field(default_factory=list)
    pools: list[int] = field(default_factory=list)


def pools_of(lots: Sequence[Lot], days: Sequence[dt.date]) -> list[Pool]:
    """Pool the rows; earliest expiry first within a pool and among pools."""
    found: dict[tuple[Any, ...], Pool] = {}
    for lot in sorted(lots, key=lambda x: (x.expiry or dt.date.max, x.row)):
        usable = len(days) if lot.expiry is None else bisect_right(days, lot.expiry)
        reusable = all(item.reusable for item in lot.serves)
        key = (lot.serves, usable, lot.tray, reusable)
        found.setdefault(key, Pool([], usable, lot.tray, reusable)).lots.append(lot)
    return list(found.values())


class Part:
    """One independent part of the list as a mixed integer programme."""

    def __init__(self, lines: Sequence[Line], classes: list[Class], pools: Sequence[Pool], uses: int) -> None:
        self.lines, self.classes, self.pools, self.uses = lines, classes, pools, uses
        self.size = 0
        self.upper: list[float] = []
        self.rows: list[tuple[dict[int, float], float, float]] = []
        self.mine = [k for c in classes for k in c.lines]
        self._variables()
        self._constraints()

    def _new(self, upper: float) -> int:
        self.upper.append(upper)
        self.size += 1
        return self.size - 1

    def _variables(self) -> None:
        self.complete: dict[tuple[int, int], int] = {}
        self.u: dict[int, int] = {}
        self.v: dict[int, int] = {}
        self.w: dict[int, int] = {}
        self.x: dict[tuple[int, int], int] = {}
        self.z: dict[tuple[int, dt.date | None], int] = {}
        self.y: dict[tuple[str, int], int] = {}
        for k in sorted(self.mine):
            line = self.lines[k]
            for role, wanted in enumerate(line.wanted):
                if wanted and role < ROOM and (line.rank, role) not in self.complete:
                    self.complete[line.rank, role] = self._new(1)
            self.u[k] = self._new(line.wanted[0])
            self.v[k] = self._new(max(line.wanted[:ROOM]) - line.wanted[0])
            self.w[k] = self._new(max(line.wanted) - max(line.wanted[:ROOM]))
        for c, kind in enumerate(self.classes):
            for p in kind.pools:
                self.x[c, p] = self._new(self.pools[p].quantity * (self.uses if kind.item.reusable else 1))
                if self.pools[p].tray:
                    key = (self.pools[p].tray, self.lines[kind.lines[0]].rank)
                    if key not in self.y:
                        self.y[key] = self._new(1)
        for p in sorted({p for c in self.classes for p in c.pools}):
            if not self.pools[p].reusable:
                by_expiry: dict[dt.date | None, int] = {}
                for lot in self.pools[p].lots:
                    by_expiry[lot.expiry] = by_expiry.get(lot.expiry, 0) + lot.quantity
                for expiry, quantity in by_expiry.items():
                    self.z[p, expiry] = self._new(quantity)

    def _constraints(self) -> None:
        inf = float("inf")
        for k in self.mine:
            for role, wanted in enumerate(self.lines[k].wanted[:ROOM]):
                if wanted:
                    done = self.complete[self.lines[k].rank, role]
                    pieces = {self.u[k]: 1.0} if role == 0 else {self.u[k]: 1.0, self.v[k]: 1.0}
                    self.rows.append((pieces | {done: -float(wanted)}, 0.0, inf))
        into: dict[int, dict[int, float]] = {}
        per_day: dict[tuple[int, int], dict[int, float]] = {}
        trays: dict[tuple[str, int], dict[int, float]] = {}
        for c, kind in enumerate(self.classes):
            flow = {part[k]: 1.0 for part in (self.u, self.v, self.w) for k in kind.lines}
            for p in kind.pools:
                flow[self.x[c, p]] = -1.0
                pool = self.pools[p]
                if pool.reusable:
                    per_day.setdefault((p, kind.day), {})[self.x[c, p]] = 1.0
                else:
                    into.setdefault(p, {})[self.x[c, p]] = 1.0
                if pool.tray:
                    rank = self.lines[kind.lines[0]].rank
                    holds = pool.quantity * (self.uses if pool.reusable else 1)
                    self.rows.append(({self.x[c, p]: 1.0, self.y[pool.tray, rank]: -float(holds)}, -inf, 0.0))
                    trays.setdefault((pool.tray, kind.day), {})[self.y[pool.tray, rank]] = 1.0
            self.rows.append((flow, 0.0, 0.0))
        for p, use in into.items():
            z = {self.z[key]: -1.0 for key in self.z if key[0] == p}
            self.rows.append((use | z, 0.0, 0.0))
        for (p, _), use in per_day.items():
            self.rows.append((use, -inf, float(self.pools[p].quantity * self.uses)))
        for use in trays.values():
            self.rows.append((use, -inf, float(self.uses)))

    def levels(self) -> list[tuple[npt.NDArray[np.float64], float]]:
        """Each level as (what to maximise, how far it can move)."""
        out = [np.zeros(self.size) for _ in range(7)]
        ranks = {r: i for i, r in enumerate(sorted({rank for rank, _ in self.complete}))}
        for (rank, role), at in self.complete.items():
            out[0 if role == 0 else 1][at] = 1.0
            out[6][at] = -float(ranks[rank])
        for k in self.mine:
            out[2][self.u[k]] = 1.0
            out[3][self.v[k]] = 1.0
            out[4][self.w[k]] = 1.0
        dates = [e for _, e in self.z if e is not None]
        if dates:
            first, last = min(dates), max(dates)
            for (_, expiry), at in self.z.items():
                out[5][at] = -float(((last - first).days + 1) if expiry is None else (expiry - first).days)
        upper = np.asarray(self.upper)
        return [(c, float(np.abs(c) @ upper)) for c in out]

    def solve(self, time_limit_s: float | None) -> tuple[npt.NDArray[np.float64], bool]:
        """The lexicographic optimum, and whether every level was proved."""
        row = [i for i, (terms, _, _) in enumerate(self.rows) for _ in terms]
        column = [j for terms, _, _ in self.rows for j in terms]
        value = [a for terms, _, _ in self.rows for a in terms.values()]
        matrix = csr_array(coo_array((value, (row, column)), shape=(len(self.rows), self.size)))
        low = np.array([r[1] for r in self.rows])
        high = np.array([r[2] for r in self.rows])
        constraints = [LinearConstraint(matrix, low, high)]
        best: npt.NDArray[np.float64] | None = None
        proved = True
        for goal, parts in _joined(self.levels()):
            if best is not None and all(_at_bound(c, best, self.upper) for c in parts):
                held = best
            else:
                answer = milp(
                    -goal,
                    integrality=np.ones(self.size, dtype=np.int64),
                    bounds=Bounds(np.zeros(self.size), np.asarray(self.upper)),
                    constraints=constraints,
                    options={"mip_rel_gap": 0.0, "time_limit": float("inf") if time_limit_s is None else time_limit_s},
                )
                if answer.x is None:
                    if best is None:
                        raise RuntimeError(f"the solver found no allotment: {answer.message}")
                    return best, False
                proved = proved and answer.status == 0
                held = np.round(answer.x)
            best = held
            constraints += [LinearConstraint(c, float(c @ best) - 0.5, np.inf) for c in parts]
        assert best is not None
        return best, proved


def _at_bound(goal: npt.NDArray[np.float64], at: npt.NDArray[np.float64], upper: Sequence[float]) -> bool:
    """True when no solution whatever can do better on this level."""
    return float(goal @ at) >= float(np.maximum(goal, 0.0) @ np.asarray(upper))


def _joined(
    levels: Sequence[tuple[npt.NDArray[np.float64], float]],
) -> list[tuple[npt.NDArray[np.float64], list[npt.NDArray[np.float64]]]]:
    """Join neighbouring levels with weights that keep them lexicographic, while the weights stay small."""
    out: list[tuple[npt.NDArray[np.float64], list[npt.NDArray[np.float64]]]] = []
    scale = float("inf")
    for goal, reach in levels:
        if not reach:
            continue
        if scale * (reach + 1.0) <= JOINED_WEIGHT:
            whole, parts = out[-1]
            out[-1] = (whole * (reach + 1.0) + goal, [*parts, goal])
            scale *= reach + 1.0
        else:
            out.append((goal, [goal]))
            scale = reach + 1.0
    return out
