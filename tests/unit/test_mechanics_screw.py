"""Screw and intact bone against hand calculations on a uniform bone; states, critical sections, refusals."""

from dataclasses import fields, replace

import numpy as np
import pytest

from fixplan.mechanics.construct import (
    CASES,
    PLAIN,
    PROJECT_DEFAULT,
    BenchSpans,
    Bone,
    Contact,
    Fracture,
    Loads,
    Screw,
    intact_response,
    screw_response,
    separation_moment,
)

L, F, GAP, P = 70.0, 28.0, 2.0, 20.0
OUT, CAN, E_B, G_B = 10.0, 5.0, 17e3, 3.3e3
BONE = Bone([0.0, 40.0, L], [OUT, OUT], [OUT, OUT], [CAN, CAN], [CAN, CAN], E_B, G_B)
SHANK, CORE, E_S, G_S = 5.0, 4.0, 110e3, 42e3
SEAT, TIP, THREAD = 3.0, 53.0, 37.0
SCREW = Screw(5.5, CORE, SHANK, 0.0, TIP - THREAD, TIP - SEAT, SEAT, E_S, G_S)
LOADS = Loads(P, 15.0, 90.0, 60.0, 500.0)
OPEN = Fracture(F, GAP)
G1, G2 = F - GAP / 2, F + GAP / 2


def second(d: float, bore: float = 0.0) -> float:
    return np.pi * (d**4 - bore**4) / 64


def area(d: float, bore: float = 0.0) -> float:
    return np.pi * (d**2 - bore**2) / 4


EI_B, EI_S, EI_C = E_B * second(OUT, CAN), E_S * second(SHANK), E_S * second(CORE)
# beyond the first thread the canal stays 5 mm wide round a core of 4 mm
EI_BS, EI_BC = EI_B + EI_S, EI_B + EI_C


def stepped(pieces: list[tuple[float, float, float]]) -> float:
    """Tip deflection per newton of a cantilever: sum of ((L-a)^3 - (L-b)^3)/(3 EI)."""
    return sum(((L - a) ** 3 - (L - b) ** 3) / (3 * EI) for a, b, EI in pieces)


BONDED = stepped(
    [(0, SEAT, EI_B), (SEAT, G1, EI_BS), (G1, G2, EI_S), (G2, THREAD, EI_BS), (THREAD, TIP, EI_BC), (TIP, L, EI_B)]
)
LOOSE = stepped([(0, SEAT, EI_B), (SEAT, THREAD, EI_S), (THREAD, TIP, EI_BC), (TIP, L, EI_B)])


def plain(fracture: Fracture = OPEN, screw: Screw = SCREW, **kw):
    return screw_response(BONE, fracture, screw, LOADS, local=PLAIN, **kw)


@pytest.fixture(scope="module")
def bracket():
    return plain()


def test_intact_bone_is_a_uniform_cantilever():
    r = intact_response(BONE, OPEN, LOADS).bending["cantilever_plantar"]
    assert r.stiffness_N_per_mm == pytest.approx(3 * EI_B / L**3)
    assert r.EI_N_m2 == pytest.approx(EI_B * 1e-6)
    assert r.ratio_to_intact == 1
    assert r.moment_at_fracture_N_mm == pytest.approx(P * (L - F))
    assert r.bone_stress_MPa == pytest.approx(P * L * OUT / 2 / second(OUT, CAN))
    assert r.peak_stress_MPa == r.bone_stress_MPa
    assert r.critical_section == "bone"
    assert r.rotation_rad == pytest.approx(P * L**2 / (2 * EI_B))
    assert r.deflection_mm == pytest.approx(P * L**3 / (3 * EI_B))
    assert r.separation_load_N == np.inf
    assert r.shear_mm == 0
    assert np.isnan(r.gap_strain)


@pytest.mark.parametrize("case", [c for c in CASES if c not in ("axial", "torsion")])
def test_every_structural_stiffness_of_a_uniform_bone_is_its_rigidity(case):
    r = intact_response(BONE, OPEN, LOADS).bending[case]
    assert r.EI_N_m2 == pytest.approx(EI_B * 1e-6)


