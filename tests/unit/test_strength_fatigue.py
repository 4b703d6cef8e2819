"""Fatigue: the line, mean stress, notch, life bands and activity mixes."""

import math

import numpy as np
import pytest

from fixplan.mechanics import life
from fixplan.mechanics.fatigue import (
    basquin_coefficient,
    basquin_exponent,
    block_damage,
    cycles_to_failure,
    fatigue_strength,
    notch_factor,
)
from fixplan.mechanics.life import BasquinLine, design_line, life_band, line_through, miner_mix
from fixplan.mechanics.mean_stress import (
    elliptic_factor,
    first_cycle_factor,
    gerber_factor,
    goodman_factor,
    reversed_amplitude,
    soderberg_factor,
)

CRITERIA = [goodman_factor, soderberg_factor, gerber_factor, elliptic_factor]


def test_the_line_passes_through_its_two_points():
    """SHIG9 sec. 6-8: f S_ut at 10^3 and S_e at 10^6 cycles."""
    a, b = basquin_coefficient(0.9, 860.0, 450.0), basquin_exponent(0.9, 860.0, 450.0)
    assert fatigue_strength(1e3, a, b) == pytest.approx(0.9 * 860)
    assert fatigue_strength(1e6, a, b) == pytest.approx(450.0)
    assert cycles_to_failure(450.0, a, b) == pytest.approx(1e6)


def test_a_line_through_any_two_points_is_the_same_line_at_those_lives():
    line = line_through(0.9 * 860, 1e3, 450.0, 1e6)
    assert line.coefficient == pytest.approx(basquin_coefficient(0.9, 860.0, 450.0))
    assert line.exponent == pytest.approx(basquin_exponent(0.9, 860.0, 450.0))
    assert (line.life_lo, line.life_hi) == (1e3, 1e6)


@pytest.mark.parametrize("factor", CRITERIA)
def test_ends_of_every_criterion(factor):
    """Without mean the factor is S_e / sigma_a, without amplitude strength / mean, without stress infinite."""
    assert factor(100.0, 0.0, 300.0, 800.0) == pytest.approx(3.0)
    assert factor(0.0, 200.0, 300.0, 800.0) == pytest.approx(4.0)
    assert factor(0.0, 0.0, 300.0, 800.0) == math.inf


def test_a_point_worked_by_hand():
    """sigma_a 100, sigma_m 200, S_e 200, strength 400: sums of 1/2 and 1/2.

    Goodman and Soderberg 1; elliptic sqrt(2); Gerber: n/2 + n^2/4 = 1, n = sqrt(5) - 1.
    """
    args = (100.0, 200.0, 200.0, 400.0)
    assert goodman_factor(*args) == pytest.approx(1.0)
    assert soderberg_factor(*args) == pytest.approx(1.0)
    assert elliptic_factor(*args) == pytest.approx(math.sqrt(2))
    assert gerber_factor(*args) == pytest.approx(math.sqrt(5) - 1)


def test_gerber_is_the_root_of_its_printed_table_form():
    """SHIG9 table 6-7: n = 1/2 (S_ut/sm)^2 (sa/S_e) [-1 + sqrt(1 + (2 sm S_e / (S_ut sa))^2)]."""
    sa, sm, se, su = 70.0, 110.0, 180.0, 560.0
    table = 0.5 * (su / sm) ** 2 * (sa / se) * (-1 + math.sqrt(1 + (2 * sm * se / (su * sa)) ** 2))
    assert gerber_factor(sa, sm, se, su) == pytest.approx(table)


def test_first_cycle():
    assert first_cycle_factor(100.0, 300.0, 800.0) == 2.0
    assert first_cycle_factor(0.0, 0.0, 800.0) == math.inf


def test_reversed_amplitude_of_equal_damage():
    """Half the tensile strength as mean doubles the amplitude; no mean leaves it."""
    assert reversed_amplitude(100.0, 400.0, 800.0) == 200.0
    assert reversed_amplitude(100.0, 0.0, 800.0) == 100.0


