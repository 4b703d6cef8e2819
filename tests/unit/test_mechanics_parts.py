"""Parts refuse impossible geometry, and an old hole widens the canal."""

import numpy as np
import pytest

from fixplan.mechanics.chunks import in_chunks, lead_shape
from fixplan.mechanics.parts import Bone, Contact, Fracture, Loads, Plate, Screw, with_old_hole

BONE = {
    "edges": [0.0, 20.0, 70.0],
    "outer_x": [10.0, 9.0],
    "outer_y": [9.0, 8.0],
    "canal_x": [5.0, 4.0],
    "canal_y": [5.0, 4.5],
    "E": 17e3,
    "G": 3.3e3,
}
SCREW = {
    "d_major": 5.0,
    "d_core": 3.6,
    "d_shank": 4.2,
    "d_cannula": 1.6,
    "thread_length": 16.0,
    "length": 48.0,
    "seat": 2.0,
    "E": 114e3,
    "G": 43e3,
}
PLATE = {
    "side": "dorsal",
    "width": 6.0,
    "thickness": 1.3,
    "standoff": 0.0,
    "hole": 2.9,
    "start": 10.0,
    "end": 60.0,
    "inner_proximal": 20.0,
    "inner_distal": 40.0,
    "screw_core": 1.9,
    "screws_per_side": 3,
    "E": 114e3,
    "G": 43e3,
    "empty_hole": False,
}
FRACTURE = {"centre": 25.0, "gap": 1.0}
LOADS = {"plantar": 20.0, "lateral": 10.0, "bench": 50.0, "axial": 50.0, "torque": 300.0}
PARTS = {Bone: BONE, Screw: SCREW, Plate: PLATE, Fracture: FRACTURE, Loads: LOADS}

BAD = [
    (Bone, {"edges": [1.0, 20.0, 70.0]}, "bone.edges = 1: bone.edges must start at 0 mm"),
    (Bone, {"edges": [0.0, 20.0, 19.0]}, "bone.edges = 19: bone.edges must not descend"),
    (Bone, {"edges": [0.0, 20.0, np.inf]}, "bone.edges = inf"),
    (Bone, {"outer_x": [10.0]}, "bone.outer_x, bone.canal_x: give one value for each of 2 pieces"),
    (Bone, {"canal_y": [5.0]}, "bone.outer_y, bone.canal_y: give one value for each of 2 pieces"),
    (Bone, {"canal_x": [5.0, 9.0]}, "bone.canal_x = 9: bone.canal_x must be below the outer width"),
    (Bone, {"canal_y": [9.5, 4.0]}, "bone.canal_y = 9.5"),
    (Bone, {"outer_y": [0.0, 8.0]}, "bone.outer_y = 0"),
    (Bone, {"canal_x": [-1.0, 4.0]}, "bone.canal_x = -1"),
    (Bone, {"E": 0.0}, "bone.E = 0"),
    (Bone, {"G": np.nan}, "bone.G = nan"),
    (Fracture, {"centre": 0.0}, "fracture.centre = 0"),
    (Fracture, {"gap": -0.1}, "fracture.gap = -0.1"),
    (Fracture, {"preload": 10.0}, "fracture.preload: belongs to the closed state"),
    (Fracture, {"state": Contact.CLOSED}, "fracture.preload: belongs to the closed state"),
    (Fracture, {"callus_E": 10.0}, "fracture.callus_E: belongs to the healing state"),
    (Fracture, {"state": Contact.HEALING}, "fracture.callus_E: belongs to the healing state"),
    (Fracture, {"state": Contact.CLOSED, "preload": -1.0}, "fracture.preload = -1"),
    (Fracture, {"state": Contact.HEALING, "callus_E": 0.0}, "fracture.callus_E = 0"),
    (Fracture, {"gap": 0.0, "state": Contact.HEALING, "callus_E": 9.0}, "fracture.gap = 0"),
    *((Screw, {k: 0.0}, f"screw.{k} = 0") for k in SCREW if k not in ("d_cannula", "seat")),
    (Screw, {"d_cannula": -0.1}, "screw.d_cannula = -0.1"),
    (Screw, {"seat": -0.1}, "screw.seat = -0.1"),
    (Screw, {"d_core": 5.0}, "screw.d_core = 5: screw.d_core must be below d_major"),
    (Screw, {"d_shank": 5.1}, "screw.d_shank = 5.1: screw.d_shank must not exceed d_major"),
    (Screw, {"d_cannula": 3.6}, "screw.d_cannula = 3.6: screw.d_cannula must be below d_core"),
    (Screw, {"d_shank": 3.0, "d_cannula": 3.2}, "screw.d_cannula = 3.2: screw.d_cannula must be below d_shank"),
    (Screw, {"thread_length": 48.1}, "screw.thread_length = 48.1: screw.thread_length must not exceed the length"),
    (Plate, {"side": "top"}, "plate.side = 'top': must be one of dorsal, plantar, medial, lateral"),
    *((Plate, {k: 0.0}, f"plate.{k} = 0") for k in ("width", "thickness", "inner_proximal", "screw_core", "E", "G")),
    *((Plate, {k: -1.0}, f"plate.{k} = -1") for k in ("standoff", "hole", "start")),
    (Plate, {"hole": 6.0}, "plate.hole = 6: plate.hole must be below the width"),
    (Plate, {"thickness": 6.1}, "plate.thickness = 6.1: plate.thickness must not exceed the width"),
    (Plate, {"hole": 0.0, "empty_hole": True}, "plate.hole = 0: plate.hole must be above 0 mm for an empty hole"),
    (Plate, {"start": 20.0}, "plate.inner_proximal = 20: plate.inner_proximal must lie on the plate"),
    (Plate, {"inner_distal": 20.0}, "plate.inner_distal = 20: plate.inner_distal must lie beyond inner_proximal"),
    (Plate, {"end": 40.0}, "plate.inner_distal = 40: plate.inner_distal must lie on the plate"),
    *((Loads, {k: 0.0}, f"loads.{k} = 0") for k in LOADS),
]


