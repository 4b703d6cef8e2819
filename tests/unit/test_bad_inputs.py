"""The table of bad inputs: each is refused with its own message, and nothing else happens.

A row of CASES replaces one text in a good case file, a row of KITS one text in a good kit; `where` and `said` must
stand in one and the same problem, and it must be the only one unless the row says otherwise.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import pytest

from fixplan.case import CaseError, read_case
from fixplan.kits import KitError, load_kits, validate
from fixplan.problems import InputError, Problem

GOOD_CASE = """
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
canal_ap = "4.7 ± 0.3 mm"
canal_lateral = "5.6 mm"
outer_ap = "9.6 mm"
outer_lateral = "8.4 mm"

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

[plate]
room_proximal = "14 mm"
room_distal = "30 mm"

[previous]
screw_diameter = "4.5 mm"
state = "removed"

[patient]
body_mass = "74 kg"
activity = "running"
risks = ["hindfoot varus"]

[plan]
consider = ["screw", "plate"]

[plan.thresholds]
tip_clearance = "2 mm"
"""

GOOD_KIT = """
[kit]
id = "mine"
title = "Stock of one's own"
status = "invented for the demo"
source = "PROJECT"

[[material]]
id = "metal"
name = "A metal"
standard = "none"
E = { value = "100 GPa", source = "PROJECT", status = "project default" }
nu = { value = "0.3", source = "PROJECT", status = "project default" }
yield = { value = "500 MPa", source = "PROJECT", status = "project default" }
ultimate = { value = "600 MPa", source = "PROJECT", status = "project default" }
status = "project default"
source = "PROJECT"

[[im_screw]]
code = "X45"
material = "metal"
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
lengths = { from = "30 mm", to = "40 mm", step = "5 mm" }
status = "invented for the demo"
source = "PROJECT"

[[cortical_screw]]
code = "C24"
material = "metal"
d_major = "2.4 mm"
d_core = "1.7 mm"
pitch = "1 mm"
thread = "none of the standard"
head = "spherical"
head_diameter = "4 mm"
drill = "1.8 mm"
driver = "hexagon 2.0"
lengths = ["10 mm", "12 mm"]
status = "invented for the demo"
source = "PROJECT"

[[plate]]
code = "P24"
material = "metal"
screw_system = "2.4 mm"
holes = [4, 6]
hole_spacing = "7 mm"
end = "3 mm"
width = "6 mm"
thickness = "1.2 mm"
hole_diameter = "2.8 mm"
locking = false
status = "invented for the demo"
source = "PROJECT"

