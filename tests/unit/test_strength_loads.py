"""The table of loads: every row with origin, band in order, and the words where data are thin."""

import math

import numpy as np
import pytest

from fixplan.mechanics import loads
from fixplan.mechanics.loads import (
    LOADS,
    STEPS_PER_DAY,
    LoadRow,
    body_weight,
    cycles_per_foot,
    design_moment,
    force_band,
    lever_moment,
    load_rows,
    moment_from_strain,
)
from fixplan.mechanics.published import Published
from fixplan.sources import source


@pytest.mark.parametrize("row", LOADS, ids=lambda r: f"{r.activity}-{r.quantity}-{r.ray}-{r.source}")
def test_every_row_has_an_origin_and_an_ordered_band(row):
    assert source(row.source).text
    assert row.grade in {"F", "M-h", "M-m", "assumed"}
    assert (row.lo is None) == (row.hi is None)
    if row.lo is not None and row.hi is not None:
        assert row.lo < row.mid < row.hi
    if row.source == "PROJECT":
        assert row.grade == "assumed"


def test_rows_of_the_paper_on_athletes_with_a_healed_base():
    """HUNT20: 12 +/- 1.2 % of body weight in 8 healthy, 15 +/- 1.2 % in 8 athletes with a healed fracture."""
    rows = load_rows(quantity="force under the base", ray=5)
    assert [(r.lo, r.mid, r.hi) for r in rows] == [(0.108, 0.12, 0.132), (0.138, 0.15, 0.162)]


def test_rows_of_the_paper_on_forces_under_the_heads():
    """IJO21 table 2: 75 +/- 28, 89 +/- 26, 102 +/- 25, 83 +/- 22, 37 +/- 12 N."""
    rows = load_rows("walking", "force under the head")
    assert [r.mid for r in rows] == [75, 89, 102, 83, 37]
    assert [r.hi - r.mid for r in rows] == [28, 26, 25, 22, 12]
    assert [r.mid - r.lo for r in rows] == [28, 26, 25, 22, 12]
    assert [r.ray for r in rows] == [1, 2, 3, 4, 5]


def test_strain_of_the_second_ray_in_vivo():
    """ARNDT02: -1534 +/- 636 microstrain."""
    row = load_rows("walking", "strain, dorsal", 2)[0]
    assert (row.lo, row.mid, row.hi) == pytest.approx((-2170e-6, -1534e-6, -898e-6))


def test_rows_without_a_spread_as_printed():
    """GROSS89 (from memory) 341 N; DS99 -1897 and -908 microstrain; ALM16 1.9 and 3.0, MCB91 0.8, CARAV09 1.5 BW."""
    rows = [(r.source, r.ray, r.mid) for r in LOADS if r.lo is None]
    assert rows == [
        ("GROSS89", 2, 341.0),
        ("DS99", 2, pytest.approx(-1897e-6)),
        ("DS99", 5, pytest.approx(-908e-6)),
        ("ALM16", 1, 1.9),
        ("MCB91", 1, 0.8),
        ("ALM16", 1, 3.0),
        ("CARAV09", None, 1.5),
    ]


def test_rows_of_the_kick_and_of_the_ground_reaction():
    """THOMSON18: 0.2 +/- 0.06 and 0.1 +/- 0.05 BW; ground reaction (from memory) 1.1-1.2, 2-3 and 2-4 BW."""
    kick = [(r.lo, r.mid, r.hi) for r in load_rows("kicking")]
    assert kick == [(0.14, 0.20, 0.26), (0.05, 0.10, 0.15)]
    ground = {r.activity: (r.lo, r.mid, r.hi) for r in load_rows(quantity="vertical ground reaction")}
    assert ground == {"walking": (1.1, 1.15, 1.2), "running": (2.0, 2.5, 3.0), "cutting": (2.0, 3.0, 4.0)}


def test_selection():
    assert load_rows() == LOADS
    assert load_rows("swimming") == ()
    assert {r.activity for r in load_rows(activity="running")} == {"running"}
    assert {r.ray for r in load_rows(ray=5)} == {5}


