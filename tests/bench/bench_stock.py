"""Time and memory of a list of 1 000 cases on a shelf of 20 000 rows, against a plain double loop in the same run.

Run: python tests/bench/bench_stock.py [cases] [rows]. The progress bar goes to standard error. All data are invented.
The double loop looks at every row for every wanted item and takes what comes first; it is what a team does by hand.
"""

from __future__ import annotations

import datetime as dt
import random
import sys
import time
import tracemalloc
from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.progress import Progress

from fixplan.stock.allocate import allocate
from fixplan.stock.levels import levels_of
from fixplan.stock.match import mismatch, out_of_date
from fixplan.stock.model import Item, Need, ShelfRow

DAY = dt.date(2026, 12, 1)
DIAMETERS = (4.0, 4.5, 5.0, 5.5, 6.5)
LENGTHS = range(36, 62, 2)
PLATE_LENGTHS = range(8, 24)


def screw(diameter: float, length: int) -> Item:
    return Item("im_screw", diameter_mm=diameter, length_mm=length)


def made_up(cases: int, lines: int) -> tuple[list[Need], list[ShelfRow]]:
    """A list over ten days and a shelf of the same sizes, with a fixed random start."""
    draw = random.Random(5)
    needs = []
    for i in range(cases):
        day = DAY + dt.timedelta(days=i * 10 // cases)
        d, n = draw.choice(DIAMETERS), draw.choice(LENGTHS[1:-1])
        driver = Item("instrument", name=f"driver {d}")
        if draw.random() < 0.7:
            needs.append(
                Need(f"C{i}", day, i, (screw(d, n), driver), (screw(d, n + 2), driver), (screw(d, n - 2), driver))
            )
            continue
        screws = [Item("cortical_screw", diameter_mm=2.4, length_mm=draw.choice(PLATE_LENGTHS)) for _ in range(6)]
        plates = [Item("plate", item=f"PL-2.4-{h}") for h in range(4, 10)]
        at = draw.randrange(1, 5)
        needs.append(Need(f"C{i}", day, i, (plates[at], *screws), (plates[at + 1], *screws), (plates[at - 1], *screws)))
    rows = []
    for line in range(2, lines + 2):
        expiry = DAY + dt.timedelta(days=draw.randrange(-20, 400))
        kind = draw.random()
        if kind < 0.03:
            rows.append(ShelfRow(line, 1, kind="instrument", name=f"driver {draw.choice(DIAMETERS)}"))
        elif kind < 0.1:
            rows.append(ShelfRow(line, 1, item=f"PL-2.4-{draw.randrange(4, 10)}", kind="plate", expiry=expiry))
        elif kind < 0.5:
            n = draw.choice(PLATE_LENGTHS)
            rows.append(
                ShelfRow(line, draw.randrange(0, 2), kind="cortical_screw", diameter_mm=2.4, length_mm=n, expiry=expiry)
            )
        else:
            d, n = draw.choice(DIAMETERS), draw.choice(LENGTHS)
            used = draw.random() < 0.1  # most lines of a long shelf list are used up
            rows.append(ShelfRow(line, int(used), kind="im_screw", diameter_mm=d, length_mm=n, expiry=expiry))
    return needs, rows


def double_loop(needs: list[Need], rows: list[ShelfRow]) -> list[dict[Item, int]]:
    """Every row for every wanted item, first come, first served."""
    left = [r.quantity for r in rows]
    lent: dict[tuple[int, dt.date], int] = {}
    held = []
    for need in needs:
        have: dict[Item, int] = {}
        for item, by_role in need.wanted().items():
            wanted = max(by_role.values())
            for i, row in enumerate(rows):
                if have.get(item, 0) >= wanted:
                    break
                if mismatch(item, row) is not None or out_of_date(row, need.date):
                    continue
                free = row.quantity - lent.get((i, need.date), 0) if item.reusable else left[i]
                take = min(free, wanted - have.get(item, 0))
                if take > 0:
                    have[item] = have.get(item, 0) + take
                    if item.reusable:
                        lent[i, need.date] = lent.get((i, need.date), 0) + take
                    else:
                        left[i] -= take
        held.append(have)
    return held


def timed(call: Callable[[], Any]) -> tuple[Any, float]:
    begin = time.perf_counter()
    return call(), time.perf_counter() - begin


def peak_mib(call: Callable[[], Any]) -> float:
    """Memory that Python and NumPy ask for, at its highest; measured apart, since it slows the run down."""
    tracemalloc.start()
    call()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 2**20


def main() -> None:
    cases, lines = (int(a) for a in (sys.argv[1:3] or ("1000", "20000")))
    needs, rows = made_up(cases, lines)
    print(f"{cases} cases, {lines} rows")
    with Progress(console=Console(stderr=True)) as bar:
        task = bar.add_task("allotting", total=None)
        result, spent = timed(
            lambda: allocate(needs, rows, on=DAY, progress=lambda n, total: bar.update(task, completed=n, total=total))
        )
    print(f"allocate:    {spent:8.1f} s, {result.levels.text()}, proved: {result.proved}")
    held, loop = timed(lambda: double_loop(needs, rows))
    print(f"double loop: {loop:8.1f} s, {levels_of(needs, held).text()}")
    print(f"the double loop takes {loop / spent:.1f} times as long")
    print(f"peak memory: allocate {peak_mib(lambda: allocate(needs, rows, on=DAY)):.0f} MiB,", end=" ")
    # the loop keeps only counts: the first cases show what it needs
    print(f"double loop {peak_mib(lambda: double_loop(needs[:20], rows)):.0f} MiB")


if __name__ == "__main__":
    main()
