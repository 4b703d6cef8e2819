"""The interview in a real terminal: wrong answers, an interrupt, a resume; the file equals the one written by hand.

Each demo case (invented) is typed in through a pseudo-terminal of 80 columns. What comes out is compared with what the
case reader makes of the hand-written file, field by field and by the hash over keys and values, and so are the plans of
both files, number for number.
"""

from __future__ import annotations

import dataclasses
import errno
import fcntl
import json
import os
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from fixplan.case import Case, read_case
from fixplan.cautions import CAUTION_SHORT
from fixplan.kits import load_kits
from fixplan.plan.make import make_plan
from fixplan.report.jsonio import render_json
from fixplan.resources import resource_dir

INTERVIEW = (sys.executable, "-m", "fixplan.interview")
COMMAND = (sys.executable, "-m", "fixplan", "new")
INTERRUPT = "\x03"
WRITE = "write"
# only a hanging program comes near it
PATIENCE = 120.0
KEY = re.compile(r"^\(\d+ of \d+\) (\S+)\r?$", re.MULTILINE)


class Screen:
    """A program behind a pseudo-terminal: what it printed, and lines typed to it."""

    def __init__(self, master: int, process: subprocess.Popen[bytes]) -> None:
        self._master, self.process = master, process
        self.seen = ""

    def wait(self) -> bool:
        """Read until the program waits for an answer; False when it has ended."""
        new, end = "", time.monotonic() + PATIENCE
        while not new.endswith("> "):
            ready, _, _ = select.select([self._master], [], [], max(0.0, end - time.monotonic()))
            assert ready, f"no answer from the program; it printed:\n{self.seen}"
            try:
                chunk = os.read(self._master, 65536)
            except OSError as error:
                if error.errno != errno.EIO:  # so Linux reports a terminal nobody writes to any more
                    raise
                chunk = b""
            if not chunk:
                return False
            new += chunk.decode()
            self.seen += chunk.decode()
        return True

    def type(self, line: str) -> bool:
        """Type a line (or Ctrl-C) and wait for the next prompt."""
        os.write(self._master, line.encode() if line == INTERRUPT else f"{line}\n".encode())
        return self.wait()

    def key(self) -> str:
        """The key that is asked for now."""
        end = self.seen[self.seen.rindex("\n") :]
        if "Write " in end or "Replace" in end:
            return WRITE
        return KEY.findall(self.seen)[-1]

    def hang_up(self) -> None:
        """Close the terminal window under the running program."""
        self.close()
        self.process.wait(PATIENCE)

    def close(self) -> None:
        if self._master >= 0:
            os.close(self._master)
        self._master = -1

    def end_input(self) -> bool:
        """Type Ctrl-D."""
        os.write(self._master, b"\x04")
        return self.wait()


@contextmanager
def screen(folder: Path, *command: str) -> Iterator[Screen]:
    master, slave = os.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))

    def own_terminal() -> None:
        # without a terminal of its own the program would get no signal for Ctrl-C
        fcntl.ioctl(0, termios.TIOCSCTTY, 0)

    process = subprocess.Popen(
        command,
        stdin=slave,
        stdout=slave,
        stderr=slave,
        cwd=folder,
        start_new_session=True,
        preexec_fn=own_terminal,
        env={**os.environ, "PYTHONUTF8": "1", "TERM": "dumb"},
    )
    os.close(slave)
    shown = Screen(master, process)
    try:
        shown.wait()
        yield shown
    finally:
        if process.poll() is None:
            process.kill()
            process.wait()
        shown.close()


def typed(value: Any) -> str:
    """A value of a case file as a person types it."""
    match value:
        case bool():
            return "yes" if value else "no"
        case list():
            return ", ".join(value)
        case date():
            return value.isoformat()
    return str(value)


def flat(table: Mapping[str, Any], at: str = "") -> dict[str, str]:
    found: dict[str, str] = {}
    for key, value in table.items():
        if isinstance(value, dict):
            found |= flat(value, f"{at}{key}.")
        else:
            found[f"{at}{key}"] = typed(value)
    return found


def answers(name: str, **asked: str) -> dict[str, str]:
    """What is typed for a demo case: its own values by key, and the questions about the questions."""
    return flat(tomllib.loads((resource_dir("demo_cases") / name).read_text(encoding="utf-8"))) | asked


