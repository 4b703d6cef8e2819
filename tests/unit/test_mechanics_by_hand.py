"""Responses of the beam rooms worked out by hand that no published case asks for (tests/mutation showed which).

Formulas of a beam, a tube and a rectangle: Gere, Mechanics of Materials (GERE7), ch. 3, 5 and 9.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import ellipe

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import cantilever, simply_supported, value_at, with_reactions
from fixplan.mechanics.construct import (
    PLAIN,
    Bone,
    Contact,
    Fracture,
    Loads,
    Plate,
    Screw,
    intact_response,
    plate_response,
    screw_response,
)

L, E, G = 70.0, 17e3, 3.3e3
LOADS = Loads(20.0, 15.0, 80.0, 50.0, 400.0)
GAP = Fracture(30.0, 1.0)
CASE = "cantilever_plantar"


def bone(outer: list[float], canal: list[float], edges: list[float]) -> Bone:
    return Bone(edges, outer, outer, canal, canal, E, G)


UNIFORM = bone([10.0], [5.0], [0.0, L])
ELLIPTIC = Bone([0.0, L], [12.0], [10.0], [6.0], [4.0], E, G)
SCREW = Screw(4.5, 3.6, 4.2, 0.0, 14.0, 48.0, 2.0, 114e3, 43e3)
PLATE = Plate("dorsal", 7.0, 2.0, 1.0, 2.6, 8.0, 56.0, 20.0, 42.0, 2.0, 3, 114e3, 43e3, False)
I_BONE = np.pi / 64 * (10.0**4 - 5.0**4)


def test_torsion_of_a_solid_elliptic_bone_is_worst_at_the_end_of_its_short_axis():
    """2 T/(pi a b^2), a the longer half axis (Roark, table 10.1; Gere has circles only)."""
    for widths in ((8.0, 12.0), (12.0, 8.0)):
        solid = Bone([0.0, L], [widths[0]], [widths[1]], [0.0], [0.0], E, G)
        found = intact_response(solid, GAP, LOADS, cases=("torsion",)).torsion
        assert found is not None
        assert found.shear_stress_MPa == pytest.approx(2 * 400.0 / (np.pi * 6.0 * 4.0**2))


@pytest.mark.parametrize(("case", "force"), [(CASE, 20.0), ("cantilever_lateral", 15.0)])
def test_bending_stress_of_the_intact_bone_is_that_of_its_clamp(case, force):
    found = intact_response(UNIFORM, GAP, LOADS, cases=(case,)).bending[case]
    assert found.bone_stress_MPa == pytest.approx(force * L * 5.0 / I_BONE)


def test_a_short_piece_of_bone_bears_its_stress_too():
    thin = bone([7.0, 10.0], [5.0, 5.0], [0.0, 0.5, L])
    found = intact_response(thin, GAP, LOADS, cases=(CASE,)).bending[CASE]
    assert found.bone_stress_MPa == pytest.approx(20.0 * L * 3.5 / (np.pi / 64 * (7.0**4 - 5.0**4)))


@pytest.mark.parametrize(
    ("case", "across", "along"), [(CASE, (12.0, 6.0), (10.0, 4.0)), ("cantilever_lateral", (10.0, 4.0), (12.0, 6.0))]
)
def test_an_elliptic_joint_separates_where_its_edge_loses_its_compression(case, across, along):
    """F_p = M c A/I at the edge (Shigley, joint separation): Z of a hollow ellipse by hand."""
    closed = Fracture(30.0, 0.0, Contact.CLOSED, preload=100.0)
    Z = np.pi / 32 * (across[0] * along[0] ** 3 - across[1] * along[1] ** 3) / along[0]
    A = np.pi / 4 * (12.0 * 10.0 - 6.0 * 4.0)
    thin = replace(SCREW, d_major=3.5, d_core=2.5, d_shank=3.0)
    found = screw_response(ELLIPTIC, closed, thin, LOADS, cases=(case,)).bonded.bending[case]
    assert found.separation_load_N == pytest.approx(100.0 * Z / A / 40.0)


@pytest.mark.parametrize("part", ["screw", "plate"])
def test_beside_a_bone_that_callus_has_made_whole_an_implant_of_no_stiffness_leaves_the_bone_its_stress(part):
    healed = Fracture(30.0, 1.0, Contact.HEALING, callus_E=E)
    soft = {"E": 1.0, "G": 0.4}
    r = (
        screw_response(UNIFORM, healed, replace(SCREW, **soft), LOADS, cases=(CASE,))
        if part == "screw"
        else plate_response(UNIFORM, healed, replace(PLATE, **soft), LOADS, cases=(CASE,))
    )
    # the widest moment of bone is at the clamp, where the implant is not
    assert r.loose.bending[CASE].bone_stress_MPa == pytest.approx(20.0 * L * 5.0 / I_BONE, rel=2e-3)
    assert r.bonded.bending[CASE].bone_stress_MPa == pytest.approx(20.0 * L * 5.0 / I_BONE, rel=2e-3)


def test_gap_strain_is_the_greatest_opening_over_the_gap_and_none_without_a_gap():
    small = screw_response(UNIFORM, Fracture(30.0, 0.4), SCREW, LOADS, cases=(CASE,)).loose.bending[CASE]
    widest = max(abs(float(v)) for v in small.opening_mm.values())
    assert small.gap_strain == pytest.approx(widest / 0.4)
    none = screw_response(UNIFORM, Fracture(30.0, 0.0), SCREW, LOADS, cases=(CASE,)).loose.bending[CASE]
    assert np.isnan(none.gap_strain)


def test_a_screw_beside_a_healed_bone_twists_by_its_share():
    """Two shafts in parallel share a torque by G J (Gere, ch. 3)."""
    healed = Fracture(30.0, 1.0, Contact.HEALING, callus_E=E)
    even = replace(SCREW, d_core=4.2)
    t = screw_response(UNIFORM, healed, even, LOADS, cases=("torsion",)).loose.torsion
    assert t is not None
    own, beside = 43e3 * np.pi / 32 * 4.2**4, G * np.pi / 32 * (10.0**4 - 5.0**4)
    assert t.shear_stress_MPa == pytest.approx(400.0 * own / (own + beside) * 16 / (np.pi * 4.2**3))


@pytest.mark.parametrize("state", ["callus", "closed"])
def test_a_screw_beside_a_whole_bone_bends_by_its_share(state):
    """Two uniform beams of one curvature share a moment by EI (Gere, ch. 6): the plain loose end, no hinge."""
    if state == "callus":
        where, tension = Fracture(30.0, 1.0, Contact.HEALING, callus_E=E), dict.fromkeys(("fracture", "thread"), 0.0)
    else:
        where = Fracture(30.0, 0.0, Contact.CLOSED, preload=5000.0)
        tension = {"fracture": 5000.0 / (np.pi / 4 * 4.2**2), "thread": 5000.0 / (np.pi / 4 * 3.6**2)}
    r = screw_response(UNIFORM, where, SCREW, LOADS, local=PLAIN, cases=(CASE,)).loose.bending[CASE]
    assert r.separation_load_N > 20.0
    own = 114e3 * np.pi / 64 * 4.2**4
    # the worse of the two faces
    share = 20.0 * (40.0 + float(where.gap) / 2) * own / (own + E * I_BONE)
    shank = share * 32 / (np.pi * 4.2**3)
    assert r.stress_MPa["screw at fracture"] == pytest.approx(shank + tension["fracture"])
    # nothing of the bone is lost at the first thread either, 36 mm from the base, where the core begins
    core = 20.0 * 34.0 * own / (own + E * I_BONE) * 32 / (np.pi * 3.6**3)
    assert r.stress_MPa["first thread"] == pytest.approx(core + tension["thread"])


def test_bench_spans_about_a_fracture_far_along_the_bone_fit_its_distal_part():
    far = Fracture(45.0, 1.0)
    found = intact_response(UNIFORM, far, LOADS, cases=("three_point_plantar",)).bending["three_point_plantar"]
    assert found.stiffness_N_per_mm == pytest.approx(48 * E * I_BONE / 50.0**3)


def test_a_screw_as_wide_as_the_flat_way_of_a_bone_is_no_construct_and_its_range_goes_by_that_way():
    for x, y in ((4.4, 12.0), (12.0, 4.4)):
        flat = Bone([0.0, L], [x], [y], [2.0], [2.0], E, G)
        # 4.5 mm of crest do not count against the outline, 4.2 mm of shank do
        found = screw_response(flat, GAP, replace(SCREW, d_shank=[4.2, 4.45]), LOADS, cases=(CASE,))
        assert found.valid.tolist() == [True, False]
    # one narrow piece on the screw's way is enough
    waist = bone([12.0, 4.4, 12.0], [2.0, 2.0, 2.0], [0.0, 10.0, 20.0, L])
    found = screw_response(waist, GAP, replace(SCREW, d_shank=[4.2, 4.45]), LOADS, cases=(CASE,))
    assert found.valid.tolist() == [True, False]
    for x, y in ((6.0, 12.0), (12.0, 6.0)):
        flat = Bone([0.0, L], [x], [y], [2.0], [2.0], E, G)
        # 6.0/4.2 = 1.43 lies below the solids' least outer width of 1.45 diameters, 6.0/4.0 = 1.50 above it
        found = screw_response(flat, GAP, replace(SCREW, d_shank=[4.2, 4.0]), LOADS, cases=(CASE,))
        assert found.in_range.tolist() == [False, True]


@pytest.mark.parametrize(("seat", "possible"), [(29.4, True), (29.6, False), (30.4, False)])
def test_a_screw_starts_proximal_of_the_near_face(seat, possible):
    found = screw_response(UNIFORM, GAP, replace(SCREW, seat=seat, length=20.0), LOADS, cases=(CASE,))
    assert bool(found.valid) is possible


# -- plate ---------------------------------------------------------------------------------------------------------


def hinge(own: float, held: float) -> float:
    """(dL/2)(1/EI_free - 1/EI_held) with the coefficients written out: dL = 1.16 n^(1/4) t^2/d - 0.41 d."""
    added = 1.16 * (114e3 / 17e3) ** 0.25 * 2.0**2 / 2.0 - 0.41 * 2.0
    return added / 2 * (1 / own - 1 / held)


EI_FLAT = 114e3 * 7.0 * 2.0**3 / 12
EI_EDGE = 114e3 * 2.0 * 7.0**3 / 12


@pytest.mark.parametrize(("case", "force", "own"), [(CASE, 20.0, EI_FLAT), ("cantilever_lateral", 15.0, EI_EDGE)])
def test_each_inner_screw_of_a_plate_turns_by_the_bone_that_holds_it(case, force, own):
    """A hinge c at x adds F c (L - x)^2 at the head; each has the rigidity of its own piece of bone."""
    uneven = bone([14.0, 8.0], [5.0, 5.0], [0.0, 31.0, L])
    r = plate_response(uneven, GAP, PLATE, LOADS, cases=(case,)).loose.bending[case]
    held = [E * np.pi / 64 * (d**4 - 5.0**4) + own for d in (14.0, 8.0)]
    c = [hinge(own, h) for h in held]
    extra = force * (c[0] * 50.0**2 + c[1] * 28.0**2)
    assert r.deflection_mm - force / r.plain_stiffness_N_per_mm == pytest.approx(extra)


def test_a_plate_off_the_axis_shortens_by_the_turn_of_its_screws_too():
    """Under one newton on the bone's axis the plate carries a moment e: each hinge adds e^2 c."""
    r = plate_response(UNIFORM, GAP, PLATE, LOADS, cases=("axial",)).loose.bending["axial"]
    e = 5.0 + 1.0 + 1.0
    c = hinge(EI_FLAT, E * I_BONE + EI_FLAT)
    assert 1 / r.stiffness_N_per_mm - 1 / r.plain_stiffness_N_per_mm == pytest.approx(e**2 * 2 * c)


