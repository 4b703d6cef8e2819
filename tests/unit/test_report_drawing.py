"""The drawing: to scale, mirrored between left and right, labelled, and telling in words what it shows."""

from __future__ import annotations

import dataclasses
import datetime
import re
import runpy
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from fixplan.case import read_case
from fixplan.kits import load_kits
from fixplan.plan.make import make_plan
from fixplan.report.charts import axis_over, best_verdicts, window_chart
from fixplan.report.drawing import construct_drawing
from fixplan.report.html import render_html
from fixplan.resources import resource_dir

SAMPLE = runpy.run_path(str(Path(__file__).parents[1] / "pages" / "sample_plan.py"))
BONE, SCREW, PLATE = SAMPLE["BONE"], SAMPLE["SCREWS"][0], SAMPLE["PLATES"][0]


def drawn(construct: Any, side: str, bone: Any = BONE) -> ElementTree.Element:
    return ElementTree.fromstring(str(construct_drawing(bone, construct, side, "Title", "d")))


def polygons(svg: ElementTree.Element, class_: str) -> list[list[tuple[float, float]]]:
    found = [e.get("points", "") for e in svg.iter() if e.get("class") == class_ and e.tag == "polygon"]
    return [[(float(x), float(y)) for x, y in (p.split(",") for p in points.split())] for points in found]


def words(svg: ElementTree.Element) -> dict[str, tuple[float, float]]:
    return {e.text or "": (float(e.get("x", 0)), float(e.get("y", 0))) for e in svg.iter("text")}


def extent(points: list[tuple[float, float]], axis: int) -> float:
    values = [p[axis] for p in points]
    return max(values) - min(values)


def test_one_unit_is_one_millimetre() -> None:
    svg = drawn(SCREW, "right")
    box = [float(v) for v in svg.get("viewBox", "").split()]
    assert svg.get("width") == f"{box[2]:g}mm"
    assert svg.get("height") == f"{box[3]:g}mm"
    bars = [e for e in svg.iter("rect") if e.get("class") == "scale-bar"]
    assert [float(b.get("width", 0)) for b in bars] == [20.0]


def test_bone_and_screw_have_the_sizes_of_the_plan() -> None:
    svg = drawn(SCREW, "right")
    for bone in polygons(svg, "bone"):
        assert extent(bone, 0) == pytest.approx(BONE.length_mm, abs=0.02)
    seat_to_thread, thread = polygons(svg, "metal")[:2]
    assert extent(seat_to_thread, 0) == pytest.approx(SCREW.first_thread_mm - BONE.seat_mm, abs=0.02)
    assert extent(thread, 0) == pytest.approx(SCREW.tip_mm - SCREW.first_thread_mm, abs=0.02)
    assert extent(thread, 1) == pytest.approx(
        SCREW.diameter_mm, abs=0.3
    )  # its axis is oblique by 0.2 mm over the thread


def test_a_left_foot_is_the_mirror_image_of_a_right_one() -> None:
    left, right = drawn(SCREW, "left"), drawn(SCREW, "right")
    width = float(right.get("viewBox", "").split()[2])
    for class_ in ("bone", "metal"):
        for a, b in zip(polygons(left, class_), polygons(right, class_), strict=True):
            assert [(pytest.approx(width - x, abs=0.02), pytest.approx(y)) for x, y in a] == b
    for svg, sign in ((left, -1), (right, 1)):
        at = words(svg)
        assert sign * (at["distal"][0] - at["proximal"][0]) > 0
        assert at["medial"][1] < at["lateral"][1] < at["dorsal"][1] < at["plantar"][1]
    assert "AP film, left foot" in words(left)
    assert "Lateral film, right foot" in words(right)


