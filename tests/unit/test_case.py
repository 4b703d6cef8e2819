"""A case file becomes a case: what was measured, nothing else, and all problems in one answer."""

from __future__ import annotations

import dataclasses
import typing
from datetime import date
from pathlib import Path

import pytest

from fixplan.case import (
    Bone,
    Case,
    CaseError,
    Energy,
    Fracture,
    Imaging,
    Isthmus,
    Level,
    Patient,
    PlateRoom,
    Previous,
    fields,
    limits,
    parse_case,
    read_case,
)
from fixplan.case.fields import sections
from fixplan.case.identify import identifying
from fixplan.resources import resource_dir
from fixplan.sources import all_sources, thresholds
from fixplan.values import parse

LEAST = """
[case]
label = "DEMO-5E"
side = "left"
[bone]
ray = 5
length = "71 mm"
[bone.isthmus]
canal = "4.7 mm"
[fracture]
zone = 2
"""

FULL = """
[case]
label = "DEMO-5A"
side = "left"
planned_for = 2026-12-03
[bone]
ray = 5
length = "71.5 ± 0.8 mm"
straight_segment = "50 mm"
[bone.isthmus]
at = "33 mm"
canal_ap = "4.6 mm, 4.9 mm, 4.7 mm"
canal_lateral = "5.6 mm"
outer_ap = "9.6 mm"
outer_lateral = "8.4 mm"
[bone.at_fracture]
canal = "5.2 mm"
outer_ap = "11 mm"
[imaging]
source = "radiograph"
marker_true = "25 mm"
marker_seen = "28.1 mm"
[fracture]
zone = 2
from_base = "24 mm"
extent = "2 mm"
gap = "1 mm"
pattern = "simple"
healing = "acute"
crosses_tmt = false
compression = "60 N"
callus_modulus = "0.1 GPa"
[plate]
room_proximal = "14 mm"
room_distal = "30 mm"
surface_width = "8 mm"
standoff = "1 mm"
[previous]
screw_diameter = "4.5 mm"
state = "removed"
[patient]
body_mass = "74 kg"
activity = "running"
risks = ["hindfoot varus", "metatarsus adductus"]
metatarsus_adductus_angle = "22 deg"
vitamin_d = "24 ng/mL"
[patient.energy]
bmi = "21.5 kg/m2"
menses_per_year = 11
bmd_z = -1.5
earlier_stress_fractures = 1
[plan]
consider = ["screw", "plate"]
kits = ["im-screws-cannulated-ti", "mini-plates-2.4"]
[plan.thresholds]
tip_clearance = "2 mm"
span_ratio_simple = 8
[compare]
constructs = ["screw", "plate"]
"""


def read(folder: Path, text: str) -> Case:
    path = folder / "case.toml"
    path.write_text(text, encoding="utf-8")
    return read_case(path)


def problems(folder: Path, text: str) -> dict[str, str]:
    with pytest.raises(CaseError) as error:
        read(folder, text)
    return {p.where: p.what for p in error.value.problems}


def test_everything_the_contract_names_is_read(tmp_path: Path) -> None:
    case = read(tmp_path, FULL)
    assert (case.label, case.side, case.planned_for) == ("DEMO-5A", "left", date(2026, 12, 3))
    assert case.bone.length is not None
    assert (case.bone.length.value, case.bone.length.sd) == (71.5, 0.8)
    assert case.bone.isthmus.canal_ap is not None
    assert case.bone.isthmus.canal_ap.n_readings == 3
    assert case.bone.at_fracture.canal is not None
    assert case.imaging.marker_seen is not None
    assert case.fracture.callus_modulus is not None
    assert case.fracture.callus_modulus.value == pytest.approx(100)
    assert case.plate.standoff is not None
    assert case.previous is not None
    assert case.previous.state == "removed"
    assert case.patient.risks == ("hindfoot varus", "metatarsus adductus")
    assert case.patient.energy.bmd_z == -1.5
    assert case.plan.consider == ("screw", "plate")
    assert case.plan.thresholds["tip_clearance"].value == 2
    assert case.plan.thresholds["span_ratio_simple"].value == 8
    assert case.compare == ("screw", "plate")


