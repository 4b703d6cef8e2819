"""The validation page's rows: what is there, that a wrong number shows as one, and that the page tells the misses."""

from __future__ import annotations

import dataclasses
import html
import math
import re
from collections import Counter

import pytest
from typer.testing import CliRunner

from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.cli import app
from fixplan.report.validation_html import figures, render_validation
from fixplan.sources import all_sources
from fixplan.validation import bench, collect
from fixplan.validation.rows import Check, Example, check
from fixplan.validation.solids import solid_checks


@pytest.fixture(scope="module")
def found():
    return collect.validation()


def test_at_least_twenty_printed_examples_over_every_topic(found):
    """Issue list: joint separation, Goodman, Gerber, Basquin, Miner, pull-out, torsion, composite beams."""
    rows = [c for g in found.groups if g.chapter == collect.BOOKS for c in g.checks]
    printed = [c for c in rows if c.known != "worked by hand"]
    assert len(printed) >= 20
    words = " ".join(f"{c.group} {c.what}" for c in rows)
    for topic in (
        "separation",
        "Goodman",
        "Gerber",
        "Basquin",
        "Miner",
        "pull-out",
        "Thin tube",
        "ellipse",
        "Composite",
    ):
        assert topic in words


def test_twelve_sections_and_twelve_beams_from_libraries(found):
    rows = [c for g in found.groups if g.chapter == collect.LIBRARIES for c in g.checks]
    sections = {c.what.rpartition(",")[0] for c in rows if "section mesher" in c.group}
    assert len(sections) >= 12
    for kind in ("annulus", "hollow ellipse", "screw", "plate", "at 0 mm", "at 1 mm", "at 2 mm", "hole"):
        assert any(kind in s for s in sections), kind
    beams = [c for c in rows if "beams" in c.group or "frames" in c.group]
    assert len(beams) >= 12
    assert all("mesh error" in c.remark for c in rows if "section mesher" in c.group and "centroid" not in c.what)
    assert all(any(ch.isdigit() for ch in c.source) for c in rows)  # the version stands beside the name


def test_solids_show_the_held_out_cases_apart_and_the_plain_beam_beside_each(found):
    titles = [g.title for g in found.groups if g.chapter == collect.SOLIDS]
    for kind in ("bonded", "seat and thread", "bridge plate"):
        assert sum(kind in t and "left out of the fit" in t for t in titles) >= 1, kind
    rows = [c for g in found.groups if g.chapter == collect.SOLIDS and "tube" not in g.title for c in g.checks]
    assert all("without correction" in c.remark for c in rows)


def test_without_the_solids_file_the_page_says_so(tmp_path):
    (row,) = solid_checks(tmp_path / "none.csv")
    assert (row.verdict, row.word) == ("caution", "not shown")
    assert "not in this installation" in row.remark


def test_a_wrong_number_does_not_agree():
    right = check("g", Example("x", 2.0, 0.05, "mm", "GEOM", "", lambda: 2.05))
    wrong = check("g", Example("x", 2.0, 0.05, "mm", "GEOM", "", lambda: 2.06))
    assert (right.verdict, wrong.verdict) == ("pass", "fail")
    assert wrong.difference == pytest.approx(0.06)
    group = collect._group(0, "g", "c", "n", [right, wrong])
    assert (group.verdict, group.agree) == ("fail", 1)
    assert group.share == pytest.approx(1.2)


def test_an_answer_that_is_not_a_number_does_not_agree():
    assert check("g", Example("x", 2.0, 0.05, "mm", "GEOM", "", lambda: math.nan)).verdict == "fail"


def test_every_source_of_books_and_bench_tests_is_listed(found):
    known = all_sources()
    rows = [c.source for g in found.groups if g.chapter != collect.LIBRARIES for c in g.checks]
    assert {s for s in [*rows, *(b.source for b in found.bench)] if s not in known} == set()


def test_bench_tests_with_a_stiffness_have_a_bracket_or_a_reason(found):
    for row in found.bench:
        assert row.why
        if row.low is None:
            assert row.word in {"not comparable", "ratio only"}
        else:
            assert row.low <= row.high
    # published means: Husain 9 and 19, Willegger 24.2 and 24.7 N/mm
    assert sorted({b.published for b in found.bench if b.unit == "N/mm"}) == [9.0, 19.0, 24.2, 24.7]


def test_where_a_mean_falls_is_said_in_words():
    assert bench._inside(5.0, 4.0, 6.0) == ("caution", "inside the bracket")
    assert bench._inside(3.9, 4.0, 6.0) == ("fail", "below the bracket")
    assert bench._inside(6.1, 4.0, 6.0) == ("fail", "above the bracket")