def test_intact_bone_in_compression_and_torsion():
    r = intact_response(BONE, OPEN, LOADS)
    assert r.bending["axial"].stiffness_N_per_mm == pytest.approx(E_B * area(OUT, CAN) / L)
    assert np.isnan(r.bending["axial"].EI_N_m2)
    assert np.isnan(r.bending["axial"].rotation_rad)
    assert r.torsion.stiffness_N_mm_per_rad == pytest.approx(G_B * 2 * second(OUT, CAN) / L)
    assert r.torsion.shear_stress_MPa == pytest.approx(500 * OUT / 2 / (2 * second(OUT, CAN)))
    assert r.torsion.ratio_to_intact == 1
    assert r.torsion.gap_twist_rad == 0


def test_stiffness_of_both_ends(bracket):
    bonded, loose = bracket.bonded.bending["cantilever_plantar"], bracket.loose.bending["cantilever_plantar"]
    assert bonded.deflection_mm == pytest.approx(P * BONDED)
    assert loose.deflection_mm == pytest.approx(P * LOOSE)
    for r, c in ((bonded, BONDED), (loose, LOOSE)):
        assert r.stiffness_N_per_mm == pytest.approx(1 / c)
        assert r.plain_stiffness_N_per_mm == pytest.approx(1 / c)
        assert r.EI_N_m2 == pytest.approx(L**3 / 3 / c * 1e-6)
        assert r.ratio_to_intact == pytest.approx(stepped([(0, L, EI_B)]) / c)
        assert r.moment_at_fracture_N_mm == pytest.approx(P * (L - F))
        assert r.load_N == P


def test_critical_sections_of_the_bonded_end(bracket):
    r = bracket.bonded.bending["cantilever_plantar"]
    assert r.stress_MPa.keys() == {"screw at fracture", "first thread"}
    assert r.stress_MPa["screw at fracture"] == pytest.approx(P * (L - G1) * SHANK / 2 / second(SHANK))
    assert r.stress_MPa["first thread"] == pytest.approx(P * (L - THREAD) * E_S * CORE / 2 / EI_BC)
    assert r.critical_section == "screw at fracture"
    assert r.peak_stress_MPa == r.stress_MPa["screw at fracture"]


def test_critical_sections_of_the_loose_end(bracket):
    r = bracket.loose.bending["cantilever_plantar"]
    assert r.stress_MPa["screw at fracture"] == pytest.approx(P * (L - G1) * SHANK / 2 / second(SHANK))
    assert r.stress_MPa["first thread"] == pytest.approx(P * (L - THREAD) * CORE / 2 / second(CORE))
    assert r.stress_MPa["screw at seat"] == pytest.approx(P * (L - SEAT) * SHANK / 2 / second(SHANK))
    assert r.critical_section == max(r.stress_MPa, key=lambda k: r.stress_MPa[k])
    assert r.peak_stress_MPa == max(r.stress_MPa.values())


def test_openings_are_the_rotation_of_the_free_span_times_the_lever(bracket):
    for end, span in ((bracket.bonded, (G1, G2)), (bracket.loose, (SEAT, THREAD))):
        r = end.bending["cantilever_plantar"]
        turn = P * ((L - span[0]) ** 2 - (L - span[1]) ** 2) / 2 / EI_S
        assert r.opening_mm["plantar"] == pytest.approx(turn * OUT / 2)
        assert r.opening_mm["dorsal"] == pytest.approx(-turn * OUT / 2)
        assert r.opening_mm.keys() == {"plantar", "dorsal"}
        assert r.gap_strain == pytest.approx(turn * OUT / 2 / GAP)
        assert r.plain_opening_mm["plantar"] == pytest.approx(turn * OUT / 2)


def test_the_lateral_force_opens_the_lateral_side(bracket):
    r = bracket.bonded.bending["cantilever_lateral"]
    assert r.opening_mm["lateral"] > 0 > r.opening_mm["medial"]
    # a round bone is the same in both planes
    plantar = bracket.bonded.bending["cantilever_plantar"]
    assert r.opening_mm["lateral"] / 15 == pytest.approx(plantar.opening_mm["plantar"] / P)


def test_the_combined_force_is_the_resultant_on_a_round_bone(bracket):
    for end in (bracket.bonded, bracket.loose):
        one, both = end.bending["cantilever_plantar"], end.bending["cantilever_combined"]
        assert both.load_N == 25
        assert both.stiffness_N_per_mm == pytest.approx(one.stiffness_N_per_mm)
        assert both.peak_stress_MPa / 25 == pytest.approx(one.peak_stress_MPa / P)
        assert both.bone_stress_MPa / 25 == pytest.approx(one.bone_stress_MPa / P)
        assert both.shear_mm / 25 == pytest.approx(one.shear_mm / P)
        assert both.rotation_rad / 25 == pytest.approx(one.rotation_rad / P)
        assert both.moment_at_fracture_N_mm / 25 == pytest.approx(one.moment_at_fracture_N_mm / P)
        assert both.opening_mm["lateral"] / both.opening_mm["plantar"] == pytest.approx(15 / P)


