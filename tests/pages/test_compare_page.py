"""The comparison, the trade-off pictures, the questions and the context in a real browser.

Sources: HTML validity by html-validate; accessibility by axe-core (WCAG 2 rules); reflow at 320 CSS px is WCAG 2.1
success criterion 1.4.10; text alternatives of pictures are success criterion 1.1.1.
"""

from __future__ import annotations

import datetime
import io
import re
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from fixplan.case import parse_case, read_case
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.kits import load_kits
from fixplan.plan.compare import compare
from fixplan.plan.compare_types import Comparison
from fixplan.plan.make import make_plan
from fixplan.report.compare_html import render_compare_html
from fixplan.report.html import render_html
from fixplan.resources import resource_dir

DAY = datetime.date(2026, 11, 25)
LEAST = {
    "case": {"label": "TEST-C", "side": "left"},
    "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
    "fracture": {"zone": 2},
}
NAMES = ("two", "four", "plates", "revision", "plan")


@cache
def comparison(name: str) -> Comparison:
    kits = load_kits()
    demo = resource_dir("demo_cases")
    if name == "two":
        return compare(parse_case(LEAST, "test"), kits, DAY, ["screw", "plate"])
    if name == "four":
        words = ["screw", "screw wider", "S55S-ST-35-T16", "screw gap=closed:60N"]
        return compare(parse_case(LEAST, "test"), kits, DAY, words)
    if name == "plates":
        case = read_case(demo / "second-base-nonunion.toml")
        return compare(case, kits, DAY, ["plate", "plate shorter", "plate screws=3"])
    return compare(read_case(demo / "revision.toml"), kits, DAY, ["screw", "screw hollow", "plate"])


@cache
def html(name: str) -> str:
    if name == "plan":
        case = read_case(resource_dir("demo_cases") / "revision.toml")
        return render_html(make_plan(case, load_kits(), DAY))
    return render_compare_html(comparison(name))


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u00ad]+", "", text)


def test_every_page_is_valid_html(validate: Any, tmp_path: Any) -> None:
    assert validate({name: html(name) for name in NAMES}, tmp_path) == []


@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing_on_screen_with_all_answers_open_or_in_print(
    name: str, open_page: Callable[..., Page], axe: Callable[[Page], list[str]]
) -> None:
    page = open_page(html(name))
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    assert axe(page) == []
    if name == "four":
        page.emulate_media(media="print")
        assert axe(page) == []


@pytest.mark.parametrize("name", NAMES)
def test_no_sideways_scrolling(name: str, open_page: Callable[..., Page]) -> None:
    page = open_page(html(name))
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    for width in (320, 360, 640, 1200):
        page.set_viewport_size({"width": width, "height": 740})
        inner = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert inner[0] <= inner[1], f"{name} at {width} px is {inner[0]} px wide"


@pytest.mark.parametrize("name", NAMES)
def test_the_page_asks_for_nothing_and_holds_no_script(name: str, open_page: Callable[..., Page]) -> None:
    page = open_page(html(name))
    assert len(page.asked_for) == 1  # type: ignore[attr-defined]
    assert page.evaluate("document.scripts.length") == 0
    assert page.evaluate("document.querySelectorAll('[style], [onclick], iframe, link, img').length") == 0


@pytest.mark.parametrize("name", NAMES)
def test_every_picture_has_a_title_a_description_and_a_reading(name: str, open_page: Callable[..., Page]) -> None:
    page = open_page(html(name))
    figures = page.evaluate(
        """() => [...document.querySelectorAll('svg.figure')].map(s => ({
            role: s.getAttribute('role'),
            title: s.querySelector('title')?.textContent ?? '',
            desc: s.querySelector('desc')?.textContent ?? '',
            named: (s.getAttribute('aria-labelledby') ?? '').split(' ').every(i => document.getElementById(i)),
        }))"""
    )
    assert len(figures) >= 2
    for f in figures:
        assert f["role"] == "img"
        assert f["named"]
        assert f["title"]
        assert len(f["desc"]) > 20
    tables = page.evaluate("document.querySelectorAll('.tradeoffs table').length")
    assert tables == page.evaluate("document.querySelectorAll('.tradeoff').length")