def test_notch_factor_ends():
    assert notch_factor(0.0, 3.0) == 1.0
    assert notch_factor(1.0, 3.0) == 3.0
    assert notch_factor(0.5, 1.0) == 1.0


def test_block_damage():
    assert block_damage(250.0, 1000.0) == 0.25
    assert block_damage(0.0, 1000.0) == 0.0


def test_the_design_line_is_that_of_the_book_with_its_fraction():
    """SHIG9 eq. 6-14 and 6-15 with f = 0.9."""
    line = design_line([300.0, 450.0], 860.0)
    np.testing.assert_allclose(line.coefficient, basquin_coefficient(0.9, 860.0, np.array([300.0, 450.0])))
    np.testing.assert_allclose(line.exponent, basquin_exponent(0.9, 860.0, np.array([300.0, 450.0])))
    assert (line.life_lo, line.life_hi) == (1e3, 1e6)
    with pytest.raises(ValueError, match="strength_hi must be < strength_lo"):
        design_line(774.0, 860.0)


LINE = BasquinLine(np.asarray(1000.0), np.asarray(-0.1), 1e3, 1e6)


def test_life_band_by_hand():
    """S = 1000 N^-0.1: 500 MPa fails at 2^10 cycles, 250 MPa at 4^10, 125 MPa at 8^10 (beyond the line)."""
    band = life_band([250.0, 125.0, 62.5], 0.0, 2.0, 900.0, LINE, [6000.0, 4000.0, 2000.0])
    np.testing.assert_allclose(band.amplitude, [500.0, 250.0, 125.0])
    np.testing.assert_allclose(band.cycles, [2.0**10, 4.0**10, 8.0**10])
    np.testing.assert_array_equal(band.outside_line, [False, True, True])
    np.testing.assert_array_equal(band.cycles_per_day, [6000.0, 4000.0, 2000.0])
    assert "not weeks" in band.statement


def test_life_band_takes_the_mean_and_a_band_of_notch_factors():
    """Mean of half S_ut doubles, K_f 2.5, 2, 1 on 100 MPa: 500, 400, 200 MPa."""
    band = life_band([100.0, 100.0, 100.0], 450.0, [2.5, 2.0, 1.0], 900.0, LINE, [1.0, 1.0, 1.0])
    np.testing.assert_allclose(band.amplitude, [500.0, 400.0, 200.0])


def test_outside_the_line_is_told_at_both_ends_and_not_on_them():
    strength = [float(fatigue_strength(n, 1000.0, -0.1)) for n in (0.99e3, 1e3, 1e6)]
    np.testing.assert_array_equal(
        life_band(strength, 0.0, 1.0, 900.0, LINE, [1.0, 1.0, 1.0]).outside_line, [True, False, False]
    )


def test_life_band_of_many_sizes_at_once():
    amplitude = np.array([[300.0, 200.0, 100.0], [30.0, 20.0, 10.0]])
    band = life_band(amplitude, 0.0, 1.0, 900.0, LINE, [1.0, 1.0, 1.0])
    np.testing.assert_allclose(band.cycles[1] / band.cycles[0], 10.0**10)


def test_miner_mix_by_hand():
    """Lives 2^10 and 4^10: a quarter and a half used; the mix fails after 4/3 rounds; shares 1/3 and 2/3."""
    mix = miner_mix([500.0, 250.0], [2.0**8, 4.0**10 / 2], LINE)
    np.testing.assert_allclose(mix.life, [2.0**10, 4.0**10])
    np.testing.assert_allclose(mix.damage, [0.25, 0.5])
    np.testing.assert_allclose(mix.share, [1 / 3, 2 / 3])
    assert mix.total == pytest.approx(0.75)
    assert mix.rounds_to_one == pytest.approx(4 / 3)
    assert mix.statement == life.STATEMENT