def test_lateral_offset_is_drawn_towards_lateral_and_dorsal_offset_towards_dorsal() -> None:
    """3 mm to lateral is down on the AP film; 3 mm to dorsal is up on the lateral film."""
    flat = dataclasses.replace(BONE, offset_ap_mm=(0.0,) * 21, offset_lateral_mm=(0.0,) * 21)
    moved = dataclasses.replace(flat, offset_ap_mm=(*(0.0,) * 20, 3.0), offset_lateral_mm=(*(0.0,) * 20, 3.0))
    before, after = (polygons(drawn(None, "right", b), "bone") for b in (flat, moved))

    def last_station(points: list[tuple[float, float]]) -> float:
        """Height of the head's middle against that of the base's middle."""
        half = len(points) // 2
        return (points[half - 1][1] + points[half][1]) / 2 - (points[0][1] + points[-1][1]) / 2

    assert last_station(after[0]) - last_station(before[0]) == pytest.approx(3.0, abs=0.03)
    assert last_station(after[1]) - last_station(before[1]) == pytest.approx(-3.0, abs=0.03)


def test_the_distances_that_decide_are_written_as_the_plan_gives_them() -> None:
    at = words(drawn(SCREW, "left"))
    assert "fracture to first thread 6.0 mm" in at
    assert "tip to straight end 3.0 mm" in at
    unknown = dataclasses.replace(SCREW, wall_left_mm=None)
    assert "wall left, thinnest on either film not known" in words(drawn(unknown, "left"))


def test_a_plate_shows_filled_and_empty_holes_and_their_numbers() -> None:
    svg = drawn(PLATE, "right")
    filled = [e for e in svg.iter("circle") if e.get("class") == "hole-filled"]
    empty = [e for e in svg.iter("circle") if e.get("class") == "hole-empty"]
    assert (len(filled), len(empty)) == (4, 2)
    assert {"1", "2", "3", "4", "5", "6"} <= set(words(svg))
    assert extent(polygons(svg, "plate")[0], 0) == pytest.approx(PLATE.length_mm, abs=0.02)


def test_a_screw_of_unknown_length_is_drawn_dashed() -> None:
    screws = tuple(dataclasses.replace(s, length_mm=None) for s in PLATE.screws)
    svg = drawn(dataclasses.replace(PLATE, screws=screws), "right")
    kinds = [e.get("class") for e in svg.iter("line")]
    assert kinds.count("plate-screw-unknown") == 4
    assert "plate-screw" not in kinds


def test_title_and_description_are_tied_to_the_figure() -> None:
    svg = drawn(SCREW, "left")
    named = {e.get("id"): e.text for e in svg if e.tag in ("title", "desc")}
    assert svg.get("role") == "img"
    assert set((svg.get("aria-labelledby") or "").split()) == set(named)
    assert "left foot" in (named["d-desc"] or "")
    assert "tip at 47.0 mm" in (named["d-desc"] or "")


@pytest.mark.parametrize("side", ["", "Left", "both"])
def test_a_side_that_is_neither_left_nor_right_is_refused(side: str) -> None:
    with pytest.raises(ValueError, match="must be 'left' or 'right'"):
        construct_drawing(BONE, SCREW, side, "t", "d")


def test_the_axis_of_a_chart_holds_all_values_on_round_ticks() -> None:
    axis = axis_over([4.1, 6.0, 4.9])
    assert axis.lo <= 4.1 < 6.0 <= axis.hi
    assert axis.step == 0.5
    assert all(abs(t / axis.step - round(t / axis.step)) < 1e-9 for t in axis.ticks())
    same = axis_over([5.0])
    assert same.lo < 5.0 < same.hi


def test_the_best_verdict_of_a_size_is_shown() -> None:
    assert best_verdicts([(5.0, "fail"), (5.0, "caution"), (4.5, "fail"), (5.0, "pass")]) == {4.5: "fail", 5.0: "pass"}


