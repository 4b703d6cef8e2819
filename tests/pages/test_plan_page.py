"""The plan's page in a real browser: valid, accessible, self-contained, legible on a phone, and whole on paper.

Sources: HTML validity by html-validate; accessibility by axe-core (WCAG 2 rules); reflow at 320 CSS px is WCAG 2.1
success criterion 1.4.10; paper sizes are ISO 216 A4 (210 x 297 mm) and US Letter (215.9 x 279.4 mm);
1 inch = 25.4 mm = 72 pt (PDF user space, ISO 32000). Letter height: 5 minutes of arc is the normal reading limit
(the 6/6 line of the Snellen chart), from memory.
"""

from __future__ import annotations

import functools
import io
import math
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.plan.types import Plan
from fixplan.report.html import render_html

NAMES = ("screw", "right", "both", "plate", "empty", "outside", "hostile", "long", "crowded")
PAPERS = ("A4", "Letter")
CONTENT_MM = {"A4": 210 - 24, "Letter": 215.9 - 24}
PT_PER_MM = 72 / 25.4
CAP_HEIGHT = 0.716  # of the type size, Arial and its metric twins (their OS/2 table)


Printed = Callable[[str, str], PdfReader]


@pytest.fixture(scope="module")
def pages(samples: dict[str, Plan]) -> dict[str, str]:
    return {name: render_html(plan) for name, plan in samples.items()}


@pytest.fixture(scope="module")
def printed(pages: dict[str, str], browser: Browser) -> Iterator[Printed]:
    """printed(name, paper) -> the page on paper, backgrounds off as printers have them; each printed once."""
    page = browser.new_page()

    @functools.cache
    def make(name: str, paper: str) -> PdfReader:
        page.set_content(pages[name])
        return PdfReader(io.BytesIO(page.pdf(format=paper, print_background=False)))

    yield make
    page.close()


def squeezed(text: str) -> str:
    """Text without white space or soft hyphens, as extraction from a PDF does not keep it."""
    return re.sub(r"[\s\u00ad]+", "", text)


def test_every_page_is_valid_html(pages: dict[str, str], validate: Any, tmp_path: Any) -> None:
    assert validate(pages, tmp_path) == []


@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing_on_screen_or_in_print(
    name: str, pages: dict[str, str], open_page: Callable[..., Page], axe: Callable[[Page], list[str]]
) -> None:
    page = open_page(pages[name])
    assert axe(page) == []
    if name == "crowded":  # holds every part of the page
        page.emulate_media(media="print")
        assert axe(page) == []


