"""The conversation: one question at a time, checked at once, kept in a draft, written at the end."""

from __future__ import annotations

import contextlib
import shlex
import tomllib
from pathlib import Path
from typing import TextIO

from fixplan.atomic import write
from fixplan.case.identify import label_problem
from fixplan.case.read import parse_case
from fixplan.cautions import CAUTION_SHORT
from fixplan.interview import advice, answers
from fixplan.interview.document import case_text, open_ends
from fixplan.interview.draft import Draft, draft_path, load, save
from fixplan.interview.questions import Question, applicable, upcoming
from fixplan.interview.terminal import Left, Terminal
from fixplan.problems import InputError, Problem, nearest

DONE, REFUSED = 0, 2
HELP = (
    "Every question says what is meant, how it is taken and what is usual. Type ? for more, back for the question "
    "before, quit to leave (the answers are kept). Enter alone skips a question where that is possible."
)


def run(target: Path | None, stdin: TextIO, stdout: TextIO) -> int:
    """Ask for a case and write it to `target` (asked for when None).

    Returns 0 when the file was written, 2 when it was not: left, interrupted, input at its end, or refused. The
    answers are then kept in a draft beside the target, and the next run offers to go on with them. Nothing but
    `stdin` and `stdout` is used to talk.
    """
    terminal = Terminal(stdin, stdout)
    place: Path | None = None
    try:
        terminal.say(CAUTION_SHORT)
        terminal.say()
        place = _place(terminal, target)
        return _interview(terminal, place)
    except InputError as error:
        for problem in error.problems:
            terminal.say(f"{problem}. Nothing was written.", label="  !")
    except Left as left:
        _farewell(terminal, place, str(left))
    except KeyboardInterrupt:
        terminal.write("\n")
        _farewell(terminal, place, "Interrupted.")
    except BrokenPipeError:
        raise
    except OSError as error:
        reason = error.strerror or str(error)
        _farewell(terminal, place, f"{error.filename or place}: cannot be written ({reason}).")
    return REFUSED


def _farewell(terminal: Terminal, place: Path | None, reason: str) -> None:
    if place is None or not draft_path(place).exists():
        terminal.say(f"{reason} Nothing was written, and no answer was kept.", label="  !")
        return
    terminal.say(
        f"{reason} {place.name} was not written. The answers are kept in {draft_path(place)}; to go on:", label="  !"
    )
    terminal.write(f"    fixplan new {shlex.quote(str(place))}\n")


def _place(terminal: Terminal, target: Path | None) -> Path:
    if target is not None:
        if problem := _place_problem(target):
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
        if (problem := _place_problem(path)) is None:
            return path
        terminal.say(str(problem), label="  !")


def _place_problem(path: Path) -> Problem | None:
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


def _interview(terminal: Terminal, place: Path) -> int:
    terminal.say(HELP)
    if place.exists():
        terminal.say(f"{place.name} is there already. It is not replaced without a yes at the end.", label="  !")
    draft = _begin(terminal, place)
    section = ""
    while True:
        question = upcoming(draft.given)
        if question is None:
            if _finish(terminal, draft, place):
                return DONE
            section = ""
            continue
        if question.section != section:
            section = question.section
            terminal.write(f"\n-- {section} {'-' * (68 - len(section))}\n")
        _put(terminal, draft, place, question)


def _begin(terminal: Terminal, place: Path) -> Draft:
    """A new draft, or the one of an earlier run as far as its answers still hold."""
    try:
        old = load(place)
    except InputError as error:
        terminal.say(f"{error.problems[0]}. Enter goes on without it and replaces it.", label="  !")
        terminal.choose("go on? [yes, quit] > ", "yes")
        return Draft()
    if old is None or not (old.given or old.before):
        return Draft()
    terminal.say()
    terminal.say(f"There is a draft with {len(old.given)} answers for {place.name}. 'no' starts afresh.")
    if terminal.choose("go on with it? [yes, no, quit] > ", "yes", "no") == "no":
        return Draft()
    draft = Draft(before={**old.given, **old.before})
    while (question := upcoming(draft.given)) and question.key in old.given:
        value = old.given[question.key]
        try:
            if value is not None:
                answers.check(question, value, draft.given, place.parent)
            elif question.required(draft.given):
                break
        except InputError as error:
            terminal.say(f"{error.problems[0]}. This answer is asked for again.", label="  !")
            draft.before.pop(question.key)
            break
        draft.given[question.key] = draft.before.pop(question.key)
    return draft