def test_limits_and_stock_stand_at_their_value_on_the_axis() -> None:
    """The upright of a limit lies on the tick of the same number, and the shape of each verdict differs."""
    plan = SAMPLE["SCREW_PLAN"]
    sizes = [(c.length_mm, c.verdict) for c in plan.candidates]
    limits = [x for x in plan.limits if x.of == "length" and x.thread in ("", "16 mm")]
    svg = ElementTree.fromstring(str(window_chart(plan.length_windows[0], limits, sizes, "t", 42.0, "w")))
    ticks = {e.text: float(e.get("x", 0)) for e in svg.iter("text") if re.fullmatch(r"\d+", e.text or "")}
    uprights = [float(e.get("x1", 0)) for e in svg.iter("line") if e.get("class") == "limit"]
    wanted = (ticks["38"], (ticks["42"] + ticks["44"]) / 2, ticks["46"])
    assert uprights == [pytest.approx(x, abs=0.02) for x in wanted]
    shapes = {(e.tag, e.get("class")) for e in svg.iter() if (e.get("class") or "").startswith("m-")}
    assert shapes == {("circle", "m-pass"), ("polygon", "m-caution"), ("line", "m-fail")}
    ring = next(e for e in svg.iter("circle") if e.get("class") == "chosen")
    assert float(ring.get("cx", 0)) == pytest.approx(ticks["42"], abs=0.02)


def test_an_empty_window_is_drawn_as_a_clash_not_as_a_bar() -> None:
    plan = SAMPLE["EMPTY"].screw
    limits = [x for x in plan.limits if x.of == "diameter"]
    svg = ElementTree.fromstring(str(window_chart(plan.diameter_window, limits, [], "t", None, "w")))
    kinds = [e.get("class") for e in svg.iter("rect")]
    assert "clash" in kinds
    assert "window" not in kinds
    assert "none" in [e.text for e in svg.iter("text")]


@pytest.mark.parametrize(
    ("surface", "film", "down"),
    [("dorsal", 1, False), ("plantar", 1, True), ("medial", 0, False), ("lateral", 0, True)],
)
@pytest.mark.parametrize("side", ["left", "right"])
def test_a_plate_lies_on_the_surface_it_is_computed_for(surface: str, film: int, down: bool, side: str) -> None:
    """Dorsal is up on the lateral film, lateral is down on the AP film; the other film sees the plate's face."""
    flat = dataclasses.replace(BONE, outer_ap_mm=(10.0,) * 21, outer_lateral_mm=(10.0,) * 21)
    flat = dataclasses.replace(flat, offset_ap_mm=(0.0,) * 21, offset_lateral_mm=(0.0,) * 21)
    one = dataclasses.replace(PLATE, surface=surface, standoff_mm=0.5)
    svg = drawn(one, side, flat)
    bone, plate = polygons(svg, "bone")[film], polygons(svg, "plate")[film]
    assert extent(plate, 1) == pytest.approx(one.thickness_mm, abs=0.02)
    assert extent(polygons(svg, "plate")[1 - film], 1) == pytest.approx(one.width_mm, abs=0.02)
    heights, edge = [y for _, y in plate], [y for _, y in bone]
    off = min(heights) - max(edge) if down else min(edge) - max(heights)
    assert off == pytest.approx(one.standoff_mm, abs=0.02)
    # screws run from the plate into the bone, numbers stand on the far side of it
    screws = [e for e in svg.iter("line") if e.get("class") == "plate-screw"]
    assert len(screws) == 4
    for e in screws:
        assert (float(e.get("y2", 0)) < float(e.get("y1", 0))) == down
    assert (words(svg)["1"][1] > max(heights)) == down
    assert f"on the {surface} surface, 0.5 mm off the bone" in next(e.text or "" for e in svg if e.tag == "desc")


@pytest.mark.parametrize(("name", "surface"), [("zone-2-runner", "lateral"), ("second-base-nonunion", "dorsal")])
def test_the_surface_drawn_is_the_one_the_mechanics_used(name: str, surface: str) -> None:
    """The fifth ray is plated laterally (plantar-lateral in DUP18), the others dorsally (AOMb)."""
    case = read_case(resource_dir("demo_cases") / f"{name}.toml")
    made = make_plan(case, load_kits(), datetime.date(2026, 11, 25), worksheet=False)
    assert made.plate is not None
    assert {c.surface for c in made.plate.candidates} == {surface}
    assert f"Computed for the {surface} surface" in made.plate.answer
    assert f"Drawn on the {surface} surface, for which the mechanics are computed" in render_html(
        made if made.screw is None else dataclasses.replace(made, screw=None)
    )
