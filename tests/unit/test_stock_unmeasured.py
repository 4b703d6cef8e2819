"""A plate with screws of unknown length is called so everywhere, also when every listed piece lies on the shelf."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest

from fixplan.resources import resource_dir

CASE = Path(str(resource_dir("demo_cases"))) / "second-base-nonunion.toml"
WORDS = "screw lengths unknown"
HOLES = "screws for holes 1 and 2 of P24-TI-17-8H: length to be measured in theatre; take the whole range of 2.4 mm"


@pytest.fixture
def place(run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The plan of a plate across a joint, and a shelf that holds every piece it lists."""
    monkeypatch.chdir(tmp_path)
    run("plan", CASE, "--out", ".", "--on", "2026-11-25", "--draws", "0")
    (tmp_path / "empty.csv").write_text("item,quantity\n", encoding="utf-8")
    run("stock", "DEMO-2A-plan.json", "--shelf", "empty.csv", "--out", "o", "--on", "2026-11-25")
    short = json.loads((tmp_path / "o" / "stock.json").read_text("utf-8"))["cases"][0]["short"]
    lines = [f"{s['item']['item']},{s['wanted']}" for s in short]
    (tmp_path / "full.csv").write_text("item,quantity\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return tmp_path


def held(run, plan: str = "DEMO-2A-plan.json") -> tuple[int, str, str]:
    return run("stock", plan, "--shelf", "full.csv", "--out", "f", "--on", "2026-11-25", "--resupply", "5")


def test_the_terminal_says_so_and_the_status_is_3(run, place: Path) -> None:
    status, out, err = held(run)
    assert (status, err) == (3, "")
    assert f"{WORDS}: 0 of 1 first choices" in out
    assert f"DEMO-2A: first choice {WORDS.upper()}" in out
    assert HOLES in out
    assert "not in the order: screws of unknown length for DEMO-2A (first choice, one up, one down)" in out
    assert "short:" not in out


def test_the_document_holds_it_by_role_and_hole(run, place: Path) -> None:
    held(run)
    found = json.loads((place / "f" / "stock.json").read_text("utf-8"))
    (case,) = found["cases"]
    assert found["status"] == WORDS
    assert not case["covered"]
    assert case["site"] == "left foot, metatarsal 2"
    assert case["short"] == []
    assert case["states"]["first choice"] == WORDS
    first, *_ = case["unmeasured"]
    assert (first["role"], first["plate"]) == ("first choice", "P24-TI-17-8H")
    assert (first["holes"], first["system_mm"]) == ([1, 2], 2.4)
    assert len(found["not_in_orders"]) == len(case["unmeasured"])


def test_both_pages_and_the_order_sheet_say_so(run, place: Path) -> None:
    held(run)
    for name in ("DEMO-2A-pick.html", "theatre-list.html", "order.csv"):
        text = (place / "f" / name).read_text("utf-8-sig")
        assert WORDS in text, name
        assert HOLES in text, name
        assert name == "order.csv" or "left foot, metatarsal 2" in text, name
    rows = list(csv.reader((place / "f" / "order.csv").read_text("utf-8-sig").splitlines()))
    assert rows[1] == ["nothing else to order"]
    assert rows[2][0] == "Not in this order"


def test_a_plate_whose_screws_the_plan_does_not_list_is_not_covered(run, place: Path) -> None:
    plan = json.loads((place / "DEMO-2A-plan.json").read_text("utf-8"))
    plan["plate"]["candidates"] = []
    (place / "bare-plan.json").write_text(json.dumps(plan), encoding="utf-8")
    status, out, _ = held(run, "bare-plan.json")
    assert status == 3
    assert "screws for all holes of P24-TI-17-8H: not listed in the plan; ask" in out
    assert f"first choice {WORDS.upper()}" in out
