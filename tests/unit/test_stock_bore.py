"""Solid or cannulated: read from words and columns, wanted by name, and never taken for the other."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest

from fixplan.kits import load_kits
from fixplan.stock.allocate import allocate
from fixplan.stock.bore import BOTH, CANNULATED, SOLID, bore, said
from fixplan.stock.cells import CellError
from fixplan.stock.from_kit import wanted
from fixplan.stock.match import mismatch
from fixplan.stock.model import Item, Need, ShelfRow
from fixplan.stock.shelf import read_shelf

ON = dt.date(2026, 12, 3)
HEAD = "kind,description,diameter (mm),length (mm),thread (mm),material,quantity,lot,location"


def shelf(folder: Path, *lines: str, head: str = HEAD):
    path = folder / "shelf.csv"
    path.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
    return read_shelf(path, on=ON)


def screw(solid: bool) -> Item:
    return wanted(next(s for s in load_kits().im_screws if s.solid is solid and s.thread_length == 16))


def line(item: Item, description: str) -> str:
    """A line with every size of an item and no code."""
    size = f"{item.diameter_mm},{item.length_mm},{item.thread_mm}"
    return f"intramedullary screw,{description},{size},{item.material},1,L1,row A"


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Solid screw 5.0 x 46", SOLID),
        ("CANNULATED", CANNULATED),
        ("cann. screw", CANNULATED),
        ("non-cannulated screw", SOLID),
        ("not cannulated", SOLID),
        ("uncannulated", SOLID),
        ("im-screws-solid-ti", SOLID),
        ("solid or cannulated", BOTH),
        ("5.0 x 46 mm, consolidation set", ""),
        ("scanned twice", ""),
        ("", ""),
    ],
)
def test_words(text: str, kind: str) -> None:
    assert said(text) == kind


@pytest.mark.parametrize(
    ("cell", "header", "kind"),
    [
        ("yes", "Cannulated", CANNULATED),
        ("no", "Cannulated", SOLID),
        ("no", "Solid", CANNULATED),
        ("1.6 mm", "Cannulation (mm)", CANNULATED),
        ("0", "Cannulation", SOLID),
        ("solid", "Bore", SOLID),
        ("n/a", "Cannulated", ""),
    ],
)
def test_a_column_for_it(cell: str, header: str, kind: str) -> None:
    assert bore(cell, header) == kind


@pytest.mark.parametrize(("cell", "header"), [("perhaps", "Cannulated"), ("yes", "Bore"), ("1.6", "Solid")])
def test_a_cell_that_says_neither_is_refused(cell: str, header: str) -> None:
    with pytest.raises(CellError, match="neither solid nor cannulated"):
        bore(cell, header)


def test_the_name_of_a_screw_says_which() -> None:
    assert screw(True).name == "solid intramedullary screw"
    assert screw(False).text().startswith("cannulated intramedullary screw, ")


@pytest.mark.parametrize("solid", [True, False])
def test_a_line_without_a_code_matches_its_own_kind_only(tmp_path: Path, solid: bool) -> None:
    item, other = screw(solid), screw(not solid)
    words = [f"{item.bore} screw", f"{other.bore} screw", "screw", "solid and cannulated"]
    rows = shelf(tmp_path, *(line(item, w) for w in words)).rows
    assert [mismatch(item, r) for r in rows] == [
        None,
        f"it says {other.bore} on the shelf and {item.bore} is wanted",
        "does not say solid or cannulated",
        f"it says solid and cannulated on the shelf and {item.bore} is wanted",
    ]


def test_a_kind_may_carry_the_word_and_a_column_may_too(tmp_path: Path) -> None:
    item = screw(True)
    plain = line(item, "")
    (kind,) = shelf(tmp_path, plain.replace("intramedullary", "solid intramedullary")).rows
    (column,) = shelf(tmp_path, plain + ",no", head=HEAD + ",Cannulated").rows
    assert (kind.kind, kind.bore, column.bore) == ("im_screw", SOLID, SOLID)
    assert mismatch(item, kind) is None
    assert mismatch(item, column) is None


def test_a_code_identifies_unless_the_words_contradict_it() -> None:
    item = screw(False)
    row = ShelfRow(2, 1, item=item.item)
    assert mismatch(item, row) is None
    assert "it says solid" in (mismatch(item, replace(row, bore=SOLID)) or "")


def test_an_instrument_for_both_kinds_is_no_screw_of_both(tmp_path: Path) -> None:
    tool = "instrument,driver for solid and cannulated screws,,,,,1,,"
    (row,) = shelf(tmp_path, tool).rows
    assert row.bore == ""


def test_a_screw_that_could_be_either_is_told_and_lies_in_the_reasons(tmp_path: Path) -> None:
    item = screw(False)
    found = shelf(tmp_path, line(item, "screw"))
    (note,) = found.notes
    assert note.startswith("line 2: intramedullary screw without a code that does not say solid or cannulated")
    (short,) = allocate([Need("A", ON, 1, (item,))], found, on=ON).trolleys[0].shortages
    assert short.reasons == ("shelf line 2, row A: does not say solid or cannulated",)


def test_a_thread_all_along_is_no_thread_of_sixteen() -> None:
    full = wanted(next(s for s in load_kits().im_screws if s.thread_length is None))
    row = ShelfRow(
        2, 1, kind="im_screw", diameter_mm=full.diameter_mm, length_mm=full.length_mm, thread_mm=16,
        material=full.material, bore=full.bore,
    )  # fmt: skip
    assert "thread all along" in full.text()
    assert "thread length is 16 mm on the shelf" in (mismatch(full, row) or "")
    assert mismatch(full, replace(row, thread_mm=full.length_mm)) is None
