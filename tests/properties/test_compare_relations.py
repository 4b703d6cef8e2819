"""Relations between constructs that must hold in the model, over random bones; which of them bench tests deny is data.

Witnesses: EI = E I and I of a ring falls with its bore (beam theory: Gere, Mechanics of Materials, chapters 5 and 9);
steel has about 1.7 times the modulus of titanium alloy (ISO 5832-1 and -3 materials); a span that is held closer
bends less (the same). Bench tests that found no such order are named in the table of the comparison, not here.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fixplan.case import parse_case
from fixplan.kits import ImScrew, KitSet, load_kits
from fixplan.mechanics.responses import Bracket
from fixplan.plan.compare_bench import TESTS
from fixplan.plan.frame import Reader, build
from fixplan.plan.plates import bed, factor_range, over_working_length, stock_plate
from fixplan.plan.resolve import resolve
from fixplan.plan.response import SCREW_CASES, Setting, screw_brackets, setting
from fixplan.sizing.plate import best_placement

EXAMPLES = 25


@cache
def kits() -> KitSet:
    return load_kits()


def bone(canal: float, wall: float, length: float, level: float, gap: float) -> dict[str, Any]:
    return {
        "bone": {
            "ray": 5,
            "length": f"{length:.2f} mm",
            "straight_segment": f"{0.7 * length:.2f} mm",
            "isthmus": {
                "canal_ap": f"{canal:.2f} mm", "canal_lateral": f"{1.1 * canal:.2f} mm",
                "outer_ap": f"{canal + 2 * wall:.2f} mm", "outer_lateral": f"{1.1 * canal + 2 * wall:.2f} mm",
            },
        },
        "imaging": {"source": "ct"},
        "fracture": {"zone": 2, "from_base": f"{level:.2f} mm", "extent": "2 mm", "gap": f"{gap:.2f} mm"},
    }  # fmt: skip


BONES = st.builds(
    bone,
    st.floats(3.5, 5.5),
    st.floats(1.8, 3.0),
    st.floats(62.0, 80.0),
    st.floats(20.0, 28.0),
    st.floats(0.5, 2.0),
)
SCREWS = st.sampled_from([s for s in load_kits().im_screws if not s.solid and s.length in (36.0, 40.0, 46.0, 50.0)])


def road(table: dict[str, Any]) -> tuple[Any, Reader, Setting]:
    resolved = resolve(parse_case(table, "test", quick=True))
    frame, read = build(resolved), Reader(resolved)
    return frame, read, setting(frame, read, 5, "walking")


def bracket_of(table: dict[str, Any], screws: list[ImScrew]) -> Bracket:
    """Both ends of a list of screws under each load case of the plan; skips what cannot be built."""
    frame, _, forces = road(table)
    bracket = screw_brackets(forces, screws, np.asarray(frame.site.seat), forces.protected.mid)
    assume(bool(np.all(bracket.valid)))
    return bracket


def both(bracket: Bracket) -> list[Any]:
    """Loose and bonded responses, each with the screws in the order asked."""
    return [end.bending[case] for end in (bracket.loose, bracket.bonded) for case in SCREW_CASES]


@given(BONES, SCREWS)
@settings(max_examples=EXAMPLES, deadline=None)
def test_solid_is_stiffer_than_hollow_of_the_same_size(table: dict[str, Any], screw: ImScrew) -> None:
    for r in both(bracket_of(table, [replace(screw, d_cannula=0.0), screw])):
        solid, hollow = r.stiffness_N_per_mm
        assert solid > hollow
        assert r.peak_stress_MPa[0] <= r.peak_stress_MPa[1] * (1 + 1e-9)


@given(BONES, SCREWS)
@settings(max_examples=EXAMPLES, deadline=None)
def test_steel_is_stiffer_than_titanium_of_the_same_size(table: dict[str, Any], screw: ImScrew) -> None:
    steel = next(s.material for s in kits().im_screws if "steel" in s.material.name)
    titanium = next(s.material for s in kits().im_screws if "Titanium" in s.material.name)
    assert steel.E_MPa > 1.5 * titanium.E_MPa
    bracket = bracket_of(table, [replace(screw, material=steel), replace(screw, material=titanium)])
    for r in both(bracket):
        most = steel.E_MPa / titanium.E_MPa
        stiff, soft = r.plain_stiffness_N_per_mm
        assert soft < stiff < soft * most * (1 + 1e-9)
        # the local corrections are a fit: no theorem holds them to the ratio, and within their range (elsewhere the
        # plan carries a finding) the solids hold each of the two to 3 %
        stiff, soft = r.stiffness_N_per_mm
        assert soft < stiff
        assert stiff < soft * most * 1.06 or not bracket.in_range.all()


@given(BONES, st.sampled_from([p for p in load_kits().plates if p.holes >= 6]))
@settings(max_examples=EXAMPLES, deadline=None)
def test_a_shorter_working_length_strains_the_gap_less(table: dict[str, Any], plate: Any) -> None:
    frame, read, forces = road(table)
    where = bed(frame, read, 5, False, False)
    placed = best_placement(stock_plate(plate), where.sizing, where.limits)
    span = factor_range(where, placed, float(forces.fracture.gap))
    assume(span is not None)
    assert span is not None
    working, bracket = over_working_length(forces, where, plate, placed, kits(), np.linspace(*span, 6))
    assume(bool(np.all(bracket.valid)))
    r = bracket.loose.bending[SCREW_CASES[0]]
    assert np.all(np.diff(working) > 0)
    assert np.all(np.diff(r.gap_strain) > 0)
    assert np.all(np.diff(r.stiffness_N_per_mm) < 0)


@pytest.mark.parametrize(
    ("comparison", "row", "higher"),
    [
        ("solid against hollow", "stiffness", ""),  # WILL20: 24.2 and 24.7 N/mm
        ("smaller against larger diameter", "stiffness", ""),  # KEL01: no different
        ("smaller against larger diameter", "strength", ""),  # SHA01: 332 and 335 N, no difference shown
        ("partly threaded against variable pitch", "stiffness", ""),  # SID06: p 0.688
        ("steel against titanium", "stiffness", "untested"),
        ("plate screws and working length", "stiffness", "shorter working length"),  # BRIDGE17
    ],
)
def test_what_the_bench_found_of_these_relations_is_in_the_table(comparison: str, row: str, higher: str) -> None:
    assert {t.higher for t in TESTS if t.comparison == comparison and t.row == row and not t.load} == {higher}
