"""The draft: what was answered so far, kept beside the case file until that is written."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import tomlkit

from fixplan.atomic import write
from fixplan.interview.questions import QUESTIONS
from fixplan.problems import InputError, Problem
from fixplan.tomlfile import load_toml

FORMAT = "fixplan-draft/1"
_KEYS = frozenset(question.key for question in QUESTIONS)


@dataclass
class Draft:
    """Answers in the order in which they were given, and earlier answers that have to be confirmed or given anew.

    A value is None where a question was skipped.
    """

    given: dict[str, Any] = field(default_factory=dict)
    before: dict[str, Any] = field(default_factory=dict)


def draft_path(target: Path) -> Path:
    """The draft of the case file `target`."""
    return target.with_name(f".{target.name}.draft")


def save(draft: Draft, target: Path) -> None:
    """Write the draft beside `target`, whole or not at all. Raises OSError."""
    document = tomlkit.document()
    document.add(tomlkit.comment(f"Answers for {target.name}, not finished. To go on: fixplan new {target.name}"))
    document["format"] = FORMAT
    rows = tomlkit.aot()
    for settled, answers in ((True, draft.given), (False, draft.before)):
        for key, value in answers.items():
            if settled or key not in draft.given:
                row = tomlkit.table()
                row.update({"key": key, "settled": settled} | ({} if value is None else {"value": value}))
                rows.append(row)
    document["answer"] = rows
    write(draft_path(target), tomlkit.dumps(document))


def load(target: Path) -> Draft | None:
    """The draft beside `target`, or None when there is none.

    Its answers are not believed yet: they have to pass the same checks as typed ones. Raises InputError.
    """
    path = draft_path(target)
    if not path.exists():
        return None
    table = load_toml(path, InputError)
    rows = table.get("answer")
    if table.get("format") != FORMAT or not isinstance(rows, list):
        raise InputError([Problem(path.name, "is not a draft of this program", "delete it")])
    found = Draft()
    for row in rows:
        key = row.get("key") if isinstance(row, dict) else None
        if not isinstance(key, str) or key not in _KEYS or not isinstance(row.get("settled"), bool):
            raise InputError([Problem(path.name, "holds an answer to an unknown question", "delete it")])
        (found.given if row["settled"] else found.before)[key] = row.get("value")
    return found


def take_back(draft: Draft, target: Path) -> None:
    """Make the last answer one that has to be confirmed or given anew. Raises KeyError when there is none, OSError."""
    key, value = draft.given.popitem()
    draft.before[key] = value
    save(draft, target)
