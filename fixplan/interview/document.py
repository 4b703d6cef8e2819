"""The case file, written so that a person can read it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

import tomlkit
from tomlkit.items import Table

from fixplan.case.fields import fields
from fixplan.case.model import Case
from fixplan.cautions import CAUTION_SHORT
from fixplan.interview.advice import without
from fixplan.interview.answers import table
from fixplan.interview.questions import OWN, Given, applicable, written
from fixplan.problems import InputError

WIDTH = 80


def case_text(given: Given) -> str:
    """The case file for these answers, as TOML with comments: each key explained, each skipped question named."""
    document = tomlkit.document()
    for line in _wrapped("Written from answers given one by one (fixplan new). " + CAUTION_SHORT):
        document.add(tomlkit.comment(line))
    for name, below in table(given).items():
        document.add(tomlkit.nl())
        document.add(name, _table(below, name))
    skipped = [
        (question.key, without(question, given))
        for question in applicable(given)
        if question.key in given and given[question.key] is None and written(question.key)
    ]
    if skipped:
        document.add(tomlkit.nl())
        document.add(tomlkit.comment("Asked and not given, and what follows from that:"))
        for key, reason in skipped:
            for line in _wrapped(f"{key}: {reason}", "  "):
                document.add(tomlkit.comment(line))
    return tomlkit.dumps(document)


def open_ends(case: Case) -> list[str]:
    """What a plan of this case will still ask for, or leave out, in its own words."""
    from fixplan.plan.resolve import resolve

    try:
        resolved = resolve(case)
    except InputError as error:
        return [f"The plan will ask for {problem}" for problem in error.problems]
    return [f"The plan will leave out the {kind}: {reason}" for kind, reason, _ in resolved.left_out]


def _table(below: dict[str, Any], at: str) -> Table:
    found = tomlkit.table()
    for key, value in below.items():
        path = f"{at}.{key}"
        if isinstance(value, dict):
            found.add(tomlkit.nl())
            found.add(key, _table(value, path))
            continue
        text = (OWN.get(path) or fields()[path]).text
        for line in _wrapped(text):
            found.add(tomlkit.comment(line))
        found.add(key, value)
    return found


def _wrapped(text: str, indent: str = "") -> Iterator[str]:
    yield from textwrap.wrap(text, WIDTH - 2, initial_indent=indent, subsequent_indent=2 * indent)