def test_miner_mix_over_sizes_with_a_line_each():
    lines = BasquinLine(np.array([1000.0, 2000.0]), np.array([-0.1, -0.1]), 1e3, 1e6)
    mix = miner_mix([[500.0, 250.0], [1000.0, 500.0]], [1.0, 0.0], lines)
    np.testing.assert_allclose(mix.total, 2.0**-10)
    np.testing.assert_allclose(mix.share, [[1.0, 0.0], [1.0, 0.0]])


def test_assumed_numbers_say_so():
    assert {k: row.mid for k, row in life.DESIGN_AMPLITUDES.items()} == {
        "316L-cold-worked": 300.0,
        "316L-annealed": 180.0,
        "Ti-6Al-4V-ELI": 450.0,
        "Ti-6Al-7Nb": 400.0,
        "cp-Ti-4": 200.0,
    }
    assert {row.grade for row in life.DESIGN_AMPLITUDES.values()} == {"assumed"}
    assert {row.source for row in life.DESIGN_AMPLITUDES.values()} == {"PROJECT"}
    assert all(row.unverified for row in life.DESIGN_AMPLITUDES.values())
    assert not life.STRENGTH_FRACTION.unverified


def test_assumed_amplitudes_are_cautious_against_published_strengths():
    """OKA02: Ti-6Al-7Nb about 600 MPa at 10^8; SILVA17: Ti-6Al-4V ELI 594 to 850 MPa; OKA02: 316L about half its UTS.

    316L cold worked: half of the least UTS of 860 MPa; annealed: half of 485 MPa (F139-92).
    """
    published = {"Ti-6Al-7Nb": 600.0, "Ti-6Al-4V-ELI": 594.0, "316L-cold-worked": 430.0, "316L-annealed": 242.5}
    for key, strength in published.items():
        assert life.DESIGN_AMPLITUDES[key].mid < strength


def test_thread_notch_factors_of_the_book():
    """SHIG9 table 8-16 (from memory): rolled 2.2 and 3.0, cut 2.8 and 3.8, fillet 2.1 and 2.3."""
    rows = life.THREAD_NOTCH_FACTORS
    assert [(rows[k].lo, rows[k].hi) for k in ("rolled thread", "cut thread", "fillet")] == [
        (2.2, 3.0), (2.8, 3.8), (2.1, 2.3),
    ]  # fmt: skip
    assert all(row.mid == row.lo for row in rows.values())
    assert (life.SHORT_LIFE.mid, life.REFERENCE_LIFE.mid, life.STRENGTH_FRACTION.mid) == (1e3, 1e6, 0.9)


