"""The interview as a conversation on two streams: answers, drafts, ways out, and what is left on the disk."""

from __future__ import annotations

import dataclasses
import io
import os
import re
import shutil
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given as generated
from hypothesis import settings
from hypothesis import strategies as st

from fixplan.case import Case, read_case
from fixplan.cautions import CAUTION_SHORT
from fixplan.interview import advice, answers, run
from fixplan.interview.document import case_text
from fixplan.interview.draft import Draft, draft_path, load, save
from fixplan.interview.questions import QUESTIONS, upcoming
from fixplan.problems import InputError
from fixplan.resources import resource_dir

KEY = re.compile(r"^\(\d+ of \d+\) (\S+)$", re.MULTILINE)
LEAST = ["DEMO-5E", "left", "", "", "5", "2", "", "one", "", "71 mm", "", "", "4.7 mm"]


class Answering(io.TextIOBase):
    """A person who answers by key: reads what was asked last, and says what belongs there."""

    def __init__(self, output: io.StringIO, given: Mapping[str, str]) -> None:
        self.output, self.given = output, given
        self.last = ""

    def readline(self, size: int | None = -1, /) -> str:  # type: ignore[override]
        shown = self.output.getvalue()
        if shown.splitlines()[-1].startswith("Write "):
            return "yes\n"
        key = KEY.findall(shown)[-1]
        assert key != self.last, f"{key} was asked twice:\n{shown[-400:]}"
        self.last = key
        return self.given.get(key, "") + "\n"


def said(target: Path | None, *lines: str, end: str = "") -> tuple[int, str]:
    """Exit status and what was printed, for typed lines and then the end of the input."""
    output = io.StringIO()
    return run(target, io.StringIO("".join(f"{line}\n" for line in lines) + end), output), output.getvalue()


def plain(text: str) -> str:
    return " ".join(text.split())


def typed(value: Any) -> str:
    return value.isoformat() if isinstance(value, date) else answers.show(value)


def flat(table: Mapping[str, Any], at: str = "") -> Iterator[tuple[str, str]]:
    for key, value in table.items():
        if isinstance(value, dict):
            yield from flat(value, f"{at}{key}.")
        else:
            yield f"{at}{key}", typed(value)


def placed(part: Any) -> Any:
    """The bone without the folders of its tables: their bytes are in the hash over the inputs."""
    names = {name: getattr(part, name, None) for name in ("stations", "landmarks")}
    found = {name: Path(path.name) for name, path in names.items() if isinstance(path, Path)}
    return dataclasses.replace(part, **found) if found else part


DEMOS = sorted(path.name for path in resource_dir("demo_cases").glob("*.toml"))


@pytest.mark.parametrize("name", DEMOS)
def test_every_demo_case_can_be_typed_in(name: str, tmp_path: Path) -> None:
    """The case reader makes the same case of the typed file as of the one written by hand."""
    path = resource_dir("demo_cases") / name
    known = dict(flat(tomllib.loads(path.read_text(encoding="utf-8"))))
    ways = {"bone.isthmus.canal": "one", "bone.stations": "table", "bone.landmarks": "landmarks"}
    markers = {"imaging.marker_seen_ap": "each", "imaging.marker_true": "one"}
    for table in path.parent.glob("*.csv"):
        shutil.copy(table, tmp_path)
    blocks = {
        "canal": next((way for key, way in ways.items() if key in known), "films"),
        "marker": next((way for key, way in markers.items() if key in known), "no"),
        **{
            block: "yes" if any(key.startswith(prefix) for key in known) else "no"
            for block, prefix in (
                ("at_fracture", "bone.at_fracture."),
                ("plate_room", "plate."),
                ("previous", "previous."),
                ("patient", "patient."),
                ("energy", "patient.energy."),
            )
        },
    }
    output = io.StringIO()
    assert run(tmp_path / "typed.toml", Answering(output, known | blocks), output) == 0, output.getvalue()
    new, old = read_case(tmp_path / "typed.toml"), read_case(path)
    for field in dataclasses.fields(Case):
        if field.name != "path":
            assert placed(getattr(new, field.name)) == placed(getattr(old, field.name)), field.name