def test_a_thicker_screw_that_tests_did_not_find_stiffer_is_told_as_a_disagreement(found):
    row = next(b for b in found.bench if b.source == "KEL01")
    assert row.verdict == "fail"
    assert row.low > 1
    assert "over-predicted" in row.why


def test_the_page_holds_every_row_the_misses_and_the_cautions(found):
    bad = Check("g", "a row <of> ours", "GEOM", "", "read", "mm", 1.0, 2.0, 1.0, 0.1, "fail", "does not agree", "why")
    group = collect._group(0, "Geometry", collect.BOOKS, "n", [bad])
    page = render_validation(dataclasses.replace(found, groups=(group,), total=1, agree=0))
    assert "Rows that do not agree" in page
    assert "a row &lt;of&gt; ours" in page
    for text in (*CAUTIONS, CAUTION_SHORT):
        assert text in page.replace("&#39;", "'")
    whole = render_validation(found)
    assert whole == render_validation(found)
    assert whole.count("<tr>") >= found.total + len(found.bench)
    assert f"{found.agree} of {found.total}" in whole
    assert found.population.replace("'", "&#39;") in whole


def _body_rows(page: str, caption: str) -> list[list[str]]:
    """Cells of one table, read from the page's text."""
    table = page.split(f"<caption>{caption}</caption>")[1].split("<tbody>")[1].split("</tbody>")[0]
    cells = [re.findall(r"<td[^>]*>(.*?)</td>", row) for row in table.split("<tr>")[1:]]
    return [[re.sub(r"<[^>]+>", "", cell).strip() for cell in row] for row in cells]


def test_one_count_per_verdict_word_that_the_rows_bear(found):
    """The summary and the printed line give what a reader counts in the table's own column."""
    page = render_validation(found)
    words = Counter(row[0] for row in _body_rows(page, "Published mean beside the bracket"))
    summary = page.split('<ul class="words">')[1].split("</ul>")[0]
    said = [re.sub(r"<[^>]+>", "", s).strip().rsplit(": ", 1) for s in re.findall(r"<li>(.*?)</li>", summary, re.S)]
    assert {word: int(n) for word, n in said} == dict(words)
    assert sum(w.rows for w in found.words) == len(found.bench)


def test_one_key_per_paper(found):
    page = render_validation(found)
    second = {s.id for s in all_sources().values() if s.same_as}
    assert {k for k in second if f"[{k}]" in page} == set()


def test_a_ratio_of_failure_loads_is_not_held_against_one_of_stiffness(found):
    """SHA01: 335.2 against 332.4 N at initial failure."""
    row = next(b for b in found.bench if b.source == "SHA01")
    assert (row.verdict, row.word, row.low, row.high) == ("caution", "not comparable", None, None)
    assert row.published == pytest.approx(335.2 / 332.4)


def test_populations_stand_beside_what_the_papers_say(found):
    """DES16: most canals accommodate 4.0 or 4.5 mm; OCH15: above 4.5 mm in 81 % of men and 74 % of women."""
    page = render_validation(found)
    rows = _body_rows(page, "Share of bones that take each diameter")
    sizes = ("4.0", "4.5", "5.0", "5.5")
    assert [(r[0], r[1]) for r in rows] == [(f"[{s}]", d) for s in ("DES16", "OCH15") for d in sizes]
    assert all(re.fullmatch(r"\d+ %", cell) for r in rows for cell in r[2:6])
    said = {(r[0], r[1]): r[6] for r in rows}
    assert "4.0 or 4.5 mm" in said["[DES16]", "4.0"]
    assert "81 % of men, 74 % of women" in said["[OCH15]", "4.5"]
    listed = page.split('id="sources-title"')[1]
    assert all(f"[{key}]" in listed for key in ("DES16", "OCH15", "ISE15", "SCO15"))


def test_numbers_keep_their_sign_and_size():
    assert figures(-1310.0) == "\u22121310"
    assert figures(None) == "–"
    assert figures(7822658.6) == "7.82266 × 10⁶"


def test_the_command_writes_one_page(tmp_path):
    done = CliRunner().invoke(app, ["validate", "--out", str(tmp_path / "reports")])
    assert done.exit_code == 0, done.output
    assert [p.name for p in (tmp_path / "reports").iterdir()] == ["validation.html"]
    assert "numeric comparisons agree" in done.output
    page = (tmp_path / "reports" / "validation.html").read_text(encoding="utf-8")
    for word, n in Counter(r[0] for r in _body_rows(page, "Published mean beside the bracket")).items():
        assert f"{html.unescape(word)}: {n}" in done.output