def _put(terminal: Terminal, draft: Draft, place: Path, question: Question) -> None:
    """Ask one question until it is answered, skipped, or taken back."""
    given, key = draft.given, question.key
    if draft.before.get(key) is not None:
        try:
            answers.check(question, draft.before[key], given, place.parent)
        except InputError:
            # an earlier answer was changed: what no longer goes with it is not offered again
            draft.before.pop(key)
    _show(terminal, draft, question)
    while True:
        text = terminal.ask()
        if text in ("?", "help"):
            for line in advice.more(question, given):
                terminal.say(line, indent="    ")
            continue
        if text.casefold() == "back":
            if not given:
                terminal.say("This is the first question.", label="  !")
                continue
            _back(draft, place)
            return
        kept = draft.before.get(key) if not text else None
        if text == "-" or (not text and kept is None):
            if question.required(given):
                terminal.say(f"{key}: an answer is needed; for instance {question.field.example}", label="  !")
                continue
            given[key] = None
        else:
            try:
                given[key] = answers.understand(question, text, given, place.parent) if text else kept
            except InputError as error:
                _refuse(terminal, error, key)
                continue
            _remark(terminal, key, given[key])
        draft.before.pop(key, None)
        save(draft, place)
        return


def _refuse(terminal: Terminal, error: InputError, key: str) -> None:
    problem = error.problems[0]
    elsewhere = "" if problem.where.startswith(key) else " (back changes an earlier answer)"
    terminal.say(f"{problem}{elsewhere}", label="  !")


def _remark(terminal: Terminal, key: str, value: object) -> None:
    if key == "plan.kits" and isinstance(value, list):
        for kit in (kit for kit in value if kit not in advice.kit_ids()):
            hint = nearest(kit, advice.kit_ids())
            terminal.say(
                f"{kit} is no kit of the project; {hint} A kit of your own is given with --specs.", label="  i"
            )


def _show(terminal: Terminal, draft: Draft, question: Question) -> None:
    given, field = draft.given, question.field
    total = len({*given, *(q.key for q in applicable(given))})
    terminal.write(f"\n({len(given) + 1} of {total}) {field.key.removeprefix('ask.')}\n")
    terminal.say(field.text[0].upper() + field.text[1:] + ("" if field.text.endswith("?") else "."), "  ")
    rows = [
        ("film", advice.film(question, given)),
        ("how", next(iter(advice.how(question)), "")),
        ("usual", advice.usual(question, given)),
        ("answer", advice.options(question, given)),
        ("like", "" if advice.options(question, given) else _example(question)),
        ("empty", advice.without(question, given)),
    ]
    old = draft.before.get(question.key)
    if old is not None:
        rows[-1] = ("before", f"{answers.show(old)} (Enter keeps it; - clears it: {rows[-1][1]})")
    for label, text in rows:
        if text:
            terminal.say(text, "  ", label)


def _example(question: Question) -> str:
    field = question.field
    if field.kind in ("choices", "texts"):
        return answers.show(tomllib.loads(f"x = {field.example}")["x"])
    return field.example


def _finish(terminal: Terminal, draft: Draft, place: Path) -> bool:
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
        return _back(draft, place)
    for line in open_ends(case):
        terminal.say(line, label="  !")
    target = _agreed(terminal, place)
    if target is None:
        return _back(draft, place)
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
        other = place.with_name(text) if text and Path(text).name == text else place / "folder"
        if problem := _place_problem(other):
            terminal.say(f"'{text}' cannot be used: {problem.what}; {problem.right}", label="  !")
        else:
            target = other


def _back(draft: Draft, place: Path) -> bool:
    last, value = draft.given.popitem()
    draft.before[last] = value
    save(draft, place)
    return False