ONES = [1.0, 1.0, 1.0]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: basquin_coefficient(0.0, 800.0, 300.0), "fraction must be finite and > 0"),
        (lambda: basquin_coefficient(1.01, 800.0, 300.0), "fraction must be <= 1; it is a fraction"),
        (lambda: basquin_coefficient(0.9, -800.0, 300.0), "ultimate must be finite and > 0"),
        (lambda: basquin_exponent(0.9, 800.0, 0.0), "endurance must be finite and > 0"),
        (lambda: basquin_exponent(0.9, 800.0, 720.0), r"endurance must be < f \* S_ut; the line must fall"),
        (lambda: fatigue_strength(0.0, 800.0, -0.1), "cycles must be finite and > 0"),
        (lambda: fatigue_strength(10.0, 0.0, -0.1), "coefficient must be finite and > 0"),
        (lambda: cycles_to_failure(0.0, 800.0, -0.1), "amplitude must be finite and > 0; at no amplitude"),
        (lambda: cycles_to_failure(10.0, -8.0, -0.1), "coefficient must be finite and > 0"),
        (lambda: notch_factor(-0.1, 2.0), "sensitivity must be finite and >= 0"),
        (lambda: notch_factor(1.1, 2.0), "sensitivity must be <= 1; q runs from 0"),
        (lambda: notch_factor(0.5, 0.9), "1 must be <= concentration; a notch cannot lower"),
        (lambda: block_damage(-1.0, 10.0), "cycles must be finite and >= 0"),
        (lambda: block_damage(1.0, 0.0), "life must be finite and > 0"),
        (lambda: first_cycle_factor(1.0, 1.0, 0.0), "strength must be finite and > 0"),
        (lambda: first_cycle_factor(-1.0, 1.0, 5.0), "amplitude must be finite and >= 0; give the magnitude"),
        (lambda: reversed_amplitude(1.0, 5.0, 5.0), "mean must be < strength; a mean at the tensile strength"),
        (lambda: reversed_amplitude(1.0, -5.0, 5.0), "mean must be finite and >= 0; a compressive mean earns nothing"),
        (lambda: reversed_amplitude(1.0, 1.0, -5.0), "strength must be finite and > 0"),
        (lambda: line_through(300.0, 1e3, 300.0, 1e6), "strength_hi must be < strength_lo; the line must fall"),
        (lambda: line_through(300.0, 1e3, 0.0, 1e6), "strength_hi must be finite and > 0"),
        (lambda: line_through(300.0, 1e6, 200.0, 1e6), "life_lo must be < life_hi; give the shorter life first"),
        (lambda: line_through(300.0, 0.0, 200.0, 1e6), "life_lo must be finite and > 0"),
        (lambda: life_band(100.0, 0.0, 1.0, 900.0, LINE, ONES), r"amplitude has shape \(\): the last axis must be 3"),
        (lambda: life_band([1.0, 1.0], 0.0, 1.0, 900.0, LINE, ONES), r"amplitude has shape \(2,\): the last axis"),
        (lambda: life_band(ONES, 0.0, 1.0, 900.0, LINE, [1.0]), r"cycles_per_day has shape \(1,\)"),
        (lambda: life_band([1.0, 2.0, 1.0], 0.0, 1.0, 900.0, LINE, ONES), "amplitude = 2: amplitude must not rise"),
        (lambda: life_band([2.0, 1.0, 1.5], 0.0, 1.0, 900.0, LINE, ONES), "amplitude = 1.5: amplitude must not rise"),
        (lambda: life_band([2.0, 1.0, 0.0], 0.0, 1.0, 900.0, LINE, ONES), "amplitude must be finite and > 0"),
        (lambda: life_band(ONES, 0.0, 1.0, 900.0, LINE, [1.0, 2.0, 3.0]), "cycles_per_day must not rise; worst first"),
        (lambda: life_band(ONES, 0.0, 1.0, 900.0, LINE, [1.0, 1.0, 0.0]), "cycles_per_day must be finite and > 0"),
        (lambda: life_band(ONES, 0.0, 0.9, 900.0, LINE, ONES), "1 must be <= notch; a notch factor is at least 1"),
        (lambda: miner_mix([1.0, 1.0], [0.0, 0.0], LINE), "cycles must not all be 0; give the mix"),
        (lambda: miner_mix([1.0, 1.0], [-1.0, 2.0], LINE), "cycles must be finite and >= 0"),
    ],
)
def test_refusals(call, words):
    with pytest.raises(ValueError, match=words):
        call()


@pytest.mark.parametrize("factor", CRITERIA)
@pytest.mark.parametrize(
    ("args", "words"),
    [
        ((-1.0, 0.0, 3.0, 8.0), "amplitude must be finite and >= 0; give the magnitude"),
        ((1.0, -1.0, 3.0, 8.0), "mean must be finite and >= 0; a compressive mean earns nothing: pass 0"),
        ((1.0, 0.0, 0.0, 8.0), "endurance must be finite and > 0"),
        ((1.0, 0.0, 3.0, 0.0), "strength must be finite and > 0"),
    ],
)
def test_every_criterion_refuses_alike(factor, args, words):
    with pytest.raises(ValueError, match=words):
        factor(*args)