def test_a_plate_pulled_off_its_axis_is_stressed_on_its_net_section():
    """N/A + N e c/I of the section left by the hole, times the peak of an empty hole where there is one."""
    r = plate_response(UNIFORM, GAP, replace(PLATE, empty_hole=True), LOADS, cases=("axial",)).loose.bending["axial"]
    net = 7.0 - 2.6
    nominal = 50.0 / (net * 2.0) + 50.0 * 7.0 * 6 / (net * 2.0**2)
    assert r.stress_MPa["plate at inner screw"] == pytest.approx(nominal)
    raised = 1.60 - 0.74 * 2.6 / 7.0 + 0.25 * 2.0 / 2.6
    assert r.stress_MPa["plate at empty hole"] == pytest.approx(raised * nominal)


def test_a_plate_over_callus_shares_the_torque_by_stiffness():
    healed = Fracture(30.0, 1.0, Contact.HEALING, callus_E=0.1 * E)
    t = plate_response(UNIFORM, healed, PLATE, LOADS, cases=("torsion",)).bonded.torsion
    assert t is not None
    own = 43e3 * float(sec.torsion_rectangle(7.0, 2.0))
    beside = 0.1 * G * np.pi / 32 * (10.0**4 - 5.0**4)
    alone = float(sec.torsion_stress_rectangle(400.0, 7.0, 2.0))
    assert t.shear_stress_MPa == pytest.approx(alone * own / (own + beside))


