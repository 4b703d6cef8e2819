"""Tables of stations and of points: what is read, and that every problem is named with file, line and column."""

import numpy as np
import pytest

from fixplan.bone.readings import MAX_BYTES, MAX_ROWS, read_points, read_stations
from fixplan.problems import InputError

HEAD = "s [mm],canal_ap [mm],canal_lateral [mm],outer_ap [mm],outer_lateral [mm],offset_ap [mm],offset_lateral [mm]"
ROWS = ["10,5.0,6.0,12,11,0,0", "33,4.2,5.4,9.5,8.6,0.3,-0.1", "60,6.1,6.3,10,9,1.4,0.2"]


def table(tmp_path, text, name="stations.csv"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def problems(reader, path):
    with pytest.raises(InputError) as refused:
        reader(path)
    return [str(p) for p in refused.value.problems]


def points(film_edges=None, extra=()):
    lines = ["film,landmark,index,x_px,y_px"]
    for film, sides in {"ap": ("medial", "lateral"), "lateral": ("plantar", "dorsal")}.items():
        for wall, half in (("canal", 20), ("outer", 45)):
            for side, sign in zip(sides, (-1, 1)):
                lines += [f"{film},{wall}_{side},{i},{100 * i},{sign * half}" for i in (1, 2, 3, 4)]
        lines += [f"{film},proximal_tip,,0,0", f"{film},head,1,710,0"]
    return lines + list(extra)


def test_stations_are_read_whatever_order_and_unit(tmp_path):
    """1 in = 25.4 mm exactly (ISO 80000-3); columns in another order, a byte order mark, a blank line."""
    profile = read_stations(table(tmp_path, "\ufeff" + "\n".join([HEAD, ROWS[0], "", *ROWS[1:]])))
    assert profile.s == pytest.approx([10, 33, 60])
    assert profile.canal_ap == pytest.approx([5.0, 4.2, 6.1])
    assert profile.offset_lateral == pytest.approx([0, -0.1, 0.2])
    head = HEAD.replace("s [mm],", "").replace("canal_ap [mm]", "canal_ap [in]") + ",s [ cm ]"
    rows = ["0.2,6.0,12,11,0,0,1", "0.25,6.0,12,11,0,0,2"]
    other = read_stations(table(tmp_path, "\r\n".join([head, *rows])))
    assert other.s == pytest.approx([10, 20])
    assert other.canal_ap == pytest.approx([0.2 * 25.4, 0.25 * 25.4])


def test_all_problems_of_a_head_are_named(tmp_path):
    head = "s,canal_ap [kg],canal_latral [mm],outer_ap [mm],outer_ap [mm],offset_ap [mm],offset_lateral []"
    found = problems(read_stations, table(tmp_path, head + "\n1,2,3,4,5,6,7"))
    text = "\n".join(found)
    assert "stations.csv, line 1, column 1: 's' has no unit; write the unit in the head: 's [mm]'" in text
    assert "stations.csv, line 1, column 2" in text
    assert "did you mean 'canal_lateral'?" in text
    assert "column 5: column 'outer_ap' is given twice" in text
    assert "column 7: 'offset_lateral' has no unit" in text
    assert "no column canal_lateral, outer_lateral" in text
    assert len(found) == 6


def test_all_problems_of_the_rows_are_named(tmp_path):
    rows = ["10,5.0,x,12,11,0,0", "9,13,5,12,8.6,0,0", "60,-1,6.3,10,inf,1.4,"]
    text = "\n".join(problems(read_stations, table(tmp_path, "\n".join([HEAD, *rows]))))
    for says in (
        "line 2, column canal_lateral: 'x' is not a number",
        "line 3, column s: does not lie beyond the station before it",
        "line 3, column canal_ap: the canal is as wide as outer_ap",
        "line 4, column canal_ap: -1 is not a width",
        "line 4, column outer_lateral: 'inf' is not a number",
        "line 4, column offset_lateral: '' is not a number",
    ):
        assert says in text


@pytest.mark.parametrize(
    "text, says",
    [
        ("", "is empty"),
        (HEAD + "\n" + ROWS[0], "1 stations; at least two"),
        (HEAD.replace(",", ";"), "separated by semicolons"),
        (HEAD + "\n1,2,3", "line 2: 3 cells; 7, as in the head"),
        (HEAD + '\n"1,2', "is not a CSV table"),
        (b"\xff\xfe\x00", "is not UTF-8 text"),
        (b"a" * (MAX_BYTES + 1), "is larger than"),
        ("s\n" + "1\n" * (MAX_ROWS + 1), "has more than"),
        (HEAD + "\n" + "\n".join([ROWS[0], ROWS[1].replace("4.2", "1e9999")]), "'1e9999' is not a number"),
        (HEAD + "\n" + "\n".join([ROWS[0], ROWS[1].replace("4.2", "4e")]), "'4e' is not a number"),
    ],
)
def test_what_is_no_table_is_refused(tmp_path, text, says):
    assert says in "\n".join(problems(read_stations, table(tmp_path, text)))


def test_an_absent_file_is_refused(tmp_path):
    assert "absent.csv: cannot be read" in problems(read_stations, tmp_path / "absent.csv")[0]


def test_points_are_read_by_name(tmp_path):
    extra = ["ap,fracture_distal,1,260,5", "ap,fracture_proximal,1,240,-5", "ap,marker,1,10,10", "ap,marker,2,10,200"]
    found = read_points(table(tmp_path, "\n".join(points(extra=extra)), "points.csv"))
    assert found.films["ap"].canal[2].tolist() == [[300, -20], [300, 20]]
    assert found.films["lateral"].outer[0].tolist() == [[100, -45], [100, 45]]
    assert found.films["ap"].fracture.tolist() == [[240, -5], [260, 5]]
    assert found.films["lateral"].fracture is None
    assert np.asarray(found.films["ap"].head).tolist() == [710, 0]
    assert found.markers["ap"].tolist() == [[10, 10], [10, 200]]
    assert set(found.markers) == {"ap"}


def test_all_problems_of_points_are_named(tmp_path):
    bad = [
        "oblique,head,1,1,1",
        "ap,canal_dorsal,1,1,1",
        "ap,head,2,1,1",
        "ap,marker,3,1,1",
        "ap,canal_medial,one,1,1",
        "ap,canal_medial,0,1,1",
        "ap,canal_medial,1,1,1",
        "ap,canal_medial,9,1,?",
    ]
    text = "\n".join(problems(read_points, table(tmp_path, "\n".join(points(extra=bad)), "points.csv")))
    for says in (
        "column film: 'oblique' is not a film",
        "'canal_dorsal' is not a landmark of the ap film",
        "column index: '2' for head; a whole number from 1 to 1",
        "column index: '3' for marker; a whole number from 1 to 2",
        "column index: 'one' for canal_medial",
        "column index: '0' for canal_medial",
        "canal_medial 1 of the ap film is given twice",
        "column y_px: '?' is not a number",
    ):
        assert says in text


@pytest.mark.parametrize(
    "drop, add, says",
    [
        ("ap,", [], "no points of the ap film"),
        ("ap,head", [], "ap film: no head"),
        ("lateral,outer_dorsal,3", [], "lateral film: no outer_dorsal at index 3"),
        ("x", ["ap,canal_medial,6,1,1"], "ap film: positions [1, 2, 3, 4, 6]"),
        ("x", ["ap,marker,1,1,1"], "one point of the marker only"),
        ("x", ["lateral,fracture_distal,,1,1"], "one point of the fracture only"),
    ],
)
def test_incomplete_points_are_refused(tmp_path, drop, add, says):
    lines = [p for p in points(extra=add) if not p.startswith(drop)]
    assert says in "\n".join(problems(read_points, table(tmp_path, "\n".join(lines), "points.csv")))


def test_points_need_their_columns(tmp_path):
    assert "the columns film, landmark" in problems(read_points, table(tmp_path, "film,x,y\nap,1,2", "points.csv"))[0]