def test_cautions_stand_at_both_ends_and_the_next_command_at_the_last(tmp_path: Path) -> None:
    status, shown = said(tmp_path / "a.toml", *LEAST, *[""] * 30)
    assert status == 0
    assert plain(shown).startswith(plain(CAUTION_SHORT))
    assert plain(shown).endswith(plain(CAUTION_SHORT))
    assert f"fixplan plan {tmp_path / 'a.toml'}" in shown
    assert os.listdir(tmp_path) == ["a.toml"]


@pytest.mark.parametrize("word", ["quit", "EXIT", None])
def test_leaving_keeps_the_answers(word: str | None, tmp_path: Path) -> None:
    status, shown = said(tmp_path / "a.toml", "DEMO-1", *([word] if word else []))
    assert status == 2
    assert ".a.toml.draft" in shown
    assert os.listdir(tmp_path) == [".a.toml.draft"]
    assert load(tmp_path / "a.toml") == Draft({"case.label": "DEMO-1"}, {})


def test_leaving_before_the_first_answer_leaves_nothing(tmp_path: Path) -> None:
    status, shown = said(tmp_path / "a.toml")
    assert status == 2
    assert "no answer was kept" in plain(shown)
    assert os.listdir(tmp_path) == []


def test_resuming_goes_on_where_it_stopped(tmp_path: Path) -> None:
    said(tmp_path / "a.toml", *LEAST[:6])
    status, shown = said(tmp_path / "a.toml", "yes", *LEAST[6:], *[""] * 30)
    assert status == 0
    assert KEY.findall(shown)[0] == "plan.consider"


def test_starting_afresh_replaces_the_draft_with_the_first_answer(tmp_path: Path) -> None:
    said(tmp_path / "a.toml", *LEAST[:6])
    assert said(tmp_path / "a.toml", "no")[0] == 2
    assert len(load(tmp_path / "a.toml").given) == 6  # type: ignore[union-attr]
    said(tmp_path / "a.toml", "no", "DEMO-2")
    assert load(tmp_path / "a.toml") == Draft({"case.label": "DEMO-2"}, {})


def test_a_draft_is_not_believed(tmp_path: Path) -> None:
    """An answer that no longer passes is asked for again; what follows it is offered, not taken."""
    save(Draft({"case.label": "Jane Doe", "case.side": "left"}), tmp_path / "a.toml")
    _, shown = said(tmp_path / "a.toml", "yes", "DEMO-1")
    assert "could be a person's name" in plain(shown)
    assert KEY.findall(shown) == ["case.label", "case.side"]
    assert "before  left" in shown


@pytest.mark.parametrize(
    "content",
    ["", "format = 1\n", "not toml", "\x00", 'format = "fixplan-draft/1"\nanswer = [1]\n']
    + [f'format = "fixplan-draft/1"\n[[answer]]\n{row}\n' for row in ('key = "x"', "key = []", 'key = "bone.ray"')],
)
def test_a_broken_draft_is_said_to_be_one(content: str, tmp_path: Path) -> None:
    draft_path(tmp_path / "a.toml").write_text(content, encoding="utf-8")
    status, shown = said(tmp_path / "a.toml", "yes", "DEMO-1")
    assert status == 2
    assert ".a.toml.draft: " in shown
    assert load(tmp_path / "a.toml") == Draft({"case.label": "DEMO-1"}, {})


@pytest.mark.parametrize("value", [5, ["left"], {"x": 1}, "LEFT", True, 2.5])
def test_a_draft_with_a_wrong_kind_of_value_is_asked_again(value: object, tmp_path: Path) -> None:
    save(Draft({"case.label": "DEMO-1", "case.side": value}), tmp_path / "a.toml")
    _, shown = said(tmp_path / "a.toml", "yes")
    assert KEY.findall(shown) == ["case.side"]


def test_back_offers_the_earlier_answer(tmp_path: Path) -> None:
    _, shown = said(tmp_path / "a.toml", "back", "DEMO-1", "left", "back", "back", "DEMO-2", "", "back", "-")
    assert "This is the first question" in shown
    assert KEY.findall(shown)[-1] == "case.side"
    assert "an answer is needed" in shown
    assert load(tmp_path / "a.toml") == Draft({"case.label": "DEMO-2"}, {"case.side": "left"})


