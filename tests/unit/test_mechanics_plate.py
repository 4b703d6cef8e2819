"""Bridge plate against hand calculations on a uniform bone; states, critical sections, refusals."""

from dataclasses import replace

import numpy as np
import pytest

from fixplan.mechanics.construct import (
    PLAIN,
    PROJECT_DEFAULT,
    Bone,
    Contact,
    Fracture,
    Loads,
    Plate,
    plate_response,
)

L, F, GAP, P = 70.0, 32.0, 2.0, 20.0
OX, OY, CX, CY, E_B, G_B = 11.0, 9.0, 5.0, 4.0, 17e3, 3.3e3
BONE = Bone([0.0, 50.0, L], [OX, OX], [OY, OY], [CX, CX], [CY, CY], E_B, G_B)
W, T, HOLE, OFF, E_P, G_P = 6.0, 1.5, 2.5, 0.5, 110e3, 42e3
START, END, NEAR, FAR, CORE = 10.0, 56.0, 22.0, 44.0, 1.9
PLATE = Plate("dorsal", W, T, OFF, HOLE, START, END, NEAR, FAR, CORE, 3, E_P, G_P, False)
LOADS = Loads(P, 15.0, 90.0, 60.0, 500.0)
OPEN = Fracture(F, GAP)
G1, G2 = F - GAP / 2, F + GAP / 2
E = OY / 2 + OFF + T / 2

A_B = np.pi / 4 * (OX * OY - CX * CY)
IY_B, IX_B = np.pi / 64 * (OX * OY**3 - CX * CY**3), np.pi / 64 * (OY * OX**3 - CY * CX**3)
I_FLAT, I_EDGE = W * T**3 / 12, T * W**3 / 12
EA_B, EA_P = E_B * A_B, E_P * W * T
EI_B, EI_P = E_B * IY_B, E_P * I_FLAT
Y_C = EA_P * E / (EA_B + EA_P)
EI_COMP = EI_B + EA_B * Y_C**2 + EI_P + EA_P * (E - Y_C) ** 2


def stepped(pieces):
    """Tip deflection per newton of a cantilever."""
    return sum(((L - a) ** 3 - (L - b) ** 3) / (3 * EI) for a, b, EI in pieces)


def run(fracture=OPEN, plate=PLATE, local=PLAIN, **kw):
    return plate_response(BONE, fracture, plate, LOADS, local=local, **kw)


@pytest.fixture(scope="module")
def bracket():
    return run()


BONDED = stepped([(0, START, EI_B), (START, G1, EI_COMP), (G1, G2, EI_P), (G2, END, EI_COMP), (END, L, EI_B)])
BOTH = EI_B + EI_P
LOOSE = stepped([(0, START, EI_B), (START, NEAR, BOTH), (NEAR, FAR, EI_P), (FAR, END, BOTH), (END, L, EI_B)])


def test_stiffness_of_both_ends(bracket):
    for end, c in ((bracket.bonded, BONDED), (bracket.loose, LOOSE)):
        r = end.bending["cantilever_plantar"]
        assert r.deflection_mm == pytest.approx(P * c)
        assert r.stiffness_N_per_mm == pytest.approx(1 / c)
        assert r.plain_stiffness_N_per_mm == pytest.approx(1 / c)
        assert r.ratio_to_intact == pytest.approx(L**3 / (3 * EI_B) / c)
        assert r.moment_at_fracture_N_mm == pytest.approx(P * (L - F))


def test_edgewise_the_rigidities_add(bracket):
    b, p = E_B * IX_B, E_P * I_EDGE
    for end, free in ((bracket.bonded, (G1, G2)), (bracket.loose, (NEAR, FAR))):
        c = stepped([(0, START, b), (START, free[0], b + p), (*free, p), (free[1], END, b + p), (END, L, b)])
        assert end.bending["cantilever_lateral"].deflection_mm == pytest.approx(15 * c)


