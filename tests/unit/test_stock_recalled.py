"""A recall list leaves its trace whoever needs the lot: what was read, what to take off, what matched nothing."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fixplan.report.stock_html import list_sheet, pick_list
from fixplan.stock import output
from fixplan.stock.allocate import Allocation, allocate
from fixplan.stock.match import recalled
from fixplan.stock.model import Item, Need, SetAside, ShelfReport, ShelfRow
from fixplan.stock.output import document, summary
from fixplan.stock.recall import Recall
from fixplan.stock.recalled import RecallReport, check_recalls, held_against
from fixplan.stock.shelf import read_shelf

ON = dt.date(2026, 12, 3)
SHELF = """item,quantity,lot,expiry,location
P1,1,L1,2027-01-31,row A
P2,4,L2,2027-01-31,row B
P3,1,L3,03/04/2027,row C
P4,1,L9,2027-01-31,row D
"""
RECALLS = "lot,item,note\nL2,,seal\nL3,,label\nL8,,\nL9,P5,\n"


@pytest.fixture
def report(tmp_path: Path) -> tuple[ShelfReport, RecallReport, Allocation]:
    """A shelf where no case wants a recalled piece: P2 by its lot, P3 by its lot on a line that was set aside."""
    (tmp_path / "shelf.csv").write_text(SHELF, encoding="utf-8")
    (tmp_path / "recalls.csv").write_text(RECALLS, encoding="utf-8")
    shelf = read_shelf(tmp_path / "shelf.csv", on=ON)
    recall = check_recalls(tmp_path / "recalls.csv", shelf)
    needs = [Need("A", ON, 1, (Item("plate", item="P1"),))]
    return shelf, recall, allocate(needs, shelf, on=ON, recalled=recall.entries)


def test_every_recalled_line_is_found_also_one_that_was_set_aside(report) -> None:
    _, recall, _ = report
    assert [(o.row.line, o.row.location, o.pieces) for o in recall.off_shelf] == [
        (3, "row B", "4 pieces"),
        (4, "row C", "pieces (not counted)"),
    ]
    assert recall.off_shelf[0].text() == "line 3, row B: 4 pieces of P2: recalled: lot L2 (seal)"


def test_entries_that_match_nothing_are_named_and_a_lot_under_another_code_is_pointed_at(report) -> None:
    _, recall, _ = report
    assert [u.text() for u in recall.unmatched] == [
        "lot L8 (line 4 of the list)",
        "lot L9 of P5 (line 5 of the list); shelf line 5 bears this lot under another code: look at the pack",
    ]
    assert recall.told_back() == (
        "recalls.csv: 4 recalled lots read; 2 lines of the shelf to take off; 2 lots matched nothing."
    )


def test_the_document_holds_the_list_where_nothing_was_taken(report) -> None:
    shelf, recall, answer = report
    found = json.loads(json.dumps(document(answer, (), shelf, recall)))
    jsonschema.validate(found, json.loads(output.SCHEMA.read_text("utf-8")))
    assert found["status"] == "covered"
    assert found["recall"]["path"] == "recalls.csv"
    assert len(found["recall"]["sha256"]) == 64
    assert [o["shelf"]["lot"] for o in found["recall"]["off_shelf"]] == ["L2", "L3"]
    assert [u["lot"] for u in found["recall"]["matched_nothing"]] == ["L8", "L9"]
    assert document(answer, (), shelf)["recall"] is None


def test_the_sheet_names_the_list_and_what_to_take_off(report) -> None:
    shelf, recall, answer = report
    sheet = list_sheet(answer, (), shelf, recall)
    table = sheet.split("Take off the shelf: recalled")[1].split("</table>")[0]
    assert "row B" in table
    assert "recalled: lot L2 (seal)" in table
    assert "Matched nothing on the shelf: lot L8" in sheet
    assert "Recalled packs lie on the shelf" in sheet
    assert "recall list recalls.csv" in pick_list(answer, "A", shelf, recall)
    without = list_sheet(answer, (), shelf)
    assert "No recall list was read" in without
    assert "no recall list read" in pick_list(answer, "A", shelf)


def test_nothing_is_called_in_date_whose_date_the_shelf_does_not_state() -> None:
    plate = Item("plate", item="P")
    dated = ShelfRow(2, 1, item="P", expiry=ON)
    for row, words, looks in (
        (dated, "Yes: every piece of every case is here and in date.", True),
        (replace(dated, expiry=ON + dt.timedelta(days=99)), "is here and in date.", False),
        (replace(dated, expiry=None, sterile=False), "is here and in date.", False),
        (replace(dated, expiry=None), "the shelf does not say of all that they are in date", True),
    ):
        answer = allocate([Need("A", ON, 1, (plate,))], [row], on=ON)
        assert answer.status == "covered"
        assert words in list_sheet(answer)
        assert ("    look at 1 pack, marked on the pick list" in summary(answer).splitlines()) == looks


def test_a_shortage_names_every_line_and_why_it_was_set_aside(tmp_path: Path) -> None:
    """One item on five lines: recalled, expired, allotted, ambiguous date, counted twice."""
    lines = [
        "item,quantity,lot,expiry,location,sterile",
        "P,1,L1,2027-01-31,row A,sterile",
        "P,1,L2,2026-12-02,row B,sterile",
        "P,1,L3,2027-01-31,row C,sterile",
        "P,1,L4,03/04/2027,row D,sterile",
        "P,1,L5,,row E,sterile",
        "P,1,L3,2027-01-31,row C,sterile",
    ]
    (tmp_path / "shelf.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    (tmp_path / "recalls.csv").write_text("lot\nL1\n", encoding="utf-8")
    shelf = read_shelf(tmp_path / "shelf.csv", on=ON)
    recall = check_recalls(tmp_path / "recalls.csv", shelf)
    plate = Item("plate", item="P")
    needs = [Need("A", ON, 1, (plate,)), Need("B", ON, 2, (plate,))]
    answer = allocate(needs, shelf, on=ON, recalled=recall.entries)
    (short,) = answer.trolleys[1].shortages
    reasons = dict(r.split(": ", 1) for r in short.reasons)
    assert reasons["shelf line 2, row A"] == "recalled: lot L1"
    assert reasons["shelf line 3, row B"] == "expires on 2026-12-02, before the case on 2026-12-03"
    assert reasons["shelf line 4, row C"] == "already allotted to A"
    unread = reasons["shelf line 5, row D"]
    assert unread.startswith("set aside when the shelf was read, expiry: day and month could be exchanged")
    assert reasons["shelf line 6, row E"] == "packed sterile and no expiry date stated; look at the pack"
    assert "the same pack as on line 4" in reasons["shelf line 7, row C"]


def test_a_recall_of_all_lots_takes_every_pack_of_the_item_off(tmp_path: Path) -> None:
    (tmp_path / "shelf.csv").write_text(SHELF + "p2,1,L7,2027-01-31,row E\n", encoding="utf-8")
    (tmp_path / "recalls.csv").write_text("lot,item\nall,P2\nall,P8\n", encoding="utf-8")
    found = check_recalls(tmp_path / "recalls.csv", read_shelf(tmp_path / "shelf.csv", on=ON))
    assert [(o.row.line, o.why) for o in found.off_shelf] == [(n, "recalled: all lots of P2") for n in (3, 6)]
    assert [u.text() for u in found.unmatched] == ["all lots of P8 (line 3 of the list)"]


CODES = st.sampled_from(["", "P1", "p1", "P2"])
LOTS = st.sampled_from(["", "L1", "l-1", "01", "1", "L2", "all"])


@given(
    st.lists(st.tuples(LOTS, CODES, st.booleans()), max_size=6),
    st.lists(st.tuples(LOTS.filter(bool), CODES), min_size=1, max_size=4),
)
def test_the_whole_shelf_is_held_against_the_whole_list(
    lines: list[tuple[str, str, bool]], entries: list[tuple[str, str]]
) -> None:
    """As a walk over every line for every entry finds them."""
    recalls = [Recall(lot, item) for lot, item in entries]
    rows = [ShelfRow(n, 1, lot=lot, item=item) for n, (lot, item, _) in enumerate(lines, start=2)]
    read = tuple(r for r, (_, _, ok) in zip(rows, lines) if ok)
    aside = tuple(SetAside(r.line, "", "", "unread", r) for r, (_, _, ok) in zip(rows, lines) if not ok)
    shelf = ShelfReport("s", "CSV", (), 1, read, aside, 0)
    found = held_against("r", recalls, shelf)
    hits = {(r.line, i) for r in rows for i, recall in enumerate(recalls) if recalled(r, recall)}
    assert [o.row.line for o in found.off_shelf] == sorted({line for line, _ in hits})
    assert [u.recall for u in found.unmatched] == [
        recall for i, recall in enumerate(recalls) if i not in {i for _, i in hits}
    ]