def test_what_the_file_does_not_say_stays_unsaid(tmp_path: Path) -> None:
    case = read(tmp_path, LEAST)
    assert case.planned_for is None
    assert case.previous is None
    assert case.plan.consider == case.plan.kits == case.compare == ()
    for section in (case.imaging, case.plate, case.bone.at_fracture):
        assert all(getattr(section, f.name) is None for f in dataclasses.fields(section))
    assert case.fracture.crosses_tmt is None


def test_every_quantity_remembers_its_key_and_its_text(tmp_path: Path) -> None:
    length = read(tmp_path, FULL).bone.length
    assert length is not None
    assert (length.path, length.raw) == ("bone.length", "71.5 ± 0.8 mm")


def test_the_table_of_fields_and_the_case_hold_the_same_keys() -> None:
    classes = {
        "bone.isthmus": Isthmus,
        "bone.at_fracture": Level,
        "imaging": Imaging,
        "fracture": Fracture,
        "plate": PlateRoom,
        "previous": Previous,
        "patient": Patient,
        "patient.energy": Energy,
        "bone": Bone,
    }
    for at, kind in classes.items():
        assert {f.name for f in dataclasses.fields(kind)} == set(sections()[at])


def test_choices_are_those_of_the_types() -> None:
    for key, kind, name in (
        ("fracture.pattern", Fracture, "pattern"),
        ("fracture.healing", Fracture, "healing"),
        ("fracture.zone", Fracture, "zone"),
        ("previous.state", Previous, "state"),
        ("imaging.source", Imaging, "source"),
        ("patient.activity", Patient, "activity"),
        ("patient.energy.energy_availability", Energy, "energy_availability"),
    ):
        hint = typing.get_type_hints(kind)[name]
        literal = next((a for a in typing.get_args(hint) if typing.get_origin(a) is typing.Literal), hint)
        assert set(typing.get_args(literal)) == set(fields()[key].choices)


def test_every_bound_has_an_origin() -> None:
    for field in fields().values():
        if field.low is not None:
            assert field.source in all_sources(), field.key
            assert field.why, field.key
        for id in (field.usual_source, field.how_source):
            assert not id or id in all_sources(), field.key
        assert bool(field.usual) == bool(field.usual_source), field.key
    assert all(limit.source in all_sources() and limit.why for limit in limits().values())


def test_every_example_of_a_quantity_lies_within_its_bounds() -> None:
    for field in fields().values():
        if field.kind == "quantity":
            found = parse(field.example, field.dimension, field.key).value
            own = parse(f"{field.low} {field.unit}", field.dimension, field.key).value
            top = parse(f"{field.high} {field.unit}", field.dimension, field.key).value
            assert own <= found <= top, field.key


def test_no_key_of_a_case_file_counts_as_identifying() -> None:
    assert not [key for path in fields() for key in path.split(".") if identifying(key)]


@pytest.mark.parametrize(
    "key",
    [
        "name",
        "Name",
        "patient_name",
        "patientName",
        "surname",
        "first-name",
        "dob",
        "DOB",
        "date_of_birth",
        "birthdate",
        "birth_year",
        "mrn",
        "MRN",
        "hospital_number",
        "hospitalNo",
        "nhs",
        "nhs_number",
        "nhsNumber",
        "ssn",
        "address",
        "home_address",
        "street",
        "postcode",
        "zip",
        "phone",
        "mobile_phone",
        "email",
        "e-mail",
        "record_number",
        "patient_id",
        "accession_number",
        "insurance_no",
        "next_of_kin",
        "initials",
        "medical_record",
    ],
)
def test_identifying_keys_are_known(key: str) -> None:
    assert identifying(key)


