"""The file that is to be written: its name, asked for or given, and what is wrong with it."""

from __future__ import annotations

from pathlib import Path

from fixplan.case.identify import label_problem
from fixplan.interview.terminal import Terminal
from fixplan.problems import InputError, Problem


def choose_place(terminal: Terminal, target: Path | None) -> Path:
    """The case file to write: `target`, or asked for when None. Raises InputError when `target` cannot be one."""
    if target is not None:
        if problem := place_problem(target):
            raise InputError([problem])
        return target
    drafts = sorted(Path().glob(".*.toml.draft"))
    offered = Path(drafts[0].name[1:].removesuffix(".draft")) if drafts else Path("case.toml")
    terminal.say(f"The case file to write, named by a pseudonym. Enter means {offered}.")
    for other in drafts[1:]:
        terminal.say(f"There is a draft of {other.name[1:].removesuffix('.draft')} too.")
    while True:
        text = terminal.ask()
        path = Path(text) if text else offered
        if not path.suffix:
            path = path.with_name(f"{path.name}.toml") if path.name else path
        if (problem := place_problem(path)) is None:
            return path
        terminal.say(str(problem), label="  !")


def place_problem(path: Path) -> Problem | None:
    """What is wrong with a path as that of a new case file, or None."""
    if not str(path).isprintable() or path.suffix != ".toml":
        return Problem("case file", f"'{path.name}' is not the name of a case file", "for instance case.toml")
    if problem := label_problem(path.stem, "case file"):
        return problem
    try:
        if path.is_dir():
            return Problem("case file", f"'{path.name}' is a folder", "name a file that ends in .toml")
        if not path.parent.is_dir():
            return Problem("case file", f"there is no folder '{path.parent}'", "make it, or name another")
    except OSError as error:
        return Problem("case file", f"'{path.name}' cannot be used ({error.strerror})", "name another file")
    return None
