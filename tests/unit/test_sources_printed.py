"""`fixplan specs` prints every number with its origin: the tables are walked here, not the code that prints them."""

import json
import tomllib
from importlib.resources import files

import numpy as np
import pytest
from typer.testing import CliRunner

from fixplan.cli import app
from fixplan.commands_defaults import rows, threshold_text
from fixplan.mechanics import correction_data
from fixplan.mechanics.loads import LOADS, STEPS_PER_DAY
from fixplan.plan.chances import drawn_moments
from fixplan.plan.draws import CHANCE_CRITERIA
from fixplan.sizing.choose import CRITERIA, MARGIN_TIE_MM
from fixplan.sources import all_sources, thresholds


def _printed(*args):
    done = CliRunner().invoke(app, ["specs", *args])
    assert done.exit_code == 0
    return done.output


@pytest.fixture(scope="module")
def lines():
    return _printed("--defaults").splitlines()


def _table(package, name):
    return tomllib.loads((files(package) / name).read_text(encoding="utf-8"))


def _line(lines, name, source, *values):
    """The one line of a name that holds these values and this source."""
    found = [
        line
        for line in lines
        if line.startswith(f"{name}") and f"[{source}; " in line and all(f" {v:.10g}" in line for v in values)
    ]
    assert found, f"{name} {values} [{source}] is printed by no line"
    return found[0]


def test_every_threshold_prints_value_spread_band_source_grade_and_further_sources():
    text = _printed("--thresholds")
    for t in thresholds().values():
        [line] = [row for row in text.splitlines() if row.startswith(f"{t.name} = ")]
        assert f"[{t.source}: " in line
        assert f"grade {t.grade}" in line
        for word, value in (("sd", t.sd or None), ("low", t.low), ("high", t.high)):
            assert (f", {word} " in line.split("[")[0]) == (value is not None), (t.name, word)
            if value is not None:
                assert f"{word} {value:.10g}" in line
        assert f"= {t.value:.10g}" in line
        for other in t.also:
            assert other in line


def test_a_band_of_one_end_and_no_spread_is_printed_as_that():
    t = thresholds()["seat_depth"]
    assert "sd 2.7 mm" in threshold_text(t)
    assert "low" not in threshold_text(t).split("[")[0]


def test_every_published_value_of_the_bone_is_printed(lines):
    for part, records in _table("fixplan.bone", "population.toml").items():
        if part in ("outer", "measure"):
            continue
        for name, row in records.items():
            for one in (row, *row.get("other", ())):
                values = [one[k] for k in ("value", "sd", "low", "high") if k in one]
                line = _line(lines, f"{part}.{name}", one["source"], *values)
                assert f"grade {one['grade']}" in line
                assert one["unit"] == "1" or f" {one['unit']}  [" in line


def test_every_outer_width_of_the_one_foot_is_printed(lines):
    outer = _table("fixplan.bone", "population.toml")["outer"]
    _line(lines, "outer, standard deviation", outer["sd_source"], outer["sd_fraction"])
    for ray in range(1, 6):
        for plane in ("ap", "lateral"):
            _line(lines, f"outer.ray{ray}.{plane}", "ONEFOOT", *outer[f"ray{ray}"][plane])


def test_every_correction_coefficient_is_printed(lines):
    seen = 0
    for name, value in vars(correction_data).items():
        if name.isupper() and name != "RESIDUALS" and not isinstance(value, str):
            _line(lines, name, "SOLIDS", *(value if isinstance(value, tuple) else (value,)))
            seen += 1
    assert seen >= 8
    for r in correction_data.RESIDUALS:
        values = (r.cases, r.held_out, *r.plain, *r.corrected, *r.corrected_held_out)
        _line(lines, f"residual, {r.family}, {r.quantity}", "SOLIDS", *values)


def test_every_load_and_steps_band_is_printed(lines):
    for r in LOADS:
        values = [v for v in (r.mid, r.lo, r.hi) if v is not None]
        assert r.grade in _line(lines, f"{r.activity}, {r.quantity}", r.source, *values)
    for s in STEPS_PER_DAY:
        _line(lines, f"steps per day, {s.level}", s.source, *(v for v in (s.lo, s.hi) if v is not None))


def test_every_bound_of_the_case_file_is_printed(lines):
    table = _table("fixplan.case", "fields.toml")
    for key, row in table["fields"].items():
        for end in ("low", "high"):
            if end in row:
                line = _line(lines, f"{key}: ", row["source"])
                value = row[end]
                assert f"{end} {value if isinstance(value, str) else f'{value:.10g}'}" in line
    for name, row in table["limits"].items():
        _line(lines, f"{name}: ", row["source"], row["value"])


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("service level", 0.95),
        ("draws of a plan", 10_000),
        ("draws behind a band", 2000),
        ("patients drawn for a shelf", 2000),
        ("tie of length margins", 0.1),
        ("tie of chances", 2),
    ],
)
def test_rules_of_the_choice_and_numbers_of_draws_are_printed(lines, name, value):
    _line(lines, name, "PROJECT", value)


@pytest.mark.parametrize(
    ("name", "source", "value"),
    [
        # the convention of 5 %; level, slope, curvature and end of the straight are four unknowns of a plane
        ("level of the bow", "COMMON, DAVIES87", 0.95),
        ("least stations", "PROJECT", 5),
        ("straight ends tried", "PROJECT, GOLUB73", 241),
    ],
)
def test_what_decides_whether_a_bow_is_seen_is_printed(lines, name, source, value):
    _line(lines, name, source, value)


def test_the_json_holds_the_same_rows_and_every_source_is_known():
    data = json.loads(_printed("--defaults", "--format", "json"))
    assert [d["name"] for d in data["defaults"]] == [r.name for r in rows()]
    assert data["cautions"]
    for d in data["defaults"]:
        assert d["numbers"], d["name"]
        assert d["grade"], d["name"]
        assert set(d["source"].split(", ")) <= set(all_sources()), d["name"]


def test_the_ties_stand_in_the_criteria_that_a_plan_prints():
    for criteria in (CRITERIA, CHANCE_CRITERIA):
        words = {name: text for name, text, _ in criteria}
        assert f"{MARGIN_TIE_MM:g} mm counts as a tie" in words["margin"]
    words = {name: text for name, text, _ in CHANCE_CRITERIA}
    for name in ("chance", "passes"):
        assert "two standard errors count as a tie" in words[name]


def test_the_drawn_moment_follows_the_seed_and_repeats():
    one, again, other = (drawn_moments(300.0, 500.0, 400, seed) for seed in (4, 4, 5))
    assert np.array_equal(one, again)
    assert not np.any(one == other)
    # spread evenly over the band: mean 400, standard error 200 / sqrt(12 n)
    assert abs(one.mean() - 400.0) < 4 * 200 / np.sqrt(12 * 400)
    assert one.min() >= 300.0
    assert one.max() <= 500.0
    # fewer draws are the first of more: the stream does not hang on their number
    assert np.array_equal(one[:50], drawn_moments(300.0, 500.0, 50, 4))
