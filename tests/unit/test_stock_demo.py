"""The demo list, worked out by hand.

T1 and T2 on 3 December share the last 5.5 × 46: it is T2's first choice and only a back-up of T1. Taken in list order
T1 would lay it aside and T2 would be short. T1 gets 5.0 × 46 (its only piece), so T2's one down is short. T3's plate
and screws are all there, but no 2.4 mm tap is on the shelf, so T3 is short in both roles. T4's first choice has two
lots: the one that expires on 20 December goes first, marked. Its one up expired two days before the case, its one down
is recalled. First choices: T1, T2, T4 of four. Back-ups: T1 down, T2 up of seven. In list order: T1, T4; and T1 up,
T1 down, T2 up.
"""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import pytest

from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.kits import load_kits
from fixplan.problems import InputError
from fixplan.stock.allocate import Allocation, Trolley, allocate
from fixplan.stock.fetch import fetch_list
from fixplan.stock.lists import read_recalls
from fixplan.stock.model import ShelfReport
from fixplan.stock.needs import read_needs
from fixplan.stock.order import order_lines
from fixplan.stock.output import document, summary
from fixplan.stock.shelf import read_shelf
from fixplan.stock.theatre_list import read_theatre_list

DEMO = Path(__file__).parents[2] / "demo_cases"
ON = dt.date(2026, 12, 1)


@pytest.fixture(scope="module")
def shelf() -> ShelfReport:
    return read_shelf(DEMO / "shelf.csv", on=ON)


@pytest.fixture(scope="module")
def answer(shelf: ShelfReport) -> Allocation:
    needs = read_needs(DEMO / "theatre-needs.csv", load_kits())
    return allocate(needs, shelf, on=ON, recalled=read_recalls(DEMO / "recalled-lots.csv"))


def trolley(answer: Allocation, case: str) -> Trolley:
    return next(t for t in answer.trolleys if t.need.case == case)


def test_three_first_choices_where_list_order_finds_two(answer: Allocation) -> None:
    assert (answer.levels.first_choices, answer.levels.first_choices_asked) == (3, 4)
    assert (answer.levels.backups, answer.levels.backups_asked) == (2, 7)
    assert (answer.in_list_order.first_choices, answer.in_list_order.backups) == (2, 3)
    assert answer.proved
    assert answer.status == "short"


@pytest.mark.parametrize(
    ("case", "complete"),
    [
        ("DEMO-T1", {"first choice": True, "one up": False, "one down": True}),
        ("DEMO-T2", {"first choice": True, "one up": True, "one down": False}),
        ("DEMO-T3", {"first choice": False, "one up": False}),
        ("DEMO-T4", {"first choice": True, "one up": False, "one down": False}),
    ],
)
def test_each_trolley(answer: Allocation, case: str, complete: dict[str, bool]) -> None:
    assert dict(trolley(answer, case).complete) == complete


@pytest.mark.parametrize(
    ("case", "item", "reason"),
    [
        ("DEMO-T1", "S55C-TI-46-T16", "already allotted to DEMO-T2"),
        ("DEMO-T2", "S50C-TI-46-T16", "already allotted to DEMO-T1"),
        ("DEMO-T3", "TAP-2.4", "not on the shelf"),
        ("DEMO-T4", "S50C-TI-44-T16", "expires on 2026-12-02"),
        ("DEMO-T4", "S40C-TI-44-T16", "recalled: lot DM-2207"),
    ],
)
def test_each_shortage_says_why(answer: Allocation, case: str, item: str, reason: str) -> None:
    short = {s.item.item: s for s in trolley(answer, case).shortages}
    assert any(reason in r for r in short[item].reasons)


def test_nothing_else_is_short(answer: Allocation) -> None:
    assert [len(t.shortages) for t in answer.trolleys] == [1, 1, 1, 2]


def test_the_lot_that_expires_first_is_used_first_and_marked(answer: Allocation) -> None:
    (pick,) = [p for p in trolley(answer, "DEMO-T4").picks if p.item.item == "S45C-TI-44-T16"]
    assert pick.row.lot == "DM-2118"
    assert pick.flags == ("expires on 2026-12-20, 16 days after the case",)


def test_what_two_roles_share_is_laid_out_once(answer: Allocation) -> None:
    (screws,) = [p for p in trolley(answer, "DEMO-T3").picks if p.item.item == "C24-TI-14"]
    assert (screws.quantity, screws.roles) == (6, ("first choice", "one up"))


def test_the_ambiguous_date_is_set_aside_with_its_line(shelf: ShelfReport) -> None:
    (problem,) = shelf.set_aside
    assert (problem.line, problem.value) == (9, "03/04/2027")


