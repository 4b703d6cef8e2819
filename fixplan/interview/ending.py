"""The end: the file is shown, agreed to and written."""

from __future__ import annotations

import contextlib
import shlex
import tomllib
from pathlib import Path

from fixplan.atomic import write
from fixplan.case.read import parse_case
from fixplan.cautions import CAUTION_SHORT
from fixplan.interview.document import case_text, open_ends
from fixplan.interview.draft import Draft, draft_path, take_back
from fixplan.interview.place import place_problem
from fixplan.interview.terminal import Terminal
from fixplan.problems import InputError


def finish(terminal: Terminal, draft: Draft, place: Path) -> bool:
    """Show the file and write it. True when written; False when the last answer was taken back."""
    content = case_text(draft.given)
    terminal.write(f"\n-- {place.name} {'-' * max(1, 68 - len(place.name))}\n\n{content}{'-' * 72}\n")
    try:
        case = parse_case(tomllib.loads(content), place.name, place.parent)
    except InputError as error:
        # only a file that was there when it was named, and is gone or changed now, comes to this
        for problem in error.problems:
            terminal.say(str(problem), label="  !")
        terminal.choose("[back, quit] > ", "back")
        take_back(draft, place)
        return False
    for line in open_ends(case):
        terminal.say(line, label="  !")
    target = _agreed(terminal, place)
    if target is None:
        take_back(draft, place)
        return False
    write(target, content)
    with contextlib.suppress(OSError):
        draft_path(place).unlink(missing_ok=True)
    terminal.say()
    terminal.say(f"Written: {target}. Next:")
    terminal.write(f"    fixplan plan {shlex.quote(str(target))}\n\n")
    terminal.say(CAUTION_SHORT)
    return True


def _agreed(terminal: Terminal, place: Path) -> Path | None:
    """The file to write, agreed to; None to go back."""
    target = place
    while True:
        if not target.exists():
            answer = terminal.choose(f"Write {target.name}? [yes, back, quit] > ", "yes", "back")
            if answer == "back":
                return None
            if not target.exists():  # it may have come up while the question stood
                return target
        answer = terminal.choose(f"{target.name} is there. Replace it? [no, yes, back, quit] > ", "no", "yes", "back")
        if answer != "no":
            return target if answer == "yes" else None
        text = terminal.ask("Another name in the same folder > ")
        if not text.endswith(".toml") or Path(text).name != text:
            terminal.say("That is not the name of a case file in this folder; for instance case-2.toml", label="  !")
        elif problem := place_problem(place.with_name(text)):
            terminal.say(str(problem), label="  !")
        else:
            target = place.with_name(text)