def test_stress_over_the_gap_and_at_the_inner_screws(bracket):
    over = P * (L - G1) * T / 2 / I_FLAT
    net = (W - HOLE) * T**3 / 12
    bonded, loose = (e.bending["cantilever_plantar"] for e in (bracket.bonded, bracket.loose))
    assert bonded.stress_MPa == {"plate over gap": pytest.approx(over)}
    assert bonded.critical_section == "plate over gap"
    assert loose.stress_MPa["plate over gap"] == pytest.approx(over)
    assert loose.stress_MPa["plate at inner screw"] == pytest.approx(P * (L - NEAR) * T / 2 / net)
    assert loose.critical_section == "plate at inner screw"


def test_stresses_of_two_planes_meet_at_a_corner(bracket):
    for end in (bracket.bonded, bracket.loose):
        one, two, both = (end.bending[f"cantilever_{d}"] for d in ("plantar", "lateral", "combined"))
        for name in one.stress_MPa:
            assert both.stress_MPa[name] == pytest.approx(one.stress_MPa[name] + two.stress_MPa[name])


def test_edgewise_stress_at_the_inner_screw_uses_the_net_section(bracket):
    net = T * (W**3 - HOLE**3) / 12
    r = bracket.loose.bending["cantilever_lateral"]
    assert r.stress_MPa["plate at inner screw"] == pytest.approx(15 * (L - NEAR) * W / 2 / net)


def test_the_gap_opens_about_the_plate(bracket):
    for end, free in ((bracket.bonded, (G1, G2)), (bracket.loose, (NEAR, FAR))):
        turn = P * ((L - free[0]) ** 2 - (L - free[1]) ** 2) / 2 / EI_P
        r = end.bending["cantilever_plantar"]
        assert r.opening_mm["plantar"] == pytest.approx(turn * (E + OY / 2))
        # under a dorsal plate the dorsal cortex opens too, by its distance to the plate's middle
        assert r.opening_mm["dorsal"] == pytest.approx(turn * (E - OY / 2))
        assert r.gap_strain == pytest.approx(turn * (E + OY / 2) / GAP)


@pytest.mark.parametrize(
    ("side", "near", "far"),
    [
        ("dorsal", "dorsal", "plantar"),
        ("plantar", "plantar", "dorsal"),
        ("medial", "medial", "lateral"),
        ("lateral", "lateral", "medial"),
    ],
)
def test_the_far_cortex_moves_more_whichever_side_the_plate_is_on(side, near, far):
    case = "cantilever_plantar" if side in ("dorsal", "plantar") else "cantilever_lateral"
    r = run(plate=replace(PLATE, side=side)).loose.bending[case]
    assert abs(r.opening_mm[far]) > 5 * abs(r.opening_mm[near])
    assert r.opening_mm[near] * r.opening_mm[far] > 0
    # a plate on the tension side lets the far cortex close
    assert (r.opening_mm[far] > 0) == (side in ("dorsal", "medial"))


def test_the_bone_under_a_bonded_plate_is_stressed_about_the_common_axis():
    # a plate up to the clamp: the greatest stress lies at the clamp, on the cortex far from the plate
    plate = replace(PLATE, start=0.0)
    r = run(plate=plate).bonded.bending["cantilever_plantar"]
    assert r.bone_stress_MPa == pytest.approx(P * L * E_B * (OY / 2 + Y_C) / EI_COMP)
    both = run(plate=plate).bonded.bending["cantilever_combined"]
    bend = E_B * P * L / EI_COMP
    side = E_B * 15 * L / (E_B * IX_B + E_P * I_EDGE)
    assert both.bone_stress_MPa == pytest.approx(np.hypot(bend * OY / 2, side * OX / 2) + bend * Y_C)


