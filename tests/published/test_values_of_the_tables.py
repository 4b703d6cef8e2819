"""Thresholds and values of the bone beside their sources, as printed there; the rest are declared as the project's own.

A value that stands in neither table fails here: a new number has to be given its published figures or be declared.
"From memory" where the figures are recalled (grade M-h); all others as printed in the abstract or text that was read.
"""

import pytest

from fixplan.bone.defaults import default
from fixplan.sources import read_table, threshold, thresholds

# value, sd, low, high as printed; ids of the sources that print them
PUBLISHED = {
    # CUB22 abstract: countersink 8.1 ± 2.7 mm distal to the proximal tip
    "seat_depth": (8.1, 2.7, None, None, "CUB22"),
    # DES16, CHI22: 4.0 mm screws
    "diameter_min": (4.0, 0.0, None, None, "DES16"),
    # SCO15 abstract: 4.5 mm the narrowest that still holds
    "diameter_caution": (4.5, 0.0, None, None, "SCO15"),
    # OCH15 abstract: straight segment 68 % of the length
    "straight_fraction_permissive": (0.68, None, None, None, "OCH15"),
    # HUN11 abstract: solid screws of 5.5 mm or more
    "revision_diameter": (5.5, 0.0, None, None, "HUN11"),
    # GAU03, from memory: simple > 8 to 10, comminuted > 2 to 3; 3 to 4 cortices a side
    "span_ratio_simple": (8.0, 0.0, 8.0, 10.0, "GAU03"),
    "span_ratio_comminuted": (3.0, 0.0, 2.0, 3.0, "GAU03"),
    "cortices_per_side_min": (4.0, 0.0, 3.0, 4.0, "GAU03"),
    # AOF: no more than half of the holes; 0.5 to 0.4 in GAU03, from memory
    "screw_density_max": (0.5, 0.0, 0.4, 0.5, "AOF"),
    # AOM: two screws or more in the shaft; 2 to 3 in GAU03, from memory
    "screws_per_side_min": (2.0, 0.0, 2.0, 3.0, "AOM"),
    # AHM07, from memory: up to 2 mm no significant loss
    "standoff_max": (2.0, 0.0, None, None, "AHM07"),
    # PER02, read second-hand: bone 2 %, fibrocartilage 10 %, granulation 100 %
    "strain_limit_bone": (0.02, 0.0, None, None, "PER02"),
    "strain_limit_cartilage": (0.10, 0.0, None, None, "PER02"),
    "strain_limit_granulation": (1.0, 0.0, None, None, "PER02"),
    # HUS02 abstract: 9 ± 6 N/mm; WILL20 abstract: 24.2 and 24.7 N/mm, rounded up
    "stiffness_published_low": (9.0, 0.0, None, None, "HUS02"),
    "stiffness_published_high": (25.0, 0.0, None, None, "WILL20"),
    # LEE13, read second-hand: plantar gap of 1 mm or more
    "plantar_gap_poor": (1.0, 0.0, None, None, "LEE13"),
    # SRC: 1.17 mm between 36 films, rounded up
    "length_reading_sd": (1.2, 0.0, None, None, "SRC"),
    # RB75, from memory: 17.0 GPa; spread 3.9 GPa of a second recalled series (17.9 ± 3.9 GPa)
    "cortical_modulus": (17000.0, 3900.0, 10000.0, 20000.0, "RB75"),
}

# worked from printed figures: the arithmetic stands in the tests below
DERIVED = {"straight_fraction_cautious", "magnification", "click_sd"}

# project defaults: nothing is printed that they could be held against
PROJECT = {
    "run_out_margin",
    "purchase_min",
    "bite",
    "wall_min",
    "tip_clearance",
    "ream_max",
    "edge_distance_min",
    "plate_width_fraction_max",
    "yield_factor_min",
    "width_reading_sd",
    "room_coverage",
}

# DES16, SCO15, JON02 ...: value, sd, low, high as printed or recalled
BONE = {
    "ray5.length": (71.4, 6.1, 59.3, 83.5),
    "ray5.canal_ap": (4.1, 0.9, 2.2, 5.9),
    "ray5.canal_lateral": (5.3, 1.1, 3.2, 7.5),
}
# apex 40.4 / 70.4; height 5.3 / 4.1; zones: middles of recalled borders (JON02 19 mm, DUP18 25 mm, DAM75 15 mm more)
BONE_DERIVED = {
    "ray5.apex_fraction": 40.4 / 70.4,
    "ray5.ellipticity": 5.3 / 4.1,
    "ray5.zone1": (0.0 + 19.0) / 2,
    "ray5.zone2": (19.0 + 25.0) / 2,
    "ray5.zone3": 25.0 + 15.0 / 2,
}
BONE_PROJECT = {"any.extent", "any.gap"}


def test_every_threshold_is_held_beside_its_source_or_declared_as_the_projects():
    named = [*PUBLISHED, *DERIVED, *PROJECT]
    assert sorted(named) == sorted(thresholds())


def test_what_is_declared_as_the_projects_is_called_so_and_nothing_else_is():
    assert {t.name for t in thresholds().values() if t.source == "PROJECT"} == PROJECT


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_threshold_is_the_printed_value(name):
    value, sd, low, high, id = PUBLISHED[name]
    t = threshold(name)
    assert (t.value, t.source) == (value, id)
    if sd is not None:
        assert t.sd == sd
        assert (t.low, t.high) == (low, high)


def test_the_derived_thresholds_follow_from_printed_figures():
    # DES16, lateral film: 40.4 mm of 70.4 mm
    assert threshold("straight_fraction_cautious").value == pytest.approx(40.4 / 70.4, abs=5e-4)
    # SRC: 0.212 mm between two observers of a distance, two clicks
    assert threshold("click_sd").value == pytest.approx(0.212 / 2**0.5, abs=5e-4)
    # similar triangles: tube 1.00 to 1.15 m away, bone 20 to 50 mm above the detector
    m = threshold("magnification")
    assert m.low == pytest.approx(1150 / (1150 - 20), abs=5e-3)
    assert m.high == pytest.approx(1000 / (1000 - 50), abs=5e-3)
    assert m.value == pytest.approx((m.low + m.high) / 2)
    assert m.sd == pytest.approx((m.high - m.low) / 12**0.5, abs=5e-4)


def test_every_value_of_the_bone_is_held_or_declared():
    table = read_table("fixplan.bone", "population.toml")
    found = [f"{part}.{name}" for part in table if part not in ("outer", "measure") for name in table[part]]
    assert sorted(found) == sorted([*BONE, *BONE_DERIVED, *BONE_PROJECT])
    for key, printed in BONE.items():
        d = default(5, key.split(".")[1])
        assert (d.value, d.sd, d.low, d.high) == printed
    for key, value in BONE_DERIVED.items():
        part, name = key.split(".")
        assert table[part][name]["value"] == pytest.approx(value, abs=5e-3), key
    for key in BONE_PROJECT:
        part, name = key.split(".")
        assert table[part][name]["source"] == "PROJECT"
