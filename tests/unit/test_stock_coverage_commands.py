"""The command `coverage` as a person runs it: share, set and depth, what it writes and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from fixplan.cautions import CAUTION_SHORT
from fixplan.stock import coverage_output

SHELF = "item,quantity,lot,expiry,location\nS55C-TI-38-T16,1,L1,2027-06-30,row A\n"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a shelf of one screw; the working folder."""
    (tmp_path / "shelf.csv").write_text(SHELF, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def files(folder: Path) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())


COVER = ("coverage", "--shelf", "shelf.csv", "--draws", "100", "--on", "2026-11-25")


def test_coverage_tells_share_set_and_depth(run, place: Path) -> None:
    words = (*COVER, "--kit", "im-screws-solid-ti", "--rate", "2", "--resupply", "14")
    status, out, err = run(*words, "--out", "x")
    assert (status, err) == (0, "")
    assert files(place / "x") == ["coverage.html", "coverage.json"]
    assert "im-screws-solid-ti: the shelf serves 0.0 % of 100 draws today" in out
    assert "The series disagree: by OCH15 the same shelf serves" in out
    assert "F(" in out
    assert CAUTION_SHORT in out
    found = json.loads((place / "x" / "coverage.json").read_text(encoding="utf-8"))
    jsonschema.validate(found, json.loads(coverage_output.SCHEMA.read_text("utf-8")))
    shares = [s["share"] for s in found["trade_off"]]
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(found["attainable"])
    run(*words, "--out", "y")
    for name in files(place / "x"):
        assert (place / "x" / name).read_bytes() == (place / "y" / name).read_bytes()


def test_every_size_of_the_set_is_kept_and_none_is_kept_nought_times(run, place: Path) -> None:
    """At one case a year the formula asks for none of the sizes; the set still holds one of each."""
    words = ("--kit", "im-screws-solid-ti", "--rate", "0.02", "--resupply", "5", "--out", "x")
    status, out, err = run(*COVER, *words)
    assert (status, err) == (0, "")
    found = json.loads((place / "x" / "coverage.json").read_text(encoding="utf-8"))
    depth = found["depth"]["sizes"]
    assert [d["size"] for d in depth] == found["smallest"]["sizes"]
    assert {(d["keep"], d["formula"]) for d in depth} == {(1, 0)}
    page = (place / "x" / "coverage.html").read_text(encoding="utf-8")
    for text in (out, page):
        assert "keep 0" not in text
        assert text.count("none needed for the wanted chance") == len(depth)


def test_the_depth_counts_working_days(run, place: Path) -> None:
    """Five cases a week and five working days to resupply are five cases on average, all of them of one size."""
    (place / "past.csv").write_text("item\nS55C-TI-38-T16\n", encoding="utf-8")
    words = ("--population", "past.csv", "--share", "1", "--rate", "5", "--resupply", "5", "--format", "json")
    (size,) = json.loads(run(*COVER, *words)[1])["depth"]["sizes"]
    # Poisson, mean 5: F(8) = 0.932, F(9) = 0.968, as tabled in textbooks of probability (from memory)
    assert (size["mean"], size["keep"]) == (pytest.approx(5.0), 9)
    assert size["service"] == pytest.approx(0.968, abs=5e-4)


def test_coverage_says_how_the_shelf_and_the_recalls_were_read(run, place: Path) -> None:
    (place / "shelf.csv").write_text(SHELF + "S60C-TI-38-T16,1,L2,03/04/2027,row A\n", encoding="utf-8")
    (place / "recalls.csv").write_text("lot\nL1\n", encoding="utf-8")
    status, out, _ = run(*COVER, "--recalled", "recalls.csv", "--out", "x")
    assert status == 0
    page = (place / "x" / "coverage.html").read_text(encoding="utf-8")
    found = json.loads((place / "x" / "coverage.json").read_text(encoding="utf-8"))
    for text in (out, page):
        assert "line 3, expiry: day and month could be exchanged" in text
        assert "recalls.csv: 1 recalled lot read; 1 line of the shelf to take off" in text
    assert "expiry&#39; as expiry" in page
    assert [p["line"] for p in found["shelf"]["set_aside"]] == [3]
    assert [o["shelf"]["lot"] for o in found["recall"]["off_shelf"]] == ["L1"]


