"""Which row is the wanted item, and why a row that looks right is not used. Each rule once, by hand."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace
from typing import Any

import pytest

from fixplan.kits import load_kits
from fixplan.sources import source
from fixplan.stock.allocate import allocate
from fixplan.stock.described import size_in
from fixplan.stock.from_kit import construct, wanted
from fixplan.stock.match import Index, barred, flags, mismatch, on_shelf, out_of_date
from fixplan.stock.model import Item, Need, SetAside, ShelfReport, ShelfRow, Unmeasured
from fixplan.stock.recall import Recall
from fixplan.stock.rules import RULES

DAY = dt.date(2026, 12, 3)
SCREW = Item("im_screw", item="S45-46", gtins=("09501101530003",), diameter_mm=4.5, length_mm=46, thread_mm=16)
ROW = ShelfRow(2, 1, kind="im_screw", diameter_mm=4.5, length_mm=46, thread_mm=16)


def row(**changes: Any) -> ShelfRow:
    return replace(ROW, **changes)


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({}, None),
        ({"diameter_mm": 4.501}, None),
        ({"length_mm": 48}, ""),
        ({"diameter_mm": 5.0}, ""),
        ({"thread_mm": None}, "thread length is not stated"),
        ({"thread_mm": 22}, "22 mm on the shelf and 16 mm in the plan"),
        ({"kind": "cortical_screw"}, ""),
        ({"item": "s45-46", "diameter_mm": None, "length_mm": None, "thread_mm": None}, None),
        ({"item": "S45-46", "length_mm": 48}, "its length is 48 mm on the shelf and 46 mm in the plan"),
        ({"item": "S45-46", "kind": "plate"}, "its kind says plate"),
        ({"gtin": "09501101530003", "kind": "", "diameter_mm": None, "length_mm": None, "thread_mm": None}, None),
        ({"gtin": "06291041500213", "kind": "", "diameter_mm": None}, ""),
    ],
)
def test_a_row_is_the_item_or_says_why_not(changes: dict[str, Any], why: str | None) -> None:
    found = mismatch(SCREW, row(**changes))
    if why is None or why == "":
        assert found == why
    else:
        assert found is not None
        assert why in found


@pytest.mark.parametrize(
    ("item", "changes", "why"),
    [
        (replace(SCREW, material="ti"), {"material": "TI "}, None),
        (replace(SCREW, material="ti"), {"material": "steel"}, "steel and ti is wanted"),
        (replace(SCREW, material="ti"), {}, "material is not stated"),
        (replace(SCREW, sterile=True), {"sterile": True}, None),
        (replace(SCREW, sterile=True), {}, "not packed sterile"),
        (replace(SCREW, sterile=False), {"sterile": True}, "packed sterile"),
        (Item("instrument", name="Tap  2.4 mm"), {"kind": "instrument", "name": "tap 2.4 MM"}, None),
        (Item("plate", item="P", holes=6), {"kind": "plate", "item": "P", "holes": 7}, "7 holes and 6 are wanted"),
        (Item("plate", item="P", holes=6), {"kind": "plate", "item": "P"}, None),
    ],
)
def test_material_sterility_name_and_holes(item: Item, changes: dict[str, Any], why: str | None) -> None:
    found = mismatch(item, row(**changes))
    assert (found is None) if why is None else (found is not None and why in found)


@pytest.mark.parametrize(
    ("changes", "recall", "barred_for"),
    [
        ({"lot": "A1"}, Recall("A1"), "recalled: lot A1"),
        ({"lot": " a 1"}, Recall("A1"), "recalled"),
        ({"lot": "0123"}, Recall("123"), "recalled"),
        ({"lot": "00-a 1"}, Recall("A1"), "recalled"),
        ({"lot": "DM-2207"}, Recall("dm 2207"), "recalled"),
        ({"lot": "A1", "item": "X"}, Recall("A1", gtin="09501101530003"), "recalled"),
        ({"lot": "A1", "gtin": "09501101530003"}, Recall("A1", item="X"), "recalled"),
        ({"lot": "A1", "gtin": "06291041500213"}, Recall("A1", gtin="09501101530003"), ""),
        ({"lot": "A2"}, Recall("A1"), ""),
        ({"lot": "A1", "item": "X"}, Recall("A1", item="Y"), ""),
        ({"lot": "A1", "item": "X"}, Recall("A1", item="x"), "recalled"),
        ({"lot": "A1", "gtin": "09501101530003"}, Recall("A1", gtin="09501101530003"), "recalled"),
        ({"lot": "A1"}, Recall("A1", item="Y"), "recalled"),
        ({"item": "X"}, Recall("A1", item="X"), "lot not stated while lot A1 of it is recalled"),
        ({"item": "X"}, Recall("A1"), ""),
        ({"lot": "A1", "item": "X"}, Recall("All lots", item="x", note="letter 3"), "all lots of x (letter 3)"),
        (
            {"lot": "A1", "gtin": "09501101530003"},
            Recall("*", gtin="09501101530003"),
            "all lots of GTIN 09501101530003",
        ),
        ({"item": "X"}, Recall("all", item="X"), "recalled: all lots of X"),
        ({"lot": "all", "item": "Y"}, Recall("all", item="X"), ""),
        ({"lot": "A1"}, Recall("all", item="X"), ""),
    ],
)
def test_recalled_lots(changes: dict[str, Any], recall: Recall, barred_for: str) -> None:
    """A lot is barred whatever it is of, unless both state a GTIN, or both an item code, and these differ."""
    found = barred(row(**changes), [recall])
    assert barred_for in found
    assert bool(found) == bool(barred_for)


@pytest.mark.parametrize(("lot", "recall"), [("A1", Recall("all", item="S45-46")), ("", Recall("A1", item="s45-46"))])
def test_a_pack_found_by_its_sizes_is_held_against_recalls_of_what_it_was_found_for(lot: str, recall: Recall) -> None:
    """It bears no code to compare, and may be the recalled item all the same."""
    alone, coded = row(lot=lot), row(lot=lot, item="other", diameter_mm=None)
    assert Index([alone, coded], [recall]).find(SCREW).rows == ()
    assert Index([alone], [replace(recall, item="other")]).find(SCREW).rows == (0,)
    assert Index([alone], ()).find(SCREW).rows == (0,)


def test_sterile_without_a_date_is_not_used() -> None:
    assert "no expiry date" in barred(row(sterile=True))
    assert barred(row(sterile=True, expiry=DAY)) == ""
    assert barred(row(sterile=False)) == ""


def test_the_expiry_date_is_the_last_day_of_use() -> None:
    """ISO 15223-1, use-by date: not to be used after the date."""
    assert out_of_date(row(expiry=DAY), DAY) == ""
    assert out_of_date(row(expiry=DAY - dt.timedelta(days=1)), DAY) == (
        "expires on 2026-12-02, before the case on 2026-12-03"
    )
    assert out_of_date(row(), DAY) == ""


def test_what_expires_soon_is_marked() -> None:
    soon = row(item="S45-46", expiry=DAY + dt.timedelta(days=30), sterile=True)
    assert flags(SCREW, soon, DAY, 30) == ("expires on 2027-01-02, 30 days after the case",)
    assert flags(SCREW, soon, DAY, 29) == ()
    assert "look at the pack" in flags(SCREW, row(item="S45-46"), DAY, 30)[0]
    assert flags(Item("instrument", name="x"), row(kind="instrument"), DAY, 30) == ()


def test_a_pack_found_without_a_code_is_to_be_compared() -> None:
    """The sizes agree and the code is another, or none: the pack will not bear the plan's code."""
    dated = {"sterile": True, "expiry": DAY + dt.timedelta(days=400)}
    assert "not by a code" in flags(SCREW, row(**dated), DAY, 30)[0]
    assert "not by a code" in flags(SCREW, row(item="OTHER", **dated), DAY, 30)[0]
    assert flags(SCREW, row(gtin="09501101530003", **dated), DAY, 30) == ()