@pytest.mark.parametrize(
    ("activity", "low", "high"),
    [("protected", 300, 500), ("walking", 800, 1500), ("running", 2000, 3000), ("cutting", 3000, 4500)],
)
def test_design_moments_are_assumed_ranges(activity, low, high):
    row = design_moment(activity)
    assert (row.lo, row.hi, row.mid) == (low, high, (low + high) / 2)
    assert (row.unit, row.grade, row.source, row.ray) == ("N*mm", "assumed", "PROJECT", 5)


def test_an_unknown_activity_is_refused_with_the_known_ones():
    with pytest.raises(ValueError, match="activity must be one of protected, walking, running, cutting; or give"):
        design_moment("dancing")


def test_force_of_a_share_of_body_weight():
    """75 kg weigh 735.5 N; 12 % are 88.3 N."""
    row = load_rows(quantity="force under the base")[0]
    np.testing.assert_allclose(force_band(row, 75.0), np.array([0.108, 0.12, 0.132]) * 75 * 9.80665)
    assert force_band(row, [60.0, 75.0]).shape == (2, 3)


def test_a_force_in_newton_is_not_scaled_with_body_mass():
    row = load_rows("walking", "force under the head", 5)[0]
    np.testing.assert_array_equal(force_band(row, [60.0, 90.0]), [[25, 37, 49], [25, 37, 49]])


def test_without_a_printed_spread_the_band_has_no_width():
    row = load_rows("running", "force under the head", 2)[0]
    np.testing.assert_array_equal(force_band(row, 70.0), [341.0, 341.0, 341.0])


def test_a_moment_or_a_strain_is_not_a_force():
    with pytest.raises(ValueError, match="unit must be BW or N; 'design moment' is not a force"):
        force_band(design_moment("walking"), 70.0)
    with pytest.raises(ValueError, match="mass must be finite and > 0"):
        force_band(LOADS[0], 0.0)


def test_thin_data_are_said_to_be_thin():
    assert "thin" in loads.THIN
    assert "assumed" in loads.THIN


def test_steps_of_a_day():
    """TL04 (from memory): below 5000 sedentary, to 7499 low active, to 9999 somewhat active, from 10 000 active."""
    assert [(b.lo, b.hi) for b in STEPS_PER_DAY] == [(None, 5000), (5000, 7500), (7500, 10000), (10000, None)]
    assert {b.source for b in STEPS_PER_DAY} == {"TL04"}


def test_cycles_of_a_year():
    """10 000 steps a day load each foot 5000 times a day, 1.83 million times a year."""
    assert cycles_per_foot(10000.0) == 5000.0
    assert cycles_per_foot(10000.0) * 365.25 == pytest.approx(1.83e6, abs=0.005e6)


def test_plain_mechanics():
    assert body_weight(1.0) == 9.80665
    assert body_weight(10.0, 9.0) == 90.0
    assert lever_moment(-100.0, 35.0) == -3500.0
    assert moment_from_strain(-1e-3, 17000.0, 50.0) == pytest.approx(-850.0)


@pytest.mark.parametrize(
    ("grade", "flag"), [("F", False), ("F2", False), ("M-h", False), ("M-m", True), ("assumed", True)]
)
def test_which_grades_are_shown_with_a_flag(grade, flag):
    assert Published("x", 1.0, None, None, "1", "PROJECT", grade).unverified is flag


def test_rows_are_frozen():
    with pytest.raises(AttributeError):
        LOADS[0].mid = 1.0  # type: ignore[misc]
    assert isinstance(LOADS[0], LoadRow)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: body_weight(0.0), "mass must be finite and > 0"),
        (lambda: body_weight(70.0, 0.0), "gravity must be finite and > 0"),
        (lambda: lever_moment(math.nan, 1.0), "force must be finite"),
        (lambda: lever_moment(1.0, -1.0), "lever must be finite and >= 0"),
        (lambda: moment_from_strain(math.inf, 1.0, 1.0), "strain must be finite"),
        (lambda: moment_from_strain(1.0, 0.0, 1.0), "modulus must be finite and > 0"),
        (lambda: moment_from_strain(1.0, 1.0, 0.0), "section must be finite and > 0"),
        (lambda: cycles_per_foot(-1.0), "steps must be finite and >= 0"),
    ],
)
def test_refusals(call, words):
    with pytest.raises(ValueError, match=words):
        call()