def test_axial_compression(bracket):
    rest = [(SEAT, area(OUT, CAN), 0.0), (L - TIP, area(OUT, CAN), 0.0), (TIP - THREAD, area(OUT, CAN), area(CORE))]
    held = sum(length / (E_B * b + E_S * s) for length, b, s in rest)
    loose = held + (THREAD - SEAT) / (E_S * area(SHANK))
    r = bracket.loose.bending["axial"]
    assert r.stiffness_N_per_mm == pytest.approx(1 / loose)
    assert r.stress_MPa["screw at fracture"] == pytest.approx(60 / area(SHANK))
    assert r.stress_MPa["first thread"] == pytest.approx(60 / area(CORE))
    assert r.stress_MPa["screw at seat"] == pytest.approx(60 / area(SHANK))
    for side in ("plantar", "dorsal", "medial", "lateral"):
        assert r.opening_mm[side] == pytest.approx(-60 * (THREAD - SEAT) / (E_S * area(SHANK)))
    shared = E_B * area(OUT, CAN) + E_S * area(SHANK)
    bonded = held + (G1 - SEAT + THREAD - G2) / shared + GAP / (E_S * area(SHANK))
    r = bracket.bonded.bending["axial"]
    assert r.stiffness_N_per_mm == pytest.approx(1 / bonded)
    assert r.stress_MPa["first thread"] == pytest.approx(60 * E_S / (E_B * area(OUT, CAN) + E_S * area(CORE)))
    assert r.moment_at_fracture_N_mm == 0


def test_torsion(bracket):
    J_b, J_s, J_c = (2 * second(*d) for d in ((OUT, CAN), (SHANK,), (CORE,)))
    held = (SEAT + L - TIP) / (G_B * J_b) + (TIP - THREAD) / (G_B * J_b + G_S * J_c)
    loose = held + (THREAD - SEAT) / (G_S * J_s)
    t = bracket.loose.torsion
    assert t.stiffness_N_mm_per_rad == pytest.approx(1 / loose)
    assert t.gap_twist_rad == pytest.approx(500 * (THREAD - SEAT) / (G_S * J_s))
    assert t.shear_stress_MPa == pytest.approx(500 * CORE / 2 / J_c)
    assert t.ratio_to_intact == pytest.approx(L / (G_B * J_b) / loose)
    t = bracket.bonded.torsion
    assert t.shear_stress_MPa == pytest.approx(500 * SHANK / 2 / J_s)
    assert t.gap_twist_rad == pytest.approx(500 * GAP / (G_S * J_s))
    assert t.torque_N_mm == 500


def test_a_cannula_is_taken_out():
    r = plain(screw=replace(SCREW, d_cannula=2.0)).loose.bending["cantilever_plantar"]
    c = stepped(
        [
            (0, SEAT, EI_B),
            (SEAT, THREAD, E_S * second(SHANK, 2.0)),
            (THREAD, TIP, EI_B + E_S * second(CORE, 2.0)),
            (TIP, L, EI_B),
        ]
    )
    assert r.deflection_mm == pytest.approx(P * c)
    assert r.stress_MPa["first thread"] == pytest.approx(P * (L - THREAD) * CORE / 2 / second(CORE, 2.0))


def test_a_fully_threaded_screw_is_its_core_all_along():
    screw = replace(SCREW, thread_length=TIP - SEAT)
    r = plain(screw=screw)
    loose = stepped([(0, SEAT, EI_B), (SEAT, G2, EI_C), (G2, TIP, EI_BC), (TIP, L, EI_B)])
    bonded = stepped([(0, SEAT, EI_B), (SEAT, G1, EI_BC), (G1, G2, EI_C), (G2, TIP, EI_BC), (TIP, L, EI_B)])
    assert r.loose.bending["cantilever_plantar"].deflection_mm == pytest.approx(P * loose)
    assert r.bonded.bending["cantilever_plantar"].deflection_mm == pytest.approx(P * bonded)
    stress = r.loose.bending["cantilever_plantar"].stress_MPa
    assert stress["screw at fracture"] == pytest.approx(P * (L - G1) * CORE / 2 / second(CORE))
    assert stress["screw at seat"] == pytest.approx(P * (L - SEAT) * CORE / 2 / second(CORE))


