"""The numbers beside a response: the quantiles of its band, and the end without the local correction."""

from types import SimpleNamespace

import numpy as np
import pytest

from fixplan.case import parse_case
from fixplan.kits import load_kits
from fixplan.plan.chances import _bands, quantiles
from fixplan.plan.draws import draw
from fixplan.plan.resolve import resolve
from fixplan.plan.response import end, plain_end


def test_a_band_runs_from_the_5_to_the_95_percent_quantile_whatever_the_order():
    values = np.random.default_rng(1).permutation(np.arange(101.0))
    assert quantiles(values) == pytest.approx((5.0, 50.0, 95.0))
    # a lone outlier beyond 95 % moves no end
    assert quantiles(np.where(values == 100.0, 1e6, values)) == pytest.approx((5.0, 50.0, 95.0))


def _response(**changed):
    # two constructs; the second is the one read
    given = {
        "stiffness_N_per_mm": [1.0, 10.0],
        "EI_N_m2": [1.0, 4.0],
        "ratio_to_intact": [1.0, 0.2],
        "moment_at_fracture_N_mm": [1.0, 400.0],
        "peak_stress_MPa": [1.0, 200.0],
        "gap_strain": [1.0, 0.5],
        "plain_stiffness_N_per_mm": [1.0, 25.0],
    }
    given = {k: np.array(v) for k, v in (given | changed).items()}
    opening = {"plantar": np.array([9.0, 0.5]), "dorsal": np.array([9.0, -0.5])}
    plain = {"plantar": np.array([9.0, 0.2]), "dorsal": np.array([9.0, -0.2])}
    return SimpleNamespace(
        **given, critical_section=np.array(["a", "shank"]), opening_mm=opening, plain_opening_mm=plain
    )


def test_without_the_correction_stiffness_rises_and_opening_falls_and_the_stress_stays():
    corrected, plain = end(_response(), 1, 800.0), plain_end(_response(), 1, 800.0)
    # by hand: 25 / 10 = 2.5 times as stiff; strain 0.5 x 0.2 / 0.5
    assert plain.stiffness_N_per_mm == 25.0
    assert plain.EI_N_m2 == pytest.approx(10.0)
    assert plain.ratio_to_intact == pytest.approx(0.5)
    assert plain.gap_opening_mm == 0.2
    assert plain.gap_strain == pytest.approx(0.2)
    assert plain.peak_stress_MPa == corrected.peak_stress_MPa == 200.0
    assert plain.yield_factor == corrected.yield_factor == pytest.approx(4.0)
    assert plain.moment_at_fracture_N_mm == 400.0


def test_what_is_not_known_stays_unknown_without_the_correction():
    unknown = _response(EI_N_m2=[1.0, np.nan], ratio_to_intact=[1.0, np.nan], gap_strain=[1.0, np.nan])
    plain = plain_end(unknown, 1, 800.0)
    assert (plain.EI_N_m2, plain.ratio_to_intact, plain.gap_strain) == (None, None, None)


def test_the_seed_alone_changes_the_drawn_moment_behind_the_bands():
    table = {
        "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
        "fracture": {"zone": 2},
    }
    found = resolve(parse_case(table, "test", quick=True))
    drawn = draw(found, 200, 0)
    screw = load_kits().im_screws[0]
    one, again, other = (_bands(found, drawn, screw, 5, seed) for seed in (0, 0, 1))
    assert one
    assert one == again
    assert {b.name: b for b in one}["yield_factor_loose"] != {b.name: b for b in other}["yield_factor_loose"]
