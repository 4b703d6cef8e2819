"""Which shelf rows are the wanted item, and why a row that looks right may not be used."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from fixplan.stock.bore import DOES_NOT_SAY
from fixplan.stock.described import against, name_key, word_key
from fixplan.stock.model import Item, ShelfRow
from fixplan.stock.recall import Recall
from fixplan.stock.wording import counted

SIZES = ("diameter_mm", "length_mm", "thread_mm")
WORDS = {"diameter_mm": "diameter", "length_mm": "length", "thread_mm": "thread length"}


def _same_size(a: float, b: float) -> bool:
    return round(a, 2) == round(b, 2)


def _identified(item: Item, row: ShelfRow) -> tuple[bool, bool]:
    """Whether an item code, and whether a GTIN, says that the row is the item."""
    return bool(item.item) and word_key(item.item) == word_key(row.item), bool(row.gtin) and row.gtin in item.gtins


def mismatch(item: Item, row: ShelfRow) -> str | None:
    """None when `row` is `item`; else why not, or the empty string when it is plainly another thing.

    A code or a GTIN identifies; a size (in a column or in the description), kind, bore or material that contradicts it
    is a reason against. Without a code or a GTIN in common, kind, bore and every stated size have to be stated on the
    shelf too.
    """
    coded, known = _identified(item, row)
    named = item.kind == "instrument" and bool(item.name) and name_key(item.name) == name_key(row.name)
    sized = row.kind == item.kind and bool(item.diameter_mm and item.length_mm)
    if not (coded or known or named):
        if not sized or not (row.diameter_mm and row.length_mm):
            return ""
        if not all(_same_size(getattr(item, s), getattr(row, s)) for s in ("diameter_mm", "length_mm")):
            return ""
    if row.kind and row.kind != item.kind:
        return f"its code says {item.kind.replace('_', ' ')} and its kind says {row.kind.replace('_', ' ')}"
    if item.bore and row.bore not in ("", item.bore):
        return f"it says {row.bore} on the shelf and {item.bore} is wanted"
    if item.bore and not row.bore and not (coded or known):
        return DOES_NOT_SAY
    for size in SIZES:
        want, have = getattr(item, size), getattr(row, size)
        if want is None:
            continue
        if have is not None and not _same_size(want, have):
            return f"its {WORDS[size]} is {have:g} mm on the shelf and {want:g} mm in the plan"
        if have is None and not (coded or known):
            return f"its {WORDS[size]} is not stated on the shelf"
    if why := against(item, row.name):
        return why
    if item.holes is not None and row.holes != item.holes and not (row.holes is None and (coded or known)):
        return f"it has {row.holes} holes and {item.holes} are wanted" if row.holes else "its holes are not stated"
    if item.material and word_key(row.material) != word_key(item.material):
        if row.material:
            return f"its material is {row.material} and {item.material} is wanted"
        if not (coded or known):
            return "its material is not stated on the shelf"
    if item.sterile is not None and row.sterile is not item.sterile:
        return "not packed sterile" if item.sterile else "packed sterile"
    return None


UNDATED = "sterility and expiry not stated: look at the pack"
LOT_MARKS = {ord(c): None for c in " \t\u00a0-\u00ad\u2010\u2011\u2012\u2013\u2014\u2212"}


def lot_key(text: str) -> str:
    """A lot as it is compared: without regard to case, spaces, hyphens and leading zeros."""
    return "".join(text.casefold().translate(LOT_MARKS).split()).lstrip("0")


def _same_product(recall: Recall, row: ShelfRow) -> bool | None:
    """True or False when both state a GTIN, or both an item code; None when nothing can be compared."""
    stated = ((word_key(recall.item), word_key(row.item)), (recall.gtin, row.gtin))
    agree = [a == b for a, b in stated if a and b]
    return any(agree) if agree else None


def _noted(recall: Recall) -> str:
    return f" ({recall.note})" if recall.note else ""


def recalled(row: ShelfRow, recall: Recall) -> str:
    """Why a recall keeps a row out, or the empty string.

    An equal lot bars, unless both sides state one kind of identifier and it differs: a doubt keeps the pack out.
    """
    same = _same_product(recall, row)
    if recall.every_lot:
        return f"recalled: all lots of {recall.item or 'GTIN ' + recall.gtin}{_noted(recall)}" if same else ""
    if row.lot and lot_key(row.lot) == lot_key(recall.lot) and same is not False:
        return f"recalled: lot {row.lot}{_noted(recall)}"
    if not row.lot and same:
        return f"lot not stated while lot {recall.lot} of it is recalled; look at the pack"
    return ""


def barred(row: ShelfRow, recalls: Iterable[Recall] = ()) -> str:
    """Why a row may not be used on any day, or the empty string."""
    for recall in recalls:
        if why := recalled(row, recall):
            return why
    if row.sterile and row.expiry is None:
        return "packed sterile and no expiry date stated; look at the pack"
    return ""


def out_of_date(row: ShelfRow, day: dt.date) -> str:
    """Why a row may not be used on `day`, or the empty string; the expiry date itself is a day of use."""
    if row.expiry is not None and row.expiry < day:
        return f"expires on {row.expiry.isoformat()}, before the case on {day.isoformat()}"
    return ""


def flags(item: Item, row: ShelfRow, day: dt.date, expiring_within_days: int) -> tuple[str, ...]:
    """What to look at on a usable row."""
    out = list(row.notes)
    if row.expiry is not None and row.expiry <= day + dt.timedelta(days=expiring_within_days):
        left = (row.expiry - day).days
        out.append(f"expires on {row.expiry.isoformat()}, {counted(left, 'day')} after the case")
    if item.kind != "instrument" and (item.item or item.gtins) and not any(_identified(item, row)):
        out.append("found by its sizes alone, not by a code: compare the pack with the plan")
    if row.expiry is None and row.sterile is None and not item.reusable:
        out.append(UNDATED)
    return tuple(out)


@dataclass(frozen=True)
class Matches:
    """For one item: indices of the rows that are it, and rows that look like it with the reason against them."""

    rows: tuple[int, ...]
    against: tuple[tuple[int, str], ...]


class Index:
    """Finds the rows for an item without walking the whole shelf for each."""

    def __init__(self, rows: Sequence[ShelfRow], recalls: Sequence[Recall] = ()) -> None:
        self.rows, self.recalls = rows, tuple(recalls)
        self._by: dict[tuple[object, ...], list[int]] = {}
        for i, r in enumerate(rows):
            for key in self._row_keys(r):
                self._by.setdefault(key, []).append(i)

    @staticmethod
    def _row_keys(r: ShelfRow) -> Iterable[tuple[object, ...]]:
        if r.item:
            yield "item", word_key(r.item)
        if r.gtin:
            yield "gtin", r.gtin
        if r.name:
            yield "name", name_key(r.name)
        if r.kind and r.diameter_mm and r.length_mm:
            yield r.kind, round(r.diameter_mm, 2), round(r.length_mm, 2)

    def near(self, item: Item) -> list[int]:
        """Rows that are `item`, or plainly meant to be and contradict it or leave something out; in shelf order."""
        keys: list[tuple[object, ...]] = [("gtin", g) for g in item.gtins]
        if item.item:
            keys.append(("item", word_key(item.item)))
        if item.name and item.kind == "instrument":
            keys.append(("name", name_key(item.name)))
        if item.diameter_mm and item.length_mm:
            keys.append((item.kind, round(item.diameter_mm, 2), round(item.length_mm, 2)))
        places = sorted({i for k in keys for i in self._by.get(k, ())})
        return [i for i in places if mismatch(item, self.rows[i]) != ""]

    def find(self, item: Item) -> Matches:
        """All rows that are `item` or nearly so, in shelf order."""
        found: list[int] = []
        against: list[tuple[int, str]] = []
        for i in self.near(item):
            row = self.rows[i]
            # a row without a code is taken for the item, so a recall of the item is one of the row
            why = mismatch(item, row) or barred(replace(row, item=row.item or item.item), self.recalls)
            if why:
                against.append((i, why))
            else:
                found.append(i)
        return Matches(tuple(found), tuple(against))


def on_shelf(
    items: Sequence[Item], rows: Sequence[ShelfRow], day: dt.date, recalls: Sequence[Recall] = ()
) -> npt.NDArray[np.bool_]:
    """For each item whether at least one usable piece is there on `day`, shape (items,)."""
    index = Index(rows, recalls)
    usable = [
        any(rows[i].quantity and not out_of_date(rows[i], day) for i in index.find(item.spec).rows) for item in items
    ]
    return np.asarray(usable, dtype=np.bool_)
