"""Whatever a kit's table holds, it becomes sound items or problems with their place; nothing else ever happens."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from fixplan.kits import CorticalScrew, ImScrew, Plate, build, load_kits
from fixplan.kits.keys import KEYS
from fixplan.kits.tables import read_table
from fixplan.problems import Problem

METAL = load_kits().materials["ti-6al-4v"]
ORIGIN = {"status": "invented for the demo", "source": "PROJECT"}
MM = st.floats(0.2, 10).map(lambda v: f"{v:.2f} mm")
LENGTHS = st.lists(st.integers(4, 80), min_size=1, max_size=4, unique=True).map(lambda xs: [f"{x} mm" for x in xs])
ROWS = {
    "im_screw": {
        "d_major": MM, "d_core": MM, "pitch": MM, "head_diameter": MM, "drill": MM, "d_cannula": st.just("0 mm") | MM,
        "d_shank": MM, "thread_lengths": LENGTHS, "pitch_head": MM, "tap": MM, "guide_wire": MM, "lengths": LENGTHS,
        "thread_form": st.sampled_from(["partial", "full variable pitch"]), "driver": st.just("hexagon 2.5"),
    },
    "cortical_screw": {
        "d_major": MM, "d_core": MM, "pitch": MM, "head_diameter": MM, "drill": MM, "tap": MM, "lengths": LENGTHS,
        "thread": st.just("HA 2.7"), "head": st.sampled_from(["spherical", "locking"]),
        "driver": st.just("hexagon 2.5"),
    },
    "plate": {
        "screw_system": MM, "hole_spacing": MM, "end": MM, "width": MM, "thickness": MM, "hole_diameter": MM,
        "holes": st.lists(st.integers(2, 30), min_size=1, max_size=4, unique=True), "locking": st.booleans(),
    },
}  # fmt: skip
JUNK = st.none() | st.booleans() | st.floats() | st.text(max_size=12) | st.lists(st.integers(), max_size=3)
MAKERS: dict[str, Any] = {"im_screw": build.im_screws, "cortical_screw": build.cortical_screws, "plate": build.plates}


@st.composite
def rows(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    name = draw(st.sampled_from(sorted(ROWS)))
    row: dict[str, Any] = {"code": "X", "material": "ti-6al-4v", **ORIGIN}
    for key, strategy in ROWS[name].items():
        if KEYS[name][key].required or draw(st.booleans()):
            row[key] = draw(strategy)
    if draw(st.integers(0, 3)) == 0:
        row[draw(st.sampled_from(sorted(row)) | st.text(max_size=8))] = draw(JUNK)
    return name, row


@settings(max_examples=300, deadline=None)
@given(rows())
def test_a_table_becomes_sound_items_or_problems(made: tuple[str, dict[str, Any]]) -> None:
    name, given_row = made
    problems: list[Problem] = []
    row = read_table(name, given_row, "a.toml: [[x]] 1", problems)
    items = [] if row is None else MAKERS[name](row, METAL, "kit", "a.toml: [[x]] 1", problems)
    assert bool(items) != bool(problems)
    assert all(p.where.startswith("a.toml: [[x]] 1") and p.what for p in problems)
    for item in items:
        if isinstance(item, (ImScrew, CorticalScrew)):
            assert item.d_core < item.d_major <= item.head_diameter
            assert item.d_core <= item.drill < item.d_major
        if isinstance(item, ImScrew):
            assert item.d_cannula < item.d_bridge <= item.d_major
            assert (item.thread_length is None) == (item.thread_form == "full variable pitch")
            assert item.thread_length is None or item.thread_length < item.length
            assert item.solid == (item.guide_wire is None)
        if isinstance(item, Plate):
            assert item.edge > item.hole_diameter / 2
            assert item.length > (item.holes - 1) * item.hole_spacing
            assert item.screw_system < item.hole_diameter < min(item.width, item.hole_spacing)
    assert len({item.item for item in items}) == len(items)
