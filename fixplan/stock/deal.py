"""From the list to independent parts, and from the solved flows back to pieces of single shelf rows."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from fixplan.stock.model import Item
from fixplan.stock.programme import Class, Line, Lot, Part, Pool, pools_of


def _classes(lines: Sequence[Line], pools: Sequence[Pool], days: Sequence[dt.date]) -> list[Class]:
    """Lines for one item on one day; a line that a tray could serve stays alone, since the tray goes to one case."""
    by_item: dict[Item, list[int]] = {}
    for p, pool in enumerate(pools):
        for item in pool.lots[0].serves:
            by_item.setdefault(item, []).append(p)
    trayed = {item for item, where in by_item.items() if any(pools[p].tray for p in where)}
    day_of = {d: i for i, d in enumerate(days)}
    found: dict[tuple[Item, dt.date, int], Class] = {}
    for k, line in enumerate(lines):
        key = (line.item, line.date, line.rank if line.item in trayed else -1)
        if key not in found:
            day = day_of[line.date]
            usable = [p for p in by_item.get(line.item, ()) if pools[p].usable_days > day]
            found[key] = Class(line.item, line.date, day, [], usable)
        found[key].lines.append(k)
    return list(found.values())


def _parts(lines: Sequence[Line], classes: Sequence[Class], pools: Sequence[Pool]) -> list[list[Class]]:
    """Classes that share a pool, a tray or a case belong together."""
    ranks = 1 + max((line.rank for line in lines), default=-1)
    trays = {t: i for i, t in enumerate(dict.fromkeys(p.tray for p in pools if p.tray))}
    n = len(classes)
    a: list[int] = []
    b: list[int] = []
    for c, kind in enumerate(classes):
        ends = [n + p for p in kind.pools] + [n + len(pools) + lines[k].rank for k in kind.lines]
        ends += [n + len(pools) + ranks + trays[pools[p].tray] for p in kind.pools if pools[p].tray]
        a += [c] * len(ends)
        b += ends
    size = n + len(pools) + ranks + len(trays)
    graph = coo_array((np.ones(len(a)), (np.asarray(a, dtype=int), np.asarray(b, dtype=int))), shape=(size, size))
    _, label = connected_components(graph, directed=False)
    groups: dict[int, list[Class]] = {}
    for c, kind in enumerate(classes):
        groups.setdefault(int(label[c]), []).append(kind)
    return list(groups.values())


def _hand_out(part: Part, solution: npt.NDArray[np.float64], taken: list[dict[int, int]]) -> None:
    """Turn flows into pieces of rows: within a pool the earliest expiry goes to the earliest case."""
    left = {p: [lot.quantity for lot in part.pools[p].lots] for p in {p for c in part.classes for p in c.pools}}
    day = None
    for c, kind in sorted(enumerate(part.classes), key=lambda t: (t[1].day, t[0])):
        if kind.day != day:
            day = kind.day
            for p in left:
                if part.pools[p].reusable:
                    left[p] = [lot.quantity * part.uses for lot in part.pools[p].lots]
        pieces: list[list[int]] = []
        for p in kind.pools:
            wanted = int(solution[part.x[c, p]])
            for i, lot in enumerate(part.pools[p].lots):
                take = min(wanted, left[p][i])
                if take > 0:
                    left[p][i] -= take
                    wanted -= take
                    pieces.append([lot.row, take])
        for k in kind.lines:
            wanted = int(solution[part.u[k]] + solution[part.v[k]] + solution[part.w[k]])
            while wanted:
                row, have = pieces[0]
                take = min(wanted, have)
                taken[k][row] = taken[k].get(row, 0) + take
                wanted -= take
                pieces[0][1] -= take
                if not pieces[0][1]:
                    pieces.pop(0)


def solve(
    lines: Sequence[Line],
    lots: Sequence[Lot],
    *,
    uses_per_day: int = 1,
    time_limit_s: float | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[list[dict[int, int]], bool]:
    """For each line the pieces taken from each row, best by the levels; and whether that is proved."""
    days = sorted({line.date for line in lines})
    pools = pools_of(lots, days)
    parts = _parts(lines, _classes(lines, pools, days), pools)
    taken: list[dict[int, int]] = [{} for _ in lines]
    proved = True
    for done, classes in enumerate(parts):
        if progress is not None:
            progress(done, len(parts))
        if any(kind.pools for kind in classes):
            part = Part(lines, classes, pools, uses_per_day)
            solution, sure = part.solve(time_limit_s)
            proved = proved and sure
            _hand_out(part, solution, taken)
    if progress is not None:
        progress(len(parts), len(parts))
    return taken, proved
