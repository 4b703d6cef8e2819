"""A recall list held against the whole shelf: what to take off it, and which entries matched nothing."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fixplan.stock.described import word_key
from fixplan.stock.lists import read_recalls
from fixplan.stock.match import lot_key, recalled
from fixplan.stock.model import ShelfReport, ShelfRow
from fixplan.stock.recall import Recall
from fixplan.stock.wording import counted


@dataclass(frozen=True)
class OffShelf:
    """One line of the shelf to take off, and why; `unread`: the line was set aside for another reason too."""

    row: ShelfRow
    why: str
    recall: Recall
    unread: bool = False

    def text(self) -> str:
        """What to take from where, and why, in one line."""
        row = self.row
        code = row.item or (f"GTIN {row.gtin}" if row.gtin else "")
        what = row.text() if row.text() == code or not code else f"{code}, {row.text()}"
        place = f"{row.location or 'place not stated'}{f', in {row.tray}' if row.tray else ''}"
        return f"line {row.line}, {place}: {self.pieces} of {what}: {self.why}"

    @property
    def pieces(self) -> str:
        """How many lie there, or that the line was set aside before they were counted."""
        return "pieces (not counted)" if self.unread else counted(self.row.quantity, "piece")


@dataclass(frozen=True)
class Unmatched:
    """An entry that no line of the shelf matches; `lines` bear its lot under another code or GTIN."""

    recall: Recall
    lines: tuple[int, ...] = ()

    def text(self) -> str:
        """One entry of the list in words."""
        of = self.recall.item or (f"GTIN {self.recall.gtin}" if self.recall.gtin else "")
        where = ", ".join(str(n) for n in self.lines)
        return (
            self.recall.lots
            + (f" of {of}" if of else "")
            + (f" (line {self.recall.line} of the list)" if self.recall.line else "")
            + (f"; shelf line {where} bears this lot under another code: look at the pack" if where else "")
        )


@dataclass(frozen=True)
class RecallReport:
    """A recall list as it was read, the lines of the shelf it names, and its entries that match no line."""

    path: str
    sha256: str
    entries: tuple[Recall, ...]
    off_shelf: tuple[OffShelf, ...]
    unmatched: tuple[Unmatched, ...]

    def told_back(self) -> str:
        """What was read and found, in one sentence."""
        n, found, left = len(self.entries), len(self.off_shelf), len(self.unmatched)
        return (
            f"{self.path}: {counted(n, 'recalled lot')} read; {counted(found, 'line')} of the shelf to take off; "
            f"{counted(left, 'lot')} matched nothing."
        )


class _Near:
    """The entries that could concern a row: of its lot, of every lot, or of its product where it states no lot."""

    def __init__(self, recalls: Sequence[Recall]) -> None:
        self.by: dict[tuple[str, str], list[int]] = {}
        for i, recall in enumerate(recalls):
            product = [("item", word_key(recall.item)), ("gtin", recall.gtin)]
            # a recall of every lot stands under "every", which a row that states its lot is held against too
            keys = [("every", "")] if recall.every_lot else [("lot", lot_key(recall.lot)), *product]
            for key in keys:
                self.by.setdefault(key, []).append(i)

    def of(self, row: ShelfRow) -> list[int]:
        lot, product = [("lot", lot_key(row.lot))], [("item", word_key(row.item)), ("gtin", row.gtin)]
        keys = lot if row.lot else [key for key in product if key[1]]
        return sorted({i for key in (("every", ""), *keys) for i in self.by.get(key, ())})


def held_against(path: str | Path, recalls: Sequence[Recall], shelf: ShelfReport, sha256: str = "") -> RecallReport:
    """Every line of the shelf that an entry names, lines set aside included: they may lie there all the same."""
    rows = [(r, False) for r in shelf.rows] + [(p.row, True) for p in shelf.set_aside if p.row is not None]
    found = []
    matched: set[int] = set()
    near = _Near(recalls)
    for row, unread in sorted(rows, key=lambda t: t[0].line):
        hits = [(i, why) for i in near.of(row) if (why := recalled(row, recalls[i]))]
        matched.update(i for i, _ in hits)
        if hits:
            words = "; ".join(dict.fromkeys(why for _, why in hits))
            found.append(OffShelf(row, words, recalls[hits[0][0]], unread))
    lots: dict[str, list[ShelfRow]] = {}
    for row, _ in rows:
        if row.lot:
            lots.setdefault(lot_key(row.lot), []).append(row)
    left = tuple(
        Unmatched(recall, tuple(sorted(row.line for row in lots.get(lot_key(recall.lot), ()))))
        for i, recall in enumerate(recalls)
        if i not in matched
    )
    return RecallReport(Path(path).name, sha256, tuple(recalls), tuple(found), left)


def check_recalls(path: Path, shelf: ShelfReport) -> RecallReport:
    """Read a recall list and hold it against the shelf.

    Raises:
        InputError: when anything in the file cannot be used.
    """
    recalls = read_recalls(path)
    return held_against(path, recalls, shelf, hashlib.sha256(path.read_bytes()).hexdigest())