def test_the_index_finds_what_a_walk_over_all_rows_finds() -> None:
    rows = [row(line=2), row(line=3, item="S45-46"), row(line=4, length_mm=48), row(line=5, thread_mm=None)]
    found = Index(rows).find(SCREW)
    assert found.rows == tuple(i for i, r in enumerate(rows) if mismatch(SCREW, r) is None) == (0, 1)
    assert [i for i, _ in found.against] == [3]


def test_what_is_on_the_shelf_on_a_day() -> None:
    rows = [row(expiry=DAY), row(line=3, length_mm=48, quantity=0), row(line=4, length_mm=50, lot="A1")]
    items = [replace(SCREW, item="", length_mm=n) for n in (46, 48, 50, 52)]
    assert on_shelf(items, rows, DAY).tolist() == [True, False, True, False]
    assert on_shelf(items, rows, DAY + dt.timedelta(days=1), [Recall("A1")]).tolist() == [False] * 4


def needs(days: tuple[int, ...], *items: Item) -> list[Need]:
    return [Need(f"C{i}", DAY + dt.timedelta(days=d), i, items) for i, d in enumerate(days)]


def first_choices(days: tuple[int, ...], item: Item, shelf: ShelfRow, uses: int = 1) -> int:
    return allocate(needs(days, item), [shelf], on=DAY, uses_per_day=uses).levels.first_choices


