"""The JSON of the theatre list and of shelf planning against their schemas (JSON Schema, draft 2020-12)."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest

from fixplan.kits import load_kits
from fixplan.stock import coverage_output, output
from fixplan.stock.allocate import allocate
from fixplan.stock.coverage import coverage, smallest_set, trade_off
from fixplan.stock.coverage_output import coverage_document
from fixplan.stock.depth import stock_depth
from fixplan.stock.lists import read_recalls
from fixplan.stock.model import Item, Need, ShelfRow
from fixplan.stock.needs import read_needs
from fixplan.stock.order import order_lines
from fixplan.stock.output import document
from fixplan.stock.shelf import read_shelf

DEMO = Path(__file__).parents[2] / "demo_cases"
ON = dt.date(2026, 12, 1)
STOCK, COVERAGE = (json.loads(m.SCHEMA.read_text("utf-8")) for m in (output, coverage_output))


@pytest.fixture(scope="module")
def demo() -> dict[str, Any]:
    shelf = read_shelf(DEMO / "shelf.csv", on=ON)
    needs = read_needs(DEMO / "theatre-needs.csv", load_kits())
    answer = allocate(needs, shelf, on=ON, recalled=read_recalls(DEMO / "recalled-lots.csv"))
    return json.loads(json.dumps(document(answer, order_lines(answer, resupply_days=2), shelf), allow_nan=False))


@pytest.fixture(scope="module")
def planning() -> dict[str, Any]:
    table = np.random.default_rng(1).random((50, 4)) < 0.4  # invented draws
    held = np.array([True, False, True, False])
    names = ["a", "b", "c", "d"]
    return coverage_document(
        names, "invented", coverage(table, held), trade_off(table), on=ON, smallest=smallest_set(table, 0.5),
        depth=stock_depth(table.mean(axis=0) / 7, 14.0, 0.95), basis="invented", codes=names, held=held.tolist(),
    )  # fmt: skip


def test_the_schemas_are_sound() -> None:
    for schema in (STOCK, COVERAGE):
        jsonschema.Draft202012Validator.check_schema(schema)


def test_the_documents_fit(demo: dict[str, Any], planning: dict[str, Any]) -> None:
    jsonschema.validate(demo, STOCK)
    jsonschema.validate(planning, COVERAGE)


def test_a_list_without_shelf_file_and_a_case_without_construct_fit_too() -> None:
    needs = [
        Need("A", ON, 1, (), notes=("nothing planned",)),
        Need("B", ON, 2, (Item("plate", item="P", sterile=True),)),
    ]
    answer = allocate(needs, [ShelfRow(2, 1, item="P", sterile=True, expiry=ON)], on=ON)
    found = json.loads(json.dumps(document(answer, order_lines(answer))))
    jsonschema.validate(found, STOCK)
    assert found["status"] == "short"
    assert found["levels"]["first_choices_asked"] == 2


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "fixplan-stock-2"),
        (("status",), "fine"),
        (("on",), "1.12.2026"),
        (("cases", 0, "picks", 0, "pieces"), 0),
        (("cases", 0, "picks", 0, "for"), ["perhaps"]),
        (("cases", 0, "complete"), {"second choice": True}),
        (("orders", 0, "order_by"), 3),
        (("levels", "backups"), -1),
        (("surprise",), 1),
    ],
)
def test_the_schema_refuses_what_a_list_cannot_hold(demo: dict[str, Any], path: tuple[Any, ...], value: object) -> None:
    found = json.loads(json.dumps(demo))
    part: Any = found
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = value
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(found, STOCK)


@pytest.mark.parametrize(("key", "value"), [("attainable", 1.2), ("today", {}), ("trade_off", [1]), ("extra", 0)])
def test_the_schema_refuses_what_planning_cannot_hold(planning: dict[str, Any], key: str, value: object) -> None:
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({**planning, key: value}, COVERAGE)
