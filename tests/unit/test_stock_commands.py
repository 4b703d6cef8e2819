"""The theatre's commands as a person runs them: what they tell first, write and refuse, and their exit status."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.resources import resource_dir
from fixplan.stock import output

CASE = """
[case]
label = "{label}"
side = "left"
planned_for = 2026-12-03
[bone]
ray = 5
length = "72 mm"
straight_segment = "50 mm"
[bone.isthmus]
at = "41 mm"
canal_ap = "3.8 mm"
canal_lateral = "4.4 mm"
outer_ap = "11 mm"
outer_lateral = "11 mm"
[imaging]
source = "ct"
[fracture]
zone = 2
from_base = "23 mm"
[plan]
consider = ["screw"]
kits = ["im-screws-cannulated-ti"]
[plan.thresholds]
seat_depth = "6 mm"
"""
SHELF = "item,quantity,lot,expiry,location\nS55C-TI-38-T16,1,L1,2027-06-30,row A\n"
DEMO = Path(str(resource_dir("demo_cases")))
ON = ("--on", "2026-11-25")
QUICK = (*ON, "--draws", "0")


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a case and a shelf that holds only its first choice; the working folder."""
    (tmp_path / "a.toml").write_text(CASE.format(label="A-1"), encoding="utf-8")
    (tmp_path / "shelf.csv").write_text(SHELF, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def files(folder: Path) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())


def everything(place: Path) -> str:
    """A shelf with two of every piece the case asks for, written from the JSON of a first run on an empty shelf."""
    found = json.loads((place / "o" / "stock.json").read_text(encoding="utf-8"))
    lines = [f"{s['item']['item']},2,L,2028-01-31,row B" for s in found["cases"][0]["short"]]
    return SHELF + "\n".join(lines) + "\n"


def test_a_short_case_writes_every_document_and_ends_with_status_3(run, place: Path) -> None:
    status, out, err = run("stock", "a.toml", "--shelf", "shelf.csv", "--out", "o", "--resupply", "3", *QUICK)
    assert (status, err) == (3, "")
    assert files(place / "o") == ["A-1-pick.html", "order.csv", "order.xlsx", "stock.json", "theatre-list.html"]
    lines = out.splitlines()
    assert lines[0].startswith("shelf.csv: CSV, UTF-8, parted by comma; header on line 1; read 'item' as item")
    assert "short: 0 of 1 first choices" in out
    assert "S55C-TI-38-T16" not in "".join(line for line in lines if "short:" in line)
    assert CAUTION_SHORT in out
    order = (place / "o" / "order.csv").read_text(encoding="utf-8-sig")
    # surgery on Thursday 3 December: there by Wednesday, so three working days before it, over the weekend
    assert "2026-11-27 (Friday)" in order
    assert all(c in order for c in CAUTIONS)


def test_pick_lists_of_an_earlier_run_are_named(run, place: Path) -> None:
    """They lie beside the new ones and hold another day of the shelf."""
    words = ("stock", "a.toml", "--shelf", "shelf.csv", "--out", "o", *QUICK)
    assert "earlier run" not in run(*words)[1] + run(*words)[1]
    (place / "o" / "OLD-pick.html").write_text("", encoding="utf-8")
    assert "Not of this list, left in o by an earlier run: OLD-pick.html; do not pick from them." in run(*words)[1]
    _, out, err = run(*words, "--format", "json")
    assert "earlier run" in err
    assert json.loads(out)["format"]


def test_a_covered_case_ends_with_status_0(run, place: Path) -> None:
    assert run("stock", "a.toml", "--shelf", "shelf.csv", "--out", "o", *QUICK)[0] == 3
    (place / "full.csv").write_text(everything(place), encoding="utf-8")
    status, out, err = run("stock", "a.toml", "--shelf", "full.csv", "--out", "o", *QUICK)
    assert status == 0, (out, err)
    assert "covered: 1 of 1 first choices and 2 of 2 back-ups complete" in out


def test_json_alone_on_standard_output_and_the_shelf_told_beside_it(run, place: Path) -> None:
    status, out, err = run("stock", "a.toml", "--shelf", "shelf.csv", "--format", "json", *QUICK)
    assert status == 3
    found = json.loads(out)
    assert out == (place / "stock.json").read_text(encoding="utf-8")
    jsonschema.validate(found, json.loads(output.SCHEMA.read_text("utf-8")))
    assert found["cautions"] == list(CAUTIONS)
    assert found["shelf"]["path"] == "shelf.csv"
    assert err.startswith("shelf.csv: CSV")


