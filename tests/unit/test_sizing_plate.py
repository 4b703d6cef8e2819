"""Bridge-plate sizing, worked by hand."""

import math

import pytest

from fixplan.sizing.plate import PlateBed, PlateThresholds, StockPlate, best_placement, fill, placements, span_window
from fixplan.sizing.rules import CAUTION, FAIL, PASS

LIMITS = PlateThresholds(
    span_ratio_min=8.0,
    screw_density_max=0.5,
    screws_per_side_min=2.0,
    cortices_per_side_min=4.0,
    edge_distance_min=4.0,
    standoff_max=2.0,
    plate_width_fraction_max=1.0,
)
SIX = StockPlate(holes=6, spacing=8.0, length=48.0, width=6.0)


def bed(**changed: object) -> PlateBed:
    base = {
        "extent": 2.0,
        "room_proximal": 30.0,
        "room_distal": 30.0,
        "surface_width": 8.0,
        "standoff": 1.0,
        "comminuted": False,
    }
    merged = {**base, **changed}
    extent = merged.pop("extent")
    return PlateBed(bridged=extent, **{"fracture_length": extent, **merged})


def test_span_window_by_hand() -> None:
    # ratio: 8 x 2 = 16. Screws: first hole clears 1 + 4 = 5 mm, holes straddle at 4, 12, 20: innermost 12, second 20,
    # plate ends 4 beyond: 24 each side, 48. Room: 30 + 2 + 30 = 62.
    window = span_window(bed(), LIMITS, spacing=8.0, end_distance=4.0)
    assert (window.lo_ratio, window.lo_screws, window.hi_room) == (16.0, 48.0, 62.0)
    assert window.lo == 48.0


def test_span_window_when_the_innermost_hole_already_clears() -> None:
    # edge 3 mm: first hole at 4 clears 1 + 3 = 4 exactly; 4 + 8 + 4 = 16 each side
    window = span_window(bed(), PlateThresholds(8.0, 0.5, 2.0, 4.0, 3.0, 2.0, 1.0), 8.0, 4.0)
    assert window.lo_screws == 32.0


def test_six_holes_centred() -> None:
    p = best_placement(SIX, bed(), LIMITS)
    assert p.positions == (-20.0, -12.0, -4.0, 4.0, 12.0, 20.0)
    # holes at +-4 are 3 mm from the fracture's edge, less than 4: empty
    assert p.filled == (True, True, False, False, True, True)
    assert p.working_length == 24.0
    assert (p.proximal_end, p.distal_end) == (-24.0, 24.0)
    assert p.edge_left == 11.0
    assert float(p.held["span_ratio"].value) == 24.0
    assert float(p.held["screw_density"].value) == pytest.approx(4 / 6)
    assert int(p.held["screw_density"].code) == CAUTION
    assert p.code == CAUTION


def test_too_little_room_on_one_side_fails_by_name() -> None:
    # room 10: a hole may lie 1 + 4 = 5 to 1 + 10 - 4 = 7 mm proximal of the fracture; holes lie at odd multiples of 4,
    # so none does, wherever the plate lies
    for p in placements(SIX, bed(room_proximal=10.0), LIMITS):
        assert float(p.held["screws_per_side"].value) == 0
        assert int(p.held["screws_per_side"].code) == FAIL
    # the bone ends 1 + 10 = 11 mm proximally; the plate reaches 4 + 4 = 8 mm out in its distal-most position (one hole
    # proximally), 36 + 4 = 40 mm in its proximal-most (five)
    last, first = (placements(SIX, bed(room_proximal=10.0, room_distal=60.0), LIMITS)[k] for k in (-1, 0))
    assert int(last.held["room"].code) == FAIL
    assert float(last.held["room"].value) == pytest.approx(11.0 - 40.0)
    assert int(first.held["room"].code) == PASS
    assert float(first.held["room"].value) == pytest.approx(11.0 - 8.0)


def test_off_centre_when_one_side_is_short() -> None:
    # proximal room 22: two holes at -12 (needs 5) and -20 (needs <= 1 + 22 - 4 = 19): no. Shift: k = 2 puts holes at
    # -12, -4, ...: one usable proximally; so no position gives two screws.
    assert best_placement(SIX, bed(room_proximal=22.0), LIMITS).code == FAIL
    # proximal room 23 lets -20 in (<= 20)
    assert int(best_placement(SIX, bed(room_proximal=23.0), LIMITS).held["screws_per_side"].code) == PASS


def test_across_a_joint_the_span_ratio_counts_the_fracture_alone() -> None:
    p = best_placement(SIX, bed(extent=10.0, fracture_length=2.0), LIMITS)
    assert float(p.held["span_ratio"].value) == 24.0
    # 5 + 4 = 9 mm from the centre at least: holes at +-4 stay empty
    assert p.filled == (True, True, False, False, True, True)


def test_standoff_and_width() -> None:
    p = best_placement(SIX, bed(standoff=2.5, surface_width=5.0), LIMITS)
    assert int(p.held["standoff"].code) == FAIL
    assert int(p.held["plate_width"].code) == FAIL
    assert "plate_width" not in best_placement(SIX, bed(surface_width=None), LIMITS).held


def test_span_ratio_below_its_least() -> None:
    p = best_placement(SIX, bed(extent=7.0), LIMITS)
    assert float(p.held["span_ratio"].value) == pytest.approx(48 / 7)
    assert int(p.held["span_ratio"].code) == FAIL


def test_a_crack_without_extent_has_no_span_ratio_to_miss() -> None:
    assert math.isinf(float(best_placement(SIX, bed(extent=0.0), LIMITS).held["span_ratio"].value))


@pytest.mark.parametrize(
    ("usable", "least", "comminuted", "filled"),
    [
        ([1, 2], 2, False, [1, 2]),
        ([1], 2, False, [1]),
        ([1, 2, 3], 2, False, [2, 3]),
        ([1, 2, 3], 2, True, [1, 3]),
        ([1, 2, 3, 4], 2, False, [2, 4]),
        ([1, 2, 3, 4], 3, False, [2, 3, 4]),
        ([1, 2, 3, 4], 3, True, [1, 2, 4]),
    ],
)
def test_which_holes_are_filled(usable: list[int], least: int, comminuted: bool, filled: list[int]) -> None:
    assert fill(usable, least, comminuted) == filled


def test_a_comminuted_fracture_keeps_the_innermost_screws_close() -> None:
    plate = StockPlate(holes=8, spacing=8.0, length=64.0, width=6.0)
    near = best_placement(plate, bed(comminuted=True, room_proximal=40.0, room_distal=40.0), LIMITS)
    far = best_placement(plate, bed(room_proximal=40.0, room_distal=40.0), LIMITS)
    assert (near.working_length, far.working_length) == (24.0, 40.0)
    assert len(placements(plate, bed(), LIMITS)) == 7
