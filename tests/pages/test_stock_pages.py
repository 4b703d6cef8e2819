"""The theatre's pages in a real browser: valid, accessible, self-contained, whole on paper, nothing acting unseen.

Sources: HTML validity by html-validate; accessibility by axe-core (WCAG 2 rules); reflow at 320 CSS px is WCAG 2.1
success criterion 1.4.10; paper sizes are ISO 216 A4 and US Letter (215.9 x 279.4 mm).
"""

from __future__ import annotations

import datetime as dt
import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Locator, Page
from pypdf import PdfReader

from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.commands_stock import Entry, Terms, planned
from fixplan.kits import load_kits
from fixplan.report.stock_coverage_html import coverage_page
from fixplan.report.stock_html import list_sheet, pick_list, pick_lists
from fixplan.stock.allocate import Allocation, allocate
from fixplan.stock.coverage import coverage, smallest_set, trade_off
from fixplan.stock.depth import stock_depth, worked_service
from fixplan.stock.model import Item, Need, ShelfRow
from fixplan.stock.needs import read_needs
from fixplan.stock.order import order_lines
from fixplan.stock.recalled import RecallReport, check_recalls
from fixplan.stock.shelf import read_shelf
from fixplan.stock.theatre_list import read_theatre_list

DEMO = Path(__file__).parents[2] / "demo_cases"
ON = dt.date(2026, 12, 1)
NAMES = (
    *("list", "DEMO-T1", "DEMO-T3", "DEMO-T4", "coverage", "hostile", "hostile list", "empty", "covered list"),
    *("planned list", "DEMO-6A", "DEMO-2A", "DEMO-4A"),
)
EVIL = "<script>alert(1)</script>\u202e\"'&{{ 7*7 }}" + "x" * 80


def demo() -> tuple[Allocation, Any, RecallReport]:
    shelf = read_shelf(DEMO / "shelf.csv", on=ON)
    needs = read_needs(DEMO / "theatre-needs.csv", load_kits())
    recall = check_recalls(DEMO / "recalled-lots.csv", shelf)
    return allocate(needs, shelf, on=ON, recalled=recall.entries), shelf, recall


def from_plans() -> tuple[Allocation, Any]:
    """The demo's theatre list through real plans, and a case for which the plan has no construct."""
    files = [e.path for e in read_theatre_list(DEMO / "theatre-list.csv")] + [DEMO / "fourth-base.toml"]
    needs = planned([Entry(f, None, None) for f in files], load_kits(), Terms(ON), {})
    shelf = read_shelf(DEMO / "shelf.csv", on=ON)
    return allocate(needs, shelf, on=ON), shelf


def hostile() -> Allocation:
    wish = Item("instrument", name=EVIL, item=EVIL)
    row = ShelfRow(2, 1, name=EVIL, item=EVIL, lot=EVIL, location=EVIL, tray=EVIL, sterile=True, expiry=ON)
    return allocate(
        [Need(EVIL, ON, 1, (wish,), (Item("plate", item=EVIL + "2"),), notes=(EVIL,), plan=EVIL)], [row], on=ON
    )


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    """Each page once: the demo list, one with every text hostile, one with nothing on the shelf, one with all there."""
    answer, shelf, recall = demo()
    evil = hostile()
    real, real_shelf = from_plans()
    empty = allocate([Need("E", ON, 1, (Item("plate", item="P"),))], [], on=ON)
    covered = allocate([Need("C", ON, 1, (Item("plate", item="P"),))], [ShelfRow(2, 1, item="P")], on=ON)
    table = np.random.default_rng(3).random((400, 9)) < 0.3  # invented draws
    sizes = [f"{d:.1f} × {n} mm" for d in (4.5, 5.5, 6.5) for n in (44, 46, 48)]
    held = np.arange(9) < 4
    planning = coverage_page(
        "invented kit",
        sizes,
        "400 invented draws.",
        coverage(table, held),
        trade_off(table),
        on=ON,
        wanted=0.8,
        smallest=smallest_set(table, 0.8),
        depth=stock_depth(table.mean(axis=0) * 2 / 7, 14.0, 0.95),
        basis="Two cases a week, two weeks to resupply.",
        note="All of it is invented.",
        held=sizes[:4],
        worked=worked_service(0.6, 2),
        shelf=shelf,
        recall=recall,
    )
    return {
        "list": list_sheet(answer, order_lines(answer, resupply_days=3), shelf, recall),
        **pick_lists(answer, shelf, recall),
        "planned list": list_sheet(real, order_lines(real, resupply_days=5), real_shelf),
        **pick_lists(real, real_shelf),
        "coverage": planning,
        "hostile": pick_list(evil, EVIL),
        "hostile list": list_sheet(evil, order_lines(evil)),
        "empty": pick_list(empty, "E"),
        "covered list": list_sheet(covered, order_lines(covered)),
    }


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u00ad]+", "", text)