def test_identifying_keys_are_refused_at_any_depth_and_their_values_not_repeated(tmp_path: Path) -> None:
    text = LEAST.replace("ray = 5", 'ray = 5\nfoo = {deep = [{patient_name = "Zzyzx"}]}')
    text += '\n[contact]\nemail = "zzyzx@example.org"\n[plan.thresholds]\nbirth = "1 mm"\n'
    with pytest.raises(CaseError) as error:
        read(tmp_path, text)
    where = {p.where for p in error.value.problems if "identify" in p.what}
    assert where == {"bone.foo.deep.patient_name", "contact", "plan.thresholds.birth"}
    assert "zzyzx" not in str(error.value).lower()


@pytest.mark.parametrize(
    "label",
    [
        "1990-04-12",
        "12.04.1990",
        "12/4/90",
        "19900412",
        "943 476 5919",
        "PAT 1234567",
        "a@b.org",
        "Jane Doe",
        "Doe, Jane",
    ],
)
def test_labels_that_could_identify_are_refused_without_repeating_them(tmp_path: Path, label: str) -> None:
    with pytest.raises(CaseError) as error:
        read(tmp_path, LEAST.replace("DEMO-5E", label))
    (problem,) = error.value.problems
    assert problem.where == "case.label"
    assert "pseudonym" in problem.right
    assert label not in problem.what


@pytest.mark.parametrize("label", ["DEMO-5A", "case 12", "A", "x.7_b", "LIST-3 LEFT"])
def test_pseudonyms_pass(tmp_path: Path, label: str) -> None:
    assert read(tmp_path, LEAST.replace("DEMO-5E", label)).label == label


def test_all_problems_come_in_one_answer(tmp_path: Path) -> None:
    text = """
[case]
label = "DEMO"
side = "Left"
dob = 1990-01-01
[bone]
ray = 6
length = "7 m"
lenght = "71 mm"
[bone.isthmus]
canal_ap = "9.7 mm"
outer_ap = "9.6 mm"
[imaging]
marker_true = "25 mm"
[fracture]
zone = 4
"""
    assert set(problems(tmp_path, text)) == {
        "case.side",
        "case.dob",
        "bone.ray",
        "bone.length",
        "bone.lenght",
        "bone.isthmus.outer_ap",
        "imaging.marker_seen",
        "fracture.zone",
    }


def test_one_slip_is_reported_once(tmp_path: Path) -> None:
    # a refused length must not also be called missing, nor a refused section's keys
    assert set(problems(tmp_path, LEAST.replace('"71 mm"', '"71"'))) == {"bone.length"}
    assert set(problems(tmp_path, 'bone = 3\n[case]\nlabel = "A"\nside = "left"\n[fracture]\nzone = 2\n')) == {"bone"}


def test_a_table_stands_alone(tmp_path: Path) -> None:
    for name in ("s.csv", "p.csv"):
        (tmp_path / name).write_text("s\n")
    both = LEAST.replace("ray = 5", 'ray = 5\nstations = "s.csv"\nlandmarks = "p.csv"')
    found = problems(tmp_path, both)
    assert found == {
        "bone.landmarks": "is given beside [bone.isthmus]",
        "bone.stations": "is given beside [bone.isthmus]",
    }
    alone = both.replace('[bone.isthmus]\ncanal = "4.7 mm"', "")
    assert problems(tmp_path, alone) == {"bone.landmarks": "is given beside bone.stations"}


def test_room_across_the_joint_lies_on_another_bone(tmp_path: Path) -> None:
    text = LEAST.replace("ray = 5", "ray = 2").replace("zone = 2", 'zone = "base"\nfrom_base = "9 mm"')
    text += '[plate]\nroom_proximal = "20 mm"\nroom_distal = "40 mm"\n'
    assert set(problems(tmp_path, text)) == {"plate.room_proximal"}
    across = text.replace('zone = "base"', 'zone = "base"\ncrosses_tmt = true')
    assert read(tmp_path, across).fracture.crosses_tmt
    # without a place of the fracture only the sum can be judged: 20 + 52 mm in a bone of 71 mm
    nowhere = text.replace('\nfrom_base = "9 mm"', "").replace('"40 mm"', '"52 mm"')
    assert set(problems(tmp_path, nowhere)) == {"plate.room_distal"}


