"""A plan prints how each kit is known and where each property of an implant metal comes from."""

import datetime
import json

import pytest

from fixplan.case import read_case
from fixplan.kits import load_kits
from fixplan.plan.make import make_plan
from fixplan.report.html import render_html
from fixplan.report.jsonio import render_json
from fixplan.resources import resource_dir


@pytest.fixture(scope="module")
def plan():
    case = read_case(resource_dir("demo_cases") / "zone-2-runner.toml")
    return make_plan(case, load_kits(), datetime.date(2026, 11, 25), worksheet=False)


def test_every_kit_of_the_stock_stands_with_status_and_source(plan):
    document = json.loads(render_json(plan))
    used = {k["id"]: k for k in document["kits"]}
    for id, _ in plan.provenance.kits:
        kit = load_kits().kits[id]
        assert (used[id]["status"], used[id]["source"]) == (kit.status, kit.source)


def test_properties_of_the_first_choice_stand_with_value_source_and_status(plan):
    document = json.loads(render_json(plan))
    first = next(s for s in load_kits().im_screws if s.item == plan.screw.first_choice)
    rows = {v["quantity"]: v for v in document["materials"] if v["material"] == first.material.name}
    assert rows["modulus of elasticity"]["value"] == first.material.E_MPa
    assert rows["least yield strength"]["value"] == first.material.yield_MPa
    assert rows["least tensile strength"]["value"] == first.material.ultimate_MPa
    listed = {s["id"] for s in document["sources"]}
    for row in document["materials"]:
        assert row["source"] in listed
        assert row["status"]


def test_the_modulus_of_the_titanium_alloy_is_called_recalled_and_its_strength_read(plan):
    rows = {(v.material, v.quantity): v for v in plan.materials}
    name = "Titanium alloy Ti-6Al-4V, extra low interstitials"
    modulus = rows[name, "modulus of elasticity"]
    assert (modulus.source, modulus.status) == ("MEMORY", "from memory")
    # ASTM F136 as restated by a supplier: 795 MPa
    strength = rows[name, "least yield strength"]
    assert (strength.value, strength.source, strength.status) == (795.0, "F136-a", "standard")


def test_a_value_from_memory_names_no_text_that_was_read():
    from fixplan.sources import source

    for m in load_kits().materials.values():
        for key, status in m.statuses.items():
            if status == "from memory":
                assert source(m.sources[key]).verified == "from memory", (m.id, key)


def test_the_page_shows_both_tables(plan):
    page = render_html(plan)
    for words in ("Kits the sizes come from", "Implant materials of these kits", "Least tensile strength"):
        assert words in page
    used = next(k for k in plan.kits if k.id == plan.provenance.kits[0][0])
    assert used.status in page.split("<caption>Kits the sizes come from")[1].split("</table>")[0]
