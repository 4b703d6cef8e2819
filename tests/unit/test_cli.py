"""The commands as a person runs them: what they print, what they write, and how they refuse."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.resources import resource_dir

CASE = """
[case]
label = "TEST-1"
side = "left"
[bone]
ray = 5
length = "71 mm"
[bone.isthmus]
canal = "4.7 mm"
[fracture]
zone = 2
"""
SIZE = ["size", "--ray", "5", "--length", "71 mm", "--canal", "4.7 mm", "--zone", "2"]


@pytest.fixture
def case(tmp_path: Path) -> Path:
    path = tmp_path / "case.toml"
    path.write_text(CASE, encoding="utf-8")
    return path


def files(folder: Path) -> list[str]:
    return sorted(str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file())


def test_the_version_is_told_without_loading_numbers() -> None:
    """Start-up stays light: no numpy, pint or sympy before a command needs them."""
    code = (
        "import sys; sys.argv = ['fixplan', '--version']\n"
        "from fixplan.cli import main\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'pint', 'sympy', 'scipy', 'jinja2'} & set(sys.modules)\n"
        "print(sorted(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[0].startswith("fixplan 0.")
    assert done.stdout.splitlines()[1] == "[]"


def test_plan_writes_three_documents_and_prints_a_summary(run, case: Path, tmp_path: Path) -> None:
    status, out, err = run(
        "plan", str(case), "--out", str(tmp_path / "new" / "folder"), "--on", "2026-11-25", "--draws", "0"
    )
    assert status == 0
    assert err == ""
    assert files(tmp_path / "new" / "folder") == ["TEST-1-plan.html", "TEST-1-plan.json", "TEST-1-sizes.csv"]
    assert "first choice" in out
    assert all(line in " ".join(out.split()) for line in CAUTIONS)


def test_json_alone_on_standard_output(run, case: Path, tmp_path: Path) -> None:
    status, out, _ = run("plan", str(case), "--out", str(tmp_path), "--format", "json", "--draws", "0")
    assert status == 0
    assert json.loads(out)["cautions"] == list(CAUTIONS)
    assert out == (tmp_path / "TEST-1-plan.json").read_text(encoding="utf-8")


def test_the_same_input_gives_the_same_bytes(run, case: Path, tmp_path: Path) -> None:
    for name in ("a", "b"):
        assert run("plan", str(case), "--out", str(tmp_path / name), "--on", "2026-11-25", "--draws", "200")[0] == 0
    for name in files(tmp_path / "a"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_compare_writes_two_documents_and_prints_one_table(run, case: Path, tmp_path: Path) -> None:
    words = [
        "compare",
        str(case),
        "--construct",
        "screw",
        "--construct",
        "plate",
        "--on",
        "2026-11-25",
        "--draws",
        "100",
    ]
    for name in ("a", "b"):
        status, out, err = run(*words, "--out", str(tmp_path / name))
        assert (status, err) == (0, "")
    assert files(tmp_path / "a") == ["TEST-1-compare.html", "TEST-1-compare.json"]
    for name in files(tmp_path / "a"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()
    assert "No overall winner" in " ".join(out.split())
    assert all(line in " ".join(out.split()) for line in CAUTIONS)
    assert max(len(line) for line in out.splitlines() if not line.startswith("Written")) <= 80
    status, out, _ = run(*words, "--out", str(tmp_path / "c"), "--format", "json")
    assert out == (tmp_path / "c" / "TEST-1-compare.json").read_text(encoding="utf-8")
    assert json.loads(out)["cautions"] == list(CAUTIONS)


def test_constructs_of_the_case_file_are_compared(run, case: Path, tmp_path: Path) -> None:
    case.write_text(CASE + '[compare]\nconstructs = ["screw", "screw gap=closed:60 N"]\n', encoding="utf-8")
    status, out, _ = run("compare", str(case), "--out", str(tmp_path / "a"), "--draws", "100")
    assert status == 0
    assert "closed under lag compression, 60 N" in " ".join(out.split())
    case.write_text(CASE + '[compare]\nconstructs = ["screw", "nonsense"]\n', encoding="utf-8")
    status, out, err = run("compare", str(case), "--out", str(tmp_path / "b"))
    assert (status, files(tmp_path)) == (2, ["a/TEST-1-compare.html", "a/TEST-1-compare.json", "case.toml"])
    assert "compare.constructs" in err


def test_size_answers_without_a_file_and_writes_nothing(run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    status, out, _ = run(*SIZE)
    assert status == 0
    assert "Assumed" in out
    assert files(tmp_path) == []


def test_specs_lists_checks_and_explains(run) -> None:
    status, out, _ = run("specs")
    assert status == 0
    assert "invented for the demo" in out
    assert CAUTION_SHORT in out
    status, out, _ = run("specs", "--thresholds")
    assert "run_out_margin = 1 mm" in out
    assert "project default" in out
    status, out, _ = run("specs", "--sources", "--format", "json")
    assert {s["id"] for s in json.loads(out)["sources"]} >= {"CUB22", "PROJECT", "COMMON"}


def test_a_kit_of_ones_own_is_read_beside_ours(run, tmp_path: Path) -> None:
    own = tmp_path / "kits"
    own.mkdir()
    ours = (resource_dir("implant_specs") / "im-screws-solid-ti.toml").read_text(encoding="utf-8")
    (own / "mine.toml").write_text(
        ours.replace("im-screws-solid-ti", "my-screws").replace('code = "S', 'code = "M'), encoding="utf-8"
    )
    status, out, err = run("specs", "--specs", str(own), "--only-specs")
    assert status == 0, err
    assert "my-screws" in out
    assert "im-screws-solid-ti" not in out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["plan"], "Missing argument"),
        (["plan", "none.toml"], "no such file"),
        (["plan", "."], "is a folder"),
        (["plan", "CASE", "--on", "03.12.2026"], "write it as 2026-12-03"),
        (["plan", "CASE", "--format", "yaml"], "'yaml' is not one of"),
        (["plan", "CASE", "--seed", "-1"], "-1 is not in the range"),
        (["plan", "CASE", "--draws", "many"], "not a valid int"),
        (["plan", "CASE", "--draws", "-5"], "-5 is not in the range"),
        (["plan", "CASE", "--specs", "nowhere"], "'nowhere' is not a folder"),
        (["plan", "CASE", "--only-specs"], "no folder is given"),
        (["plan", "CASE", "--out", "CASE"], "is not a folder"),
        (["plan", "CASE", "--colour"], "No such option"),
        (["size", "--ray", "5"], "Missing option"),
        (["size", "--ray", "five", "--length", "71 mm", "--canal", "4.7 mm", "--zone", "2"], "not a valid int"),
        ([*SIZE[:4], "71", *SIZE[5:]], "'71' has no unit"),
        ([*SIZE[:6], "9 m", *SIZE[7:]], "probably a wrong unit"),
        ([*SIZE[:8], "7"], "one of: 1, 2, 3"),
        (["size", "--ray", "6", *SIZE[3:]], "one of: 1, 2, 3, 4, 5"),
        (["size", "--ray", "2", *SIZE[3:8], "shaft"], "no level is published"),
        (["specs", "--specs", "nowhere"], "is not a folder"),
        (["demo", "--on", "tomorrow"], "is not a date"),
        (["frobnicate"], "No such command"),
        (["compare", "CASE"], "0 constructs named"),
        (["compare", "CASE", "--construct", "screw"], "1 construct named"),
        (["compare", "CASE", *["--construct", "screw"] * 5], "5 constructs named"),
        (["compare", "CASE", *["--construct", "screw"] * 2], "is the same construct"),
        (["compare", "CASE", "--construct", "screw", "--construct", "nail"], "neither an item code"),
        (["compare", "CASE", "--construct", "screw", "--construct", "S55C-TI-33-T16"], "did you mean"),
        (["compare", "CASE", "--construct", "screw", "--construct", "screw green"], "'green' in 'screw green'"),
        (["compare", "CASE", "--construct", "screw", "--construct", "screw screws=3"], "belongs to a plate"),
        (["compare", "CASE", "--construct", "screw", "--construct", "plate solid"], "no plate like"),
        (["compare", "CASE", "--construct", "screw", "--construct", "screw gap=closed:60"], "'60' has no unit"),
        (["compare", "CASE", "--construct", "screw", "--construct", "screw gap=closed:9kN"], "is outside 0 to 1000 N"),
        (["compare", "CASE", "--construct", "screw", "--construct", " "], "a construct is empty"),
        (["compare", "CASE", "--construct", "screw", "--construct", "plate", "--out", "CASE"], "is not a folder"),
    ],
)
def test_refused_command_lines(
    run, case: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    status, out, err = run(*(str(case) if w == "CASE" else w for w in words))
    assert status == 2, (out, err)
    # the words of the message may be broken over the lines of a frame
    assert said in " ".join(err.replace("│", " ").split())
    assert "Traceback" not in out + err
    assert files(tmp_path) == ["case.toml"]


def test_all_problems_of_a_file_in_one_answer(run, tmp_path: Path) -> None:
    bad = CASE.replace('"71 mm"', '"71"').replace("zone = 2", 'zone = 9\npatient_name = "x"').replace('"left"', '"up"')
    (tmp_path / "bad.toml").write_text(bad, encoding="utf-8")
    status, _, err = run("plan", str(tmp_path / "bad.toml"), "--out", str(tmp_path))
    assert status == 2
    assert "4 problems" in err
    for where in ("case.side", "bone.length", "fracture.zone", "fracture.patient_name"):
        assert where in err
    assert files(tmp_path) == ["bad.toml"]


def test_a_folder_that_cannot_be_written_leaves_no_half_file(run, case: Path, tmp_path: Path) -> None:
    blocked = tmp_path / "out"
    (blocked / "TEST-1-plan.json").mkdir(parents=True)
    status, _, err = run("plan", str(case), "--out", str(blocked), "--draws", "0")
    assert status == 2
    assert "Traceback" not in err
    assert files(blocked) == []


def test_an_unexpected_error_says_how_to_report_it(run, case: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr("fixplan.commands.make_plan", broken)
    status, _, err = run("plan", str(case), "--draws", "0")
    assert status == 1
    assert "internal error" in err
    assert "report it" in err
    assert "Traceback" not in err


@pytest.mark.parametrize("command", ["plan", "size", "specs", "demo", "new", "compare"])
def test_help_says_what_is_read_and_written(run, command: str) -> None:
    status, out, _ = run(command, "--help")
    assert status == 0
    assert "Usage: fixplan " + command in out
    assert "Exit status" in " ".join(out.split())
