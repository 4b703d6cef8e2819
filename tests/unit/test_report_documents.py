"""The plan as HTML, JSON, CSV and terminal text: complete, escaped, the same each time, never without its cautions."""

from __future__ import annotations

import csv
import dataclasses
import io
import json
import os
import re
import runpy
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.report.html import render_html
from fixplan.report.jsonio import SCHEMA_FILE, plan_document, plan_schema, render_json, schema_text
from fixplan.report.style import content_policy, environment, stylesheet
from fixplan.report.tables import candidates_csv
from fixplan.report.text import render_text

SAMPLE_FILE = Path(__file__).parents[1] / "pages" / "sample_plan.py"
SAMPLE = runpy.run_path(str(SAMPLE_FILE))
SAMPLES = SAMPLE["SAMPLES"]
NAMES = sorted(SAMPLES)
HOSTILE = SAMPLE["HOSTILE_TEXT"]


@pytest.mark.parametrize("name", NAMES)
def test_every_caution_is_in_every_form(name: str) -> None:
    plan = SAMPLES[name]
    page = re.sub(r"\s+", " ", render_html(plan)).replace("&#39;", "'")
    text = re.sub(r"\s+", " ", render_text(plan))
    table, document = candidates_csv(plan), plan_document(plan)
    assert CAUTION_SHORT in page
    for caution in CAUTIONS:
        assert caution in page
        assert caution in text
        assert caution in table
    assert document["cautions"] == list(CAUTIONS)


@pytest.mark.parametrize("name", NAMES)
def test_the_json_fits_its_schema(name: str) -> None:
    jsonschema.validate(json.loads(render_json(SAMPLES[name])), json.loads(SCHEMA_FILE.read_text("utf-8")))


def test_the_schema_itself_is_sound_and_current() -> None:
    """The file is made from the declarations: `python -m fixplan.report.jsonio` writes it anew."""
    jsonschema.Draft202012Validator.check_schema(plan_schema())
    assert SCHEMA_FILE.read_text("utf-8") == schema_text(plan_schema())


@pytest.mark.parametrize(
    "path, value",
    [
        (("format",), "other/1"),
        (("fit_for_planning", "verdict"), "perhaps"),
        (("screw", "candidates", 0, "verdict"), "ok"),
        (("screw", "candidates", 0, "diameter_mm"), "5"),
        (("case", "side"), "up"),
        (("screw", "diameter_window_mm"), [1.0]),
        (("surprise",), 1),
    ],
)
def test_the_schema_refuses_what_a_plan_cannot_hold(path: tuple[Any, ...], value: object) -> None:
    document = json.loads(render_json(SAMPLES["both"]))
    part: Any = document
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(document, plan_schema())


def numbers(value: Any, path: str = "") -> Iterator[str]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from numbers(item, f"{path}/{key}")
    elif isinstance(value, list):
        for item in value:
            yield from numbers(item, f"{path}/*")
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path


@pytest.mark.parametrize("name", ["both", "empty", "outside"])
def test_no_number_in_the_json_lacks_its_origin(name: str) -> None:
    document = plan_document(SAMPLES[name])
    declared = document.pop("origins")
    patterns = [re.compile(re.escape(p).replace(r"\*", "[^/]+") + r"(/\*)?") for p in declared]
    found = set(numbers(document))
    assert len(found) > 10
    assert [p for p in sorted(found) if not any(pattern.fullmatch(p) for pattern in patterns)] == []
    assert all(d["unit"] and d["text"] and d["origin"] for d in declared.values())


def test_the_short_views_say_what_the_full_plan_says() -> None:
    full = plan_document(SAMPLES["both"])
    assert full["screw"]["diameter_window_mm"] == [4.9, 6.0]
    assert full["screw"]["length_window_mm"] == {"16 mm": [38.0, 43.0], "20 mm": [42.0, 43.0]}
    assert full["plate"]["span_window_mm"] == [30.0, 52.0]
    assert [g["name"] for g in full["assumed"]] == [g["name"] for g in full["given"] if g["origin"] == "assumed"]
    assert plan_document(SAMPLES["empty"])["screw"]["diameter_window_mm"] is None


@pytest.mark.parametrize("render", [render_html, render_json, render_text, candidates_csv])
def test_the_same_plan_gives_the_same_bytes_in_another_process(render: Any) -> None:
    """Run with another hash seed, so that no order of a set can show."""
    code = (
        f"import runpy, sys; from {render.__module__} import {render.__name__} as f; "
        f"plans = runpy.run_path({str(SAMPLE_FILE)!r})['SAMPLES']; "
        "sys.stdout.buffer.write(''.join(f(plans[n]) for n in sorted(plans)).encode('utf-8'))"
    )
    env = {**os.environ, "PYTHONHASHSEED": "4242"}
    other = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, env=env).stdout
    assert other == "".join(render(SAMPLES[n]) for n in NAMES).encode("utf-8")