def test_lines_set_aside_are_told_before_the_answer(run, place: Path) -> None:
    (place / "shelf.csv").write_text(SHELF + "S60C-TI-38-T16,1,L2,03/04/2027,row A\n", encoding="utf-8")
    _, out, _ = run("stock", "a.toml", "--shelf", "shelf.csv", *QUICK)
    assert out.index("set aside: line 3, expiry") < out.index("short: 0 of 1")


def test_a_written_plan_asks_for_what_its_case_asks(run, place: Path) -> None:
    """The plan the surgeon read can be named in place of the case: same need, without planning anew."""
    assert run("plan", "a.toml", "--out", "p", *QUICK)[0] == 0
    run("stock", "a.toml", "--shelf", "shelf.csv", "--out", "x", *QUICK)
    status, _, err = run("stock", "p/A-1-plan.json", "--shelf", "shelf.csv", "--out", "y", *ON)
    assert status == 3, err
    for name in files(place / "x"):
        assert (place / "x" / name).read_bytes() == (place / "y" / name).read_bytes()


def test_a_list_may_name_written_plans(run, place: Path) -> None:
    """A long list is held against the shelf in moments when its cases were planned before."""
    run("plan", "a.toml", "--out", ".", *QUICK)
    (place / "list.csv").write_text("case,date\nA-1-plan.json,2026-12-05\n", encoding="utf-8")
    status, out, err = run("stock", "--list", "list.csv", "--shelf", "shelf.csv", *ON)
    assert (status, err) == (3, "")
    assert "2026-12-05 (Saturday)  1  A-1: first choice SHORT" in out


def test_a_plan_made_from_other_kits_is_refused(run, place: Path) -> None:
    run("plan", "a.toml", "--out", "p", *QUICK)
    text = (place / "p" / "A-1-plan.json").read_text(encoding="utf-8")
    plan = json.loads(text)
    plan["provenance"]["kits"][0][1] = "0" * 64
    (place / "old.json").write_text(json.dumps(plan), encoding="utf-8")
    status, _, err = run("stock", "old.json", "--shelf", "shelf.csv", "--out", "o", *ON)
    assert status == 2
    assert "old.json: made with other contents of cortical-screws-steel" in err
    assert not (place / "o").exists()


@pytest.mark.parametrize(
    ("part", "key", "value"),
    [
        ("screw", "first_choice", "NOPE"),
        ("screw", "candidates", None),
        ("case", "planned_for", "2026-13-01"),
        ("case", "side", ...),
        ("screw", "one_up", ...),
    ],
)
def test_a_plan_changed_by_hand_is_refused(run, place: Path, part: str, key: str, value: object) -> None:
    """One key of a written plan put wrong, or (...) taken out."""
    run("plan", "a.toml", *QUICK)
    plan = json.loads((place / "A-1-plan.json").read_text(encoding="utf-8"))
    plan[part].pop(key)
    if value is not ...:
        plan[part][key] = value
    (place / "p.json").write_text(json.dumps(plan), encoding="utf-8")
    status, out, err = run("stock", "p.json", "--shelf", "shelf.csv", "--out", "o", *QUICK)
    assert status == 2, (out, err)
    assert "p.json: is not a whole plan" in err
    assert not (place / "o").exists()


def test_a_list_is_dated_by_its_own_dates_and_says_so(run, place: Path) -> None:
    (place / "list.csv").write_text("case,date,order\na.toml,2026-12-05,2\n", encoding="utf-8")
    _, out, _ = run("stock", "--list", "list.csv", "--shelf", "shelf.csv", *QUICK)
    assert "2026-12-05 (Saturday)  2  A-1" in out
    assert "The list says 2026-12-05, the case file 2026-12-03" in out


def test_two_cases_at_one_place_are_told_of_each_other(run, place: Path) -> None:
    for label in ("b", "c"):
        (place / f"{label}.toml").write_text(CASE.format(label=label), encoding="utf-8")
    (place / "list.csv").write_text("case,date,order\na.toml,2026-12-03,1\nb.toml,2026-12-03,1\nc.toml,2026-12-04,1\n")
    run("stock", "--list", "list.csv", "--shelf", "shelf.csv", "--out", "o", *QUICK)
    found = json.loads((place / "o" / "stock.json").read_text(encoding="utf-8"))
    told = {c["case"]: [n for n in c["notes"] if n.startswith("Place 1")] for c in found["cases"]}
    assert told == {
        "A-1": ["Place 1 of 2026-12-03 is given to b too; check the list."],
        "b": ["Place 1 of 2026-12-03 is given to A-1 too; check the list."],
        "c": [],
    }


