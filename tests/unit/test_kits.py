"""Kits: families expand to items, numbers of one item make sense together, and each number has an origin."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from fixplan.kits import KitError, load_kits, needs, select, validate
from fixplan.kits.keys import BOUNDS_SOURCE, KEYS
from fixplan.kits.model import STATUSES, KitSet
from fixplan.resources import resource_dir
from fixplan.sources import all_sources

SCREW = """
[kit]
id = "my-screws"
title = "Screws of one hospital"
status = "invented for the demo"
source = "PROJECT"

[[im_screw]]
code = "X45"
material = "ti-6al-4v"
d_major = "4.5 mm"
d_core = "3.1 mm"
d_shank = "3.6 mm"
d_cannula = "1.4 mm"
pitch = "1.8 mm"
thread_form = "partial"
thread_lengths = ["16 mm", "22 mm"]
head_diameter = "6.3 mm"
drill = "3.2 mm"
tap = "4.5 mm"
guide_wire = "1.3 mm"
driver = "hexagon 2.5"
lengths = { from = "3 cm", to = "4 cm", step = "5 mm" }
status = "invented for the demo"
source = "PROJECT"
"""


@pytest.fixture(scope="module")
def stock() -> KitSet:
    return load_kits()


def own(folder: Path, text: str = SCREW) -> Path:
    (folder / "mine.toml").write_text(text, encoding="utf-8")
    return folder


def test_the_stock_of_the_project_holds_what_the_plan_needs(stock: KitSet) -> None:
    diameters = {s.d_major for s in stock.im_screws}
    assert {4.0, 4.5, 5.0, 5.5, 6.5} <= diameters
    assert {s.length for s in stock.im_screws} >= {30, 40, 50, 60, 70}
    for solid in (True, False):
        kinds = {s.material.id for s in stock.im_screws if s.solid == solid and s.thread_form == "partial"}
        assert kinds == {"ti-6al-4v", "steel-cold-worked"}
    assert len({s.thread_length for s in stock.im_screws if s.thread_form == "partial"}) == 2
    assert any(s.thread_form == "full variable pitch" and s.thread_length is None for s in stock.im_screws)
    assert {s.d_major for s in stock.cortical_screws} == {2.0, 2.4, 2.7, 3.5}
    for system in (2.0, 2.4, 2.7):
        plates = [p for p in stock.plates if p.screw_system == system]
        assert len({p.holes for p in plates}) >= 4
        assert len({p.thickness for p in plates}) >= 2


def test_every_screw_of_the_project_has_its_instruments(stock: KitSet) -> None:
    for screw in (*stock.im_screws, *stock.cortical_screws):
        assert not stock.missing_instruments(screw), screw.item
        assert len(stock.instruments_for(screw)) == len(needs(screw))


def test_a_missing_instrument_is_named(stock: KitSet) -> None:
    screw = next(s for s in stock.im_screws if s.item == "S45C-TI-46-T16")
    bare = KitSet(stock.kits, stock.materials, stock.im_screws, (), (), ())
    assert bare.missing_instruments(screw) == needs(screw)


def test_invented_stock_is_marked_and_everything_has_a_source(stock: KitSet) -> None:
    for kit in stock.kits.values():
        assert kit.status in STATUSES
        assert kit.source in all_sources()
        assert len(kit.sha256) == 64
    for item in stock.items.values():
        assert item.status in STATUSES
        assert item.source in all_sources()
    assert all(s.status == "invented for the demo" for s in (*stock.im_screws, *stock.plates, *stock.instruments))
    for material in stock.materials.values():
        assert set(material.sources) == set(material.statuses) >= {"E_MPa", "nu", "yield_MPa", "ultimate_MPa"}
        assert set(material.sources.values()) <= set(all_sources())
    assert BOUNDS_SOURCE in all_sources()


@pytest.mark.parametrize(
    "system, core, pitch, head, drill",
    [
        # source: ISO 5835, HA threads (from memory, high confidence; head and drill of 2.0 medium)
        (2.0, 1.3, 0.6, 4.0, 1.5),
        (2.7, 1.9, 1.0, 5.0, 2.0),
        (3.5, 2.4, 1.25, 6.0, 2.5),
    ],
)
def test_cortical_screws_have_the_standard_thread(
    stock: KitSet, system: float, core: float, pitch: float, head: float, drill: float
) -> None:
    screws = [s for s in stock.cortical_screws if s.d_major == system]
    assert screws
    for s in screws:
        assert (s.d_core, s.pitch, s.head_diameter, s.drill) == (core, pitch, head, drill)
        assert (s.thread, s.source) == (f"HA {system}", "ISO5835")


def test_the_size_outside_the_standard_says_so(stock: KitSet) -> None:
    screws = [s for s in stock.cortical_screws if s.d_major == 2.4]
    assert {(s.thread, s.status) for s in screws} == {("none of the standard", "invented for the demo")}


@pytest.mark.parametrize(
    "id, least_yield, least_strength, modulus",
    [
        # source: F139-92 (ASTM F139, 1992): annealed 172 and 485 MPa, cold worked 690 and 860 MPa; E recalled
        ("steel-annealed", 172, 485, 193_000),
        ("steel-cold-worked", 690, 860, 193_000),
        # source: F136-a (ASTM F136): 795 and 860 MPa; modulus 110 to 114 GPa
        ("ti-6al-4v", 795, 860, 114_000),
        # source: B381 (ASTM B381 grade 4): 483 and 550 MPa; 103 to 104 GPa
        ("cp-ti-4", 483, 550, 104_000),
    ],
)
def test_materials_carry_the_printed_strengths(
    stock: KitSet, id: str, least_yield: float, least_strength: float, modulus: float
) -> None:
    material = stock.materials[id]
    assert (material.yield_MPa, material.ultimate_MPa, material.E_MPa) == (least_yield, least_strength, modulus)


def test_shear_modulus_of_steel() -> None:
    # from memory: G = E/2(1+nu), steel 74 to 77, titanium alloy 42 to 44 GPa
    materials = load_kits().materials
    assert 74_000 < materials["steel-cold-worked"].G_MPa < 77_000
    assert 42_000 < materials["ti-6al-4v"].G_MPa < 44_000


def test_a_family_expands_to_every_length_and_thread(tmp_path: Path) -> None:
    stock = load_kits([own(tmp_path)])
    assert [s.item for s in stock.im_screws] == [
        "X45-30-T16",
        "X45-35-T16",
        "X45-40-T16",
        "X45-30-T22",
        "X45-35-T22",
        "X45-40-T22",
    ]
    first = stock.im_screws[0]
    assert (first.length, first.thread_length, first.d_bridge, first.solid) == (30, 16, 3.6, False)
    assert first.material.id == "ti-6al-4v"
    assert first.kit == "my-screws"


def test_a_plate_is_as_long_as_its_holes_and_ends(stock: KitSet) -> None:
    # by hand: 6 holes at 7.2 mm and twice 3.6 mm: 43.2 mm
    plate = next(p for p in stock.plates if p.item == "P24-TI-12-6H")
    assert plate.length == pytest.approx(43.2)
    assert plate.edge == pytest.approx(3.6)


def test_a_screw_threaded_all_along_bridges_with_its_core(stock: KitSet) -> None:
    screw = next(s for s in stock.im_screws if s.thread_form != "partial")
    assert screw.d_shank is None
    assert screw.d_bridge == screw.d_core


def test_ones_own_kit_beside_the_projects(tmp_path: Path, stock: KitSet) -> None:
    both = load_kits([resource_dir("implant_specs"), own(tmp_path)])
    assert len(both.im_screws) == len(stock.im_screws) + 6
    assert "my-screws" in both.kits


def test_a_kit_twice_is_refused_with_both_places(tmp_path: Path) -> None:
    own(tmp_path)
    shutil.copy(tmp_path / "mine.toml", tmp_path / "yours.toml")
    (problem,) = validate(tmp_path)
    assert problem.where == "yours.toml: [kit]: id"
    assert "mine.toml" in problem.right


def test_sizes_that_just_fit_are_kept(tmp_path: Path) -> None:
    # a core fills a drilled hole of its own size, a shank may be as thick as the thread; common sense, no source
    text = SCREW.replace('drill = "3.2 mm"', 'drill = "3.1 mm"').replace('d_shank = "3.6 mm"', 'd_shank = "4.5 mm"')
    assert validate(own(tmp_path, text)) == []


def test_select_keeps_the_named_kits_only(stock: KitSet) -> None:
    some = select(stock, ["im-screws-solid-ti"])
    assert {s.kit for s in some.im_screws} == {"im-screws-solid-ti"}
    assert not some.plates
    assert some.materials == stock.materials
    assert select(stock, []) is stock
    assert {s.kit for s in select(stock, ["cortical-screws-ti"]).cortical_screws} == {"cortical-screws-ti"}
    assert select(stock, ["mini-plates-2.4"]).cortical_screws == stock.cortical_screws
    with pytest.raises(KitError, match=r"plan\.kits: 'im-screws-solid-it' is not a kit; did you mean"):
        select(stock, ["im-screws-solid-it"])


def test_the_project_validates(stock: KitSet) -> None:
    assert validate(resource_dir("implant_specs")) == []
    assert len(stock.items) == sum(
        len(x) for x in (stock.im_screws, stock.cortical_screws, stock.plates, stock.instruments)
    )


def test_every_key_of_a_kit_is_explained() -> None:
    assert all(key.text for keys in KEYS.values() for key in keys.values())
