"""A threshold that the case file sets is the one that is used: each of them moves a number or a verdict of the plan."""

from __future__ import annotations

import datetime
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from fixplan.case import parse_case
from fixplan.kits import load_kits
from fixplan.plan.make import make_plan
from fixplan.plan.resolve import resolve
from fixplan.report.jsonio import plan_document
from fixplan.resources import resource_dir
from fixplan.sources import thresholds

DAY = datetime.date(2026, 11, 25)
DEMO = Path(str(resource_dir("demo_cases")))

# least input on films without a marker, with a gap, an earlier screw and a plate: most thresholds bear on it
FILM: dict[str, Any] = {
    "bone": {"ray": 5, "length": "71 mm", "isthmus": {"canal": "4.7 mm"}},
    "imaging": {"source": "radiograph"},
    "fracture": {"zone": 2, "from_base": "23 mm", "extent": "2 mm", "gap": "1 mm", "pattern": "simple"},
    "plate": {"room_proximal": "22 mm", "room_distal": "34 mm", "surface_width": "9 mm", "standoff": "1 mm"},
    "previous": {"screw_diameter": "4 mm", "state": "removed"},
}
COMMINUTED = {**FILM, "fracture": {**FILM["fracture"], "pattern": "comminuted"}}
STATIONS: dict[str, Any] = {
    "bone": {"ray": 5, "length": "72 mm", "stations": "zone-2-stations.csv"},
    "imaging": {"source": "ct"},
    "fracture": {"zone": 2, "from_base": "23 mm"},
}
LANDMARKS: dict[str, Any] = {
    "bone": {"ray": 5, "landmarks": "zone-2-landmarks.csv"},
    "imaging": {"source": "radiograph", "marker_true": "25 mm"},
    "fracture": {"zone": 2},
}
CASES = {"span_ratio_comminuted": COMMINUTED, "click_sd": LANDMARKS}
DRAWS = {"room_coverage": 200}
# a tenth off the default moves most; these need more
FACTORS = {"edge_distance_min": 1.5, "room_coverage": 0.4}


def numbers(value: Any, path: str = "") -> Any:
    """Every number and verdict of a document, by path, and the findings' words; sources left out."""
    if isinstance(value, dict):
        for k, v in value.items():
            yield from numbers(v, f"{path}/{k}")
    elif isinstance(value, list):
        for k, v in enumerate(value):
            yield from numbers(v, f"{path}/{k}")
    elif isinstance(value, int | float) or path.endswith(("verdict", "first_choice", "why")):
        yield path, value


@cache
def moved_by(table: str, overrides: str, draws: int) -> dict[str, Any]:
    parts = {**json.loads(table), "plan": {"thresholds": json.loads(overrides)}}
    case = parse_case(parts, "test", DEMO, quick=True)
    document = plan_document(make_plan(case, load_kits(), DAY, draws=draws, worksheet=False))
    rest = {k: v for k, v in document.items() if k not in ("thresholds", "origins", "sources", "provenance")}
    return dict(numbers(json.loads(json.dumps(rest))))


@pytest.mark.parametrize("name", sorted(thresholds()))
def test_every_threshold_of_the_case_file_moves_the_plan(name: str) -> None:
    t = thresholds()[name]
    table, draws = json.dumps(CASES.get(name, FILM)), DRAWS.get(name, 0)
    # a count moves by a whole
    value = t.value + 1 if name.endswith("_side_min") else t.value * FACTORS.get(name, 0.9)
    override = json.dumps({name: f"{value} {t.unit}" if t.unit != "1" else value})
    assert moved_by(table, "{}", draws) != moved_by(table, override, draws)


def test_an_error_of_reading_set_in_the_case_is_the_one_carried() -> None:
    def sds(table: dict[str, Any], **limits: str) -> dict[str, float]:
        case = parse_case({**table, "plan": {"thresholds": limits}}, "test", DEMO, quick=True)
        return {n: p.sd for n, p in resolve(case).parameters.items()}

    film = sds(FILM, length_reading_sd="2.5 mm", width_reading_sd="0.7 mm")
    assert (film["length"], film["from_base"], film["canal_ap"]) == (2.5, 2.5, 0.7)
    stations = sds(STATIONS, width_reading_sd="0.7 mm")
    assert {stations[f"{s}_error_{f}"] for s in ("canal", "outer") for f in ("ap", "lateral")} == {0.7}
    # twice the click, twice the spread of a length that is two clicks apart (the marker is clicked too, and true)
    one, two = (sds(LANDMARKS, click_sd=f"{c} mm") for c in (0.1, 0.2))
    assert two["length"] == pytest.approx(2 * one["length"], rel=0.01)


@pytest.mark.parametrize("source", ["radiograph", None])
def test_a_magnification_set_in_the_case_is_the_one_taken_out(source: str | None) -> None:
    imaging = {} if source is None else {"source": source}
    table = {**FILM, "imaging": imaging, "plan": {"thresholds": {"magnification": "1.10 ± 0.02"}}}
    p = resolve(parse_case(table, "test", DEMO, quick=True)).parameters["magnification_ap"]
    assert (p.value, p.sd, p.origin, p.source) == (1.1, 0.02, "measured", "plan.thresholds.magnification")
    assert not p.even