def test_an_answer_that_went_stale_is_not_offered(tmp_path: Path) -> None:
    """Zone 2 belongs to ray 5: back two questions and another ray, and it is gone."""
    lines = ["DEMO-1", "left", "", "", "5", "2", "back", "back", "3"]
    _, shown = said(tmp_path / "a.toml", *lines)
    last = shown[shown.rindex("fracture.zone") :]
    assert "before" not in last
    assert "base, shaft, neck" in last


def test_more_is_told_on_demand(tmp_path: Path) -> None:
    _, shown = said(tmp_path / "a.toml", *LEAST[:9], "?")
    assert "Type the value with its unit" in plain(shown)
    assert "plausibility bound" in plain(shown)
    assert KEY.findall(shown)[-1] == "bone.length"


def test_every_line_fits_into_80_columns(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    asking = [line for answer in [*LEAST, *[""] * 30] for line in ("?", answer)]
    status, shown = said(Path("a.toml"), *asking)
    assert status == 0
    # without the echo of a terminal the prompt stands before what follows it
    assert max(len(line.rpartition("> ")[2]) for line in shown.splitlines()) <= 80


def test_an_existing_file_stays_without_a_yes(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text("mine", encoding="utf-8")
    said(tmp_path / "a.toml", *LEAST, *[""] * 19)
    given = dict(load(tmp_path / "a.toml").given)  # type: ignore[union-attr]
    while question := upcoming(given):
        given[question.key] = None
    save(Draft(given), tmp_path / "a.toml")
    lines = ["no", ".", "no", "", "no", "a/b.toml", "no", "jane doe.toml"]
    status, shown = said(tmp_path / "a.toml", "yes", *lines)
    assert status == 2
    assert "could be a person's name" in plain(shown)
    assert (tmp_path / "a.toml").read_text(encoding="utf-8") == "mine"
    status, shown = said(tmp_path / "a.toml", "yes", "yes")
    assert status == 0
    assert read_case(tmp_path / "a.toml").label == "DEMO-5E"


@pytest.mark.parametrize(
    "name, named",
    [
        ("case.txt", "not the name"),
        ("Jane Doe.toml", "person"),
        ("nowhere/case.toml", "no folder"),
        ("folder.toml", "folder"),
        ("a\x1b.toml", "not the name"),
    ],
)
def test_a_target_that_cannot_be_a_case_file_is_refused(name: str, named: str, tmp_path: Path) -> None:
    (tmp_path / "folder.toml").mkdir()
    status, shown = said(tmp_path / name, "DEMO-1")
    assert status == 2
    assert named in plain(shown)
    assert "\x1b" not in shown
    assert os.listdir(tmp_path) == ["folder.toml"]


def test_without_a_target_the_name_is_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Running again offers the draft that lies there."""
    monkeypatch.chdir(tmp_path)
    said(None, "case.txt", "mine", "DEMO-1")
    assert os.listdir(tmp_path) == [".mine.toml.draft"]
    _, shown = said(None, "", "yes")
    assert "Enter means mine.toml" in shown
    assert KEY.findall(shown) == ["case.side"]


def test_a_file_that_cannot_be_written_is_one_message(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("fixplan.interview.ending.write", full)
    status, shown = said(tmp_path / "a.toml", *LEAST, *[""] * 30)
    assert status == 2
    assert "No space left on device" in plain(shown)
    assert os.listdir(tmp_path) == [".a.toml.draft"]


def test_bytes_that_are_no_text_are_asked_again(tmp_path: Path) -> None:
    source = io.TextIOWrapper(io.BytesIO(b"DEMO-\xff\nDEMO-1\n"), encoding="utf-8")
    output = io.StringIO()
    assert run(tmp_path / "a.toml", source, output) == 2
    assert "cannot be read as text" in output.getvalue()


def test_a_line_without_end_is_not_read_into_memory(tmp_path: Path) -> None:
    _, shown = said(tmp_path / "a.toml", "x" * 100_000, "DEMO-1")
    assert "longer than" in plain(shown)
    assert KEY.findall(shown)[-1] == "case.side"


def test_a_terminal_without_the_sign_gets_a_stand_in(tmp_path: Path) -> None:
    screen = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    assert run(tmp_path / "a.toml", io.StringIO("\n".join(LEAST[:9]) + "\n"), screen) == 2
    screen.seek(0)
    assert "71.5 ? 0.8 mm" in screen.read()


@settings(max_examples=60, deadline=None)
@generated(st.data())
def test_any_text_is_an_answer_or_is_refused(data: st.DataObject) -> None:
    """Nothing typed at any question does anything but be taken or be refused; what is taken can be written and read."""
    question = data.draw(st.sampled_from(QUESTIONS))
    sample = st.sampled_from(["5 mm", "2", "base", "0.5 ± 0.1 mm", "ct", "a, b", "yes", "2026-01-01", '"', "\\", "# x"])
    text = data.draw(st.text(min_size=1, max_size=20).map(str.strip).filter(bool) | sample)
    given: dict[str, Any] = {"bone.ray": data.draw(st.sampled_from([2, 5]))}
    try:
        given[question.key] = answers.understand(question, text, given, Path())
    except InputError as error:
        refused = error.problems
    else:
        assert tomllib.loads(case_text(given)) == answers.table(given)
        return
    assert refused
    assert all(str(problem).isprintable() for problem in refused)


def test_all_questions_come_to_an_end() -> None:
    """Whatever the first choices are, the interview ends, and no question comes twice."""
    for ray in (1, 5):
        given: dict[str, Any] = {"bone.ray": ray}
        while question := upcoming(given):
            assert question.key not in given
            given[question.key] = True if question.field.kind == "flag" else None
        assert len(given) < len(QUESTIONS)


def ready(folder: Path, **changed: Any) -> Path:
    """A target whose draft answers every question."""
    said(folder / "a.toml", *LEAST, *[""] * 10)
    known = load(folder / "a.toml")
    assert known is not None
    given: dict[str, Any] = {}
    while question := upcoming(given):
        given[question.key] = changed.get(question.key, known.given.get(question.key))
    save(Draft(given), folder / "a.toml")
    return folder / "a.toml"


def test_back_at_the_end_asks_the_last_question_again(tmp_path: Path) -> None:
    status, shown = said(ready(tmp_path), "yes", "back", "screw, plate", "yes")
    assert status == 0
    assert KEY.findall(shown) == ["compare.constructs"]
    assert read_case(tmp_path / "a.toml").compare == ("screw", "plate")


def test_a_table_that_went_away_is_told_at_the_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its answer was checked when it was given; the file is not written on the strength of that."""
    (tmp_path / "s.csv").write_text("s\n", encoding="utf-8")
    target = ready(tmp_path, **{"ask.canal": "table", "bone.stations": "s.csv"})
    source = io.StringIO("yes\nquit\n")
    real = answers.check

    def then_gone(question: Any, *rest: Any) -> None:
        real(question, *rest)
        if question.key == "bone.stations":
            (tmp_path / "s.csv").unlink()
            monkeypatch.setattr(answers, "check", lambda *_: None)

    monkeypatch.setattr(answers, "check", then_gone)
    output = io.StringIO()
    assert run(target, source, output) == 2
    assert "bone.stations: 's.csv' is missing" in plain(output.getvalue())
    assert os.listdir(tmp_path) == [".a.toml.draft"]


def test_an_unknown_kit_is_remarked_on_and_kept(tmp_path: Path) -> None:
    """It may lie in a folder of the reader's own, which the interview does not know."""
    status, shown = said(ready(tmp_path), "yes", "back", "back", "mini-plates-24", "", "yes")
    assert status == 0
    assert "did you mean 'mini-plates-2.4'?" in plain(shown)
    assert read_case(tmp_path / "a.toml").plan.kits == ("mini-plates-24",)


def asked_about_everything(folder: Path, *ways: str) -> str:
    """Every question of one way through, each answered with nonsense, asked about, and then skipped or answered."""
    (folder / "film.dcm").write_bytes(b"no image")
    known = {
        "case.label": "DEMO-1", "case.side": "left", "bone.ray": "5", "fracture.zone": "2",
        "imaging.source": "radiograph", "ask.canal": ways[0], "ask.marker": ways[1],
    }  # fmt: skip
    said: dict[str, Any] = {}
    lines: list[str] = []
    while question := upcoming(said):
        key = question.key
        text = known.get(key, "yes" if key.startswith("ask.") else "")
        if not text and question.required(said):
            text = question.field.example
        lines += ["zz zz", "?"] if key != "case.label" else ["?"]
        lines.append(text)
        said[key] = answers.understand(question, text, said, folder) if text else None
        if question.field.kind == "texts":
            lines[-3:] = ["?", ""]
    output = io.StringIO()
    run(folder / "a.toml", io.StringIO("\n".join(lines) + "\n"), output)
    return output.getvalue()


@pytest.mark.parametrize("ways", [("films", "each"), ("one", "one"), ("films", "dicom")])
def test_no_inner_name_and_no_foreign_example_is_shown(tmp_path: Path, ways: tuple[str, str]) -> None:
    shown = asked_about_everything(tmp_path, *ways)
    assert "Write a.toml?" in shown
    assert "ask." not in shown
    assert not re.search(r"\?\.|\.\.|;\s*;| true when|True when", plain(shown))
    # a section is opened once
    titles = re.findall(r"^-- (.+?) -+$", shown, re.MULTILINE)
    assert len(titles) == len(set(titles))
    examples = {q.key: q.field.example for q in QUESTIONS if q.field.kind == "quantity"}
    refused = re.findall(r"(\S+): 'zz zz' cannot be read; for instance '(.+?)'", plain(shown))
    assert len(refused) > 10
    for key, example in refused:
        assert example == examples[key], key
    for key, example in examples.items():
        told = re.search(rf"> \? {re.escape(key)}: .*?averaged: (\S+ \S+?), (\S+ \S+)\.", plain(shown))
        if told:
            assert {told[1].split()[1], told[2].split()[1]} == {example.split()[-1]}, key


def test_the_film_named_is_the_one_whose_scale_is_taken_out() -> None:
    """Marker seen larger on one film than on the other: what is told and what is divided have to agree."""
    from fixplan.plan.resolve import resolve

    keys = {
        "length": "bone.length", "straight": "bone.straight_segment", "isthmus_at": "bone.isthmus.at",
        "canal_ap": "bone.isthmus.canal_ap", "canal_lateral": "bone.isthmus.canal_lateral",
        "outer_ap": "bone.isthmus.outer_ap", "outer_lateral": "bone.isthmus.outer_lateral",
        "fracture_canal_ap": "bone.at_fracture.canal_ap", "fracture_outer_lateral": "bone.at_fracture.outer_lateral",
        "from_base": "fracture.from_base", "extent": "fracture.extent", "gap": "fracture.gap",
        "room_proximal": "plate.room_proximal", "room_distal": "plate.room_distal",
        "surface_width": "plate.surface_width",
    }  # fmt: skip
    for name, ray in (("zone-2-runner", 5), ("second-base-nonunion", 2)):
        found = resolve(read_case(resource_dir("demo_cases") / f"{name}.toml")).parameters
        seen = 0
        for parameter, key in keys.items():
            if parameter in found and found[parameter].origin == "measured":
                question = next(q for q in QUESTIONS if q.key == key)
                told = advice.film(question, {"bone.ray": ray})
                assert {"ap": "AP", "lateral": "lateral"}[found[parameter].film] == told.split()[0], key
                seen += 1
        assert seen >= 10


def test_constructs_to_compare_are_understood_when_they_are_given(tmp_path: Path) -> None:
    status, shown = said(ready(tmp_path), "yes", "back", "screw, plate blue", "screw, plate longer", "yes")
    assert status == 0
    assert "'blue' in 'plate blue' is not understood" in plain(shown)
    assert read_case(tmp_path / "a.toml").compare == ("screw", "plate longer")


@pytest.mark.parametrize("ray", [1, 5])
@pytest.mark.parametrize("canal", ["films", "one", "table", "landmarks", "no"])
def test_every_question_that_can_be_skipped_says_what_is_done_without_it(ray: int, canal: str) -> None:
    given = {"bone.ray": ray, "ask.canal": canal, "fracture.zone": 2 if ray == 5 else "base"}
    for question in QUESTIONS:
        told = advice.without(question, given)
        assert len(told) > 10
        assert (told == "cannot be skipped") == question.required(given)