def test_a_plate_over_callus_pulled_off_the_common_axis():
    """N about the centroid of callus and plate: N/(sum of EA) and N e over the composite EI (transformed section)."""
    healed = Fracture(30.0, 1.0, Contact.HEALING, callus_E=0.1 * E)
    r = plate_response(UNIFORM, healed, PLATE, LOADS, cases=("axial",)).bonded.bending["axial"]
    soft, stiff = 0.1 * E * np.pi / 4 * (10.0**2 - 5.0**2), 114e3 * 14.0
    e = 7.0 * stiff / (soft + stiff)
    EI = 0.1 * E * I_BONE + soft * e**2 + EI_FLAT + stiff * (7.0 - e) ** 2
    expected = 50.0 * 114e3 * (1 / (soft + stiff) + e * (7.0 - e + 1.0) / EI)
    assert r.stress_MPa["plate over gap"] == pytest.approx(expected)


def test_the_range_of_an_empty_hole_is_that_of_hole_over_width_and_thickness_over_hole():
    def inside(hole: float, width: float, thickness: float) -> bool:
        plate = replace(PLATE, hole=hole, width=width, thickness=thickness, empty_hole=True)
        return bool(plate_response(UNIFORM, GAP, plate, LOADS, cases=(CASE,)).in_range)

    assert inside(2.6, 7.0, 2.0)
    assert not inside(2.6, 10.0, 2.0)
    assert not inside(1.8, 5.0, 2.0)
    # a hole below a millimetre is a hole
    small = replace(PLATE, hole=0.9, width=2.4, thickness=0.89, screw_core=1.5, empty_hole=True)
    assert plate_response(UNIFORM, GAP, small, LOADS, cases=(CASE,)).in_range