def test_what_to_order_and_by_when(answer: Allocation) -> None:
    """Surgery on Thursday 3 and Friday 4 December; the sheet is of Tuesday 1 December.

    By hand: it has to be there on Wednesday 2 and Thursday 3. One working day to resupply: order on Tuesday 1 (today)
    and Wednesday 2. Two: Monday 30 November (too late) and Tuesday 1. Four cross the weekend: Thursday 26, Friday 27.
    """
    lines = order_lines(answer, resupply_days=1)
    assert [(o.item.item, o.quantity, o.for_first_choices) for o in lines] == [
        ("TAP-2.4", 1, 1),
        ("S50C-TI-46-T16", 1, 0),
        ("S55C-TI-46-T16", 1, 0),
        ("S40C-TI-44-T16", 1, 0),
        ("S50C-TI-44-T16", 1, 0),
    ]
    assert [o.order_by for o in lines] == [dt.date(2026, 12, 1)] * 3 + [dt.date(2026, 12, 2)] * 2
    assert [o.remark for o in lines] == ["today is the last day to order"] * 3 + [""] * 2
    two = order_lines(answer, resupply_days=2)
    assert [o.late for o in two] == [True, True, True, False, False]
    assert two[0].remark == (
        "too late for the usual lead of 2 working days: ordered today it comes on 2026-12-03 (Thursday); "
        "borrow, or tell the surgeon"
    )
    four = [o.order_by for o in order_lines(answer, resupply_days=4)]
    assert four == [dt.date(2026, 11, 26)] * 3 + [dt.date(2026, 11, 27)] * 2
    assert all(o.order_by is None and o.remark == "resupply time not given" for o in order_lines(answer))


def test_the_document_is_plain_json_with_cautions_and_rules(answer: Allocation, shelf: ShelfReport) -> None:
    text = json.dumps(document(answer, order_lines(answer), shelf), allow_nan=False)
    again = json.loads(text)
    assert again["cautions"] == list(CAUTIONS)
    assert again["status"] == "short"
    assert {r["name"] for r in again["rules"]} >= {"trolley", "recall", "use-by date"}
    assert again["shelf"]["set_aside"][0]["line"] == 9
    assert [c["case"] for c in again["cases"]] == ["DEMO-T1", "DEMO-T2", "DEMO-T3", "DEMO-T4"]


def test_what_to_fetch_counts_each_place_once(answer: Allocation) -> None:
    """By hand: wires are used up, so T1, T2 and T4 take three of 1.4 mm; gauges come back, so three serve both days."""
    places = {place: {f.item.item: f.pieces for f in found} for place, found in fetch_list(answer)}
    assert list(places) == sorted(places)
    assert places["cabinet 1"]["WIRE-1.4"] == 3
    assert places["instrument store"]["GAUGE-50"] == 3
    assert places["sterile store 1"]["C24-TI-14"] == 6


def test_the_summary_answers_in_its_first_line_and_ends_with_the_caution(answer: Allocation) -> None:
    lines = summary(answer, order_lines(answer, resupply_days=3)).splitlines()
    assert lines[0] == "short: 3 of 4 first choices and 2 of 7 back-ups complete"
    assert "2 of 4 first choices" in lines[1]
    assert any("DEMO-T3: first choice SHORT" in x for x in lines)
    assert any(x.startswith("order by 2026-11-27 (Friday): 1 × tap 2.4 mm [TAP-2.4] - too late") for x in lines)
    assert lines[-1] == CAUTION_SHORT


def test_the_theatre_list_names_files_that_are_there() -> None:
    entries = read_theatre_list(DEMO / "theatre-list.csv")
    assert [(e.date.day, e.order) for e in entries] == [(3, 1), (3, 2), (3, 3), (4, 1)]


@pytest.mark.parametrize("name", ["theatre-needs.csv", "shelf.csv", "recalled-lots.csv", "theatre-list.csv"])
def test_the_demo_says_that_it_is_invented(name: str) -> None:
    assert "INVENTED FOR THE DEMO" in (DEMO / name).read_text(encoding="utf-8").splitlines()[0]


@pytest.mark.parametrize(
    ("row", "word"),
    [
        ("A,2026-12-03,1,first choice,S50C-TI-46-T17,1", "in no kit; did you mean"),
        ("A,2026-12-03,1,best,S50C-TI-46-T16,1", "is no role"),
        ("A,03/04/2026,1,first choice,S50C-TI-46-T16,1", "exchanged"),
        ("A,2026-12-03,1,first choice,S50C-TI-46-T16,0", "1 piece or more"),
        ("A,2026-12-03,1,first choice,S50C-TI-46-T16,1\nA,2026-12-04,1,one up,S50C-TI-46-T16,1", "another date"),
        ("A,2026-12-03,1,first choice,=1+1,1", "formula"),
    ],
)
def test_a_line_of_needs_that_cannot_be_used_refuses_the_list(tmp_path: Path, row: str, word: str) -> None:
    path = tmp_path / "needs.csv"
    path.write_text(f"case,date,order,role,item,pieces\n{row}\n", encoding="utf-8")
    with pytest.raises(InputError, match=word):
        read_needs(path, load_kits())