def test_a_thread_that_starts_before_the_fracture_is_held_only_beyond_it():
    screw = replace(SCREW, thread_length=TIP - 20.0)
    loose = stepped([(0, SEAT, EI_B), (SEAT, 20, EI_S), (20, G2, EI_C), (G2, TIP, EI_BC), (TIP, L, EI_B)])
    assert plain(screw=screw).loose.bending["cantilever_plantar"].deflection_mm == pytest.approx(P * loose)


def test_a_screw_wider_than_the_canal_reams_the_bone():
    bone = replace(BONE, canal_x=[3.0, 3.0], canal_y=[3.0, 3.0])
    r = screw_response(bone, OPEN, SCREW, LOADS, local=PLAIN).bonded.bending["cantilever_plantar"]
    tube, cored = E_B * second(OUT, SHANK) + EI_S, E_B * second(OUT, CORE) + EI_C
    whole = E_B * second(OUT, 3.0)
    c = stepped(
        [(0, SEAT, whole), (SEAT, G1, tube), (G1, G2, EI_S), (G2, THREAD, tube), (THREAD, TIP, cored), (TIP, L, whole)]
    )
    assert r.deflection_mm == pytest.approx(P * c)


def closed(preload: float) -> Fracture:
    return Fracture(F, 0.0, Contact.CLOSED, preload=preload)


WHOLE = stepped([(0, SEAT, EI_B), (SEAT, THREAD, EI_BS), (THREAD, TIP, EI_BC), (TIP, L, EI_B)])


def test_a_strongly_compressed_joint_stays_closed():
    r = plain(closed(1e6)).bonded.bending["cantilever_plantar"]
    assert r.deflection_mm == pytest.approx(P * WHOLE)
    assert r.opening_mm["plantar"] == 0
    assert r.shear_mm == pytest.approx(0)
    assert np.isnan(r.gap_strain)
    bend = P * (L - F) * E_S * SHANK / 2 / EI_BS
    assert r.stress_MPa["screw at fracture"] == pytest.approx(1e6 / area(SHANK) + bend)


def test_separation_at_the_kern_and_the_implant_alone_beyond():
    preload = 100.0
    Z, A = 2 * second(OUT, CAN) / OUT, area(OUT, CAN)
    limit = separation_moment(preload, Z, A) / (L - F)
    r = plain(closed(preload)).loose.bending["cantilever_plantar"]
    stays = plain(closed(1e9)).loose.bending["cantilever_plantar"]
    assert r.separation_load_N == pytest.approx(limit)
    assert limit < P
    assert r.deflection_mm == pytest.approx(limit * stays.deflection_mm / P + (P - limit) * LOOSE)
    turn = (P - limit) * ((L - SEAT) ** 2 - (L - THREAD) ** 2) / 2 / EI_S
    assert r.opening_mm["plantar"] == pytest.approx(turn * OUT / 2)
    assert stays.separation_load_N > 1e6


def test_separation_under_a_combined_load_adds_the_edge_stresses_of_an_ellipse():
    bone = replace(BONE, outer_x=[12.0, 12.0])
    r = screw_response(bone, closed(100.0), SCREW, LOADS, local=PLAIN).bonded.bending["cantilever_combined"]
    A = np.pi / 4 * (12 * OUT - CAN**2)
    Zy = np.pi / 64 * (12 * OUT**3 - CAN**4) / (OUT / 2)
    Zx = np.pi / 64 * (OUT * 12**3 - CAN**4) / 6
    use = (L - F) * np.hypot(P / 25 / Zy, 15 / 25 / Zx)
    assert r.separation_load_N == pytest.approx(100 / A / use)


def test_no_compression_means_an_open_joint_from_the_start():
    r = plain(closed(0.0)).loose.bending["cantilever_plantar"]
    assert r.separation_load_N == 0
    assert r.deflection_mm == pytest.approx(P * LOOSE)


def test_compression_along_the_axis_never_opens_the_joint():
    r = plain(closed(1.0)).bonded.bending["axial"]
    assert r.separation_load_N == np.inf
    assert r.opening_mm["plantar"] == 0


def healing(E: float) -> Fracture:
    return Fracture(F, GAP, Contact.HEALING, callus_E=E)