def drive(shown: Screen, given: Mapping[str, str], wrong: Mapping[str, tuple[str, ...]], until: str = WRITE) -> None:
    """Answer every question up to `until`; each wrong answer first, which has to be refused and asked again."""
    tried: set[str] = set()
    while (key := shown.key()) != until:
        for text in wrong.get(key, ()) if key not in tried else ():
            before = len(shown.seen)
            assert shown.type(text)
            assert "  ! " in shown.seen[before:], f"{key}: {text!r} was accepted"
            assert shown.key() == key
        tried.add(key)
        assert shown.type(given.get(key, "")), shown.seen


def same(path: Path, demo: str) -> None:
    """Compare every field of two case files but their place, and their plans, word for word and number for number."""
    new, old = read_case(path), read_case(resource_dir("demo_cases") / demo)
    for field in dataclasses.fields(Case):
        if field.name != "path":
            assert getattr(new, field.name) == getattr(old, field.name), field.name
    planned, by_hand = plan_of(new), plan_of(old)
    assert planned["provenance"].pop("case_file") == path.name
    assert by_hand["provenance"].pop("case_file") == demo
    assert planned["screw"] or planned["plate"]
    assert numbers(planned) == numbers(by_hand)
    assert len(numbers(planned)) > 500
    assert planned == by_hand


def plan_of(case: Case) -> dict[str, Any]:
    """The plan of a case as its JSON document, worked sheet and all, on one day."""
    return dict(json.loads(render_json(make_plan(case, load_kits(), date(2026, 11, 25)))))


def numbers(value: Any, path: str = "") -> dict[str, float]:
    """Every number of a document by its path."""
    found: dict[str, float] = {}
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in pairs:
        found |= numbers(item, f"{path}/{key}")
    if isinstance(value, int | float) and not isinstance(value, bool):
        found[path] = value
    return found


def finish(shown: Screen) -> None:
    assert not shown.type("yes")
    assert shown.process.wait(PATIENCE) == 0, shown.seen


def plain(text: str) -> str:
    return " ".join(text.split())


RUNNER = answers(
    "zone-2-runner.toml",
    canal="films",
    marker="each",
    at_fracture="yes",
    plate_room="yes",
    previous="no",
    patient="yes",
)
RUNNER_WRONG = {
    "case.label": ("", "1999-04-03", "Jane Doe", "0123456789", "\x1b[D"),
    "case.side": ("both",),
    "case.planned_for": ("3 December", "2026-02-30"),
    "fracture.zone": ("base", "4"),
    "imaging.marker_seen_ap": ("25.9", "2.59 mm", "60 mm"),
    "bone.length": ("71", "7 m", "-71 mm", "71 N", "nan mm", "71.5 ± 40 mm"),
    "bone.straight_segment": ("90 mm",),
    "bone.isthmus.at": ("75 mm",),
    "bone.isthmus.canal_ap": ("5,2 mm", "50 mm"),
    "bone.isthmus.outer_ap": ("5 mm",),
    "fracture.from_base": ("72 mm",),
    "fracture.extent": ("60 mm",),
    "fracture.gap": ("5 mm",),
    "fracture.pattern": ("two pieces",),
    "plate.room_distal": ("60 mm",),
    "patient.body_mass": ("68", "68 mm"),
    "patient.risks": ("flat feet",),
    "compare.constructs": ("screw",),
}


def test_runner_with_wrong_answers_an_interrupt_and_a_resume(tmp_path: Path) -> None:
    """The zone-2 runner: left by Ctrl-C in the middle, resumed, gone back, finished: the same case."""
    with screen(tmp_path, *INTERVIEW, "runner.toml") as shown:
        assert plain(CAUTION_SHORT) in plain(shown.seen)
        drive(shown, RUNNER, RUNNER_WRONG, until="fracture.from_base")
        assert not shown.type(INTERRUPT)
        assert shown.process.wait(PATIENCE) == 2
        assert "fixplan new runner.toml" in shown.seen
    assert sorted(os.listdir(tmp_path)) == [".runner.toml.draft"]

    with screen(tmp_path, *INTERVIEW, "runner.toml") as shown:
        assert "draft" in shown.seen
        shown.type("yes")
        assert shown.key() == "fracture.from_base"  # nothing is asked twice
        drive(shown, RUNNER, RUNNER_WRONG, until="fracture.healing")
        shown.type("back")
        assert shown.key() == "fracture.pattern"
        assert "before  simple" in shown.seen
        shown.type("")  # Enter keeps it
        drive(shown, RUNNER, RUNNER_WRONG)
        finish(shown)
        assert "fixplan plan runner.toml" in shown.seen
        assert plain(shown.seen).endswith(plain(CAUTION_SHORT))
        too_wide = [line for line in shown.seen.splitlines() if len(line) > 80]
        assert not too_wide
        assert "\x1b" not in shown.seen.replace("^[", "")
    assert sorted(os.listdir(tmp_path)) == ["runner.toml"]
    same(tmp_path / "runner.toml", "zone-2-runner.toml")