def test_a_force_on_the_bone_s_axis_bends_the_plate(bracket):
    outside = (START + L - END) / EA_B
    shared = 1 / (EA_B + EA_P) + Y_C**2 / EI_COMP
    bonded = outside + (G1 - START + END - G2) * shared + GAP * (1 / EA_P + E**2 / EI_P)
    r = bracket.bonded.bending["axial"]
    assert r.stiffness_N_per_mm == pytest.approx(1 / bonded)
    assert r.stress_MPa["plate over gap"] == pytest.approx(60 / (W * T) + 60 * E * T / 2 / I_FLAT)
    assert r.moment_at_fracture_N_mm == pytest.approx(60 * E)
    free = FAR - NEAR
    loose = (L - free) / EA_B + free * (1 / EA_P + E**2 / EI_P)
    r = bracket.loose.bending["axial"]
    assert r.stiffness_N_per_mm == pytest.approx(1 / loose)
    # the far cortex closes by shortening and rotation
    turn = 60 * E * free / EI_P
    assert r.opening_mm["plantar"] == pytest.approx(-60 * free / EA_P - turn * (E + OY / 2))
    assert r.opening_mm["medial"] == pytest.approx(-60 * free / EA_P - turn * E)


def test_torsion(bracket):
    def ellipse(x, y):
        return np.pi * (x / 2) ** 3 * (y / 2) ** 3 / ((x / 2) ** 2 + (y / 2) ** 2)

    J_B = ellipse(OX, OY) - ellipse(CX, CY)
    # a b^3 (16/3 - 3.36 b/a (1 - b^4/(12 a^4))), half sides 3 and 0.75
    J_P = 3 * 0.75**3 * (16 / 3 - 3.36 * 0.25 * (1 - 0.25**4 / 12))
    free = FAR - NEAR
    t = bracket.loose.torsion
    assert t.stiffness_N_mm_per_rad == pytest.approx(1 / ((L - free) / (G_B * J_B) + free / (G_P * J_P)))
    assert t.gap_twist_rad == pytest.approx(500 * free / (G_P * J_P))
    t = bracket.bonded.torsion
    held = (START + L - END) / (G_B * J_B) + (G1 - START + END - G2) / (G_B * J_B + G_P * J_P)
    assert t.stiffness_N_mm_per_rad == pytest.approx(1 / (held + GAP / (G_P * J_P)))
    r = T / W
    tau = 3 * 500 / (W * T**2) * (1 + 0.6095 * r + 0.8865 * r**2 - 1.8023 * r**3 + 0.91 * r**4)
    assert t.shear_stress_MPa == pytest.approx(tau)


def test_an_empty_hole_weakens_the_plate_and_raises_its_stress():
    plate = replace(PLATE, empty_hole=True)
    net = (W - HOLE) * T**3 / 12
    h1, h2 = F - HOLE / 2, F + HOLE / 2
    c = stepped(
        [
            (0, START, EI_B),
            (START, NEAR, BOTH),
            (NEAR, h1, EI_P),
            (h1, h2, E_P * net),
            (h2, FAR, EI_P),
            (FAR, END, BOTH),
            (END, L, EI_B),
        ]
    )
    r = run(plate=plate).loose.bending["cantilever_plantar"]
    assert r.deflection_mm == pytest.approx(P * c)
    nominal = P * (L - F) * T / 2 / net
    assert r.stress_MPa["plate at empty hole"] == pytest.approx(nominal)
    k = PROJECT_DEFAULT.hole_base - PROJECT_DEFAULT.hole_width * HOLE / W + PROJECT_DEFAULT.hole_thickness * T / HOLE
    raised = run(plate=plate, local=PROJECT_DEFAULT).loose.bending["cantilever_plantar"]
    assert raised.stress_MPa["plate at empty hole"] == pytest.approx(k * nominal)


def test_no_number_for_a_hole_that_is_not_there():
    plate = replace(PLATE, empty_hole=[True, False])
    r = run(plate=plate).bonded.bending["cantilever_plantar"]
    assert np.isnan(r.stress_MPa["plate at empty hole"]).tolist() == [False, True]
    assert r.critical_section.tolist() == ["plate at empty hole", "plate over gap"]
    assert not np.isnan(r.peak_stress_MPa).any()