@pytest.mark.parametrize(
    "extra, most_proximal, most_distal",
    [
        # by hand, bone of 71 mm, fracture at 24 mm reaching 23 to 25 mm: 23 mm proximal, 46 mm distal
        ('from_base = "24 mm"\nextent = "2 mm"', 23, 46),
        ('from_base = "24 mm"', 24, 47),
    ],
)
def test_room_ends_at_the_fracture_and_at_the_ends(
    tmp_path: Path, extra: str, most_proximal: float, most_distal: float
) -> None:
    def text(proximal: float, distal: float) -> str:
        return f'{LEAST}{extra}\n[plate]\nroom_proximal = "{proximal} mm"\nroom_distal = "{distal} mm"\n'

    assert read(tmp_path, text(most_proximal, most_distal)).plate.room_distal is not None
    assert set(problems(tmp_path, text(most_proximal + 0.01, most_distal))) == {"plate.room_proximal"}
    assert set(problems(tmp_path, text(most_proximal, most_distal + 0.01))) == {"plate.room_distal"}


def test_room_without_a_place_counts_the_extent(tmp_path: Path) -> None:
    # by hand: 71 mm less an extent of 11 mm leaves 60 mm for both rooms
    text = LEAST + 'extent = "11 mm"\n[plate]\nroom_proximal = "20 mm"\nroom_distal = "40 mm"\n'
    assert read(tmp_path, text).plate.room_distal is not None
    assert set(problems(tmp_path, text.replace('"40 mm"', '"40.1 mm"'))) == {"plate.room_distal"}


def test_two_to_four_constructs_are_compared(tmp_path: Path) -> None:
    for count in (1, 2, 4, 5):
        text = LEAST + f"[compare]\nconstructs = {[f'screw {i}' for i in range(count)]}\n"
        if 2 <= count <= 4:
            assert len(read(tmp_path, text).compare) == count
        else:
            assert set(problems(tmp_path, text)) == {"compare.constructs"}


def test_every_planning_threshold_can_be_overridden(tmp_path: Path) -> None:
    lines = [f'{name} = "{t.value} {t.unit}"' for name, t in thresholds().items() if t.unit != "1"]
    lines += [f"{name} = {t.value}" for name, t in thresholds().items() if t.unit == "1"]
    case = read(tmp_path, LEAST + "[plan.thresholds]\n" + "\n".join(lines) + "\n")
    assert {name: q.value for name, q in case.plan.thresholds.items()} == {
        name: pytest.approx(t.value) for name, t in thresholds().items()
    }


def test_a_quoted_key_with_dots_is_not_a_path(tmp_path: Path) -> None:
    text = LEAST.replace("ray = 5", 'ray = 5\n"isthmus.at" = "33 mm"')
    assert problems(tmp_path, text) == {"bone.isthmus.at": "is not a key of a case file"}
    assert problems(tmp_path, '"" = 1\n' + LEAST) == {'""': "is not a key of a case file"}


def test_boundaries_themselves_pass(tmp_path: Path) -> None:
    # common sense, no source: a value equal to an inclusive bound, and touching but possible geometry
    text = LEAST.replace('"71 mm"', '"110 mm"') + 'from_base = "109 mm"\nextent = "2 mm"\ngap = "2 mm"\n'
    text = text.replace("ray = 5", 'ray = 5\nstraight_segment = "100 mm"')
    assert read(tmp_path, text).fracture.extent is not None
    assert "fracture.extent" in problems(tmp_path, text.replace('"109 mm"', '"109.1 mm"'))