@pytest.mark.parametrize(("part", "change", "message"), BAD)
def test_refused(part, change, message):
    with pytest.raises(ValueError, match=message):
        part(**(PARTS[part] | change))


@pytest.mark.parametrize(
    ("part", "change"),
    [
        (Bone, {"canal_x": [0.0, 0.0]}),
        (Bone, {"edges": [0.0, 20.0, 20.0]}),
        (Fracture, {"gap": 0.0}),
        (Fracture, {"state": Contact.CLOSED, "preload": 0.0}),
        (Screw, {"d_cannula": 0.0}),
        (Screw, {"d_shank": 5.0}),
        (Screw, {"thread_length": 48.0}),
        (Screw, {"seat": 0.0}),
        (Plate, {"start": 0.0}),
        (Plate, {"thickness": 6.0}),
        (Plate, {"empty_hole": True}),
    ],
)
def test_the_bound_itself_is_accepted(part, change):
    part(**(PARTS[part] | change))


def test_where_the_screw_ends_and_its_thread_begins():
    screw = Screw(**SCREW)
    assert screw.tip == 50
    assert screw.thread_start == 34


@pytest.mark.parametrize("centre", [0.4, 69.6])
def test_a_fracture_outside_the_bone_is_refused(centre):
    with pytest.raises(ValueError, match="the gap must lie in the bone"):
        Fracture(centre, 1.0).check(Bone(**BONE))


def test_a_fracture_just_inside_the_bone_is_accepted():
    for centre in (0.6, 69.4):
        Fracture(centre, 1.0).check(Bone(**BONE))


def test_an_old_hole_widens_the_canal_over_its_length_only():
    bone = with_old_hole(Bone(**BONE), 4.3, 2.0, 45.0)
    assert bone.edges.tolist() == [0, 2, 20, 45, 70]
    assert bone.canal_x.tolist() == [5, 5, 4.3, 4]
    assert bone.canal_y.tolist() == [5, 5, 4.5, 4.5]
    assert bone.outer_x.tolist() == [10, 10, 9, 9]
    assert bone.outer_y.tolist() == [9, 9, 8, 8]


def test_old_holes_of_many_sizes_at_once():
    bone = with_old_hole(Bone(**BONE), np.array([4.0, 6.0]), 0.0, 30.0)
    # a hole from the very end leaves a first piece without length
    assert bone.canal_x.tolist() == [[5, 5, 4, 4], [5, 6, 6, 4]]
    assert bone.length == 70


@pytest.mark.parametrize(
    ("hole", "message"),
    [
        ((8.5, 2.0, 40.0), "bone.canal_y = 8.5"),
        ((4.0, 2.0, 70.1), "hole.end = 70.1"),
        ((4.0, 30.0, 30.0), "hole.end = 30"),
        ((0.0, 2.0, 40.0), "hole.diameter = 0"),
        ((4.0, -1.0, 40.0), "hole.start = -1"),
    ],
)
def test_impossible_old_holes_are_refused(hole, message):
    with pytest.raises(ValueError, match=message):
        with_old_hole(Bone(**BONE), *hole)


def test_a_hole_up_to_the_head_is_accepted():
    assert with_old_hole(Bone(**BONE), 4.3, 2.0, 70.0).canal_x[-2] == 4.3


def test_lead_shape_ignores_stations():
    bone = Bone(**(BONE | {"E": np.full((4, 1), 17e3), "outer_x": np.full((4, 1, 2), 10.0)}))
    assert lead_shape(bone, Screw(**(SCREW | {"length": np.array([40.0, 44.0, 48.0])}))) == (4, 3)
    assert lead_shape(Bone(**BONE)) == ()


def test_chunks_cut_rows_and_join_them_in_order():
    seen = []

    def run(bone, screw):
        seen.append(lead_shape(bone, screw))
        return {"length": screw.length + bone.E, "E": bone.E, "name": "as it was"}

    bone = Bone(**(BONE | {"E": np.arange(1.0, 6.0)[:, None]}))
    screw = Screw(**(SCREW | {"length": np.array([[40.0, 44.0]])}))
    out = in_chunks(run, bone, screw, at_once=4)
    assert seen == [(2, 2), (2, 2), (1, 2)]
    assert out["length"].tolist() == [[40 + k, 44 + k] for k in range(1, 6)]
    assert out["E"].tolist() == [[k, k] for k in range(1, 6)]
    assert out["name"] == "as it was"


def test_few_cases_are_not_cut():
    seen = []
    in_chunks(lambda p: seen.append(lead_shape(p)), Screw(**(SCREW | {"length": np.full(6, 40.0)})), at_once=6)
    in_chunks(lambda p: seen.append(lead_shape(p)), Screw(**SCREW), at_once=0)
    assert seen == [(6,), ()]
