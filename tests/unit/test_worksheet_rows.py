"""Every row of the table of responses, worked alone: both ends, all sections, all states of the fracture.

The page works the rows that decide; which these are follows from the case, so each row is tried here as if it decided.
Witness: the beam's own stress, reached from unit loads and the force method, against the closed forms of the lines.
"""

from __future__ import annotations

import copy
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fixplan.bone.profile import interpolate
from fixplan.case import parse_case
from fixplan.kits import KitSet, load_kits, select
from fixplan.mechanics import flexure, section
from fixplan.mechanics.loadcases import bending_cases
from fixplan.mechanics.parts import Bone, Contact, Fracture
from fixplan.plan.frame import Reader, build
from fixplan.plan.plates import bed, laid_plate, one_plate, stock_plate
from fixplan.plan.resolve import resolve
from fixplan.plan.response import loads_for, respond_screws, screw_parts, setting
from fixplan.plan.types import LoadResponse
from fixplan.plan.worksheet import plate_runs, screw_runs
from fixplan.plan.worksheet_bending import mechanics_lines
from fixplan.plan.worksheet_line import Sheet
from fixplan.plan.worksheet_load import Case, case_of, intact_stiffness
from fixplan.plan.worksheet_parts import PlateParts, ScrewParts
from fixplan.sizing.plate import best_placement

KITS: KitSet = load_kits()
CASE: dict[str, Any] = {
    "bone": {
        "ray": 5,
        "length": "70 mm",
        "straight_segment": "52 mm",
        "isthmus": {
            "at": "40 mm", "canal_ap": "4.5 mm", "canal_lateral": "5.5 mm", "outer_ap": "9.0 mm",
            "outer_lateral": "9.8 mm",
        },
        "at_fracture": {"canal_ap": "6 mm", "canal_lateral": "7 mm", "outer_ap": "12 mm", "outer_lateral": "11 mm"},
    },
    "imaging": {"source": "ct"},
    "fracture": {"zone": 2, "from_base": "24 mm", "extent": "2 mm", "gap": "1 mm"},
    "patient": {"activity": "running"},
}  # fmt: skip
STATES: dict[str, dict[str, str]] = {
    "open": {},
    "compressed": {"compression": "15 N"},
    "compressed hard": {"compression": "1000 N"},
    "callus": {"callus_modulus": "30 MPa"},
}


def ground(state: str) -> tuple[Any, Any, Any]:
    table = copy.deepcopy(CASE)
    table["fracture"] |= STATES[state]
    case = parse_case(table, "test", quick=True)
    resolved = resolve(case)
    frame, read = build(resolved), Reader(resolved)
    return frame, read, setting(frame, read, 5, case.patient.activity)


def missing(sheet: Sheet, kind: str, r: LoadResponse) -> set[str]:
    """Numbers of a row that no line gives."""
    shown = {k for w in sheet.lines for k in w.shows}
    fields = ["peak_stress_MPa", "yield_factor", "moment_at_fracture_N_mm", "stiffness_N_per_mm", "gap_opening_mm"]
    fields += ["ratio_to_intact", "EI_N_m2"]
    fields += ["gap_strain"] if r.loose.gap_strain is not None else []
    return {f"{end} {f}" for end in ("loose", "bonded") for f in fields if f"{kind}:{r.label}:{end}:{f}" not in shown}


@pytest.mark.parametrize("state", list(STATES))
@pytest.mark.parametrize("kind", ["partial thread", "thread all along"])
def test_every_row_of_a_screw(state: str, kind: str) -> None:
    frame, _, forces = ground(state)
    full = kind == "thread all along"
    screw = next(
        s for s in KITS.im_screws if (s.thread_length is None) == full and 34 <= s.length <= 40 and s.d_major >= 5
    )
    seat = np.asarray(frame.site.seat)
    rows = respond_screws(forces, [screw], float(seat))[0]
    assert len(rows) == 6
    parts = ScrewParts(forces.bone, forces.fracture, screw, screw_parts([screw], seat))
    for r in rows:
        sheet = Sheet()
        mechanics_lines(sheet, parts, [r], screw_runs(forces, screw, seat), screw.material)
        assert missing(sheet, "screw", r) == set(), r.label


@pytest.mark.parametrize("state", list(STATES))
def test_every_row_of_a_plate(state: str) -> None:
    """Bent through its thickness and edgewise; where plate and bone share the load, its stress has no closed form."""
    frame, read, forces = ground(state)
    stock = select(KITS, ("mini-plates-2.4", "cortical-screws-ti"))
    where = bed(frame, read, 5, False, False)
    plate = next(p for p in stock.plates if p.holes == 8)
    placed = best_placement(stock_plate(plate), where.sizing, where.limits)
    rows = one_plate(frame, stock, where, forces, plate, placed, read.resolved.thresholds, lambda used: ()).response
    shifted, part = laid_plate(forces, where, plate, placed, stock, np.ones(1))
    parts = PlateParts(shifted.bone, shifted.fracture, plate, part)
    solved = set() if forces.fracture.state is Contact.OPEN else {"loose peak_stress_MPa"}
    for r in rows:
        sheet = Sheet()
        mechanics_lines(sheet, parts, [r], plate_runs(shifted, part), plate.material)
        assert missing(sheet, "plate", r) <= solved, r.label