@pytest.mark.parametrize(("day", "told"), [("2026-12-04", ""), ("2026-12-05", "Saturday"), ("2026-12-06", "Sunday")])
def test_a_day_at_a_weekend_is_marked(run, place: Path, day: str, told: str) -> None:
    """The 4th of December 2026 is a Friday."""
    (place / "list.csv").write_text(f"case,date\na.toml,{day}\n", encoding="utf-8")
    out = run("stock", "--list", "list.csv", "--shelf", "shelf.csv", *QUICK)[1]
    assert (f"The day of this case, {day} ({told}), is at a weekend" in out) == bool(told)
    assert ("weekend" in out) == bool(told)


def test_a_past_day_is_marked(run, place: Path) -> None:
    _, out, _ = run("stock", "a.toml", "--shelf", "shelf.csv", "--on", "2026-12-04", "--draws", "0")
    assert "The day of this case, 2026-12-03, is past on 2026-12-04" in out


def test_a_construct_that_the_plan_does_not_hold_is_never_covered(run, place: Path) -> None:
    status, out, _ = run("stock", "a.toml", "--shelf", "shelf.csv", "--construct", "plate", *QUICK)
    assert status == 3
    assert "A-1: NOTHING PLANNED" in out
    assert "The plan has no plate of first choice. A plate was not considered" in out
    assert "the plan chose no construct" in (place / "A-1-pick.html").read_text(encoding="utf-8")


def test_the_plate_on_wish_where_the_plan_holds_both(run, place: Path) -> None:
    """By the plan of this case both exist; the plate's screws are wanted by length and number."""
    words = ("stock", DEMO / "zone-2-runner.toml", "--shelf", "shelf.csv", "--format", "json", *QUICK)
    screw = json.loads(run(*words)[1])["cases"][0]
    plate = json.loads(run(*words, "--construct", "plate")[1])["cases"][0]
    assert any("this list lays out the screw" in n for n in screw["notes"])
    assert {"im_screw"} == {s["item"]["kind"] for s in screw["short"] if s["item"]["kind"] != "instrument"}
    kinds = [s["item"]["kind"] for s in plate["short"] if s["item"]["kind"] != "instrument"]
    assert "plate" in kinds
    assert sum(s["wanted"] for s in plate["short"] if s["item"]["kind"].endswith("screw")) == 4


def test_the_same_input_gives_the_same_bytes(run, place: Path) -> None:
    for name in ("x", "y"):
        run("stock", "a.toml", "--shelf", "shelf.csv", "--out", name, "--on", "2026-11-25", "--draws", "100")
    for name in files(place / "x"):
        assert (place / "x" / name).read_bytes() == (place / "y" / name).read_bytes()