def test_the_uncorrected_plate_of_a_joint_that_opens_is_the_plain_beam_before_and_after():
    closed = Fracture(30.0, 0.0, Contact.CLOSED, preload=20.0)
    r = plate_response(UNIFORM, closed, PLATE, LOADS, cases=(CASE,)).loose.bending[CASE]
    assert r.separation_load_N < 20.0
    plain = plate_response(UNIFORM, closed, PLATE, LOADS, local=PLAIN, cases=(CASE,)).loose.bending[CASE]
    assert r.plain_stiffness_N_per_mm == pytest.approx(plain.stiffness_N_per_mm)
    bare = plate_response(UNIFORM, closed, PLATE, LOADS, cases=(CASE,), plain=False).loose.bending[CASE]
    assert bare.stiffness_N_per_mm == pytest.approx(r.stiffness_N_per_mm)
    assert np.isnan(bare.plain_stiffness_N_per_mm)


# -- sections and beams -------------------------------------------------------------------------------------


def test_section_moduli_by_hand():
    assert sec.section_modulus_annulus(10.0, 6.0) == pytest.approx(np.pi * (1e4 - 6.0**4) / 320)
    assert sec.section_modulus_rectangle(4.0, 3.0) == pytest.approx(6.0)


def test_torsion_of_a_tube_and_the_shear_modulus_by_hand():
    assert sec.torsion_stress_annulus(500.0, 10.0, 6.0) == pytest.approx(16 * 500.0 * 10.0 / (np.pi * (1e4 - 6.0**4)))
    assert sec.shear_modulus(26.0, 0.3) == pytest.approx(10.0)