def test_the_unbroken_bone_is_solved_for_itself_not_read_back_from_the_ratio() -> None:
    """A ratio that is not K over the bone's own stiffness finds no line."""
    frame, _, forces = ground("open")
    screw = next(s for s in KITS.im_screws if s.thread_length is not None and s.length == 36 and s.d_major >= 5)
    seat = np.asarray(frame.site.seat)
    parts = ScrewParts(forces.bone, forces.fracture, screw, screw_parts([screw], seat))
    r = respond_screws(forces, [screw], float(seat))[0][0]
    assert r.loose.ratio_to_intact is not None
    wrong = replace(r, loose=replace(r.loose, ratio_to_intact=2 * r.loose.ratio_to_intact))
    sheet = Sheet()
    mechanics_lines(sheet, parts, [wrong], screw_runs(forces, screw, seat), screw.material)
    assert missing(sheet, "screw", wrong) == {"loose ratio_to_intact"}


def test_stiffness_of_an_unbroken_tube_by_hand() -> None:
    """K = 3 EI / L^3 (Gere, table G-1); four points, K = 12 EI / (s^2 (L + 2 c)) with L = 2 s + c (ASTM F1264)."""
    w = np.array([9.0]), np.array([9.0]), np.array([4.5]), np.array([4.5])
    bone = Bone(np.array([0.0, 70.0]), *w, E=np.asarray(17_000.0), G=np.asarray(6_500.0))
    EI, fracture = 17_000.0 * np.pi / 64 * (9.0**4 - 4.5**4), Fracture(np.asarray(24.0), np.asarray(1.0))
    head = intact_stiffness(bone, fracture, Case("cantilever_plantar", 70.0, 24.0, None))
    assert head == pytest.approx(3 * EI / 70.0**3)
    four = intact_stiffness(bone, fracture, Case("four_point_im_plantar", 70.0, 24.0, 16.0, 16.0))
    assert four == pytest.approx(12 * EI / (16.0**2 * (48.0 + 2 * 16.0)))


@pytest.mark.parametrize("centre", [24.0, 46.0])
def test_rollers_stand_in_one_place_for_load_and_worked_line(centre: float) -> None:
    """24 mm from the nearer end: a span of 48 mm, in quarters for a plate and in thirds for a device (ASTM F1264)."""
    w = np.array([9.0]), np.array([9.0]), np.array([4.5]), np.array([4.5])
    bone = Bone(np.array([0.0, 70.0]), *w, E=np.asarray(17_000.0), G=np.asarray(6_500.0))
    fracture = Fracture(np.asarray(centre), np.asarray(1.0))
    _, _, forces = ground("open")
    screw = next(s for s in KITS.im_screws if s.thread_length is not None and s.length == 36 and s.d_major >= 5)
    four = next(r for r in respond_screws(forces, [screw], 6.0)[0] if r.load_case.startswith("four"))
    for plate, name, arm, inner in ((True, "plate", 12.0, 24.0), (False, "im", 16.0, 16.0)):
        case = case_of(four, bone, fracture, plate=plate)
        assert (case.arm, case.inner) == pytest.approx((arm, inner))
        loads = loads_for(bone, fracture, 400.0, plate=plate)
        assert loads.bench == pytest.approx(400.0 / (arm / 2))
        [placed] = bending_cases((f"four_point_{name}_plantar",), bone.length, fracture.centre, loads)
        assert placed.supports is not None
        assert [float(x) for x in placed.supports] == pytest.approx([centre - 24.0, centre + 24.0])
        assert placed.read == pytest.approx([centre - inner / 2, centre + inner / 2])


def test_sections_with_a_hole_are_those_without_it_less_the_hole() -> None:
    """A rectangle less a rectangle (Gere, App. D); without a hole the plain section."""
    assert flexure.section_modulus_net_flat(6.0, 1.7, 2.9) == pytest.approx((6.0 - 2.9) * 1.7**2 / 6)
    assert flexure.section_modulus_net_flat(6.0, 1.7, 0.0) == section.section_modulus_rectangle(6.0, 1.7)
    edge = (1.7 * 6.0**3 / 12 - 1.7 * 2.9**3 / 12) / 3.0
    assert flexure.section_modulus_net_edge(6.0, 1.7, 2.9) == pytest.approx(edge)
    assert flexure.section_modulus_net_edge(6.0, 1.7, 0.0) == pytest.approx(section.section_modulus_rectangle(1.7, 6.0))


def test_one_axis_is_the_composite_without_an_offset() -> None:
    """The transformed section (Gere, ch. 6) with both centroids on the axis."""
    E_b, I_b, E_s, I_s = 17_000.0, 400.0, 114_000.0, 36.0
    EI = flexure.concentric_EI(E_b, I_b, E_s, I_s)
    assert section.composite_EI(E_b * I_b, 1.0, 0.0, E_s * I_s, 2.0, 0.0) == EI
    assert flexure.shared_stress(400.0, E_s, 2.6, EI) == -section.composite_stress(400.0, E_s, 2.6, 0.0, EI)
    # alone the shared form is the flexure formula
    alone = flexure.shared_stress(400.0, E_s, 2.6, E_s * I_s)
    assert alone == pytest.approx(flexure.flexure_stress(400.0, I_s / 2.6))


def test_the_own_wall_is_half_the_difference_of_the_widths() -> None:
    frame, _, _ = ground("open")
    p = frame.profile
    outer, canal = (float(v[0]) for v in interpolate(p.s, [p.outer_ap, p.canal_ap], np.array([24.0])))
    assert (outer, canal) == pytest.approx((12.0, 6.0))