def test_a_progress_bar_is_told_of_every_case(run, place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    heard: list[tuple[str, int, int]] = []

    class Bar:
        def __init__(self, what: str) -> None:
            self.what = what

        def __enter__(self):
            return lambda done, total: heard.append((self.what, done, total))

        def __exit__(self, *_: object) -> None: ...

    monkeypatch.setattr("fixplan.commands_stock.progress_bar", Bar)
    (place / "b.toml").write_text(CASE.format(label="B-1"), encoding="utf-8")
    run("stock", "a.toml", "b.toml", "--shelf", "shelf.csv", *QUICK)
    assert [h for h in heard if h[0] == "cases"] == [("cases", 0, 2), ("cases", 1, 2)]
    assert any(what == "allotment" and done == total for what, done, total in heard)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["stock", "a.toml"], "Missing option '--shelf'"),
        (["stock", "--shelf", "shelf.csv"], "no case is named"),
        (["stock", "none.toml", "--shelf", "shelf.csv"], "no such file"),
        (["stock", "shelf.csv", "--shelf", "shelf.csv"], "shelf.csv: is neither a case file nor a plan"),
        (["stock", "a.toml", "--shelf", "none.csv"], "none.csv"),
        (["stock", "a.toml", "--shelf", "."], "Is a directory"),
        (["stock", "a.toml", "--shelf", "empty.csv"], "empty"),
        (["stock", "a.toml", "--shelf", "a.toml"], "header"),
        (["stock", "a.toml", "--list", "list.csv", "--shelf", "shelf.csv"], "one or the other"),
        (["stock", "a.toml", "a.toml", "--shelf", "shelf.csv"], "is on the list already"),
        (["stock", "--list", "list.csv", "--shelf", "shelf.csv"], "no case file 'missing.toml'"),
        (["stock", "undated.toml", "--shelf", "shelf.csv"], "no day is given"),
        (["stock", "bad.toml", "--shelf", "shelf.csv"], "bad.toml: bone.length"),
        (["stock", "notplan.json", "--shelf", "shelf.csv"], "is no plan of this version"),
        (["stock", "broken.json", "--shelf", "shelf.csv"], "cannot be read"),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--recalled", "none.csv"], "none.csv"),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--recalled", "list.csv"], "name the columns lot, item"),
        (
            ["stock", "a.toml", "--shelf", "shelf.csv", "--codes", "codes.csv"],
            "the check digit is 9, and 8 would be right",
        ),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--expiring-within", "-1"], "-1 is not in the range"),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--resupply", "soon"], "not a valid int"),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--uses-per-day", "0"], "0 is not in the range"),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--construct", "nail"], "'nail' is not one of"),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--column", "Bin"], "HEADER=FIELD"),
        (
            ["stock", "a.toml", "--shelf", "shelf.csv", "--column", "locaton=location"],
            "has no column 'locaton' for --column; its headers are 'item', 'quantity', 'lot', 'expiry', 'location'",
        ),
        (["stock", "a.toml", "--shelf", "list.csv"], "say which is which by --column HEADER=FIELD"),
        (["stock", "a.toml", "--shelf", "bare.csv"], "(--column HEADER=quantity), or say --one-per-line"),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--column", "Bin=colour"], "is no field of a shelf"),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--length-unit", "inch"], "mm or cm"),
        (["stock", "a.toml", "--shelf", "shelf.csv", "--out", "a.toml"], "is not a folder"),
    ],
)
def test_refused_command_lines(run, place: Path, words: list[str], said: str) -> None:
    (place / "empty.csv").write_text("", encoding="utf-8")
    (place / "bare.csv").write_text("item,lot\nS55C-TI-38-T16,L1\n", encoding="utf-8")
    (place / "list.csv").write_text("case,date\nmissing.toml,2026-12-03\n", encoding="utf-8")
    (place / "undated.toml").write_text(CASE.format(label="U").replace("planned_for = 2026-12-03\n", ""), "utf-8")
    (place / "bad.toml").write_text(CASE.format(label="B").replace('"72 mm"', '"72"'), encoding="utf-8")
    (place / "notplan.json").write_text("{}", encoding="utf-8")
    (place / "broken.json").write_text("{", encoding="utf-8")
    (place / "codes.csv").write_text("gtin,item\n09521234500019,X\n", encoding="utf-8")
    before = files(place)
    if "--list" not in words:
        words = [*words, *QUICK]
    status, out, err = run(*words)
    assert status == 2, (out, err)
    # the words of the message may be broken over the lines of a frame
    assert said in " ".join(err.replace("│", " ").split())
    assert "Traceback" not in out + err
    assert files(place) == before


def test_the_problems_of_every_case_in_one_answer(run, place: Path) -> None:
    (place / "bad.toml").write_text(CASE.format(label="B").replace('"72 mm"', '"72"'), encoding="utf-8")
    (place / "worse.toml").write_text(CASE.format(label="C").replace("zone = 2", "zone = 9"), encoding="utf-8")
    status, _, err = run("stock", "a.toml", "bad.toml", "worse.toml", "--shelf", "shelf.csv", *QUICK)
    assert status == 2
    assert "the list of cases was refused: 2 problems" in err
    assert "bad.toml: bone.length" in err
    assert "worse.toml: fracture.zone" in err


@pytest.mark.parametrize("command", ["stock", "coverage"])
def test_help_says_what_is_read_and_written_and_each_status(run, command: str) -> None:
    status, out, _ = run(command, "--help")
    words = " ".join(out.replace("│", " ").split())
    assert status == 0
    assert f"Usage: fixplan {command}" in words
    assert "Exit status" in words
    assert "3 done, and something is short" in words