def test_the_page_asks_for_nothing_and_holds_no_script(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    for html in pages.values():
        page = open_page(html)
        assert [u for u in page.asked_for if not u.startswith("file:")] == []  # type: ignore[attr-defined]
        assert len(page.asked_for) == 1  # type: ignore[attr-defined]
        assert page.evaluate("document.scripts.length") == 0
        assert page.evaluate("document.querySelectorAll('[style], [onclick], [onload], iframe, link, img').length") == 0


def test_the_policy_itself_lets_our_style_sheet_through_and_blocks_a_request(
    pages: dict[str, str], browser: Any, tmp_path: Any
) -> None:
    """Without bypassing the policy: the page is styled by its own sheet, and an added picture or script is refused."""
    file = tmp_path / "policy.html"
    file.write_text(pages["screw"], encoding="utf-8")
    context = browser.new_context()
    page = context.new_page()
    page.goto(file.as_uri())
    assert page.evaluate("getComputedStyle(document.querySelector('.huge')).fontWeight") == "700"
    blocked = page.evaluate(
        """() => new Promise(done => {
            document.addEventListener('securitypolicyviolation', e => done(e.effectiveDirective));
            const img = document.createElement('img'); img.src = 'http://127.0.0.1:9/x.png'; document.body.append(img);
        })"""
    )
    assert blocked == "img-src"
    context.close()


@pytest.mark.parametrize("name", NAMES)
def test_no_sideways_scrolling_from_a_phone_to_a_zoomed_desk(
    name: str, pages: dict[str, str], open_page: Callable[..., Page]
) -> None:
    """320 px is 1280 px at 400 %, 360 px a phone, 640 px a 1280 px window at 200 %."""
    page = open_page(pages[name])
    for width in (320, 360, 640, 1200):
        page.set_viewport_size({"width": width, "height": 740})
        inner = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert inner[0] <= inner[1], f"{name} at {width} px is {inner[0]} px wide"


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_clipped_on_paper(
    name: str, paper: str, pages: dict[str, str], open_page: Callable[..., Page], printed: Printed
) -> None:
    """At the width of the paper's content nothing reaches past the edge, and every printed cell is in the PDF."""
    page = open_page(pages[name], width=int(CONTENT_MM[paper] / 25.4 * 96))
    page.emulate_media(media="print")
    wide = page.evaluate(
        """() => [...document.querySelectorAll('table, .scroll, svg.figure, .panel')]
            .filter(e => e.offsetParent !== null || e instanceof SVGElement)
            .filter(e => !(e instanceof SVGElement) && e.clientWidth > 0 && e.scrollWidth > e.clientWidth + 1
                         || e.getBoundingClientRect().right > document.documentElement.clientWidth + 0.6)
            .map(e => e.outerHTML.slice(0, 120))"""
    )
    assert wide == []
    cells = page.evaluate(
        """() => [...document.querySelectorAll('td, th, li, h1, h2, h3, svg text')]
            .filter(e => e.checkVisibility()).map(e => e.textContent)"""
    )
    text = squeezed("".join(p.extract_text() for p in printed(name, paper).pages))
    missing = [c for c in cells for word in c.split() if squeezed(word) not in text]
    assert len(cells) > 30
    assert missing == []


def scale_bar_mm(reader: PdfReader) -> list[float]:
    """Lengths in mm of the filled rectangles that have the scale bar's shape, from the path operators of page 1."""
    found: list[float] = []

    def before(op: bytes, args: Any, cm: list[float], tm: list[float]) -> None:
        if op == b"re":
            x_scale, y_scale = math.hypot(cm[0], cm[1]), math.hypot(cm[2], cm[3])
            width, height = abs(float(args[2])) * x_scale / PT_PER_MM, abs(float(args[3])) * y_scale / PT_PER_MM
            if 0.7 < height < 1.1 and 15 < width < 25:
                found.append(width)

    reader.pages[0].extract_text(visitor_operand_before=before)
    return found


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ("screw", "both", "plate", "empty", "outside", "long", "crowded"))
def test_the_printed_scale_bar_is_20_mm_within_half_a_per_cent(name: str, paper: str, printed: Printed) -> None:
    bars = scale_bar_mm(printed(name, paper))
    assert len(bars) == 1
    assert bars[0] == pytest.approx(20.0, rel=0.005)


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ("screw", "both", "plate", "empty", "long", "crowded"))
def test_the_first_sheet_holds_sizes_cautions_and_the_check(
    name: str, paper: str, samples: dict[str, Plan], printed: Printed
) -> None:
    reader = printed(name, paper)
    first = squeezed(reader.pages[0].extract_text())
    wanted = [
        *CAUTIONS,
        "Is this usually a case for a construct?",
        "What would change this answer",
        "Date",
        "Signature",
    ]
    wanted += ["Sizes confirmed against the kit in the room", "Assumed, measure it if it matters", "Have in the room"]
    wanted += [g.label for g in samples[name].given if g.origin == "assumed"]
    wanted += [c.text for c in samples[name].changes]
    if name in ("screw", "both", "long", "crowded"):
        wanted += ["5.0 × 42 mm", "5.5 × 42", "4.5 × 42", "5.0 × 44", "5.0 × 40", "One up", "One down"]
    if name in ("plate", "both", "crowded"):
        wanted += ["6 holes", "7 holes", "5 holes"]
    assert [w for w in wanted if squeezed(w) not in first] == []
    assert "Screwwindowsandstock" not in first


@pytest.mark.parametrize("paper", PAPERS)
def test_every_sheet_carries_the_cautions_and_the_case(paper: str, printed: Printed) -> None:
    reader = printed("both", paper)
    assert len(reader.pages) > 3
    for sheet in reader.pages:
        text = squeezed(sheet.extract_text())
        assert squeezed(CAUTION_SHORT) in text
        assert "SAMPLE-5C" in text


def test_sizes_can_be_read_at_two_metres(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    """Capitals of the first choice stand for at least 12, its neighbours for at least 7 minutes of arc at 2 m."""
    for name, css, minutes in (
        ("screw", ".huge", 12),
        ("screw", ".large", 7),
        ("both", ".huge", 12),
        ("plate", ".large", 7),
    ):
        page = open_page(pages[name])
        page.emulate_media(media="print")
        px = page.evaluate(f"parseFloat(getComputedStyle(document.querySelector('{css}')).fontSize)")
        cap_mm = CAP_HEIGHT * px * 25.4 / 96
        assert math.degrees(math.atan(cap_mm / 2000)) * 60 >= minutes, f"{name} {css}: {cap_mm:.1f} mm"


def test_cautions_are_set_in_the_size_of_the_text(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    for media in ("screen", "print"):
        page = open_page(pages["screw"])
        page.emulate_media(media=media)
        sizes = page.evaluate(
            """['.cautions li', '.assumed li', '.changes li'].map(
                s => getComputedStyle(document.querySelector(s)).fontSize)"""
        )
        assert len(set(sizes)) == 1


def test_a_hostile_label_is_shown_as_text(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    page = open_page(pages["hostile"])
    assert page.evaluate("document.scripts.length") == 0
    assert page.evaluate("document.querySelector('h1').textContent") == (
        "<script>alert('x')</script> \"quoted\" & 'single' [U+202E]rtl"
    )
    assert "\u202e" not in pages["hostile"]


def test_outside_scope_says_so_before_any_geometry(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    text = open_page(pages["outside"]).evaluate("document.querySelector('main').innerText")
    assert text.index("Usually not") < text.index("No sizes")
    assert "first choice" not in text


def test_an_empty_window_is_an_answer(pages: dict[str, str], open_page: Callable[..., Page]) -> None:
    text = open_page(pages["empty"]).evaluate("document.querySelector('.answer').innerText")
    assert "No screw." in text
    assert "A plate avoids the canal." in text
