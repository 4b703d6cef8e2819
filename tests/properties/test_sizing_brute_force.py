"""Windows against brute force: every stock size tested against every rule directly, over random cases.

The direct check below is written from the rules as prose, one size at a time, with plain arithmetic; it shares no code
with the windows.
"""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from fixplan.sizing.plate import PlateBed, PlateThresholds, StockPlate, placements, span_window
from fixplan.sizing.rules import FAIL, PASS, worst
from fixplan.sizing.screw import ScrewThresholds, Site, StockScrews, diameter_window, hold, length_window

TENTHS = st.integers


def tenth(lo: int, hi: int) -> st.SearchStrategy[float]:
    return TENTHS(lo, hi).map(lambda n: n / 10)


LIMITS = st.builds(
    ScrewThresholds,
    run_out_margin=tenth(0, 50),
    purchase_min=tenth(0, 200),
    bite=tenth(0, 10),
    wall_min=tenth(0, 20),
    tip_clearance=tenth(0, 50),
    diameter_min=tenth(30, 50),
    diameter_caution=st.just(0.0),
    ream_max=tenth(0, 40),
)


@settings(max_examples=150, deadline=None)
@given(
    limits=LIMITS,
    seat=tenth(0, 120),
    fracture=tenth(100, 350),
    extent=tenth(0, 50),
    straight=tenth(250, 600),
    corridor=tenth(20, 70),
    ream=tenth(30, 100),
)
def test_stock_sizes_inside_the_windows_are_those_that_pass_each_rule(
    limits: ScrewThresholds,
    seat: float,
    fracture: float,
    extent: float,
    straight: float,
    corridor: float,
    ream: float,
) -> None:
    site = Site(seat, fracture, fracture, extent, straight, straight)
    sizes = [
        (d, length, thread, full)
        for d in (4.0, 4.5, 5.0, 5.5, 6.5)
        for length in range(30, 71, 4)
        for thread, full in ((10.0, False), (16.0, False), (float(length), True))
    ]
    d, length, thread, full = (np.array(column) for column in zip(*sizes))
    stock = StockScrews(d.astype(float), 0.7 * d, 0.75 * d, length.astype(float), thread.astype(float), full)
    codes = worst(hold(site, limits, stock, corridor, ream))

    tenths = round  # exact comparison in whole hundredths of a millimetre, away from binary rounding
    for k, (dk, lk, tk, fk) in enumerate(sizes):
        tip = seat + lk
        ok = (
            tenths((straight - limits.tip_clearance - tip) * 100) >= 0
            and tenths((dk - corridor - 2 * limits.bite) * 100) >= 0
            and tenths((dk - limits.diameter_min) * 100) >= 0
            and tenths((ream - dk) * 100) >= 0
            and tenths((limits.ream_max - (dk - corridor)) * 100) >= 0
        )
        if fk:
            ok = ok and tenths((tip - (fracture + extent / 2) - limits.purchase_min) * 100) >= 0
        else:
            ok = ok and tenths((tip - tk - (fracture + extent / 2) - limits.run_out_margin) * 100) >= 0
        # thread all along starts at the seat: it crosses the fracture unless the seat itself lies beyond it
        across = fk and tenths((seat - (fracture + extent / 2) - limits.run_out_margin) * 100) < 0
        assert (codes[k] < FAIL) == ok
        assert (codes[k] == PASS) == (ok and not across)

        window = length_window(site, limits, tk, fk)
        across = diameter_window(limits, corridor, ream)
        inside = window.lo - 1e-9 <= lk <= window.hi_cautious + 1e-9 and across.lo - 1e-9 <= dk <= across.hi + 1e-9
        assert inside == ok


@settings(max_examples=100, deadline=None)
@given(
    holes=st.integers(3, 9),
    spacing=tenth(50, 120),
    end=tenth(25, 60),
    extent=tenth(5, 120),
    rooms=st.tuples(tenth(50, 400), tenth(50, 400)),
    edge=tenth(10, 50),
    comminuted=st.booleans(),
)
def test_every_filled_hole_is_on_bone_and_clear_of_the_fracture(
    holes: int,
    spacing: float,
    end: float,
    extent: float,
    rooms: tuple[float, float],
    edge: float,
    comminuted: bool,
) -> None:
    limits = PlateThresholds(3.0, 0.5, 2.0, 4.0, edge, 2.0, 1.0)
    bed = PlateBed(extent, extent, rooms[0], rooms[1], 8.0, 1.0, comminuted)
    length = (holes - 1) * spacing + 2 * end
    found = placements(StockPlate(holes, spacing, length, 6.0), bed, limits)
    assert len(found) == holes - 1
    window = span_window(bed, limits, spacing, end)
    for p in found:
        assert math.isclose(p.distal_end - p.proximal_end, length)
        for at, filled in zip(p.positions, p.filled):
            if filled:
                assert abs(at) - extent / 2 >= edge - 1e-6
                assert -extent / 2 - rooms[0] + edge - 1e-6 <= at <= extent / 2 + rooms[1] - edge + 1e-6
        sides = [sum(f for x, f in zip(p.positions, p.filled) if (x > 0) == distal) for distal in (False, True)]
        assert (p.held["screws_per_side"].code == FAIL) == (min(sides) < 2)
        if p.code != FAIL:
            assert window.lo_ratio - 1e-6 <= length <= window.hi_room + 1e-6
            assert p.working_length >= extent + 2 * edge - 1e-6
