"""Draws: streams of their own, bounds that hold, draws that are no bone left out, the same for the same seed."""

from __future__ import annotations

import zlib
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import kstest, norm, truncnorm

from fixplan.case import parse_case
from fixplan.kits import load_kits
from fixplan.plan.draws import LEAST_BATCH, centre, distinct, draw, one, possible, tally, uncertain
from fixplan.plan.frame import build
from fixplan.plan.inputs import Parameter
from fixplan.plan.resolve import Resolved, resolve


@cache
def least(canal: str = "4.7 ± 0.4 mm", **fracture: str) -> Resolved:
    table = {
        "bone": {"ray": 5, "length": "71 ± 2 mm", "isthmus": {"canal": canal}},
        "fracture": {"zone": 2, **fracture},
    }
    return resolve(parse_case(table, "test", quick=True))


def parameter(value: float, sd: float, **more: object) -> Parameter:
    return replace(Parameter("p", "p", value, "mm", sd, "measured", "test"), **more)  # type: ignore[arg-type]


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**31), st.sampled_from(sorted(least().parameters)))
def test_a_stream_does_not_depend_on_the_other_parameters(seed: int, left_out: str) -> None:
    """With or without another uncertain parameter, a parameter is drawn from its own stream and no other."""
    whole = least()
    without = replace(
        whole,
        parameters={n: replace(p, sd=0.0, even=False) if n == left_out else p for n, p in whole.parameters.items()},
    )
    for found in (whole, without):
        for name, values in draw(found, 40, seed).values.items():
            rngs = (np.random.default_rng([seed, zlib.crc32(name.encode()), round_]) for round_ in range(5))
            own = np.concatenate([one(whole.parameters[name], LEAST_BATCH, rng) for rng in rngs])
            # a draw that makes no bone is left out: what is kept is part of the parameter's own stream, in its order
            places = [int(np.flatnonzero(own == v)[0]) for v in values]
            assert places == sorted(places), name
    assert left_out not in draw(without, 40, seed).values


@settings(max_examples=50, deadline=None)
@given(st.floats(0.1, 100), st.floats(0.001, 0.33), st.integers(0, 2**31))
def test_a_reading_is_never_drawn_below_zero(value: float, share: float, seed: int) -> None:
    found = one(parameter(value, share * value), 500, np.random.default_rng(seed))
    assert np.all(found > 0)
    assert np.all(np.isfinite(found))


@settings(max_examples=50, deadline=None)
@given(st.floats(-50, 50), st.floats(0.01, 50), st.integers(0, 2**31))
def test_an_even_band_is_kept_and_filled(low: float, width: float, seed: int) -> None:
    p = parameter(low + width / 2, 0.0, even=True, low=low, high=low + width, origin="assumed")
    found = one(p, 2000, np.random.default_rng(seed))
    assert np.all((found >= low) & (found <= low + width))
    # 1e-6: of as many tests none should fail by chance
    assert kstest(found, "uniform", (low, width)).pvalue > 1e-6


@settings(max_examples=30, deadline=None)
@given(st.floats(1, 50), st.floats(0.01, 0.3), st.integers(0, 2**31))
def test_readings_are_normal_and_band_limited_values_cut_off(value: float, share: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    sd = share * value
    assert kstest(one(parameter(value, sd), 2000, rng), norm(value, sd).cdf).pvalue > 1e-6
    band = parameter(value, sd, origin="assumed", shared=True, low=value - sd, high=value + 2 * sd)
    found = one(band, 2000, rng)
    assert found.min() >= value - sd - 1e-9
    assert found.max() <= value + 2 * sd + 1e-9
    # cut unevenly, yet about the printed mean: the distribution is moved until its cut part has that mean
    middle = centre(value, sd, value - sd, value + 2 * sd)
    cut = truncnorm((value - sd - middle) / sd, (value + 2 * sd - middle) / sd, loc=middle, scale=sd)
    assert cut.mean() == pytest.approx(value, rel=1e-9)
    assert kstest(found, cut.cdf).pvalue > 1e-6


def test_an_error_about_zero_has_both_signs() -> None:
    found = one(parameter(0.0, 0.4), 4000, np.random.default_rng(1))
    assert kstest(found, norm(0, 0.4).cdf).pvalue > 1e-6


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**31), st.integers(1, 200))
def test_every_draw_kept_is_a_bone(seed: int, n: int) -> None:
    """The far end of a fracture that reaches for the base, and a canal nearly as wide as the bone."""
    found = least("6.4 ± 1.2 mm", from_base="6 ± 1.9 mm", extent="3 mm")
    drawn = draw(found, n, seed)
    assert drawn.n == n
    assert all(len(v) == n for v in drawn.values.values())
    assert possible(found, drawn.values, n).all()
    assert 0 <= drawn.rejected < 1
    build(found, drawn.values)  # refuses what is no bone


def test_the_share_of_draws_that_were_no_bone_is_told() -> None:
    """P(seat depth or fracture edge beyond each other), from a plain count of the first round's own draws."""
    found = least("4.7 ± 0.4 mm", from_base="10 ± 2 mm", extent="1 mm")
    n = 4000
    drawn = draw(found, n, 4)
    rng = np.random.default_rng(0)
    values = {p.name: one(p, 100_000, rng) for p in uncertain(found)}
    bad = 1 - possible(found, values, 100_000).mean()
    assert bad > 0.1
    assert drawn.rejected == pytest.approx(bad, abs=5 * np.sqrt(bad * (1 - bad) / n))


def test_hopeless_uncertainties_are_refused() -> None:
    found = least()
    wide = found.parameters["canal_ap"]
    hopeless = replace(found, parameters=found.parameters | {"canal_ap": replace(wide, value=40.0, sd=0.1)})
    with pytest.raises(ValueError, match="make a bone; the uncertainties are too wide"):
        draw(hopeless, 50, 0)


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 2**31), st.integers(1, 400), st.integers(1, 60))
def test_a_tally_does_not_depend_on_its_chunks(seed: int, n: int, chunk: int) -> None:
    from fixplan.plan import draws

    screws = load_kits().im_screws[::40]
    drawn = draw(least(), n, seed)
    whole = tally(least(), screws, drawn)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(draws, "CHUNK", chunk)
        parts = tally(least(), screws, drawn)
    assert np.array_equal(whole.accept, parts.accept)
    assert np.array_equal(whole.choice, parts.choice)
    assert np.all(whole.passes <= whole.no_fail)
    assert whole.no_fail == pytest.approx(whole.accept.mean(axis=0))
    assert whole.first.sum() + np.mean(whole.choice < 0) == pytest.approx(1.0)


def test_like_sizes_are_held_once() -> None:
    screws = load_kits().im_screws
    alike, back = distinct(screws)
    assert len(alike) < len(screws)
    for s, k in zip(screws, back):
        twin = alike[k]
        for name in ("d_major", "d_core", "drill", "length", "thread_length"):
            assert getattr(s, name) == getattr(twin, name)