def test_callus_adds_its_ring_to_the_bonded_screw():
    E_c = 800.0
    filled = EI_S + E_c * second(OUT, CAN)
    c = stepped(
        [
            (0, SEAT, EI_B),
            (SEAT, G1, EI_BS),
            (G1, G2, filled),
            (G2, THREAD, EI_BS),
            (THREAD, TIP, EI_BC),
            (TIP, L, EI_B),
        ]
    )
    bracket = plain(healing(E_c))
    r = bracket.bonded.bending["cantilever_plantar"]
    assert r.deflection_mm == pytest.approx(P * c)
    assert r.stress_MPa["screw at fracture"] == pytest.approx(P * (L - G1) * E_S * SHANK / 2 / filled)
    # the greatest bone stress lies at the seat or at the clamp, never in the callus
    assert r.bone_stress_MPa == pytest.approx(P * L * OUT / 2 / second(OUT, CAN))
    EA = E_S * area(SHANK) + E_c * area(OUT, CAN)
    assert bracket.bonded.bending["axial"].opening_mm["plantar"] == pytest.approx(-60 * GAP / EA)


def test_callus_as_stiff_as_bone_is_the_closed_joint():
    for end in ("bonded", "loose"):
        a = getattr(screw_response(BONE, healing(E_B), SCREW, LOADS), end)
        b = getattr(screw_response(BONE, closed(1e12), SCREW, LOADS), end)
        for case in ("cantilever_plantar", "four_point_im_lateral", "axial"):
            assert a.bending[case].stiffness_N_per_mm == pytest.approx(b.bending[case].stiffness_N_per_mm, rel=1e-9)
        assert a.torsion.stiffness_N_mm_per_rad == pytest.approx(b.torsion.stiffness_N_mm_per_rad, rel=1e-9)


def test_the_softest_callus_is_the_open_gap():
    a = screw_response(BONE, healing(1e-6), SCREW, LOADS)
    b = screw_response(BONE, OPEN, SCREW, LOADS)
    for end in ("bonded", "loose"):
        for case in ("cantilever_plantar", "four_point_im_lateral", "axial"):
            soft, none = (getattr(r, end).bending[case].stiffness_N_per_mm for r in (a, b))
            assert soft == pytest.approx(none, rel=1e-6)


def test_the_correction_bends_both_ends_further_and_keeps_the_plain_value():
    corrected, bare = screw_response(BONE, OPEN, SCREW, LOADS), plain()
    for end in ("bonded", "loose"):
        a, b = (getattr(r, end).bending["cantilever_plantar"] for r in (corrected, bare))
        assert a.stiffness_N_per_mm < b.stiffness_N_per_mm
        assert a.plain_stiffness_N_per_mm == pytest.approx(b.stiffness_N_per_mm)
        assert a.opening_mm["plantar"] > b.opening_mm["plantar"]
        assert a.plain_opening_mm["plantar"] == pytest.approx(b.opening_mm["plantar"])
    assert corrected.correction_origin == PROJECT_DEFAULT.origin
    assert bare.correction_origin == "plain beam"


def test_plain_values_can_be_left_out():
    r = screw_response(BONE, OPEN, SCREW, LOADS, plain=False).loose.bending["cantilever_plantar"]
    assert np.isnan(r.plain_stiffness_N_per_mm)
    assert np.isnan(r.plain_opening_mm["plantar"])
    full = screw_response(BONE, OPEN, SCREW, LOADS).loose.bending["cantilever_plantar"]
    assert r.stiffness_N_per_mm == full.stiffness_N_per_mm
    r = screw_response(BONE, closed(100.0), SCREW, LOADS, plain=False).loose.bending["cantilever_plantar"]
    assert np.isnan(r.plain_stiffness_N_per_mm)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"length": 25.9}, "the tip does not reach beyond the gap"),
        ({"seat": 27.0}, "the seat lies in the gap"),
        ({"length": 67.1}, "the tip leaves the bone"),
        ({"d_major": 10.5, "d_shank": 10.0}, "no bone is left around the shank"),
        ({"d_major": 11.0, "d_core": 10.0}, "no bone is left around the core"),
    ],
)
def test_impossible_screws_are_marked_and_blank(change, why):
    screw = replace(SCREW, **({"thread_length": 10.0} | change))
    bracket = plain(screw=screw)
    assert not bracket.valid, why
    for end in (bracket.bonded, bracket.loose):
        r = end.bending["cantilever_plantar"]
        for field in fields(r):
            value = getattr(r, field.name)
            if isinstance(value, np.ndarray):
                assert value == "" if value.dtype.kind == "U" else np.isnan(value), field.name
        assert np.isnan(end.torsion.stiffness_N_mm_per_rad)
        assert all(np.isnan(v) for v in r.stress_MPa.values())