def test_every_page_is_valid_html(pages: dict[str, str], validate: Any, tmp_path: Path) -> None:
    assert validate({n.replace(" ", "-"): h for n, h in pages.items()}, tmp_path) == []


@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing(name: str, pages: dict[str, str], open_page: Callable[..., Page], axe: Any) -> None:
    page = open_page(pages[name])
    assert axe(page) == []
    page.emulate_media(media="print")
    assert axe(page) == []


@pytest.mark.parametrize("name", NAMES)
def test_the_page_asks_for_nothing_and_runs_nothing(
    name: str, pages: dict[str, str], open_page: Callable[..., Page]
) -> None:
    page = open_page(pages[name])
    assert len(page.asked_for) == 1  # type: ignore[attr-defined]
    assert page.evaluate("document.scripts.length") == 0
    assert page.evaluate("document.querySelectorAll('[style], [onclick], iframe, link, img').length") == 0


def test_hostile_text_is_shown_and_does_nothing(pages: dict[str, str]) -> None:
    for name in ("hostile", "hostile list"):
        assert "<script>" not in pages[name]
        assert "&lt;script&gt;" in pages[name]
        assert "\u202e" not in pages[name]
        assert "[U+202E]" in pages[name]
        assert "{{ 7*7 }}" in pages[name]