[[instrument]]
code = "DRILL"
kind = "drill"
sizes = ["1.8 mm", "3.2 mm"]
status = "invented for the demo"
source = "PROJECT"
"""


INVENTED = 'locking = false\nstatus = "invented for the demo"\n'
E_LINE = '{ value = "100 GPa", source = "PROJECT", status = "project default" }'


class Row(NamedTuple):
    """Replace `old` by `new`; expect `said` at `where`. `alone`: no other problem may be reported."""

    old: str
    new: str
    where: str
    said: str
    alone: bool = True


CASES: dict[str, Row] = {
    # units and numbers
    "length without unit": Row('"71.5 ± 0.8 mm"', '"71"', "bone.length", "give a unit"),
    "length as a number": Row('"71.5 ± 0.8 mm"', "71.5", "bone.length", "give a unit"),
    "length as true": Row('"71.5 ± 0.8 mm"', "true", "bone.length", "not a length"),
    "length as a force": Row('"71.5 ± 0.8 mm"', '"71 N"', "bone.length", "not a unit of length"),
    "length seven metres": Row('"71.5 ± 0.8 mm"', '"7 m"', "bone.length", "probably a wrong unit"),
    "length in micrometres": Row('"71.5 ± 0.8 mm"', '"71 µm"', "bone.length", "probably a wrong unit"),
    "length too long": Row('"71.5 ± 0.8 mm"', '"111 mm"', "bone.length", "outside 30 to 110 mm"),
    "length negative": Row('"71.5 ± 0.8 mm"', '"-71 mm"', "bone.length", "negative"),
    "length nan": Row('"71.5 ± 0.8 mm"', '"nan mm"', "bone.length", "not a finite"),
    "length bare nan": Row('"71.5 ± 0.8 mm"', "nan", "bone.length", "not a finite"),
    "length bare inf": Row('"71.5 ± 0.8 mm"', "-inf", "bone.length", "not a finite"),
    "length as a date": Row('"71.5 ± 0.8 mm"', "2026-01-01", "bone.length", "not a length"),
    "length empty": Row('"71.5 ± 0.8 mm"', '""', "bone.length", "cannot be read"),
    "decimal comma": Row('"71.5 ± 0.8 mm"', '"71,5 mm"', "bone.length", "decimal point"),
    "uncertainty without unit": Row('"71.5 ± 0.8 mm"', '"71.5 ± 0.8"', "bone.length", "give a unit"),
    "uncertainty negative": Row('"71.5 ± 0.8 mm"', '"71.5 ± -0.8 mm"', "bone.length", "negative"),
    "uncertainty as large as the value": Row('"71.5 ± 0.8 mm"', '"71.5 ± 60 mm"', "bone.length", "above a third"),
    "table without sd": Row('"71.5 ± 0.8 mm"', '{ value = "71 mm" }', "bone.length", "exactly the keys"),
    "one reading in a list": Row('"71.5 ± 0.8 mm"', '["71 mm"]', "bone.length", "1 reading"),
    "mass in newton": Row('"74 kg"', '"740 N"', "patient.body_mass", "not a unit of mass"),
    "mass in gram": Row('"74 kg"', '"74 g"', "patient.body_mass", "probably a wrong unit"),
    # keys
    "misspelt key": Row("canal_lateral", "canal_latral", "bone.isthmus.canal_latral", "did you mean 'canal_lateral'"),
    "key in the wrong table": Row("zone = 2", "zone = 2\noffset = 1", "fracture.offset", "known here"),
    "key of another table": Row("zone = 2", 'zone = 2\nstandoff = "1 mm"', "fracture.standoff", "belongs in [plate]"),
    "unknown table": Row("[plate]", "[plates]", "plates", "did you mean 'plate'"),
    "table as a value": Row("[imaging]", "x = 1\n[imaging]", "bone.isthmus.x", "is not a key"),
    "value as a table": Row("zone = 2", "zone = {a = 1}", "fracture.zone", "not one of its values"),
    "patient name": Row('side = "left"', 'side = "left"\nname = "A"', "case.name", "could identify"),
    "date of birth": Row(
        "body_mass", "date_of_birth = 1990-01-01\nbody_mass", "patient.date_of_birth", "could identify"
    ),
    "record number": Row("body_mass", "mrn = 1\nbody_mass", "patient.mrn", "could identify"),
    "hospital number": Row("body_mass", "hospital_number = 1\nbody_mass", "patient.hospital_number", "could identify"),
    "table with an address": Row("[patient]", '[address]\nline = "1"\n[patient]', "address", "could identify"),
    "label like a birth date": Row("DEMO-5A", "12.04.1990", "case.label", "perhaps of birth"),
    "label like a record": Row("DEMO-5A", "X 1234567", "case.label", "perhaps of a record"),
    "label like a name": Row("DEMO-5A", "Doe, Jane", "case.label", "a person's name"),
    "label with markup": Row("DEMO-5A", "<b>x</b>", "case.label", "plain characters"),
    "label like a cell formula": Row("DEMO-5A", "=1+1", "case.label", "plain characters"),
    "label as a number": Row('"DEMO-5A"', "5", "case.label", "not a text"),
    # choices and kinds
    "side with a capital": Row('"left"', '"Left"', "case.side", "one of: left, right"),
    "ray six": Row("ray = 5", "ray = 6", "bone.ray", "one of: 1, 2, 3, 4, 5"),
    "ray as text": Row("ray = 5", 'ray = "5"', "bone.ray", "not a whole number"),
    "ray as a float": Row("ray = 5", "ray = 5.0", "bone.ray", "not a whole number"),
    "ray as true": Row("ray = 5", "ray = true", "bone.ray", "not a whole number"),
    "zone of another ray": Row("zone = 2", 'zone = "shaft"', "fracture.zone", "of ray 5; on ray 5 the zone is 1"),
    "zone of ray 5 on ray 2": Row("ray = 5", "ray = 2", "fracture.zone", "of ray 2; on rays 1 to 4"),
    "zone as true": Row("zone = 2", "zone = true", "fracture.zone", "not one of its values"),
    "unknown pattern": Row('"simple"', '"spiral"', "fracture.pattern", "one of: simple, comminuted"),
    "joint on ray 5": Row("crosses_tmt = false", "crosses_tmt = true", "fracture.crosses_tmt", "does not bridge"),
    "flag as text": Row("crosses_tmt = false", 'crosses_tmt = "no"', "fracture.crosses_tmt", "not true or false"),
    "date as text": Row("2026-12-03", '"2026-12-03"', "case.planned_for", "without quotes"),
    "date with time": Row("2026-12-03", "2026-12-03T08:00:00", "case.planned_for", "not a date"),
    "date of another century": Row("2026-12-03", "1026-12-03", "case.planned_for", "outside 2000"),
    "unknown risk": Row('"hindfoot varus"', '"bad luck"', "patient.risks", "one of: hindfoot varus"),
    "risks as a text": Row('["hindfoot varus"]', '"hindfoot varus"', "patient.risks", "not a list"),
    "risk twice": Row('["hindfoot varus"]', '["hindfoot varus", "hindfoot varus"]', "patient.risks", "twice"),
    "nothing to consider": Row('["screw", "plate"]', "[]", "plan.consider", "empty"),
    "kits as a text": Row("[plan]\n", '[plan]\nkits = "all"\n', "plan.kits", "not a list of texts"),
    "kit without a name": Row("[plan]\n", '[plan]\nkits = [" "]\n', "plan.kits", "text of 1 to 120"),
    "score out of range": Row(
        "[plan]\n", "[patient.energy]\nbmd_z = -9.5\n[plan]\n", "patient.energy.bmd_z", "outside -7"
    ),
    "score as nan": Row("[plan]\n", "[patient.energy]\nbmd_z = nan\n[plan]\n", "patient.energy.bmd_z", "outside -7"),
    "score as text": Row(
        "[plan]\n", '[patient.energy]\nbmd_z = "-1"\n[plan]\n', "patient.energy.bmd_z", "without quotes"
    ),
    "thresholds as a number": Row(
        '[plan.thresholds]\ntip_clearance = "2 mm"', "thresholds = 3", "plan.thresholds", "not a table"
    ),
    "patient without its table": Row("[patient]\n", "", "previous.body_mass", "it belongs in [patient]", alone=False),
    "unknown construct": Row('["screw", "plate"]', '["nail"]', "plan.consider", "one of: screw, plate"),
    "unknown threshold": Row("tip_clearance =", "tip_clearence =", "plan.thresholds.tip_clearence", "did you mean"),
    "threshold of another unit": Row('e = "2 mm"\n', 'e = "2 N"\n', "plan.thresholds.tip_clearance", "not a unit"),
    "threshold without unit": Row(
        'tip_clearance = "2 mm"', "tip_clearance = 2", "plan.thresholds.tip_clearance", "unit"
    ),
    "threshold in metres": Row('e = "2 mm"\n', 'e = "2 m"\n', "plan.thresholds.tip_clearance", "wrong unit"),
    "one construct to compare": Row(
        "[plan]", '[compare]\nconstructs = ["screw"]\n[plan]', "compare.constructs", "2 to 4"
    ),
    # geometry
    "canal as wide as the bone": Row('"9.6 mm"', '"4.7 mm"', "bone.isthmus.outer_ap", "no wider than its canal"),
    "canal as high as the bone": Row('"5.6 mm"', '"8.4 mm"', "bone.isthmus.outer_lateral", "no wider than its canal"),
    "one canal beside one film": Row(
        "[imaging]", '[bone.at_fracture]\ncanal = "6 mm"\ncanal_ap = "6 mm"\n[imaging]', "at_fracture.canal", "beside"
    ),
    "canal wider than the bone at the fracture": Row(
        "[imaging]", '[bone.at_fracture]\ncanal = "6 mm"\nouter_ap = "6 mm"\n[imaging]', "outer_ap", "no wider than"
    ),
    "isthmus that is not the narrowest": Row(
        "[imaging]", '[bone.at_fracture]\ncanal_ap = "3 mm"\n[imaging]', "bone.at_fracture.canal_ap", "exchanged"
    ),
    "earlier screw thicker than the bone": Row(
        'screw_diameter = "4.5 mm"', 'screw_diameter = "8.5 mm"', "previous.screw_diameter", "no thinner than the bone"
    ),
    "extent as long as the bone": Row(
        'extent = "2 mm"', 'extent = "60 mm"', "fracture.extent", "beyond an end", alone=False
    ),
    "canal given twice": Row("at =", 'canal = "5 mm"\nat =', "bone.isthmus.canal", "beside canal_ap"),
    "straight beyond the bone": Row('"50 mm"', '"72 mm"', "bone.straight_segment", "outside the bone"),
    "isthmus beyond the bone": Row('"33 mm"', '"71.5 mm"', "bone.isthmus.at", "outside the bone"),
    "fracture beyond the bone": Row('"24 mm"', '"80 mm"', "fracture.from_base", "outside the bone", alone=False),
    "extent beyond the base": Row('"24 mm"', '"0.5 mm"', "fracture.extent", "beyond an end", alone=False),
    "gap wider than the extent": Row('gap = "1 mm"', 'gap = "3 mm"', "fracture.gap", "wider than the extent"),
    "room beyond the base": Row('"14 mm"', '"24 mm"', "plate.room_proximal", "of room"),
    "room beyond the head": Row('"30 mm"', '"50 mm"', "plate.room_distal", "of room"),
    "half a marker": Row('marker_seen = "28.1 mm"', "", "imaging.marker_seen", "beside marker_true"),
    "other half of a marker": Row('marker_true = "25 mm"', "", "imaging.marker_true", "beside marker_seen"),
    "marker exchanged": Row('"28.1 mm"', '"22 mm"', "imaging.marker_seen", "exchanged"),
    "marker on a CT": Row('"radiograph"', '"ct"', "imaging.source", "scale of its own"),
    "marker thrice": Row('e = "25 mm"', 'e = "25 mm"\nmarker_seen_ap = "26 mm"', "imaging.marker_seen", "per film"),
    "previous without a state": Row('state = "removed"', "", "previous.state", "is missing"),
    # missing
    "no label": Row('label = "DEMO-5A"', "", "case.label", "is missing"),
    "no side": Row('side = "left"', "", "case.side", "is missing"),
    "no length": Row('length = "71.5 ± 0.8 mm"', "", "bone.length", "is missing"),
    "no zone": Row("zone = 2", "", "fracture.zone", "is missing"),
    "no canal": Row(
        'canal_ap = "4.7 ± 0.3 mm"\ncanal_lateral = "5.6 mm"', "", "bone.isthmus", "a length never stands in for one"
    ),
    # files it points to
    "missing table": Row("ray = 5", 'ray = 5\nstations = "no.csv"', "bone.stations", "is missing", alone=False),
    "file elsewhere": Row("[imaging]", '[imaging]\ndicom = "../f.dcm"', "imaging.dicom", "outside the folder"),
    "absolute file": Row("[imaging]", '[imaging]\ndicom = "/f.dcm"', "imaging.dicom", "outside the folder"),
    "file name of blanks": Row("[imaging]", '[imaging]\ndicom = " "', "imaging.dicom", "not a file name"),
    "file as a number": Row("[imaging]", "[imaging]\ndicom = 1", "imaging.dicom", "not a file name"),
    "folder as a file": Row("[imaging]", '[imaging]\ndicom = "."', "imaging.dicom", "is a folder"),
    # not TOML
    "not closed": Row('label = "DEMO-5A"', 'label = "DEMO-5A', "case.toml", "not valid TOML"),
    "unquoted": Row('"33 mm"', "33 mm", "case.toml", "stand in quotes"),
    "key twice": Row("ray = 5", "ray = 5\nray = 5", "case.toml", "not valid TOML"),
    "number without end": Row("ray = 5", "ray = " + "9" * 5000, "case.toml", "not valid TOML"),
    "number of too many bits": Row("ray = 5", "ray = 0x" + "f" * 5000, "case.toml", "more than 64 bit"),
    "nested deep": Row("ray = 5", "ray = " + "[" * 200 + "]" * 200, "bone.ray", "not a whole number"),
    "nested without end": Row("ray = 5", "ray = " + "[" * 20_000, "case.toml", "not valid TOML"),
}

KITS: dict[str, Row] = {
    "core as thick as the thread": Row('"3.1 mm"', '"4.5 mm"', "[[im_screw]] 1 (X45): d_core", "does not go with"),
    "bore as wide as the core": Row('"1.4 mm"', '"3.1 mm"', "[[im_screw]] 1 (X45): d_cannula", "does not go with"),
    "bore wider than the shank": Row('"3.6 mm"', '"1.3 mm"', "(X45): d_cannula", "does not go with d_shank"),
    "shank thicker than the thread": Row('"3.6 mm"', '"4.6 mm"', "(X45): d_shank", "does not go with"),
    "thread as long as the screw": Row('"22 mm"', '"30 mm"', "(X45): thread_lengths", "does not go with"),
    "drill thinner than the core": Row('drill = "3.2 mm"', 'drill = "3 mm"', "(X45): drill", "not between"),
    "drill as wide as the thread": Row('drill = "1.8 mm"', 'drill = "2.4 mm"', "(C24): drill", "not between"),
    "tap as thin as the drill": Row('tap = "4.5 mm"', 'tap = "3.2 mm"', "(X45): tap", "not between"),
    "bore as wide as the shank": Row('"3.6 mm"', '"1.4 mm"', "(X45): d_cannula", "does not go with d_shank"),
    "tap wider than the thread": Row('tap = "4.5 mm"', 'tap = "4.6 mm"', "(X45): tap", "not between"),
    "wire wider than the bore": Row('"1.3 mm"', '"1.4 mm"', "(X45): guide_wire", "does not go with"),
    "no wire for a bore": Row('guide_wire = "1.3 mm"', "", "(X45): guide_wire", "is missing"),
    "wire for a solid screw": Row('"1.4 mm"', '"0 mm"', "(X45): guide_wire", "runs over no wire"),
    "head that passes through": Row('"6.3 mm"', '"4 mm"', "(X45): d_major", "does not go with"),
    "pitch at the head": Row('pitch = "1.8 mm"', 'pitch = "1.8 mm"\npitch_head = "1 mm"', "pitch_head", "not belong"),
    "no shank": Row('d_shank = "3.6 mm"', "", "(X45): d_shank", "is missing for thread form"),
    "unknown thread form": Row('"partial"', '"half"', "(X45): thread_form", "one of: partial"),
    "unknown material": Row(
        'code = "X45"\nmaterial = "metal"', 'code = "X45"\nmaterial = "metl"', "material", "not a known"
    ),
    "unknown key": Row("thread_lengths =", "thread_length =", "(X45): thread_length", "did you mean"),
    "unknown table": Row("[[plate]]", "[[plates]]", "mine.toml: plates", "did you mean 'plate'"),
    "single brackets": Row("[[plate]]", "[plate]", "mine.toml: plate", "double brackets"),
    "no kit table": Row("[kit]", "[[kit]]", "mine.toml: [kit]", "is not a table"),
    "kit id with blanks": Row('id = "mine"', 'id = "my kit"', "[kit]: id", "not of the form"),
    "unknown status": Row(INVENTED, 'locking = false\nstatus = "real"\n', "(P24): status", "one of:"),
    "unknown source": Row(
        INVENTED + 'source = "PROJECT"', INVENTED + 'source = "BOOK"', "(P24): source", "not the id of a source"
    ),
    "diameter without unit": Row('d_major = "4.5 mm"', "d_major = 4.5", "(X45): d_major", "give a unit"),
    "diameter in metres": Row('d_major = "4.5 mm"', 'd_major = "4.5 m"', "(X45): d_major", "wrong unit"),
    "diameter nan": Row('d_major = "4.5 mm"', "d_major = nan", "(X45): d_major", "not a finite"),
    "diameter with an uncertainty": Row('d_major = "4.5 mm"', 'd_major = "4.5 ± 0.1 mm"', "d_major", "more than one"),
    "step that misses the end": Row('step = "5 mm"', 'step = "3 mm"', "(X45): lengths", "does not lead"),
    "step of nothing": Row('step = "5 mm"', 'step = "0 mm"', "(X45): lengths", "do not make a list"),
    "step without end": Row('step = "5 mm"', 'step = "1 µm"', "(X45): lengths", "more than 200"),
    "length twice": Row('["10 mm", "12 mm"]', '["10 mm", "1 cm"]', "(C24): lengths", "twice"),
    "holes as a float": Row("[4, 6]", "[4.0]", "(P24): holes", "whole numbers"),
    "one hole": Row("[4, 6]", "[1]", "(P24): holes", "outside 2 to 30"),
    "hole as wide as the plate": Row('"2.8 mm"', '"6 mm"', "(P24): hole_diameter", "does not go with", alone=False),
    "holes that meet": Row('"7 mm"', '"2.8 mm"', "(P24): hole_diameter", "does not go with hole_spacing"),
    "hole at the end": Row('end = "3 mm"', 'end = "1.4 mm"', "(P24): end", "no metal"),
    "screw wider than its hole": Row(
        'screw_system = "2.4 mm"', 'screw_system = "2.8 mm"', "screw_system", "does not go"
    ),
    "yield above strength": Row('"500 MPa"', '"700 MPa"', "(metal): yield", "above the tensile", alone=False),
    "modulus without origin": Row(E_LINE, '"100 GPa"', "(metal): E", "its origin", alone=False),
    "modulus in pascal": Row('"100 GPa"', '"100 Pa"', "(metal): E", "wrong unit", alone=False),
    "item twice": Row(
        '"DRILL"\nkind = "drill"\nsizes = ["1.8 mm",',
        '"C24"\nkind = "drill"\nsizes = ["10 mm",',
        "(C24): code",
        "is there twice",
    ),
    "unknown instrument": Row('"drill"\n', '"hammer"\n', "(DRILL): kind", "one of: guide wire"),
    "driver with sizes": Row('"drill"\n', '"driver"\n', "(DRILL): forms", "is missing"),
    "wire as thick as nothing": Row('"1.3 mm"', '"0 mm"', "(X45): guide_wire", "wrong unit"),
    "range with other keys": Row('step = "5 mm"', 'by = "5 mm"', "(X45): lengths", "from, to and step"),
    "range as a number": Row('["10 mm", "12 mm"]', "12", "(C24): lengths", "not a list of sizes"),
    "no holes": Row("[4, 6]", "[]", "(P24): holes", "whole numbers"),
    "a count twice": Row("[4, 6]", "[4, 4]", "(P24): holes", "twice"),
    "locking as text": Row("locking = false", 'locking = "no"', "(P24): locking", "not true or false"),
    "driver without a name": Row('"hexagon 2.5"', '" "', "(X45): driver", "not a text"),
    "drill with forms": Row('kind = "drill"', 'kind = "drill"\nforms = ["hexagon 2"]', "(DRILL): forms", "not belong"),
    "value with another status": Row(
        E_LINE, E_LINE.replace("project default", "sure"), "(metal): E", "not a status", alone=False
    ),
    "not TOML": Row("[kit]", "[kit", "mine.toml", "not valid TOML"),
}


def check(row: Row, problems: tuple[Problem, ...] | list[Problem], raised: InputError | None = None) -> None:
    matches = [p for p in problems if row.where in p.where and row.said in str(p)]
    assert matches, [str(p) for p in problems]
    if row.alone:
        assert len(problems) == 1, [str(p) for p in problems]
    if raised is not None:
        assert str(matches[0]) in str(raised)


def replaced(good: str, row: Row) -> str:
    assert good.count(row.old) == 1, f"{row.old!r} stands {good.count(row.old)} times in the good file"
    return good.replace(row.old, row.new)


def test_the_good_files_are_good(tmp_path: Path) -> None:
    (tmp_path / "case.toml").write_text(GOOD_CASE, encoding="utf-8")
    read_case(tmp_path / "case.toml")
    (tmp_path / "case.toml").unlink()
    (tmp_path / "mine.toml").write_text(GOOD_KIT, encoding="utf-8")
    assert validate(tmp_path) == []


def test_the_table_is_long_enough() -> None:
    assert len(CASES) + len(KITS) >= 60


@pytest.mark.parametrize("name", CASES)
def test_bad_case_file(name: str, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(replaced(GOOD_CASE, CASES[name]), encoding="utf-8")
    with pytest.raises(CaseError) as error:
        read_case(path)
    check(CASES[name], error.value.problems, error.value)
    assert [p.name for p in tmp_path.iterdir()] == ["case.toml"]


@pytest.mark.parametrize("name", KITS)
def test_bad_kit(name: str, tmp_path: Path) -> None:
    (tmp_path / "mine.toml").write_text(replaced(GOOD_KIT, KITS[name]), encoding="utf-8")
    check(KITS[name], validate(tmp_path))
    with pytest.raises(KitError):
        load_kits([tmp_path])


@pytest.mark.parametrize(
    "content, said",
    [
        (b"\xef\xbb\xbf[case]\n", "byte order mark"),
        ("[case]\n".encode("utf-16"), "byte order mark"),
        (b'[case]\nlabel = "\xff"\n', "is not UTF-8"),
        (b"#" * 1_000_001, "larger than"),
        (b"\x00", "not valid TOML"),
        (b"", "is missing"),
    ],
)
def test_files_that_are_no_case(content: bytes, said: str, tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_bytes(content)
    with pytest.raises(CaseError, match=said):
        read_case(path)


def test_paths_that_are_no_file(tmp_path: Path) -> None:
    for path, said in (
        (tmp_path, "is a folder"),
        (tmp_path / "none.toml", "no such file"),
        (tmp_path / ("x" * 300), "no such file|cannot be read"),
        (Path("a\0b"), "no such file|cannot be read"),
    ):
        with pytest.raises(CaseError, match=said):
            read_case(path)


def test_folders_that_are_no_kits(tmp_path: Path) -> None:
    assert "holds no kit file" in str(validate(tmp_path)[0])
    assert "is not a folder" in str(validate(tmp_path / "none")[0])
    (tmp_path / "x.toml").mkdir()
    assert "is a folder" in str(validate(tmp_path)[0])


def test_a_message_cannot_steer_the_terminal(tmp_path: Path) -> None:
    path = tmp_path / "case.toml"
    path.write_text(GOOD_CASE.replace('"left"', '"\\u001b[2J\\nleft"'), encoding="utf-8")
    with pytest.raises(CaseError) as error:
        read_case(path)
    (problem,) = error.value.problems
    assert str(problem).isprintable()