def test_a_reusable_instrument_serves_one_case_a_day() -> None:
    driver, shelf = Item("instrument", name="driver"), ShelfRow(2, 1, name="driver", kind="instrument")
    assert first_choices((0, 0), driver, shelf) == 1
    assert first_choices((0, 1), driver, shelf) == 2
    assert first_choices((0, 0, 1), driver, shelf, uses=2) == 3
    assert first_choices((0, 1), replace(driver, single_use=True), shelf) == 1


def test_a_tray_goes_to_one_case_a_day_and_its_screws_are_used_up() -> None:
    screw = Item("cortical_screw", item="C14", quantity=2)
    tray = ShelfRow(2, 6, item="C14", tray="small fragment")
    assert first_choices((0, 0), screw, tray) == 1
    assert first_choices((0, 1), screw, tray) == 2
    assert first_choices((0, 0), screw, replace(tray, tray="")) == 2
    assert first_choices((0, 1, 2, 3), screw, tray) == 3
    short = allocate(needs((0, 0), screw), [tray], on=DAY).trolleys[1].shortages[0]
    assert "already allotted to C0" in short.reasons[0]


def test_packs_that_look_like_a_piece_of_the_case_and_may_not_be_used_are_named() -> None:
    """A good pack is picked; beside it lie an expired one, a recalled one, one of steel, one unread, an empty line."""
    screw = replace(SCREW, material="ti")
    good = row(line=2, material="ti", lot="L2", expiry=DAY, sterile=True)
    shelf = [
        good,
        replace(good, line=3, lot="L3", expiry=DAY - dt.timedelta(days=1)),
        replace(good, line=4, lot="L4"),
        replace(good, line=5, lot="L5", material="steel"),
        replace(good, line=6, lot="L6", quantity=0),
        replace(good, line=7, lot="L7", length_mm=48),
    ]
    unread = SetAside(8, "qty", "one", "not a count", replace(good, line=8, lot="L8"))
    read = ShelfReport("s", "CSV", (), 1, tuple(shelf), (unread,), 0)
    (case,) = allocate(needs((0,), screw), read, on=DAY, recalled=[Recall("L4"), Recall("L6")]).trolleys
    assert [p.row.lot for p in case.picks] == ["L2"]
    assert [(x.row.line, x.why) for x in case.leave] == [
        (3, "expires on 2026-12-02, before the case on 2026-12-03"),
        (4, "recalled: lot L4"),
        (5, "its material is steel and ti is wanted"),
        (8, "set aside when the shelf was read, qty: not a count"),
    ]


