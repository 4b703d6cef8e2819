"""The pages of the real demo plans: valid, accessible, whole on a phone and on paper, true to scale.

The sources of the rules stand in test_plan_page.py, whose sample plans cover single parts of the page; here every demo
case goes the whole road.
"""

from __future__ import annotations

import datetime
import io
import math
import re
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from fixplan.case import read_case
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.kits import load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.types import Plan
from fixplan.report.html import render_html
from fixplan.resources import resource_dir

DEMOS = sorted(p.stem for p in resource_dir("demo_cases").glob("*.toml") if "[case]" in p.read_text("utf-8"))
A4_CONTENT_PX = int((210 - 24) / 25.4 * 96)


@cache
def plan(name: str) -> Plan:
    case = read_case(resource_dir("demo_cases") / f"{name}.toml")
    return make_plan(case, load_kits(), datetime.date(2026, 11, 25), draws=200)


@cache
def html(name: str) -> str:
    return render_html(plan(name))


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u00ad]+", "", text)


def test_every_demo_page_is_valid_html(validate: Any, tmp_path: Any) -> None:
    assert len(DEMOS) >= 9
    assert validate({name: html(name) for name in DEMOS}, tmp_path) == []


@pytest.mark.parametrize("name", DEMOS)
def test_axe_finds_nothing_and_nothing_scrolls_sideways(
    name: str, open_page: Callable[..., Page], axe: Callable[[Page], list[str]]
) -> None:
    page = open_page(html(name))
    assert axe(page) == []
    for width in (320, 640, 1200):
        page.set_viewport_size({"width": width, "height": 740})
        inner = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert inner[0] <= inner[1], f"{name} at {width} px is {inner[0]} px wide"
    page.set_viewport_size({"width": A4_CONTENT_PX, "height": 740})
    page.emulate_media(media="print")
    clipped = page.evaluate(
        """() => [...document.querySelectorAll('table, .scroll, svg.figure')]
            .filter(e => e.getBoundingClientRect().width > 0)
            .filter(e => !(e instanceof SVGElement) && e.scrollWidth > e.clientWidth + 1
                         || e.getBoundingClientRect().right > document.documentElement.clientWidth + 0.6)
            .map(e => e.outerHTML.slice(0, 120))"""
    )
    assert clipped == []


@pytest.mark.parametrize("name", DEMOS)
def test_no_text_of_a_drawing_leaves_it(name: str, open_page: Callable[..., Page]) -> None:
    page = open_page(html(name))
    drawings = page.evaluate(
        """() => [...document.querySelectorAll('svg.figure[aria-labelledby^=drawing]')].map(svg => {
            const box = svg.viewBox.baseVal
            const texts = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBBox()])
            return [texts.length, texts.filter(([, b]) => b.x < box.x || b.y < box.y
                || b.x + b.width > box.x + box.width || b.y + b.height > box.y + box.height).map(([t]) => t)]
        })"""
    )
    assert sum(n for n, _ in drawings) > 10  # both films, their sides and the scale at least
    assert [text for _, outside in drawings for text in outside] == []


@pytest.mark.parametrize("name", DEMOS)
def test_the_first_sheet_answers_cautions_and_asks_for_a_signature(name: str, browser: Browser) -> None:
    page = browser.new_page()
    page.set_content(html(name))
    letter, reader = (
        PdfReader(io.BytesIO(page.pdf(format=paper, print_background=False))) for paper in ("Letter", "A4")
    )
    page.close()
    p = plan(name)
    wanted = [*CAUTIONS, p.case.label, "Signature", "Sizes confirmed against the kit in the room", "What would change"]
    wanted += [c.text for c in p.changes]
    wanted += [g.label for g in p.given if g.origin == "assumed"]
    if p.screw is not None and p.screw.first_choice is not None:
        c = next(c for c in p.screw.candidates if c.item == p.screw.first_choice)
        wanted.append(f"{c.diameter_mm:.1f} × {c.length_mm:g} mm")
    if p.plate is not None and p.plate.first_choice is not None:
        wanted.append(f"{next(c for c in p.plate.candidates if c.item == p.plate.first_choice).holes} holes")
    for first in (squeezed(r.pages[0].extract_text()).casefold() for r in (letter, reader)):
        assert [w for w in wanted if squeezed(w).casefold() not in first] == []
    for sheet in reader.pages:
        assert squeezed(CAUTION_SHORT) in squeezed(sheet.extract_text())
    bars: list[float] = []

    def before(op: bytes, args: Any, cm: list[float], tm: list[float]) -> None:
        if op == b"re":
            width = abs(float(args[2])) * math.hypot(cm[0], cm[1]) * 25.4 / 72
            height = abs(float(args[3])) * math.hypot(cm[2], cm[3]) * 25.4 / 72
            if 0.7 < height < 1.1 and 15 < width < 25:
                bars.append(width)

    reader.pages[0].extract_text(visitor_operand_before=before)
    assert bars == [pytest.approx(20.0, rel=0.005)]


@pytest.mark.parametrize("name", DEMOS)
def test_a_first_choice_never_fails(name: str) -> None:
    p = plan(name)
    for part in (p.screw, p.plate):
        if part is not None and part.first_choice is not None:
            chosen = next(c for c in part.candidates if c.item == part.first_choice)
            assert chosen.verdict in ("pass", "caution")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_printed_plan_is_short_and_no_sheet_stands_half_empty(paper: str, browser: Browser) -> None:
    """The longest of the demo plans, screw and plate: smaller type after the first sheet, no less text."""
    page = browser.new_page()
    page.set_content(html("zone-2-runner"))
    page.emulate_media(media="print")
    sizes = page.evaluate(
        "() => [...document.querySelectorAll('.page-one ~ section :is(p, li, td, th, .ref, .note)')]"
        ".filter(e => e.checkVisibility()).map(e => parseFloat(getComputedStyle(e).fontSize) * 72 / 96)"
    )
    reader = PdfReader(io.BytesIO(page.pdf(format=paper, print_background=False)))
    page.close()
    assert min(sizes) >= 6.0  # project default: the small print of a form
    assert len(reader.pages) <= 24
    filled = [lowest_text_mm(sheet) for sheet in reader.pages[:-1]]
    height = {"A4": 297.0, "Letter": 279.4}[paper]
    assert [k + 1 for k, low in enumerate(filled) if low < 0.6 * height] == []


def lowest_text_mm(sheet: Any) -> float:
    """How far down a sheet its text reaches, the caution at its foot left out, in mm."""
    top = float(sheet.mediabox.height)
    found: list[float] = []

    def line(text: str, cm: list[float], tm: list[float], font: Any, size: float) -> None:
        y = cm[1] * tm[4] + cm[3] * tm[5] + cm[5]
        if text.strip():
            found.append((top - y) * 25.4 / 72)

    sheet.extract_text(visitor_text=line)
    foot = max(found) - 9.0  # the running caution takes two lines and its rule
    return max((y for y in found if y < foot), default=0.0)
