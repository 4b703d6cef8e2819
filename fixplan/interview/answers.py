"""What a person types, turned into what a case file holds, and checked against the answers already given."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from fixplan.case.fields import Field, fields
from fixplan.case.geometry import geometry_problems
from fixplan.case.kinds import read_value, refused
from fixplan.interview.questions import Given, Question, written
from fixplan.problems import InputError

THRESHOLDS = "plan.thresholds"
_YES_NO = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}


def understand(question: Question, text: str, given: Given, folder: Path) -> Any:
    """The TOML value of the answer `text`, which is not empty; `folder` is that of the case file.

    Raises InputError: what is wrong, and what would be right.
    """
    value = _value(question, text, given)
    check(question, value, given, folder)
    return value


def check(question: Question, value: Any, given: Given, folder: Path) -> None:
    """Refuse a value that is not believed, or that cannot be true beside the other answers. Raises InputError."""
    options = question.options(given)
    allowed = [*options, True, False] if question.field.kind == "flag" else options
    items = value if question.field.kind == "choices" and isinstance(value, list) else [value]
    for item in items:
        if allowed and not any(type(item) is type(known) and item == known for known in allowed):
            raise refused(question.key, f"'{item}' is not one of its values", _one_of(question, given))
    if not written(question.key):
        return
    found = read_all({**given, question.key: value}, folder)
    if question.key == "compare.constructs":
        from fixplan.plan.constructs import parse_wish

        for text in value:
            parse_wish(text, question.key)
    # what is still missing is asked for later; only a contradiction between answers is refused here
    if problems := [p for p in geometry_problems(found, set(found)) if p.where in found]:
        raise InputError(problems)


def read_all(given: Given, folder: Path) -> dict[str, Any]:
    """The values of the case file by key, as its reader takes them. Raises InputError."""
    found = {}
    for key, value in given.items():
        if value is None or not written(key):
            continue
        if key.startswith(f"{THRESHOLDS}."):
            read_value(fields()[THRESHOLDS], {key.rpartition(".")[2]: value}, folder)
        else:
            found[key] = read_value(fields()[key], value, folder)
    return found


def show(value: Any) -> str:
    """A TOML value as a person would type it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(value)
    return str(value)


def table(given: Given) -> dict[str, Any]:
    """The answers in the shape of a case file."""
    found: dict[str, Any] = {}
    for key in [*fields(), *(k for k in given if k.startswith(f"{THRESHOLDS}."))]:
        if given.get(key) is None:
            continue
        *parents, name = key.split(".")
        at = found
        for parent in parents:
            at = at.setdefault(parent, {})
        at[name] = given[key]
    return found


def _value(question: Question, text: str, given: Given) -> Any:
    field = question.field
    if not text.isprintable():
        # an arrow key reaches us as such signs; a terminal must not get them back
        raise refused(field.key, "holds a control sign (an arrow key?)", "type the answer again")
    match field.kind:
        case "choice" | "zone":
            return _choice(question, text, given)
        case "choices":
            return [_choice(question, item, given) for item in _list(text)]
        case "texts":
            return _list(text)
        case "flag":
            return _flag(field, text)
        case "date":
            return _day(field, text)
        case "integer" | "number":
            return _number(field, text)
    return text


def _list(text: str) -> list[str]:
    return [item.strip() for item in text.split(",")]


def _choice(question: Question, text: str, given: Given) -> Any:
    known: Mapping[str, Any] = {str(choice).casefold(): choice for choice in question.options(given)}
    if text.casefold() not in known:
        raise refused(question.key, f"'{text[:60]}' is not one of its values", _one_of(question, given))
    return known[text.casefold()]


def _flag(field: Field, text: str) -> bool:
    if text.casefold() not in _YES_NO:
        raise refused(field.key, f"'{text[:60]}' is neither yes nor no", "type yes or no")
    return _YES_NO[text.casefold()]


def _day(field: Field, text: str) -> date:
    right = f"year, month and day: {field.example}"
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        raise refused(field.key, f"'{text[:60]}' is not a date", right)
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise refused(field.key, f"'{text}' is not in the calendar", right) from None


def _number(field: Field, text: str) -> int | float:
    if re.fullmatch(r"[+-]?[0-9]{1,9}", text):
        return int(text)
    if field.kind == "number" and re.fullmatch(r"[+-]?[0-9]{1,9}\.[0-9]{1,9}", text):
        return float(text)
    whole = "whole " if field.kind == "integer" else ""
    raise refused(
        field.key, f"'{text[:60]}' is not a {whole}number", f"a plain number without unit, for instance {field.example}"
    )


def _one_of(question: Question, given: Given) -> str:
    return "one of: " + ", ".join(str(choice) for choice in question.options(given))
