"""Published series of the fifth metatarsal as populations: DeSandis and others 2016 (DES16, 241 CT) and Ochenjele and
others 2015 (OCH15, 119 CT models), and what the papers say of screws in them (also ISE15, SCO15).

Shares are compared with what the series print, and with an integral that shares no code with the draws. Tolerances are
four standard errors of a share of n draws (2 sqrt(1/n) at most).
"""

from __future__ import annotations

from functools import cache
from statistics import NormalDist

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm

from fixplan.kits import load_kits
from fixplan.plan.population import DIAMETERS, Population, ShareRow, explanation, och15, population, share_rows

N = 5_000
FOUR_SE = 4 * 0.5 / N**0.5


@cache
def drawn(series: str) -> Population:
    return population(load_kits().im_screws[:1], N, 3, series=series)


@cache
def rows() -> dict[tuple[str, float], ShareRow]:
    return {(r.series, r.diameter_mm): r for r in share_rows(load_kits().im_screws, N, 3)}


@pytest.mark.parametrize(
    ("name", "low", "high", "half_digit"), [("length", 59.3, 83.5, 0.5), ("canal_ap", 2.2, 5.9, 0.1)]
)
def test_des16_holds_95_percent_between_the_printed_ends(name: str, low: float, high: float, half_digit: float) -> None:
    """DES16, abstract: 95 % of lengths 59.3-83.5 mm, of canal widths 2.2-5.9 mm."""
    found = drawn("DES16").values[name]
    assert np.quantile(found, 0.025) == pytest.approx(low, abs=4 * half_digit)
    assert np.quantile(found, 0.975) == pytest.approx(high, abs=4 * half_digit)
    assert np.mean((found > low) & (found < high)) == pytest.approx(0.95, abs=0.02)


def test_och15_canals_above_4_5_lie_between_the_shares_of_men_and_women() -> None:
    """OCH15: mean 5.0 mm; above 4.5 mm in 81 % of men and 74 % of women."""
    found = drawn("OCH15").values["canal_ap"]
    assert found.mean() == pytest.approx(5.0, abs=0.05)
    assert 0.74 < np.mean(found > 4.5) < 0.81


def test_des16_canals_above_4_5_are_a_third() -> None:
    """DES16 by its printed mean and standard deviation: 1 - Phi((4.5 - 4.1) / 0.9) = 0.328."""
    found = drawn("DES16").values["canal_ap"]
    assert np.mean(found > 4.5) == pytest.approx(0.328, abs=FOUR_SE)


@pytest.mark.parametrize("series", ["DES16", "OCH15"])
@pytest.mark.parametrize("diameter", DIAMETERS)
def test_share_of_wider_canals_is_the_integral(series: str, diameter: float) -> None:
    """The narrower of width and height: P(w min(1, q) >= d) over width w and ratio q = 1.29 +- 0.2, by quadrature."""
    w, q = (4.1, 0.9) if series == "DES16" else (5.0, 0.5 / NormalDist().inv_cdf((0.81 + 0.74) / 2)), (1.29, 0.2)
    share = quad(lambda x: norm.pdf(x, *w) * norm.sf(diameter / x, *q), diameter, w[0] + 8 * w[1])[0]
    assert rows()[series, diameter].uncut == pytest.approx(share, abs=FOUR_SE)


@pytest.mark.parametrize("series", ["DES16", "OCH15"])
@pytest.mark.parametrize("diameter", DIAMETERS)
def test_share_that_bites_and_is_not_widened_is_the_integral(series: str, diameter: float) -> None:
    """2 x 0.25 mm of bite and at most 2 mm of widening (planning thresholds): d - 2 <= canal <= d - 0.5."""
    w, q = (4.1, 0.9) if series == "DES16" else (5.0, 0.5 / NormalDist().inv_cdf((0.81 + 0.74) / 2)), (1.29, 0.2)

    def wider(c: float) -> float:
        return float(quad(lambda x: norm.pdf(x, *w) * norm.sf(c / x, *q), c, w[0] + 8 * w[1])[0])

    assert rows()[series, diameter].held == pytest.approx(wider(diameter - 2) - wider(diameter - 0.5), abs=FOUR_SE)


def test_what_the_papers_say_and_where_we_part() -> None:
    """DES16: most canals accommodate 4.0 or 4.5; OCH15: wider than 4.5 in most; ISE15: 5.5 suits the majority."""
    found = rows()
    assert found["DES16", 4.0].uncut == pytest.approx(0.5, abs=0.05)  # "most", at the very edge
    assert found["DES16", 4.5].uncut < 0.5 < found["OCH15", 4.5].uncut  # the two series disagree about 4.5
    stocked = found["OCH15", 5.5].stocked
    assert stocked is not None
    # ISE15 says the majority; a canal as wide as the mean of OCH15 (5.0 mm) is the widest that 5.5 mm bites: about half
    assert stocked == pytest.approx(0.5, abs=0.1)
    for row in found.values():
        assert row.walled <= row.held
    for series in ("DES16", "OCH15"):
        # room for the screw falls with the diameter, hold rises with it until the canal would be widened too far
        assert np.all(np.diff([found[series, d].uncut for d in DIAMETERS]) < 0)
        assert found[series, 4.0].held < found[series, 5.0].held
    assert "OCH15" in explanation()
    assert "DES16" in explanation()


def test_the_borrowed_spread_gives_back_the_printed_share() -> None:
    one = och15()
    assert NormalDist(one.canal, one.canal_sd).cdf(4.5) == pytest.approx(1 - (0.81 + 0.74) / 2, abs=1e-9)


def test_a_population_is_the_same_for_the_same_seed() -> None:
    screws = load_kits().im_screws[:5]
    a, b, c = (population(screws, 200, seed) for seed in (1, 1, 2))
    assert np.array_equal(a.acceptable, b.acceptable)
    assert np.array_equal(a.choice, b.choice)
    assert not np.array_equal(a.values["canal_ap"], c.values["canal_ap"])
    assert a.acceptable.shape == (200, 5)
