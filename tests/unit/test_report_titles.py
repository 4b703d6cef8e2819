"""Titles of tables: each stands once, and the name read out is the caption that is seen."""

from __future__ import annotations

import datetime
import html
import re
from functools import cache

import pytest

from fixplan.case import read_case
from fixplan.kits import load_kits
from fixplan.plan.compare import compare
from fixplan.plan.make import make_plan
from fixplan.report.compare_html import render_compare_html
from fixplan.report.html import render_html
from fixplan.resources import resource_dir

DAY = datetime.date(2026, 11, 25)
PLANS = ("zone-2-runner", "zone-2-stations", "revision", "second-base-nonunion", "zone-3-bowed")


@cache
def page(name: str) -> str:
    case = read_case(resource_dir("demo_cases") / f"{name.removeprefix('compare ')}.toml")
    if name.startswith("compare "):
        return render_compare_html(compare(case, load_kits(), DAY, ["screw solid", "screw hollow", "plate"]))
    return render_html(make_plan(case, load_kits(), DAY, draws=100))


def plain(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", "", text)).split())


@pytest.mark.parametrize("name", [*PLANS, "compare zone-2-runner"])
def test_no_two_tables_are_named_alike_and_the_name_is_the_caption(name: str) -> None:
    """Every table that scrolls is named for a screen reader in the words of its caption, in the order of the page."""
    tables = re.findall(
        r'aria-label="Table: ([^"]*)" tabindex="0">\s*<table[^>]*>\s*<caption>(.*?)</caption>', page(name), re.S
    )
    assert len(tables) == page(name).count('aria-label="Table: ')
    assert len(tables) >= 6
    for label, caption in tables:
        assert plain(label) == plain(caption)
    captions = [plain(c) for c in re.findall(r"<caption>(.*?)</caption>", page(name), re.S)]
    assert len(captions) == len(set(captions))


@pytest.mark.parametrize("name", [*PLANS, "compare zone-2-runner"])
def test_no_two_headings_of_a_page_are_alike(name: str) -> None:
    for level in ("h2", "h3"):
        found = [plain(h) for h in re.findall(rf"<{level}[^>]*>(.*?)</{level}>", page(name), re.S)]
        assert found
        assert len(found) == len(set(found)), level


@pytest.mark.parametrize("name", PLANS)
def test_the_tables_come_in_the_order_of_the_sections_they_belong_to(name: str) -> None:
    """Sizes first, then mechanics, chances, what is published, what was used, and sources last."""
    order = (
        "Limits of the screw windows", "Rules held against the screw chosen first", "Screws, the best first",
        "Limits of the plate span", "Hole map of the plate chosen first", "Rules held against the plate chosen first",
        "Plates, the best first", "Responses at the middle", "Loading cycles", "Chances of the sizes",
        "Published scores", "Published results", "Milestones after surgery", "Findings that belong",
        "Measured, derived and assumed", "Planning thresholds", "Kits the sizes come from", "Implant materials",
        "Sources named",
    )  # fmt: skip
    captions = [plain(c) for c in re.findall(r"<caption>(.*?)</caption>", page(name), re.S)]
    places = [next((k for k, c in enumerate(captions) if c.startswith(start)), None) for start in order]
    known = [k for k in places if k is not None]
    assert len(known) >= 8
    assert known == sorted(known)
