"""What must hold for every construct: order of the bracket, monotony, symmetry, superposition, scaling, reciprocity."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixplan.mechanics.beam import cantilever, simply_supported, value_at
from fixplan.mechanics.construct import (
    PLAIN,
    PROJECT_DEFAULT,
    Bone,
    Contact,
    Fracture,
    Loads,
    Plate,
    Screw,
    intact_response,
    plate_response,
    screw_response,
    with_old_hole,
)

few = settings(max_examples=10, deadline=None)
LOADS = Loads(20.0, 15.0, 80.0, 50.0, 400.0)
BENDING = (
    "cantilever_plantar",
    "cantilever_lateral",
    "three_point_plantar",
    "four_point_plate_lateral",
    "four_point_im_plantar",
)
ALL = (*BENDING, "axial", "torsion")


def number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


@st.composite
def bones(draw: st.DrawFn) -> Bone:
    n = draw(st.integers(1, 4))
    L = draw(number(60, 80))
    edges = np.linspace(0, L, n + 1)
    outer = np.array(draw(st.lists(number(8.5, 13), min_size=2 * n, max_size=2 * n))).reshape(2, n)
    canal = outer * np.array(draw(st.lists(number(0.3, 0.6), min_size=2 * n, max_size=2 * n))).reshape(2, n)
    return Bone(edges, *outer, *canal, draw(number(10e3, 22e3)), 3.3e3)


@st.composite
def screws(draw: st.DrawFn) -> Screw:
    shank = draw(number(3.0, 5.5))
    core = shank * draw(number(0.65, 1.0))
    length = draw(number(40, 52))
    thread = draw(st.one_of(st.just(length), number(10, 22)))
    bore = core * draw(st.sampled_from([0.0, 0.4]))
    E = draw(st.sampled_from([110e3, 193e3]))
    return Screw(shank + 0.5, core, shank, bore, thread, length, draw(number(0, 3)), E, E / 2.6)


@st.composite
def plates(draw: st.DrawFn) -> Plate:
    return Plate(
        draw(st.sampled_from(["dorsal", "plantar", "medial", "lateral"])),
        draw(number(5, 8)),
        draw(number(1.0, 2.4)),
        draw(number(0, 2)),
        2.6,
        draw(number(4, 12)),
        draw(number(48, 58)),
        draw(number(15, 23)),  # proximal of the widest gap at the most proximal fracture
        draw(number(34, 44)),
        1.9,
        3,
        draw(st.sampled_from([110e3, 193e3])),
        43e3,
        draw(st.booleans()),
    )


fractures = st.builds(Fracture, number(25, 32), st.one_of(st.just(0.0), number(0.05, 3)))


def stiffness(bracket, end: str, case: str) -> float:
    response = getattr(bracket, end)
    if case == "torsion":
        return float(response.torsion.stiffness_N_mm_per_rad)
    return float(response.bending[case].stiffness_N_per_mm)


@few
@given(bones(), fractures, screws())
def test_a_screw_s_loose_end_is_never_stiffer_than_its_bonded_end(bone, fracture, screw):
    r = screw_response(bone, fracture, screw, LOADS, local=PLAIN, cases=ALL)
    for case in ALL:
        assert 0 < stiffness(r, "loose", case) <= stiffness(r, "bonded", case) * (1 + 1e-9)


@few
@given(bones(), fractures, plates())
def test_a_plate_s_loose_end_is_never_stiffer_in_bending(bone, fracture, plate):
    r = plate_response(bone, fracture, plate, LOADS, local=PLAIN, cases=ALL)
    for case in (*BENDING, "torsion"):
        assert 0 < stiffness(r, "loose", case) <= stiffness(r, "bonded", case) * (1 + 1e-9)


@few
@given(bones(), fractures, screws(), number(1.02, 1.3))
def test_a_loose_screw_grows_stiffer_with_its_diameter(bone, fracture, screw, factor):
    thick = replace(screw, **{n: getattr(screw, n) * factor for n in ("d_major", "d_core", "d_shank")})
    a, b = (screw_response(bone, fracture, s, LOADS, cases=ALL) for s in (screw, thick))
    # in the thread the core replaces bone of the reamed canal, softer than itself: every section grows stiffer
    for case in ALL:
        assert stiffness(b, "loose", case) > stiffness(a, "loose", case) * (1 - 1e-9)
    stress = [float(r.loose.bending["cantilever_plantar"].stress_MPa["screw at fracture"]) for r in (a, b)]
    assert stress[1] < stress[0]


@few
@given(bones(), fractures, plates(), number(1.02, 1.4))
def test_a_loose_plate_grows_stiffer_with_its_thickness(bone, fracture, plate, factor):
    thick = replace(plate, thickness=plate.thickness * factor)
    a, b = (plate_response(bone, fracture, p, LOADS, local=PLAIN, cases=BENDING) for p in (plate, thick))
    for case in BENDING:
        assert stiffness(b, "loose", case) > stiffness(a, "loose", case)


@few
@given(bones(), fractures, plates(), number(0.5, 3))
def test_a_longer_working_length_is_softer_and_leaves_the_bonded_end_alone(bone, fracture, plate, more):
    wide = replace(plate, inner_distal=plate.inner_distal + more)
    a, b = (plate_response(bone, fracture, p, LOADS, cases=ALL) for p in (plate, wide))
    for case in BENDING:
        assert stiffness(b, "loose", case) <= stiffness(a, "loose", case) * (1 + 1e-9)
        assert stiffness(b, "bonded", case) == pytest.approx(stiffness(a, "bonded", case))


@few
@given(plates())
def test_opening_under_a_constant_moment_is_proportional_to_the_working_length(plate):
    # rollers outside the free span: the moment over it is constant
    bone = Bone([0.0, 70.0], [10.0], [10.0], [5.0], [5.0], 17e3, 3.3e3)
    plain = replace(plate, side="dorsal", empty_hole=False)
    fracture = Fracture(35.0, 0.5)
    opening = []
    for half in (3.0, 6.0, 12.0):
        p = replace(plain, start=10.0, end=60.0, inner_proximal=35.0 - half, inner_distal=35.0 + half)
        r = plate_response(bone, fracture, p, LOADS, local=PLAIN, cases=("four_point_plate_plantar",))
        opening.append(float(r.loose.bending["four_point_plate_plantar"].opening_mm["plantar"]))
    assert opening[1] == pytest.approx(2 * opening[0])
    assert opening[2] == pytest.approx(4 * opening[0])


@few
@given(bones(), fractures, plates())
def test_mirror_images_answer_alike(bone, fracture, plate):
    opposite = {"dorsal": "plantar", "plantar": "dorsal", "medial": "lateral", "lateral": "medial"}
    mirrored = replace(plate, side=opposite[plate.side])
    a, b = (plate_response(bone, fracture, p, LOADS, cases=ALL) for p in (plate, mirrored))
    for end in ("bonded", "loose"):
        for case in ALL:
            assert stiffness(a, end, case) == pytest.approx(stiffness(b, end, case))
        for case in BENDING:
            one, two = (getattr(r, end).bending[case] for r in (a, b))
            assert one.peak_stress_MPa == pytest.approx(two.peak_stress_MPa)
            for side, value in one.opening_mm.items():
                # what opens on one side closes on the other side of the mirror image
                assert two.opening_mm[opposite[side]] == pytest.approx(-value)


@few
@given(bones(), fractures, screws())
def test_turning_bone_and_load_by_a_right_angle_changes_nothing(bone, fracture, screw):
    turned = replace(bone, outer_x=bone.outer_y, outer_y=bone.outer_x, canal_x=bone.canal_y, canal_y=bone.canal_x)
    a = screw_response(bone, fracture, screw, LOADS, cases=("cantilever_plantar", "torsion"))
    b = screw_response(turned, fracture, screw, LOADS, cases=("cantilever_lateral", "torsion"))
    for end in ("bonded", "loose"):
        one = getattr(a, end).bending["cantilever_plantar"]
        two = getattr(b, end).bending["cantilever_lateral"]
        assert one.stiffness_N_per_mm == pytest.approx(two.stiffness_N_per_mm)
        assert one.opening_mm["plantar"] / 20 == pytest.approx(two.opening_mm["lateral"] / 15)
        assert one.bone_stress_MPa / 20 == pytest.approx(two.bone_stress_MPa / 15)
        assert stiffness(a, end, "torsion") == pytest.approx(stiffness(b, end, "torsion"))


@few
@given(bones(), fractures, screws(), number(0.2, 5))
def test_an_open_construct_is_linear_in_the_load(bone, fracture, screw, factor):
    more = Loads(*(getattr(LOADS, f.name) * factor for f in fields(LOADS)))
    a, b = (screw_response(bone, fracture, screw, x, cases=ALL) for x in (LOADS, more))
    for case in (*BENDING, "axial"):
        one, two = a.loose.bending[case], b.loose.bending[case]
        for name in ("deflection_mm", "peak_stress_MPa", "bone_stress_MPa", "shear_mm", "moment_at_fracture_N_mm"):
            assert getattr(two, name) == pytest.approx(factor * getattr(one, name), rel=1e-9, abs=1e-12)
        assert two.stiffness_N_per_mm == pytest.approx(one.stiffness_N_per_mm)


@few
@given(bones(), fractures, screws())
def test_the_combined_compliance_is_the_weighted_sum_of_both_planes(bone, fracture, screw):
    cases = ("cantilever_plantar", "cantilever_lateral", "cantilever_combined")
    r = screw_response(bone, fracture, screw, LOADS, cases=cases)
    for end in ("bonded", "loose"):
        y, x, both = (1 / stiffness(r, end, c) for c in cases)
        assert both == pytest.approx(y * 0.64 + x * 0.36)


@few
@given(bones(), fractures, screws(), st.sampled_from([0.5, 2.0, 4.0]))
def test_lengths_scale_as_dimensions_demand(bone, fracture, screw, k):
    # powers of two scale exactly, so that no comparison of two equal places flips
    big_bone = Bone(
        *(getattr(bone, n) * k for n in ("edges", "outer_x", "outer_y", "canal_x", "canal_y")), bone.E, bone.G
    )
    lengths = {f.name: getattr(screw, f.name) * k for f in fields(screw)[:-3]}
    a = screw_response(bone, fracture, screw, LOADS, cases=ALL)
    b = screw_response(
        big_bone, Fracture(fracture.centre * k, fracture.gap * k), replace(screw, **lengths), LOADS, cases=ALL
    )
    for end in ("bonded", "loose"):
        for case in ALL:
            power = 3 if case == "torsion" else 1
            assert stiffness(b, end, case) == pytest.approx(k**power * stiffness(a, end, case))
        one, two = (getattr(r, end).bending["cantilever_plantar"] for r in (a, b))
        assert two.peak_stress_MPa == pytest.approx(one.peak_stress_MPa / k**2)
        assert two.opening_mm["plantar"] == pytest.approx(one.opening_mm["plantar"] / k)
        assert two.EI_N_m2 == pytest.approx(one.EI_N_m2 * k**4)


@few
@given(bones(), number(25, 32), number(0.5, 3), screws(), number(1, 2000), number(1.1, 5))
def test_stiffer_callus_never_softens(bone, centre, gap, screw, E_c, factor):
    cases = ("cantilever_plantar", "cantilever_lateral", "four_point_im_plantar", "axial", "torsion")
    soft, stiff = (
        screw_response(bone, Fracture(centre, gap, Contact.HEALING, callus_E=v), screw, LOADS, local=PLAIN, cases=cases)
        for v in (E_c, E_c * factor)
    )
    open_ = screw_response(bone, Fracture(centre, gap), screw, LOADS, local=PLAIN, cases=cases)
    for end in ("bonded", "loose"):
        for case in cases:
            a, b, c = (stiffness(r, end, case) for r in (open_, soft, stiff))
            assert a <= b * (1 + 1e-9)
            assert b <= c * (1 + 1e-9)


@few
@given(bones(), number(25, 32), plates(), number(0, 400), number(1.05, 3))
def test_more_compression_never_softens_a_joint(bone, centre, plate, preload, factor):
    low, high = (
        plate_response(bone, Fracture(centre, 0.0, Contact.CLOSED, preload=v), plate, LOADS, cases=BENDING)
        for v in (preload, preload * factor)
    )
    for end in ("bonded", "loose"):
        for case in BENDING:
            assert stiffness(low, end, case) <= stiffness(high, end, case) * (1 + 1e-9)
            a, b = (getattr(r, end).bending[case].separation_load_N for r in (low, high))
            assert b == pytest.approx(a * factor)


@few
@given(bones(), fractures, screws())
def test_an_old_hole_never_stiffens(bone, fracture, screw):
    worn = with_old_hole(bone, screw.d_shank, 1.0, 40.0)
    cases = ("cantilever_plantar", "axial", "torsion")
    before, after = (intact_response(b, fracture, LOADS, cases=cases) for b in (bone, worn))
    for case in cases[:2]:
        assert after.bending[case].stiffness_N_per_mm <= before.bending[case].stiffness_N_per_mm * (1 + 1e-12)
    assert after.torsion.stiffness_N_mm_per_rad <= before.torsion.stiffness_N_mm_per_rad * (1 + 1e-12)


@few
@given(bones(), fractures, screws(), plates())
def test_the_correction_never_stiffens_and_plain_is_kept(bone, fracture, screw, plate):
    for corrected, plain in (
        [screw_response(bone, fracture, screw, LOADS, local=v, cases=BENDING) for v in (PROJECT_DEFAULT, PLAIN)],
        [plate_response(bone, fracture, plate, LOADS, local=v, cases=BENDING) for v in (PROJECT_DEFAULT, PLAIN)],
    ):
        for end in ("bonded", "loose"):
            for case in BENDING:
                a, b = (getattr(r, end).bending[case] for r in (corrected, plain))
                assert a.stiffness_N_per_mm <= b.stiffness_N_per_mm * (1 + 1e-9)
                assert a.plain_stiffness_N_per_mm == pytest.approx(b.stiffness_N_per_mm)


@few
@given(bones(), st.lists(screws(), min_size=2, max_size=3), st.lists(number(10e3, 20e3), min_size=2, max_size=3))
def test_arrays_answer_as_scalars_do(bone, sizes, moduli):
    stacked = Screw(*(np.array([getattr(s, f.name) for s in sizes]) for f in fields(Screw)[:-1]))
    draws = replace(bone, E=np.array(moduli)[:, None])
    fracture = Fracture(28.0, 1.0)
    many = screw_response(draws, fracture, stacked, LOADS, cases=ALL)
    for i, E in enumerate(moduli):
        for j, screw in enumerate(sizes):
            one = screw_response(replace(bone, E=E), fracture, screw, LOADS, cases=ALL)
            for end in ("bonded", "loose"):
                for case in BENDING:
                    a, b = getattr(many, end).bending[case], getattr(one, end).bending[case]
                    assert a.stiffness_N_per_mm[i, j] == pytest.approx(b.stiffness_N_per_mm)
                    assert a.peak_stress_MPa[i, j] == pytest.approx(b.peak_stress_MPa)


@st.composite
def beams(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    n = draw(st.integers(1, 5))
    steps = draw(st.lists(number(2, 30), min_size=n, max_size=n))
    EI = draw(st.lists(number(1e5, 1e7), min_size=n, max_size=n))
    return np.concatenate([[0.0], np.cumsum(steps)]), np.array(EI)


@few
@given(beams(), number(0, 1), number(0, 1))
def test_maxwell_reciprocity(beam, u, v):
    edges, EI = beam
    a, b = u * edges[-1], v * edges[-1]
    for one, two in (
        (cantilever(edges, EI, [1.0, 0.0], [a, b]), cantilever(edges, EI, [0.0, 1.0], [a, b])),
        (
            simply_supported(edges, EI, [1.0, 0.0], [a, b], (0.0, edges[-1])),
            simply_supported(edges, EI, [0.0, 1.0], [a, b], (0.0, edges[-1])),
        ),
    ):
        assert value_at(one.s, one.deflection, b) == pytest.approx(
            value_at(two.s, two.deflection, a), rel=1e-7, abs=1e-12
        )


@few
@given(beams(), number(-50, 50), number(-50, 50), number(0, 1), number(0, 1))
def test_superposition(beam, f, g, u, v):
    edges, EI = beam
    at = [u * edges[-1], v * edges[-1]]
    one, two, both = (cantilever(edges, EI, w, at) for w in ([f, 0.0], [0.0, g], [f, g]))
    for name in ("moment", "rotation", "deflection", "shear_force"):
        assert getattr(both, name) == pytest.approx(getattr(one, name) + getattr(two, name), rel=1e-9, abs=1e-9)


@few
@given(beams(), number(1, 60))
def test_splitting_a_piece_changes_nothing(beam, at):
    edges, EI = beam
    x = min(at, edges[-1] * 0.99)
    k = int(np.searchsorted(edges, x, side="right")) - 1
    finer = np.insert(edges, k + 1, x) if x not in edges else edges
    rigid = np.insert(EI, k, EI[k]) if x not in edges else EI
    a, b = cantilever(edges, EI, [3.0], [edges[-1]]), cantilever(finer, rigid, [3.0], [edges[-1]])
    assert a.deflection[-1] == pytest.approx(b.deflection[-1])


@few
@given(beams(), number(0, 1))
def test_energy_equals_half_the_work(beam, u):
    edges, EI = beam
    state = cantilever(edges, EI, [7.0], [u * edges[-1]])
    length, left, right = np.diff(state.s), state.moment[:-1], state.moment[1:]
    rigid = EI[np.clip(np.searchsorted(edges, (state.s[1:] + state.s[:-1]) / 2) - 1, 0, len(EI) - 1)]
    energy = (length * (left**2 + left * right + right**2) / 6 / rigid).sum()
    assert energy == pytest.approx(7 * value_at(state.s, state.deflection, u * edges[-1]) / 2, rel=1e-9, abs=1e-15)