def test_a_value_is_read_at_a_station_of_two_cases_at_once():
    twice = np.array([[0.0, 1.0, 2.0], [0.0, 2.0, 4.0]])
    assert value_at(twice, [0.0, 10.0, 30.0], 2.0).tolist() == [30.0, 10.0]
    assert value_at(np.array([0.0, 1.0, 2.0]), twice, 1.0).tolist() == [1.0, 2.0]


def test_a_thin_elliptic_tube_by_the_length_of_its_median_line():
    """4 A_m^2 t/s (Bredt; Gere, ch. 3); s, the perimeter of the median ellipse, is scipy's elliptic integral."""
    a, b, t = 9.75, 4.75, 0.5
    s = 4 * a * ellipe(1 - (b / a) ** 2)
    assert sec.torsion_thin_ellipse(20.0, 10.0, t) == pytest.approx(4 * (np.pi * a * b) ** 2 * t / s, rel=2e-3)


def test_a_load_on_an_overhang_lifts_the_span_and_sinks_its_own_end():
    """Overhang a beside a span l: F a^2 (l + a)/(3 EI) at its end, F a l^2/(16 EI) up at mid-span (GERE7, G-2)."""
    EI, F = 1e6, 10.0
    r = simply_supported([0.0, 50.0, 80.0], [EI, EI], [F], [0.0], (20.0, 80.0))
    assert abs(r.deflection[0]) == pytest.approx(F * 20.0**2 * 80.0 / (3 * EI))
    middle = r.deflection[list(r.s).index(50.0)]
    assert abs(middle) == pytest.approx(F * 20.0 * 60.0**2 / (16 * EI))
    assert middle * r.deflection[0] < 0
    assert np.interp([20.0, 80.0], r.s, r.deflection) == pytest.approx([0.0, 0.0], abs=1e-15)


def test_two_supports_at_one_place_are_refused():
    point = np.asarray
    with pytest.raises(ValueError, match="supports"):
        with_reactions(point([1.0]), point([5.0]), point(10.0), point(10.0))


def test_a_beam_answers_for_two_leading_axes_in_its_edges_alone():
    edges = np.array([[[0.0, 30.0, 60.0]], [[0.0, 30.0, 90.0]]])
    EI, GA = np.array([1e6, 2e6]), np.array([1e4, 2e4])
    many = cantilever(edges, EI, [10.0], [50.0], GA=GA)
    for i in range(2):
        one = cantilever(edges[i, 0], EI, [10.0], [50.0], GA=GA)
        assert many.deflection[i, 0] == pytest.approx(one.deflection)
    # shear alone: F times the sum of lengths over GA, in each case of two axes of loads
    forces = np.array([[[10.0], [20.0]], [[30.0], [40.0]], [[50.0], [60.0]]])
    soft = cantilever([0.0, 30.0, 60.0], [1e12, 1e12], forces, [60.0], GA=GA)
    assert soft.deflection[..., -1] == pytest.approx(forces[..., 0] * (30 / 1e4 + 30 / 2e4), rel=1e-4)
