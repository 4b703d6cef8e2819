"""What `stock` and `coverage` read before they judge: the shelf, the lists beside it, and the kits."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from fixplan.kits import KitSet, load_kits
from fixplan.problems import InputError, Problem
from fixplan.stock.lists import read_codes
from fixplan.stock.model import ShelfReport
from fixplan.stock.recall import Recall
from fixplan.stock.recalled import RecallReport, check_recalls
from fixplan.stock.shelf import read_shelf

Tell = Callable[[str], None]


@dataclass(frozen=True)
class ShelfFile:
    """The shelf's file and what the user says of it."""

    path: Path
    sheet: str | None = None
    columns: tuple[str, ...] = ()
    length_unit: str = ""
    one_per_row: bool = False


@dataclass(frozen=True)
class Given:
    """The files a theatre's command is given. `folders` of kits; none: our own."""

    shelf: ShelfFile
    recalled: Path | None = None
    codes: Path | None = None
    folders: tuple[Path, ...] = ()


@dataclass(frozen=True)
class Store:
    """The files as read. `gtins` are the GTIN-14 numbers known for an item code."""

    shelf: ShelfReport
    recall: RecallReport | None
    kits: KitSet
    gtins: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def recalls(self) -> tuple[Recall, ...]:
        """The recalled lots, none without a list."""
        return self.recall.entries if self.recall else ()


def open_store(given: Given, on: date, tell: Tell) -> Store:
    """Read the files; `tell` hears how the shelf and the recall list were read. Raises InputError."""
    known = read_codes(given.codes) if given.codes else {}
    rows = open_shelf(given.shelf, on, known)
    recall = check_recalls(given.recalled, rows) if given.recalled else None
    tell(told(rows, recall))
    rows = replace(rows, path=given.shelf.path.name)  # a folder of this machine says nothing to the theatre
    gtins: dict[str, tuple[str, ...]] = {}
    for gtin, item in known.items():
        gtins[item] = (*gtins.get(item, ()), gtin)
    return Store(rows, recall, load_kits(given.folders) if given.folders else load_kits(), gtins)


def open_shelf(shelf: ShelfFile, on: date, known: dict[str, str]) -> ShelfReport:
    """Read the shelf as the user describes it. Raises InputError."""
    names = {}
    for text in shelf.columns:
        header, _, name = text.rpartition("=")
        if not header.strip() or not name.strip():
            right = "HEADER=FIELD, for instance 'Bin 7=location'"
            raise InputError([Problem("--column", f"'{text}' does not say which header is which field", right)])
        names[header.strip()] = name.strip()
    if shelf.length_unit not in ("", "mm", "cm"):
        raise InputError([Problem("--length-unit", f"'{shelf.length_unit}' is no unit of a shelf", "mm or cm")])
    return read_shelf(
        shelf.path,
        on=on,
        sheet=shelf.sheet,
        columns=names,
        length_unit=shelf.length_unit,
        one_per_row=shelf.one_per_row,
        codes=known,
    )


def told(rows: ShelfReport, recall: RecallReport | None) -> str:
    """How the shelf was read: columns, counts, every line set aside; and what the recall list named."""
    aside = [f"  set aside: {problem.text()}" for problem in rows.set_aside]
    lines = [rows.told_back(), *(f"  note: {n}" for n in rows.notes), *aside]
    if recall:
        lines += [recall.told_back(), *(f"  TAKE OFF THE SHELF: {o.text()}" for o in recall.off_shelf)]
        lines += [f"  matched nothing: {u.text()}" for u in recall.unmatched]
    return "\n".join(lines)