def test_callus_and_plate_share_the_gap():
    E_c = 600.0
    r = run(Fracture(F, GAP, Contact.HEALING, callus_E=E_c)).bonded.bending["cantilever_plantar"]
    y = EA_P * E / (E_c * A_B + EA_P)
    EI = E_c * IY_B + E_c * A_B * y**2 + EI_P + EA_P * (E - y) ** 2
    c = stepped([(0, START, EI_B), (START, G1, EI_COMP), (G1, G2, EI), (G2, END, EI_COMP), (END, L, EI_B)])
    assert r.deflection_mm == pytest.approx(P * c)
    assert r.stress_MPa["plate over gap"] == pytest.approx(P * (L - G1) * E_P * (E - y + T / 2) / EI)
    turn = P * ((L - G1) ** 2 - (L - G2) ** 2) / 2 / EI
    assert r.opening_mm["plantar"] == pytest.approx(turn * (y + OY / 2))


def test_a_lag_screw_beside_the_plate_closes_the_fracture_until_it_opens():
    Z, A = IY_B / (OY / 2), A_B
    held = run(Fracture(F, 0.0, Contact.CLOSED, preload=1e9)).bonded.bending["cantilever_plantar"]
    whole = stepped([(0, START, EI_B), (START, END, EI_COMP), (END, L, EI_B)])
    assert held.deflection_mm == pytest.approx(P * whole)
    assert held.stress_MPa["plate over gap"] == pytest.approx(P * (L - F) * E_P * (E - Y_C + T / 2) / EI_COMP)
    some = run(Fracture(F, 0.0, Contact.CLOSED, preload=150.0)).loose.bending["cantilever_plantar"]
    limit = 150 * Z / A / (L - F)
    assert some.separation_load_N == pytest.approx(limit)
    stays = run(Fracture(F, 0.0, Contact.CLOSED, preload=1e9)).loose.bending["cantilever_plantar"]
    opened = run(Fracture(F, 0.0)).loose.bending["cantilever_plantar"]
    assert some.deflection_mm == pytest.approx(limit / P * stays.deflection_mm + (1 - limit / P) * opened.deflection_mm)
    assert some.opening_mm["plantar"] == pytest.approx((1 - limit / P) * opened.opening_mm["plantar"])


def test_locked_screws_join_plate_and_bone_beyond_the_working_length():
    r = run(plate=replace(PLATE, locked=True)).loose.bending
    c = stepped([(0, START, EI_B), (START, NEAR, EI_COMP), (NEAR, FAR, EI_P), (FAR, END, EI_COMP), (END, L, EI_B)])
    assert r["cantilever_plantar"].deflection_mm == pytest.approx(P * c)
    free = run().loose.bending
    assert r["cantilever_lateral"].deflection_mm == pytest.approx(free["cantilever_lateral"].deflection_mm)
    assert r["cantilever_plantar"].opening_mm["plantar"] == pytest.approx(
        free["cantilever_plantar"].opening_mm["plantar"]
    )
    dL = PROJECT_DEFAULT.screw_bending * (E_P / E_B) ** 0.25 * T**2 / CORE - PROJECT_DEFAULT.screw_relief * CORE
    hinge = dL / 2 * (1 / EI_P - 1 / EI_COMP)
    r = run(plate=replace(PLATE, locked=True), local=PROJECT_DEFAULT).loose.bending["cantilever_plantar"]
    assert r.deflection_mm == pytest.approx(P * (c + hinge * ((L - NEAR) ** 2 + (L - FAR) ** 2)))


def test_thick_screws_in_a_thin_plate_add_nothing():
    thin = replace(PLATE, thickness=0.8, screw_core=2.4)
    r = run(plate=thin, local=PROJECT_DEFAULT).loose.bending["cantilever_plantar"]
    assert r.stiffness_N_per_mm == pytest.approx(r.plain_stiffness_N_per_mm)