@pytest.mark.parametrize("name", ["two", "four"])
def test_words_of_a_picture_do_not_run_into_each_other(name: str, open_page: Callable[..., Page]) -> None:
    """Boxes of the words in one picture overlap by no more than a rounding of the type's own box."""
    page = open_page(html(name))
    clashes = page.evaluate(
        """() => [...document.querySelectorAll('.tradeoff svg')].flatMap(s => {
            const boxes = [...s.querySelectorAll('text')].map(t => [t.textContent, t.getBoundingClientRect()]);
            const found = [];
            for (let i = 0; i < boxes.length; i++) for (let j = i + 1; j < boxes.length; j++) {
                const [a, b] = [boxes[i][1], boxes[j][1]];
                const w = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                const h = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                if (w > 1.5 && h > 0.4 * Math.min(a.height, b.height)) found.push(boxes[i][0] + ' | ' + boxes[j][0]);
            }
            return found;
        })"""
    )
    assert clashes == []


def test_the_first_screen_holds_constructs_and_cautions(open_page: Callable[..., Page]) -> None:
    text = open_page(html("four")).evaluate("document.querySelector('main').innerText")
    head = text.split("Side by side")[0]
    assert all(c in " ".join(head.split()) for c in CAUTIONS)
    for k in comparison("four").constructs:
        assert k.label in head
    assert "No overall winner" in head


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_printed_sheet_carries_the_cautions_and_nothing_is_lost(paper: str, browser: Browser) -> None:
    page = browser.new_page()
    page.set_content(html("four"))
    page.emulate_media(media="print")
    cells = page.evaluate(
        "() => [...document.querySelectorAll('td, th, li, h1, h2, h3')].filter(e => e.checkVisibility())"
        ".map(e => e.textContent)"
    )
    reader = PdfReader(io.BytesIO(page.pdf(format=paper, print_background=False)))
    page.close()
    texts = [squeezed(p.extract_text()) for p in reader.pages]
    assert all(squeezed(CAUTION_SHORT) in t for t in texts)
    assert all("TEST-C" in t for t in texts)
    whole = "".join(texts)
    assert [w for c in cells for w in c.split() if squeezed(w) not in whole] == []


def test_a_hostile_construct_and_label_are_shown_as_text(open_page: Callable[..., Page]) -> None:
    from dataclasses import replace

    bad = "<script>alert('x')</script> \u202e"
    c = comparison("two")
    hostile = replace(
        c,
        case=replace(c.case, label=bad),
        constructs=tuple(replace(k, asked=bad, notes=(bad,)) for k in c.constructs),
    )
    page = open_page(render_compare_html(hostile))
    assert page.evaluate("document.scripts.length") == 0
    assert "\u202e" not in render_compare_html(hostile)


def test_the_answer_of_a_question_opens_by_the_keyboard_alone(open_page: Callable[..., Page]) -> None:
    page = open_page(html("plan"))
    question = page.locator("details.question").first
    assert not question.locator("ul").is_visible()
    question.locator("summary").focus()
    page.keyboard.press("Enter")
    assert question.locator("ul").is_visible()
    link = question.locator("a[href^='#worked-']").first
    target = link.get_attribute("href")
    assert target
    link.click()
    assert page.evaluate(f"document.querySelector('{target}').getBoundingClientRect().top") < 900


def test_curves_differ_without_colour(open_page: Callable[..., Page]) -> None:
    """In one picture no two curves share both dash and dot."""
    page = open_page(html("four"))
    styles = page.evaluate(
        """() => [...document.querySelectorAll('.tradeoff svg')].map(s =>
            [...s.querySelectorAll('polyline.curve')].map((p, k) => getComputedStyle(p).strokeDasharray + '/' +
                getComputedStyle(s.querySelectorAll('circle.dot')[k === 0 ? 0 : k] ?? p).fill + '/' + k % 2))"""
    )
    assert styles
    for one in styles:
        dashes = [s.split("/")[0] + s.split("/")[-1] for s in one]
        assert len(set(dashes)) == len(dashes)