@pytest.mark.parametrize("name", NAMES)
def test_no_sideways_scrolling_on_a_phone(name: str, pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    page = open_page(pages[name])
    for width in (320, 640, 1200):
        page.set_viewport_size({"width": width, "height": 740})
        inner = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert inner[0] <= inner[1], f"{name} at {width} px is {inner[0]} px wide"


@pytest.mark.parametrize("name", NAMES)
def test_nothing_reaches_past_the_edge_of_the_paper(
    name: str, pages: dict[str, str], open_page: Callable[..., Page]
) -> None:
    """At the width of A4 less its margins (186 mm at 96 px an inch)."""
    page = open_page(pages[name], width=int(186 / 25.4 * 96))
    page.emulate_media(media="print")
    wide = page.evaluate(
        """() => [...document.querySelectorAll('table, td, .scroll, .panel')]
            .filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 0.6)
            .map(e => e.outerHTML.slice(0, 120))"""
    )
    assert wide == []


@pytest.mark.parametrize(
    ("name", "paper"), [*((n, "A4") for n in NAMES), *((n, "Letter") for n in ("list", "DEMO-T1", "coverage"))]
)
def test_all_of_it_is_on_paper_with_the_cautions_on_every_sheet(
    name: str, paper: str, pages: dict[str, str], browser: Browser
) -> None:
    page = browser.new_page()
    page.set_content(pages[name])
    page.emulate_media(media="print")
    cells = page.evaluate("() => [...document.querySelectorAll('td, th, li, h1, h2, h3')].map(e => e.innerText)")
    reader = PdfReader(io.BytesIO(page.pdf(format=paper, print_background=False)))
    page.close()
    sheets = [squeezed(p.extract_text()) for p in reader.pages]
    whole = "".join(sheets)
    if "hostile" not in name:  # a word of 100 letters is broken over lines, which extraction mixes with its neighbours
        assert [c for c in cells for word in c.split() if squeezed(word) not in whole] == []
    for sheet in sheets:
        assert squeezed(CAUTION_SHORT) in sheet
    for caution in CAUTIONS:
        assert squeezed(caution) in sheets[0], "the cautions stand on the sheet with the first sizes"


def printed(html: str, browser: Browser) -> list[str]:
    """The text of each sheet of A4, lines as they are printed."""
    page = browser.new_page()
    page.set_content(html)
    reader = PdfReader(io.BytesIO(page.pdf(format="A4", print_background=False)))
    page.close()
    return [p.extract_text() for p in reader.pages]


def test_a_place_that_runs_over_is_named_on_each_sheet(browser: Browser) -> None:
    tools = tuple(Item("instrument", name=f"tool no {n} mm") for n in range(70))
    rows = [ShelfRow(n + 2, 1, kind="instrument", name=t.name, location="store 7") for n, t in enumerate(tools)]
    answer = allocate([Need("LONG", ON, 1, tools)], rows, on=ON)
    sheets = [s for s in printed(list_sheet(answer), browser) if "tool no" in s]
    assert len(sheets) > 1
    assert ["store 7: 70 pieces" in s for s in sheets] == [True] * len(sheets)


def test_each_sheet_of_a_pick_list_bears_its_case_unbroken(pages: dict[str, str], browser: Browser) -> None:
    sheets = printed(pages["DEMO-6A"], browser)
    assert len(sheets) > 1
    assert ["Pick list DEMO-6A" in s.splitlines() for s in sheets] == [True] * len(sheets)


def test_a_pack_that_looks_the_same_is_named_on_the_pick_list(open_page: Callable[..., Page]) -> None:
    screw = Item("cortical_screw", item="C", diameter_mm=2.4, length_mm=12)
    rows = [
        ShelfRow(2, 1, item="C", lot="GOOD", expiry=ON, location="drawer 3"),
        ShelfRow(3, 1, item="C", lot="OLD", expiry=ON - dt.timedelta(days=1), location="drawer 3"),
    ]
    answer = allocate([Need("A", ON, 1, (screw,)), Need("B", ON, 2, (screw,))], rows, on=ON)
    page = open_page(pick_list(answer, "A"))
    panel = page.locator("section", has=page.locator("#leave-title"))
    assert "drawer 3, lot OLD: cortical screw, 2.4 × 12 mm" in panel.inner_text()
    assert "Expires on 30 November 2026, before the case on 1 December 2026." in panel.inner_text()
    assert "GOOD" not in panel.inner_text()
    assert open_page(pick_list(answer, "B")).locator("#leave-title").count() == 0  # there it stands with the shortage
    looks = open_page(list_sheet(answer)).locator("section[aria-label='Table: Packs to look at, and packs to leave']")
    assert "leave it: expires on 30 November 2026" in " ".join(looks.inner_text().split())


def test_a_verdict_is_a_shape_and_a_word(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    page = open_page(pages["DEMO-T1"])
    states = page.evaluate("() => [...document.querySelectorAll('.state li')].map(e => e.innerText)")
    assert [" ".join(s.split()) for s in states] == ["First choice all here", "One up short", "One down all here"]
    assert page.evaluate("document.querySelectorAll('.state li svg').length") == 3


def test_a_case_without_a_construct_says_so_at_once(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    page = open_page(pages["DEMO-4A"])
    assert "none planned: the plan chose no construct. Ask the surgeon." in page.inner_text(".state")
    listed = open_page(pages["planned list"])
    row = listed.locator("tr", has=listed.locator("th", has_text="DEMO-4A")).first
    assert "none planned" in row.inner_text()


def test_what_to_ask_has_a_box_to_tick(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    page = open_page(pages["DEMO-2A"])
    assert "screw lengths unknown: screws for holes 1 and 2 of P24-TI-17-8H" in page.inner_text(".ticks")
    assert page.locator(".ticks .tick").count() == page.locator(".ticks li").count() > 0


def test_the_curve_is_drawn_and_read_aloud(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    page = open_page(pages["coverage"])
    rows = page.locator("table").first.locator("tbody tr").count()
    assert page.locator("svg.figure circle").count() == rows
    assert page.locator("svg.figure desc").text_content().startswith("The same as the table: 0: 0.0 %")  # type: ignore[union-attr]


def test_every_pick_has_a_box_a_count_and_a_place(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    """T3 by hand: one plate of 8 holes, one of 10, six screws; drill, driver, gauge; the tap is missing."""
    page = open_page(pages["DEMO-T3"])
    rows = page.evaluate(
        """() => [...document.querySelectorAll('.picks tbody tr')].map(r => [
            r.querySelectorAll('.tick').length,
            r.querySelector('.pieces').innerText,
            r.querySelector('.where').innerText])"""
    )
    assert len(rows) == 6
    assert all(ticks == 1 for ticks, _, _ in rows)
    assert sorted(int(n) for _, n, _ in rows) == [1, 1, 1, 1, 1, 6]
    assert {place for _, _, place in rows} == {"sterile store 1", "instrument store"}
    assert "tap 2.4 mm" in page.inner_text(".short-list")


def column(table: Locator, header: str) -> list[str]:
    """The cells of one column of a table, by its header."""
    heads = table.locator("thead tr:last-child th").all_inner_texts()
    at = [" ".join(h.split()) for h in heads].index(header) + 1
    return [" ".join(t.split()) for t in table.locator(f"tbody tr > :nth-child({at})").all_inner_texts()]


def test_a_pick_says_whether_it_is_sterile_and_bears_its_code(
    pages: dict[str, str], open_page: Callable[..., Page]
) -> None:
    """By the shelf: T1's screws and wires are sterile, its drills and taps say nothing; T3's tray is not sterile."""
    first = open_page(pages["DEMO-T1"])
    what, sterile = (column(first.locator(".picks").first, h) for h in ("What", "Sterile"))
    assert sterile == ["sterile"] * len(what)
    assert "S50C-TI-46-T16 GTIN 09521234500018" in what[0]
    assert "cannulated intramedullary screw" in what[0]
    assert set(column(first.locator(".picks").nth(1), "Sterile")) == {"sterile", "not stated"}
    third = open_page(pages["DEMO-T3"])
    assert set(column(third.locator(".picks").first, "Sterile")) == {"not sterile"}


def test_what_to_fetch_to_look_at_and_to_take_off_bears_its_code(
    pages: dict[str, str], open_page: Callable[..., Page]
) -> None:
    page = open_page(pages["list"])
    fetched = [code for table in page.locator(".fetch").all() for code in column(table, "Code")]
    assert all(re.fullmatch(r"[A-Z0-9.-]{5,}( GTIN \d{14})?", code) for code in fetched)
    assert "S50C-TI-46-T16 GTIN 09521234500018" in fetched
    looks = column(page.locator("section[aria-label='Table: Packs to look at, and packs to leave'] table"), "What")
    assert any("S45C-TI-44-T16" in what for what in looks)
    assert column(page.locator(".taken"), "Lot") == ["DM-2207"]
    assert "Matched nothing on the shelf: lot DM-1999 of S50C-TI-40-T16" in page.inner_text("main")


def test_days_bear_their_weekday(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    """In 2026 the 3rd of December is a Thursday; three working days before Wednesday the 2nd is Friday 27 November."""
    page = open_page(pages["list"])
    orders = page.locator("section[aria-label='Table: To order'] table")
    assert column(orders, "For surgery on")[0] == "Thursday 3 December 2026"
    assert column(orders, "Order by")[0].startswith("Friday 27 November 2026")
    assert "too late for the usual lead of 3 working days" in orders.inner_text()
    assert "public holidays are not known" in page.inner_text("main")


def test_the_coverage_page_says_how_the_shelf_was_read(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    text = open_page(pages["coverage"]).inner_text("main")
    assert "63 lines read" in text
    assert "line 9, expiry: day and month could be exchanged" in text


def test_the_same_list_gives_the_same_bytes(pages: dict[str, str]) -> None:
    answer, shelf, recall = demo()
    assert list_sheet(answer, order_lines(answer, resupply_days=3), shelf, recall) == pages["list"]
    assert pick_list(answer, "DEMO-T1", shelf, recall) == pages["DEMO-T1"]


def test_an_unknown_case_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="'X' is not on the list: DEMO-T1, DEMO-T2"):
        pick_list(demo()[0], "X")