def test_bending_plate_screws_add_working_length():
    dL = PROJECT_DEFAULT.screw_bending * (E_P / E_B) ** 0.25 * T**2 / CORE - PROJECT_DEFAULT.screw_relief * CORE
    r = run(local=PROJECT_DEFAULT)
    # a hinge of (dL/2)(1/EI_P - 1/BOTH) at each innermost screw turns under the moment there
    c = dL / 2 * (1 / EI_P - 1 / BOTH)
    extra = c * ((L - NEAR) ** 2 + (L - FAR) ** 2)
    assert r.loose.bending["cantilever_plantar"].deflection_mm == pytest.approx(P * (LOOSE + extra))
    assert r.loose.bending["cantilever_plantar"].plain_stiffness_N_per_mm == pytest.approx(1 / LOOSE)
    assert r.bonded.bending["cantilever_plantar"].deflection_mm == pytest.approx(P * BONDED)
    turn = P * ((L - NEAR) ** 2 - (L - FAR) ** 2) / 2 / EI_P + P * c * (2 * L - NEAR - FAR)
    assert r.loose.bending["cantilever_plantar"].opening_mm["plantar"] == pytest.approx(turn * (E + OY / 2))


def test_the_fitted_range_is_reported():
    local = replace(PROJECT_DEFAULT, thickness_over_core=(0.7, 0.9), gap_mm=(1.0, 3.0))
    assert run(local=local).in_range
    for change in ({"thickness_over_core": (0.8, 0.9)}, {"gap_mm": (2.1, 3.0)}, {"E_ratio": (6.5, 7.0)}):
        assert not run(local=replace(local, **change)).in_range
    # the hole's range counts only where a hole is empty
    for change in ({"hole_over_width": (0.42, 0.5)}, {"thickness_over_hole": (0.4, 0.5)}):
        other = replace(local, **change)
        assert run(local=other).in_range
        assert not run(local=other, plate=replace(PLATE, empty_hole=True)).in_range


@pytest.mark.parametrize("change", [{"end": 70.1}, {"inner_proximal": 31.1}, {"inner_distal": 32.9}])
def test_impossible_plates_are_marked_and_blank(change):
    bracket = run(plate=replace(PLATE, **change))
    assert not bracket.valid
    for end in (bracket.bonded, bracket.loose):
        assert np.isnan(end.bending["cantilever_plantar"].stiffness_N_per_mm)
        assert end.bending["cantilever_plantar"].critical_section == ""
        assert np.isnan(end.torsion.stiffness_N_mm_per_rad)


@pytest.mark.parametrize("change", [{"end": 70.0}, {"inner_proximal": 31.0}, {"inner_distal": 33.0}])
def test_just_possible_plates_are_valid(change):
    bracket = run(plate=replace(PLATE, **change))
    assert bracket.valid
    assert bracket.loose.bending["cantilever_plantar"].stiffness_N_per_mm > 0


def test_sizes_and_draws_in_one_call_equal_one_at_a_time():
    bone = replace(BONE, E=np.array([15e3, 18e3])[:, None])
    plate = replace(PLATE, thickness=[1.0, 1.5, 2.0], end=[56.0, 56.0, 80.0])
    many = plate_response(bone, OPEN, plate, LOADS)
    one = plate_response(replace(BONE, E=18e3), OPEN, replace(PLATE, thickness=1.0), LOADS)
    for end in ("bonded", "loose"):
        for case, r in getattr(many, end).bending.items():
            assert r.stiffness_N_per_mm.shape == (2, 3)
            assert r.stiffness_N_per_mm[1, 0] == pytest.approx(getattr(one, end).bending[case].stiffness_N_per_mm)
            assert np.isnan(r.stiffness_N_per_mm[:, 2]).all()


def test_plain_values_can_be_left_out():
    for state in (OPEN, Fracture(F, 0.0, Contact.CLOSED, preload=100.0)):
        r = run(state, local=PROJECT_DEFAULT, plain=False, cases=("cantilever_plantar",)).loose
        assert np.isnan(r.bending["cantilever_plantar"].plain_stiffness_N_per_mm)
        assert r.torsion is None


def test_a_fracture_outside_the_bone_is_refused():
    with pytest.raises(ValueError, match="the gap must lie in the bone"):
        run(Fracture(69.8, 1.0))
