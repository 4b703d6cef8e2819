"""Words that page and terminal share: the sizes of the room with their verdicts, margins by their own names."""

from __future__ import annotations

import datetime
import html
import re
import runpy
from dataclasses import replace
from functools import cache
from pathlib import Path

from fixplan.case import parse_case
from fixplan.kits import load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.types import Plan
from fixplan.report.html import render_html
from fixplan.report.text import render_text
from fixplan.report.views import FAILS_HERE, HELD_BEYOND, margins

SAMPLE: Plan = runpy.run_path(str(Path(__file__).parents[1] / "pages" / "sample_plan.py"))["SAMPLES"]["screw"]


def words(plan: Plan) -> tuple[str, str]:
    """The page and the terminal text as running words."""
    page = html.unescape(re.sub(r"<[^>]+>", " ", render_html(plan)))
    return tuple(
        " ".join(t.replace("\u00a0", " ").split()).replace(" ,", ",").replace(" .", ".")
        for t in (page, render_text(plan))
    )  # type: ignore[return-value]


def test_each_size_of_the_room_carries_its_verdict_and_a_fail_is_explained() -> None:
    assert SAMPLE.screw is not None
    items = ("IMC-TI-5x42", "IMC-TI-5x44", "IMC-TI-5x50")
    page, text = words(replace(SAMPLE, screw=replace(SAMPLE.screw, have_in_room=items)))
    assert "in 93 % none fails for at least one of 5.0 × 42 pass, 5.0 × 44 caution, 5.0 × 50 fail." in page
    for item, verdict in zip(items, ("pass", "caution", "fail")):
        assert re.search(rf"{item} 5.0 x \d\d \({verdict}\)", text)
    assert FAILS_HERE in page
    assert FAILS_HERE in text
    for shown in words(replace(SAMPLE, screw=replace(SAMPLE.screw, have_in_room=items[:2]))):
        assert FAILS_HERE not in shown
        assert "at least one of" in shown


@cache
def planned() -> Plan:
    table = {
        "case": {"side": "left"},
        "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
        "fracture": {"zone": 2},
    }
    return make_plan(parse_case(table, "test", quick=True), load_kits(), datetime.date(2026, 11, 25))


def test_a_thread_across_the_fracture_is_not_said_to_lie_past_it() -> None:
    plan = planned()
    assert plan.screw is not None
    seen = set()
    for c in plan.screw.candidates:
        [name] = [label for label, _ in margins(c) if label.startswith("thread")]
        assert (name == HELD_BEYOND) == (c.thread == "full-length")
        seen.add(name)
    assert len(seen) == 2
    whole = next(c for c in plan.screw.candidates if c.thread == "full-length")
    page, _ = words(replace(plan, screw=replace(plan.screw, first_choice=whole.item)))
    answer = page.partition("Margins in mm")[2][:400]
    assert HELD_BEYOND in answer
    assert "run-out margin" not in answer


def test_a_construct_that_would_bend_is_told_so_with_a_source_and_without_an_order() -> None:
    """The factor is that of an assumed moment, so the sentence names the moment and leaves the load to the surgeon."""
    plan = planned()
    assert plan.screw is not None
    c = next(c for c in plan.screw.candidates if c.item == plan.screw.first_choice)
    soft = tuple(replace(r, loose=replace(r.loose, yield_factor=0.8)) for r in c.response)
    for responses, wanted in ((soft, True), (c.response, False)):
        page, _ = words(replace(plan, screw=replace(plan.screw, candidates=(replace(c, response=responses),))))
        assert ("moment it would bend before union [PROJECT] ; the surgeon sets the load." in page) == wanted
        assert "Not for full load" not in page


def test_a_moment_of_which_only_a_band_is_assumed_prints_as_the_band() -> None:
    """Its ends are those of the load case, which the mechanics reads; no half-width stands as if it were a spread."""
    plan = planned()
    assert plan.screw is not None
    r = next(c for c in plan.screw.candidates if c.item == plan.screw.first_choice).response[0]
    band = f"{r.moment_lo_N_mm:g} to {r.moment_hi_N_mm:g} N·mm"
    for shown in words(plan):
        i = shown.lower().index(f"moment at the fracture, {r.activity} {r.moment_lo_N_mm:g}")
        assert band in shown[i : i + 80].replace("N.mm", "N·mm")
        assert "±" not in shown[i : i + 60]
