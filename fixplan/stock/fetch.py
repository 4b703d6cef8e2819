"""The walk to the shelf: what to fetch from each place for the whole list."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from fixplan.stock.allocate import Allocation
from fixplan.stock.model import Item, ShelfRow


@dataclass(frozen=True)
class Fetch:
    """One shelf row to fetch from: pieces for all cases; of what comes back, the most on any one day."""

    item: Item
    row: ShelfRow
    pieces: int
    cases: tuple[str, ...]


def fetch_list(allocation: Allocation) -> tuple[tuple[str, tuple[Fetch, ...]], ...]:
    """Places in alphabetical order, each with its rows in the order of the items."""
    per_row: dict[tuple[Item, ShelfRow], dict[dt.date, int]] = {}
    cases: dict[tuple[Item, ShelfRow], list[str]] = {}
    for trolley in allocation.trolleys:
        for p in trolley.picks:
            per_day = per_row.setdefault((p.item, p.row), {})
            per_day[trolley.need.date] = per_day.get(trolley.need.date, 0) + p.quantity
            cases.setdefault((p.item, p.row), []).append(trolley.need.case)
    places: dict[str, list[Fetch]] = {}
    for (item, row), per_day in per_row.items():
        pieces = max(per_day.values()) if item.reusable else sum(per_day.values())
        places.setdefault(row.location, []).append(Fetch(item, row, pieces, tuple(cases[item, row])))
    in_order = {place: sorted(found, key=lambda f: (f.item.text(), f.row.line)) for place, found in places.items()}
    return tuple((place, tuple(found)) for place, found in sorted(in_order.items()))