def test_of_two_equal_cases_the_sooner_is_served() -> None:
    plate = Item("plate", item="P")
    answer = allocate(needs((1, 0), plate), [ShelfRow(2, 1, item="P")], on=DAY)
    assert [(t.need.case, t.covered) for t in answer.trolleys] == [("C1", True), ("C0", False)]


def test_a_case_that_lacks_an_instrument_does_not_hold_back_the_last_screw() -> None:
    screw, tap = Item("im_screw", item="S"), Item("instrument", name="tap")
    cases = [Need("A", DAY, 1, (screw, tap)), Need("B", DAY, 2, (screw,))]
    answer = allocate(cases, [ShelfRow(2, 1, item="S")], on=DAY)
    assert [t.covered for t in answer.trolleys] == [False, True]
    assert (answer.levels.first_choices, answer.in_list_order.first_choices) == (1, 0)


def test_nothing_on_the_shelf_and_no_cases() -> None:
    assert allocate([], [], on=DAY).status == "covered"
    answer = allocate(needs((0,), SCREW), [], on=DAY)
    assert answer.trolleys[0].shortages[0].reasons == ("not on the shelf",)


@pytest.mark.parametrize(
    ("options", "word"), [({"expiring_within_days": -1}, "expiring_within_days"), ({"uses_per_day": 0}, "uses_per_day")]
)
def test_options_that_make_no_sense_are_refused(options: dict[str, int], word: str) -> None:
    with pytest.raises(ValueError, match=word):
        allocate([], [], on=DAY, **options)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("made", "word"),
    [
        (lambda: Item("nail", item="N"), "kind 'nail' is not one of"),
        (lambda: Item("plate", item="P", quantity=0), "give 1 or more"),
        (lambda: Item("plate"), "needs an item code"),
    ],
)
def test_a_wish_that_nothing_can_match_is_refused(made: Any, word: str) -> None:
    with pytest.raises(ValueError, match=word):
        made()


def test_a_construct_of_a_kit_brings_its_instruments_once() -> None:
    kits = load_kits()
    screw = kits.cortical_screws[0]
    items = construct(kits, [screw.item] * 4)
    assert items[0] == wanted(screw, 4)
    tools = [i.name.split()[0] for i in items[1:]]
    assert tools[0] == "drill"
    assert "driver" in tools
    assert len(tools) == len(set(tools))
    with pytest.raises(ValueError, match="'X' is in none of the kits"):
        construct(kits, ["X"])


def test_every_rule_says_where_it_comes_from() -> None:
    for rule in RULES:
        assert rule.kind in ("standard", "common practice", "from memory", "project default")
        assert bool(rule.source) == (rule.kind == "standard")
        if rule.source:
            assert source(rule.source).text


def test_the_least_length_told_by_words_is_the_one_that_the_rules_print() -> None:
    [rule] = [r for r in RULES if r.name == "size in words"]
    [least] = [float(n) for n in re.findall(r"([\d.]+) mm or more", rule.text)]
    assert size_in(f"screw 2 x {least:g} mm") == (2, least)
    assert size_in(f"screw 2 x {least - 0.1:g} mm") is None
    kits = load_kits()
    assert min(s.length for s in (*kits.cortical_screws, *kits.im_screws)) == least


def test_a_plate_with_holes_to_measure_is_never_covered() -> None:
    plate = Item("plate", item="P")
    need = Need("A", DAY, 1, (plate,), unmeasured=(Unmeasured("first choice", "P", (1, 2)),))
    answer = allocate([need], [ShelfRow(2, 1, item="P")], on=DAY)
    assert answer.status == "screw lengths unknown"
    assert not answer.trolleys[0].covered
    assert dict(answer.trolleys[0].complete) == {"first choice": False}