def test_least_input_skips_everything_that_can_be_skipped(tmp_path: Path) -> None:
    """Through the command itself: Enter at every optional question; each skip names what is assumed and its source."""
    given = answers("least-input.toml", canal="one")
    with screen(tmp_path, *COMMAND, "least.toml") as shown:
        drive(shown, given, {"bone.isthmus.canal": ("4.7",)}, until="bone.isthmus.canal")
        assert not shown.type(INTERRUPT)
        assert shown.process.wait(PATIENCE) == 2
    with screen(tmp_path, *COMMAND, "least.toml") as shown:
        shown.type("")
        drive(shown, given, {"bone.isthmus.canal": ("4.7", "")})
        finish(shown)
        # the published series these assumptions rest on: DES16 and OCH15 (population.toml)
        assert "57 % of the length [DES16]" in plain(shown.seen)
        assert "68 % [OCH15]" in plain(shown.seen)
    same(tmp_path / "least.toml", "least-input.toml")
    text = (tmp_path / "least.toml").read_text(encoding="utf-8")
    assert "# Asked and not given" in text
    assert "bone.straight_segment" in text


def test_second_base_nonunion_with_plate(tmp_path: Path) -> None:
    """A plate across the joint on ray 2: no screw question; the window is closed in the middle, the case resumed."""
    given = answers(
        "second-base-nonunion.toml", canal="films", at_fracture="yes", plate_room="yes", previous="no", patient="yes"
    )
    wrong = {
        "bone.ray": ("6", "second"),
        "fracture.zone": ("2",),
        "plan.consider": ("nail",),
        "bone.at_fracture.canal_ap": ("2 mm",),
        "fracture.crosses_tmt": ("perhaps",),
        "plate.room_distal": ("70 mm",),
    }
    with screen(tmp_path, *INTERVIEW, "second.toml") as shown:
        drive(shown, given, wrong, until="fracture.crosses_tmt")
        shown.hang_up()
    with screen(tmp_path, *INTERVIEW, "second.toml") as shown:
        shown.type("y")
        assert shown.key() == "fracture.crosses_tmt"
        drive(shown, given, wrong)
        finish(shown)
        asked = KEY.findall(shown.seen)
    for key in ("bone.straight_segment", "plan.thresholds.seat_depth", "marker"):
        assert key not in asked
    same(tmp_path / "second.toml", "second-base-nonunion.toml")


def test_an_existing_file_is_replaced_only_after_a_yes(tmp_path: Path) -> None:
    given = answers("least-input.toml", canal="one")
    (tmp_path / "least.toml").write_text("# mine\n", encoding="utf-8")
    with screen(tmp_path, *INTERVIEW, "least.toml") as shown:
        assert "is there already" in plain(shown.seen)
        drive(shown, given, {})
        shown.type("")  # Enter means no
        shown.type("../elsewhere.toml")
        shown.type("no")
        assert not shown.type("least-2.toml") or not shown.type("yes")
        assert shown.process.wait(PATIENCE) == 0
    assert (tmp_path / "least.toml").read_text(encoding="utf-8") == "# mine\n"
    same(tmp_path / "least-2.toml", "least-input.toml")


def test_end_of_input_keeps_the_draft(tmp_path: Path) -> None:
    """Ctrl-D, the end of the input: status 2, the answers are kept."""
    with screen(tmp_path, *INTERVIEW, "a.toml") as shown:
        shown.type("DEMO-5E")
        assert not shown.end_input()
        assert shown.process.wait(PATIENCE) == 2
        assert "The input has ended" in shown.seen
    assert os.listdir(tmp_path) == [".a.toml.draft"]


@pytest.mark.parametrize("at", ["case.label", "bone.length", WRITE])
def test_interrupt_anywhere_leaves_no_half_written_file(tmp_path: Path, at: str) -> None:
    with screen(tmp_path, *INTERVIEW, "a.toml") as shown:
        drive(shown, answers("least-input.toml", canal="one"), {}, until=at)
        shown.process.send_signal(signal.SIGINT)
        assert not shown.wait()
        assert shown.process.wait(PATIENCE) == 2
        assert "Traceback" not in shown.seen
    assert os.listdir(tmp_path) == ([] if at == "case.label" else [".a.toml.draft"])