@pytest.mark.parametrize(
    "change", [{"length": 26.1}, {"seat": 26.9, "length": 40.0}, {"length": 67.0}, {"d_major": 10.0, "d_shank": 9.9}]
)
def test_just_possible_screws_are_valid(change):
    assert plain(screw=replace(SCREW, **({"thread_length": 10.0} | change))).valid


def test_sizes_and_draws_in_one_call_equal_one_at_a_time():
    E = np.array([15e3, 17e3, 20e3])[:, None]
    bone = replace(BONE, E=E)
    screws = replace(SCREW, d_shank=np.array([4.0, 5.0]), length=np.array([40.0, 80.0]))
    many = screw_response(bone, OPEN, screws, LOADS)
    assert many.valid.tolist() == [[True, False]] * 3 or many.valid.shape in ((2,), (1, 2), (3, 2))
    one = screw_response(replace(BONE, E=20e3), OPEN, replace(SCREW, d_shank=4.0, length=40.0), LOADS)
    for end in ("bonded", "loose"):
        for case in CASES[:-1]:
            a, b = getattr(many, end).bending[case], getattr(one, end).bending[case]
            assert a.stiffness_N_per_mm.shape == (3, 2)
            assert a.stiffness_N_per_mm[2, 0] == pytest.approx(b.stiffness_N_per_mm)
            assert a.peak_stress_MPa[2, 0] == pytest.approx(b.peak_stress_MPa)
            assert np.isnan(a.stiffness_N_per_mm[2, 1])
            assert a.critical_section[2, 0] == b.critical_section


def test_only_the_wanted_cases_are_run():
    r = plain(cases=("cantilever_lateral",))
    assert r.loose.bending.keys() == {"cantilever_lateral"}
    assert r.loose.torsion is None
    assert intact_response(BONE, OPEN, LOADS, cases=("axial",)).torsion is None


def test_unknown_cases_are_refused():
    with pytest.raises(ValueError, match="cases: \\['twist'\\] unknown"):
        plain(cases=("twist",))


def test_a_fracture_outside_the_bone_is_refused():
    with pytest.raises(ValueError, match="the gap must lie in the bone"):
        plain(Fracture(70.0, 1.0))
    with pytest.raises(ValueError, match="the gap must lie in the bone"):
        intact_response(BONE, Fracture(0.2, 1.0), LOADS)


def test_given_bench_spans_are_used():
    spans = BenchSpans(three_point=40.0, plate=(8.0, 20.0), im_device=(12.0, 16.0))
    r = intact_response(BONE, OPEN, LOADS, spans=spans)
    assert r.bending["three_point_plantar"].stiffness_N_per_mm == pytest.approx(48 * EI_B / 40**3)
    assert r.bending["four_point_plate_lateral"].stiffness_N_per_mm == pytest.approx(12 * EI_B / (8**2 * (16 + 60)))
    assert r.bending["four_point_im_plantar"].stiffness_N_per_mm == pytest.approx(12 * EI_B / (12**2 * (24 + 48)))
    assert r.bending["three_point_plantar"].moment_at_fracture_N_mm == pytest.approx(90 * 40 / 4)
    assert r.bending["four_point_im_plantar"].moment_at_fracture_N_mm == pytest.approx(45 * 12)


@pytest.mark.parametrize(
    "spans", [{"three_point": 56.1}, {"plate": (18.0, 20.1)}, {"im_device": (20.1, 16.0)}, {"three_point": 0.0}]
)
def test_spans_that_leave_the_bone_are_refused(spans):
    with pytest.raises(ValueError, match="spans"):
        intact_response(BONE, OPEN, LOADS, spans=BenchSpans(**spans))


def test_the_fitted_range_is_reported():
    local = replace(PROJECT_DEFAULT, E_ratio=(6.0, 7.0), outer_over_d=(1.5, 2.5), gap_mm=(1.0, 3.0))
    assert screw_response(BONE, OPEN, SCREW, LOADS, local=local).in_range
    for change in (
        {"E_ratio": (7.0, 9.0)},
        {"outer_over_d": (2.1, 2.5)},
        {"gap_mm": (2.1, 3.0)},
        {"gap_mm": (1.0, 1.9)},
    ):
        assert not screw_response(BONE, OPEN, SCREW, LOADS, local=replace(local, **change)).in_range