def test_bounds_hold_in_any_unit(tmp_path: Path) -> None:
    assert read(tmp_path, LEAST.replace('"71 mm"', '"11 cm"')).bone.length is not None
    assert read(tmp_path, LEAST + '[patient]\ncalcaneal_pitch = "60 deg"\n').patient.calcaneal_pitch is not None
    assert "patient.calcaneal_pitch" in problems(tmp_path, LEAST + '[patient]\ncalcaneal_pitch = "60.1 deg"\n')


def test_far_off_values_are_called_a_wrong_unit(tmp_path: Path) -> None:
    assert "probably a wrong unit" in problems(tmp_path, LEAST.replace('"71 mm"', '"7 m"'))["bone.length"]
    assert "wrong unit" not in problems(tmp_path, LEAST.replace('"71 mm"', '"112 mm"'))["bone.length"]


def test_files_are_found_beside_the_case(tmp_path: Path) -> None:
    text = LEAST.replace('[bone.isthmus]\ncanal = "4.7 mm"', "").replace("ray = 5", 'ray = 5\nstations = "s.csv"')
    assert problems(tmp_path, text) == {"bone.stations": "'s.csv' is missing"}
    (tmp_path / "s.csv").write_text("s,canal_ap\n")
    assert read(tmp_path, text).bone.stations == tmp_path / "s.csv"


def test_landmarks_may_stand_for_the_length(tmp_path: Path) -> None:
    (tmp_path / "p.csv").write_text("x,y\n")
    text = LEAST.replace('[bone.isthmus]\ncanal = "4.7 mm"', "").replace('length = "71 mm"', 'landmarks = "p.csv"')
    assert read(tmp_path, text).bone.length is None


def test_the_hash_follows_content_and_not_layout(tmp_path: Path) -> None:
    first = read(tmp_path, LEAST).inputs_sha256
    assert len(first) == 64
    shuffled = "# a comment\n[fracture]\nzone=2\n[bone]\nlength='71 mm'\nray=5\nisthmus={canal='4.7 mm'}\n"
    shuffled += "[case]\nside='left'\nlabel='DEMO-5E'\n"
    assert read(tmp_path, shuffled).inputs_sha256 == first
    assert read(tmp_path, LEAST.replace("4.7", "4.8")).inputs_sha256 != first


def test_the_hash_covers_the_files_the_case_points_to(tmp_path: Path) -> None:
    text = LEAST + '[imaging]\ndicom = "f.dcm"\n'
    (tmp_path / "f.dcm").write_bytes(b"one")
    first = read(tmp_path, text).inputs_sha256
    (tmp_path / "f.dcm").write_bytes(b"two")
    assert read(tmp_path, text).inputs_sha256 != first


def test_a_quick_answer_needs_no_label_and_no_side() -> None:
    table = {"bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}}, "fracture": {"zone": 2}}
    assert parse_case(table, "the command line", quick=True).side is None
    with pytest.raises(CaseError, match=r"case\.side: is missing"):
        parse_case(table, "the command line")
    with pytest.raises(CaseError, match="only be named in a case file"):
        parse_case({**table, "imaging": {"dicom": "f.dcm"}}, "the command line", quick=True)


def test_plate_alone_needs_no_canal(tmp_path: Path) -> None:
    text = LEAST.replace('[bone.isthmus]\ncanal = "4.7 mm"', "")
    assert set(problems(tmp_path, text)) == {"bone.isthmus"}
    assert read(tmp_path, text + '[plan]\nconsider = ["plate"]\n').plan.consider == ("plate",)


def test_every_demo_case_is_read_and_marked_invented() -> None:
    found = [read_case(path) for path in sorted(resource_dir("demo_cases").glob("*.toml"))]
    assert len(found) >= 7
    assert all(case.invented and case.label.startswith("DEMO-") for case in found)
    assert len({case.label for case in found}) == len(found)