def test_both_commands_share_their_options(run) -> None:
    """The options of the shelf are declared once and so read alike in both helps."""
    found = []
    for command in ("stock", "coverage"):
        words = " ".join(run(command, "--help")[1].replace("│", " ").split())
        found.append(words[words.index("--recalled") : words.index("--help")])
    assert found[0] == found[1]
    for option in ("--codes", "--resupply", "--sheet", "--column", "--length-unit", "--one-per-line", "--only-specs"):
        assert option in found[0]


def test_past_sizes_by_hand(run, place: Path) -> None:
    """Of four past cases two used the size on the shelf: half are served, and two sizes would serve all."""
    used = "\n".join(["S55C-TI-38-T16", "s55c-ti-38-t16", "S60C-TI-38-T16", "S60C-TI-38-T16"])
    (place / "past.csv").write_text(f"item\n{used}\n", encoding="utf-8")
    status, out, err = run(*COVER, "--population", "past.csv", "--share", "1", "--format", "json")
    assert status == 0, err
    found = json.loads(out)
    assert found["today"] == {"share": 0.5, "standard_error": 0.25, "draws": 4}
    assert found["attainable"] == 1.0
    assert found["smallest"]["sizes"] == ["5.5 × 38 T16", "6.0 × 38 T16"]
    assert [s["share"] for s in found["trade_off"]] == [0.0, 0.5, 1.0]


def test_past_measurements_are_planned(run, place: Path) -> None:
    """Lengths take the unit of their header; the rules are those of the plan."""
    text = "ray,length mm,canal ap (mm),canal lateral (mm),zone\n5,72,4.6,5.2,2\n5,70,4.4,5.0,2\n"
    (place / "past.csv").write_text(text, encoding="utf-8")
    status, out, err = run(*COVER, "--population", "past.csv", "--share", "0.5", "--format", "json")
    assert status == 0, err
    found = json.loads(out)
    assert found["today"]["draws"] == 2
    assert "2 past cases of past.csv, planned from their measurements" in found["population"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["coverage"], "Missing option '--shelf'"),
        ([*COVER, "--share", "1.5"], "1.5 is not a share"),
        ([*COVER, "--service", "1"], "1 is no service level"),
        ([*COVER, "--rate", "2"], "both, or neither"),
        ([*COVER, "--rate", "-2", "--resupply", "14"], "-2 is no case rate"),
        ([*COVER, "--rate", "nan", "--resupply", "14"], "nan is no case rate"),
        ([*COVER, "--kit", "im-screws-solid"], "is no kit of screws"),
        ([*COVER, "--zone", "9"], "9 is not in the range"),
        ([*COVER, "--series", "ABC99"], "'ABC99' is not one of"),
        ([*COVER, "--draws", "5"], "5 is not in the range"),
        ([*COVER, "--population", "list.csv"], "header that is understood"),
        ([*COVER, "--population", "past.csv"], "is no size of these kits; did you mean 'S55C-TI-38-T16'?"),
        ([*COVER, "--population", "short.csv"], "are not enough"),
        ([*COVER, "--population", "wrong.csv"], "the list of past cases was refused"),
        ([*COVER, "--shelf", "other.csv"], "name a kit with --kit"),
    ],
)
def test_refused_command_lines(run, place: Path, words: list[str], said: str) -> None:
    (place / "list.csv").write_text("case,date\nmissing.toml,2026-12-03\n", encoding="utf-8")
    (place / "past.csv").write_text("item\nS55C-TI-38T16\n", encoding="utf-8")
    (place / "short.csv").write_text("ray,zone\n5,2\n", encoding="utf-8")
    (place / "wrong.csv").write_text("ray,length,canal,zone\n5,72,4 mm,2\n", encoding="utf-8")
    (place / "other.csv").write_text("item,quantity\nP24-TI-17-8H,1\n", encoding="utf-8")
    before = files(place)
    status, out, err = run(*words)
    assert status == 2, (out, err)
    # the words of the message may be broken over the lines of a frame
    assert said in " ".join(err.replace("│", " ").split())
    assert "Traceback" not in out + err
    assert files(place) == before