@pytest.mark.parametrize("name", NAMES)
def test_the_terminal_summary_keeps_to_80_columns_and_acts_on_nothing(name: str) -> None:
    text = render_text(SAMPLES[name])
    assert max(len(line) for line in text.splitlines()) <= 80
    assert not set(text) & {"\x1b", "\u202e", "\r"}


def test_the_terminal_summary_opens_with_the_scope_and_gives_sizes() -> None:
    text = render_text(SAMPLES["both"])
    assert text.index("Usually a case for a construct?") < text.index("first choice")
    for wanted in (
        "5.0 x 42 mm",
        "one up",
        "one down",
        "6 holes, 42 mm",
        "11 to 46 N/mm (loose to bonded end)",
        "not a prediction",
    ):
        assert wanted in re.sub(r"\s+", " ", text)
    assert "\n  first choice " not in render_text(SAMPLES["empty"])
    assert "A plate avoids the canal." in re.sub(r"\s+", " ", render_text(SAMPLES["empty"]))


def test_a_terminal_escape_in_a_label_is_shown_not_sent() -> None:
    plan = dataclasses.replace(SAMPLES["screw"], case=dataclasses.replace(SAMPLES["screw"].case, label="x\x1b[2J"))
    assert "x[U+001B][2J" in render_text(plan)


def test_hostile_text_is_escaped_in_the_page() -> None:
    page = render_html(SAMPLES["hostile"])
    assert "<script" not in page
    assert HOSTILE not in page
    assert "&lt;script&gt;" in page
    assert "\u202e" not in page


def test_a_hostile_candidate_cannot_become_a_formula_in_the_csv() -> None:
    plan = SAMPLES["screw"]
    bad = dataclasses.replace(plan.screw.candidates[0], item='=HYPERLINK("http://x")', label="@SUM(1)", material="\t-1")
    screw = dataclasses.replace(plan.screw, candidates=(bad,))
    rows = list(csv.reader(io.StringIO(candidates_csv(dataclasses.replace(plan, screw=screw)))))
    row = dict(zip(rows[-2], rows[-1], strict=True))
    assert row["item"] == '\'=HYPERLINK("http://x")'
    assert row["label"] == "'@SUM(1)"
    assert row["material"].startswith("'")
    assert float(row["margin_tip_mm"]) == bad.margin_tip_mm


def test_every_candidate_is_one_row_of_the_csv() -> None:
    plan = SAMPLES["both"]
    rows = [r for r in csv.reader(io.StringIO(candidates_csv(plan))) if not r[0].startswith("#")]
    assert len(rows) == 1 + len(plan.screw.candidates) + len(plan.plate.candidates)
    assert {len(r) for r in rows} == {len(rows[0])}


def test_the_policy_names_the_hash_of_the_style_sheet_that_is_there() -> None:
    """The hash by OpenSSL's digest of the element's text, not by our own function."""
    page = render_html(SAMPLES["screw"])
    css = re.search(r"<style>(.*?)</style>", page, re.S)
    assert css is not None
    command = ["openssl", "dgst", "-sha256", "-binary"]
    digest = subprocess.run(command, input=css.group(1).encode(), capture_output=True, check=True).stdout
    coded = subprocess.run(["openssl", "base64", "-A"], input=digest, capture_output=True, check=True).stdout.decode()
    assert f"style-src &#39;sha256-{coded}&#39;" in page
    assert "script-src" not in content_policy(stylesheet())
    assert content_policy(stylesheet()).startswith("default-src 'none'")


def test_templates_escape_and_refuse_an_unknown_name() -> None:
    env = environment()
    assert env.from_string("{{ x }}").render(x="<b>") == "&lt;b&gt;"
    with pytest.raises(Exception, match="undefined"):
        env.from_string("{{ nothing }}").render()


def test_the_verdict_is_a_word_and_a_shape() -> None:
    page = render_html(SAMPLES["screw"])
    for word, shape in (("pass", "circle"), ("caution", "polygon"), ("fail", "line")):
        assert re.search(rf'<span class="verdict"><svg class="mark"[^>]*><{shape}[^§]*?</svg> {word}</span>', page)


def test_published_bench_tests_are_ticks_with_their_source() -> None:
    """Husain and DeFronzo 2002: 9 +- 6 and 19 +- 17 N/mm; Willegger et al. 2020: 24.2 +- 10.4 and 24.7 +- 5.5 N/mm."""
    page = render_html(SAMPLES["screw"])
    for printed in ("9.0 ± 6.0 N/mm", "19 ± 17 N/mm", "24 ± 10 N/mm", "25 ± 5.5 N/mm"):
        assert printed in page
    assert "[HUSAIN02]" in page
    assert "[WILL20]" in page


def test_a_plan_without_sizes_names_none() -> None:
    page = render_html(SAMPLES["outside"])
    assert "No sizes" in page
    assert "first choice" not in page
    assert "Screw windows" not in page
