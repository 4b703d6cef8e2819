"""Draws against what is known without them: first-order propagation, quadrature, closed forms, the law of 1/sqrt(N).

First-order propagation: JCGM 100:2008, 5.1.2. Draws of a normal reading: JCGM 101:2008, 6.4.7; of a band: 6.4.2.
Tolerances are four or five standard errors of the number of draws, unless said otherwise.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.stats import binom, chi2, norm

from fixplan.case import parse_case
from fixplan.kits import ImScrew, load_kits
from fixplan.plan.chances import chances
from fixplan.plan.changes import screw_changes
from fixplan.plan.draws import Drawn, best_by_chance, draw, influences, only, tally
from fixplan.plan.frame import bores, build
from fixplan.plan.resolve import Resolved, resolve
from fixplan.plan.screws import size

N = 20_000
THRESHOLDS = {"seat_depth": "8.1 ± 0.7 mm", "bite": "0.25 mm", "ream_max": "2 mm", "wall_min": "1 mm"}


def resolved(canal: str = "4.7 mm", seat: str = "8.1 mm", straight: str = "46 mm", **more: Any) -> Resolved:
    """A case of which everything is measured and true to size, so that only what is said to be uncertain is."""
    table = {
        "bone": {
            "ray": 5,
            "length": "72 ± 0 mm",
            "straight_segment": straight,
            "isthmus": {
                "at": "38 ± 0 mm",
                "canal_ap": canal,
                "canal_lateral": "9 ± 0 mm",
                "outer_ap": "14 ± 0 mm",
                "outer_lateral": "14 ± 0 mm",
            },
        },
        "imaging": {"source": "ct"},
        "fracture": {"zone": 2, "from_base": "22 ± 0 mm", "extent": "1 mm", "gap": "1 mm"},
        "plan": {"thresholds": {**THRESHOLDS, "seat_depth": seat, **more}},
    }
    found = resolve(parse_case(table, "test", quick=True))
    # a reading given without an uncertainty gets an assumed one: none here
    sure = {
        n: replace(p, sd=0.0, low=None, high=None) if "± 0 mm" in p.note or p.origin == "assumed" else p
        for n, p in found.parameters.items()
    }
    return replace(found, parameters={n: certain(p) for n, p in sure.items()})


def certain(p: Any) -> Any:
    return replace(p, sd=0.0) if "uncertainty not given" in p.note else p


def screw(diameter: float = 5.5, length: float = 40.0, thread: float = 16.0) -> ImScrew:
    kits = load_kits()
    return next(s for s in kits.im_screws if (s.d_major, s.length, s.thread_length) == (diameter, length, thread))


def test_a_linear_margin_spreads_as_first_order_propagation_says() -> None:
    """Tip margin = straight end - clearance - seat - length: linear, so u^2 = u_straight^2 + u_seat^2 exactly."""
    found = resolved(seat="8.1 ± 0.7 mm", straight="51 ± 1.2 mm")
    drawn = draw(found, N, 5)
    held = size(build(found, drawn.values), [screw()]).held["tip"].margin[:, 0]
    assert held.mean() == pytest.approx(51 - 1 - 8.1 - 40, abs=5 * np.hypot(0.7, 1.2) / np.sqrt(N))
    assert held.std() == pytest.approx(np.hypot(0.7, 1.2), rel=5 / np.sqrt(2 * N))


def test_the_chance_of_a_linear_margin_is_its_normal_tail() -> None:
    """P(margin >= 0) = Phi(mean / u): here Phi(1.9 / 1.389) = 0.914."""
    found = resolved(seat="8.1 ± 0.7 mm", straight="51 ± 1.2 mm", wall_min="0.5 mm")
    ta = tally(found, [screw()], draw(found, N, 5))
    p = norm.cdf(1.9 / np.hypot(0.7, 1.2))
    assert ta.no_fail[0] == pytest.approx(p, abs=5 * np.sqrt(p * (1 - p) / N))


def test_one_uncertain_width_agrees_with_quadrature() -> None:
    """One input: the chance is the integral of its density over the widths at which the size passes.

    The integral runs the plan's own rules on a fine grid of widths (rectangle rule); the closed form says where they
    pass: d - 2 <= canal <= d - 0.5 (widening 2 mm, bite 0.25 mm a side).
    """
    found = resolved(canal="4.7 ± 0.4 mm", straight="51 mm")
    ta = tally(found, [screw()], draw(found, N, 6))
    grid = 4.7 + 0.4 * np.linspace(-6, 6, 6001)
    passes = size(build(found, {"canal_ap": grid}), [screw()]).codes[:, 0] < 2
    integral = float(np.sum(passes * norm.pdf(grid, 4.7, 0.4)) * (grid[1] - grid[0]))
    closed = norm.cdf(5.0, 4.7, 0.4) - norm.cdf(3.5, 4.7, 0.4)
    assert integral == pytest.approx(closed, abs=1e-3)
    assert ta.no_fail[0] == pytest.approx(integral, abs=5 * 0.5 / np.sqrt(N))


def test_a_mean_response_agrees_with_gauss_hermite_quadrature() -> None:
    """A response that is not linear (corridor diameter squared): its mean by eight-point Gauss-Hermite quadrature."""
    found = resolved(canal="4.7 ± 0.4 mm", straight="51 mm")
    x, w = np.polynomial.hermite_e.hermegauss(8)

    def response(values: Any) -> Any:
        return bores(build(found, values), [[30.0]], [[45.0]]).corridor[:, 0] ** 2

    exact = float(np.sum(w * response({"canal_ap": 4.7 + 0.4 * x})) / np.sum(w))
    assert exact == pytest.approx(4.7**2 + 0.4**2)
    found_mean = response(draw(found, N, 7).values)
    assert found_mean.mean() == pytest.approx(exact, abs=5 * found_mean.std() / np.sqrt(N))


def test_standard_errors_shrink_as_one_over_root_n() -> None:
    """Variance of a share over 60 seeds times N / (p (1 - p)) is chi-square with 59 degrees of freedom over 59."""
    found = resolved(canal="4.7 ± 0.4 mm", straight="51 mm")
    p = norm.cdf(5.0, 4.7, 0.4) - norm.cdf(3.5, 4.7, 0.4)
    seeds = 60
    low, high = chi2.ppf((0.0005, 0.9995), seeds - 1) / (seeds - 1)
    for n in (60, 240, 960):
        shares = [tally(found, [screw()], draw(found, n, seed)).no_fail[0] for seed in range(seeds)]
        assert low < np.var(shares, ddof=1) * n / (p * (1 - p)) < high


def test_half_of_the_draws_on_either_side_of_a_limit() -> None:
    """A width read exactly at its limit passes in half of the draws: binomial, 99.99 %."""
    found = resolved(canal="5.0 ± 0.3 mm", straight="51 mm")
    ta = tally(found, [screw()], draw(found, N, 8))
    count = round(ta.no_fail[0] * N)
    assert binom.ppf(5e-5, N, 0.5) < count < binom.ppf(1 - 5e-5, N, 0.5)


def test_the_influence_of_a_lone_input_is_all_of_it_and_of_a_bystander_none() -> None:
    found = resolved(canal="4.0 ± 0.25 mm", straight="51 mm", seat="8.1 ± 0.05 mm")
    screws = [screw(d) for d in (5.0, 5.5, 6.0)]
    ta = tally(found, screws, draw(found, N, 9))
    rows = {i.name: i for i in influences(found, screws, ta)}
    assert rows["canal_ap"].share > 0.8  # what is left is the answer changing within a tenth of the spread
    assert rows["seat"].share < 0.01
    assert rows["canal_ap"].low_answer == "5.5 mm"
    assert rows["canal_ap"].high_answer == "6.0 mm"


def test_the_reading_says_what_to_measure_and_what_it_decides() -> None:
    found = resolved(canal="4.0 ± 0.25 mm", straight="51 mm")
    screws = [screw(d) for d in (5.0, 5.5, 6.0)]
    some = chances(found, size(build(found), screws), 5, 4000, 1)
    [first, *_] = some.summary.influences
    assert first.name == "canal_ap"
    assert first.text == (
        "Measure the canal width at the isthmus on the AP film again: "
        "it decides between 5.5 mm (low end of its spread) and 6.0 mm (high end)."
    )
    assert some.summary.bands_n == 2000
    assert some.summary.error == pytest.approx(2 * np.sqrt(0.25 / 4000))
    assert some.room_share >= 0.95
    alone = some.found.accept[:, list(some.room)].any(axis=1).mean()
    assert alone == pytest.approx(some.room_share)


def test_chances_agree_with_the_draws_one_by_one() -> None:
    """The vectorised tally is a loop over single plans: the same codes, draw by draw."""
    found = resolved(canal="4.9 ± 0.4 mm", straight="49 ± 2 mm", seat="8.1 ± 1 mm")
    screws = [screw(d, n) for d in (5.0, 5.5) for n in (36.0, 40.0)]
    drawn = draw(found, 60, 3)
    ta = tally(found, screws, drawn)
    for k in range(drawn.n):
        one = {name: v[k] for name, v in drawn.values.items()}
        codes = size(build(found, one), screws).codes
        assert np.array_equal(np.ravel(codes) < 2, ta.accept[k])


def test_the_first_choice_by_chance_breaks_ties_by_diameter() -> None:
    found = resolved(canal="4.4 ± 0.01 mm", straight="51 mm")
    screws = [screw(d) for d in (5.0, 5.5, 6.0)]
    sized = size(build(found), screws)
    ta = tally(found, screws, draw(found, 500, 1))
    assert list(ta.no_fail) == [1.0, 1.0, 1.0]
    assert best_by_chance(sized, ta) == 2
    none = replace(ta, no_fail=np.zeros(3), passes=np.zeros(3))
    assert best_by_chance(sized, none) == -1


def test_the_value_that_changes_the_answer_is_the_limit_itself() -> None:
    """5.5 mm bites up to a canal of 5.0 mm and is not too wide down to 3.5 mm; the grid is fine to 0.04 mm here."""
    found = resolved(canal="4.8 ± 0.4 mm", straight="51 mm")
    [change] = [c for c in screw_changes(found, [screw()], 0) if c.name == "canal_ap"]
    assert change.at == pytest.approx(5.0, abs=0.04)
    assert change.unit == "mm"
    assert "or more this size fails: thread bites in the canal" in change.text
    assert "(used here: 4.8 mm, measured)" in change.text


def test_some_draws_keep_their_number_without_uncertain_inputs() -> None:
    part = only(Drawn({}, 10, 0.0), slice(0, 4))
    assert (part.n, part.values) == (4, {})
    assert only(Drawn({"a": np.arange(10.0)}, 10, 0.1), slice(2, 5)).values["a"].tolist() == [2.0, 3.0, 4.0]
