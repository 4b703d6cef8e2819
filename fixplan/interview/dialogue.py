"""The conversation: one question at a time, checked at once, kept in a draft, written at the end."""

from __future__ import annotations

import shlex
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import TextIO

from fixplan.cautions import CAUTION_SHORT
from fixplan.interview import advice, answers
from fixplan.interview.draft import Draft, draft_path, load, save, take_back
from fixplan.interview.ending import finish
from fixplan.interview.place import choose_place
from fixplan.interview.questions import Question, applicable, spoken, upcoming
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
    `stdin` and `stdout` is used to ask and to answer.
    """
    terminal = Terminal(stdin, stdout)
    place: Path | None = None
    try:
        terminal.say(CAUTION_SHORT)
        terminal.say()
        place = choose_place(terminal, target)
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


def _interview(terminal: Terminal, place: Path) -> int:
    terminal.say(HELP)
    if place.exists():
        terminal.say(f"{place.name} is there already. It is not replaced without a yes at the end.", label="  !")
    draft = _begin(terminal, place)
    section = ""
    while True:
        question = upcoming(draft.given)
        if question is None:
            if finish(terminal, draft, place):
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
            terminal.say(f"{_spoken(error.problems[0])}. This answer is asked for again.", label="  !")
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
            take_back(draft, place)
            return
        kept = draft.before.get(key) if not text else None
        if text == "-" or (not text and kept is None):
            if question.required(given):
                terminal.say(f"{spoken(key)}: an answer is needed; for instance {_example(question)}", label="  !")
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
    terminal.say(f"{_spoken(problem)}{elsewhere}", label="  !")


def _spoken(problem: Problem) -> Problem:
    return replace(problem, where=spoken(problem.where))


def _remark(terminal: Terminal, key: str, value: object) -> None:
    if key == "plan.kits" and isinstance(value, list):
        for kit in (kit for kit in value if kit not in advice.kit_ids()):
            hint = nearest(kit, advice.kit_ids())
            stop = "" if hint.endswith("?") else "."
            own = "A kit of your own is given with --specs."
            terminal.say(f"{kit} is no kit of the project; {hint}{stop} {own}", label="  i")


def _show(terminal: Terminal, draft: Draft, question: Question) -> None:
    given, field = draft.given, question.field
    total = len({*given, *(q.key for q in applicable(given))})
    terminal.write(f"\n({len(given) + 1} of {total}) {spoken(field.key)}\n")
    terminal.say(advice.sentence(field.text), "  ")
    rows = [
        ("film", advice.film(question, given)),
        ("how", next(iter(advice.how(question, given)), "")),
        ("usual", advice.usual(question, given)),
        ("range", advice.accepted(question)),
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
