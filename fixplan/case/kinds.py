"""One key of a case file: from what TOML gives to a checked value."""

from __future__ import annotations

import math
from datetime import date, datetime
from pathlib import Path
from typing import Any

from fixplan import values
from fixplan.case.fields import Field, limits
from fixplan.case.identify import label_problem
from fixplan.problems import InputError, Problem, nearest
from fixplan.values import Quantity


def refused(path: str, what: str, right: str) -> InputError:
    """An error with one problem."""
    return InputError([Problem(path, what, right)])


def read_value(field: Field, given: Any, base_dir: Path | None) -> Any:
    """The value of `field` from the object TOML gave. Raises InputError with what is wrong."""
    match field.kind:
        case "quantity":
            return _quantity(field, given)
        case "text":
            return _label(field, given)
        case "choice" | "zone":
            return _choice(field, given)
        case "choices":
            return _choices(field, given)
        case "texts":
            return _texts(field, given)
        case "integer" | "number":
            return _number(field, given)
        case "flag":
            if not isinstance(given, bool):
                raise refused(field.key, f"{_shown(given)} is not true or false", "write true or false, without quotes")
            return given
        case "date":
            return _date(field, given)
        case "path":
            return _path(field, given, base_dir)
        case "thresholds":
            return _thresholds(field, given)
    raise AssertionError(field.kind)


def _shown(given: Any) -> str:
    text = f"'{given}'" if isinstance(given, str) else str(given).lower() if isinstance(given, bool) else str(given)
    return text if len(text) <= 60 else f"{text[:57]}..."


def _quantity(field: Field, given: Any) -> Quantity:
    found = values.parse(given, field.dimension, field.key, field.example)
    low, high = (values.convert(end, field.unit, found.unit) for end in (field.low, field.high))
    # a value typed at the bound itself must not fall to the rounding of a unit conversion
    slack = 1e-9 * high
    if not low - slack <= found.value <= high + slack:
        far = found.value > 5 * high or (low > 0 and found.value < low / 5)
        hint = ": probably a wrong unit" if far else ""
        usual = f" ({field.why}; {field.source})"
        raise refused(
            field.key,
            f"'{found.raw}' is outside {field.low:g} to {field.high:g} {field.unit}{hint}",
            f"for instance '{field.example}'{usual}",
        )
    share = limits()["sd_fraction_max"].value
    if field.low > 0 and found.sd > share * found.value:
        raise refused(
            field.key,
            f"'{found.raw}' has an uncertainty above a third of the value",
            "give a standard uncertainty, or measure again",
        )
    return found


def _label(field: Field, given: Any) -> str:
    if not isinstance(given, str):
        raise refused(
            field.key,
            f"{_shown(given)} is not a text",
            f'for instance {field.key.rpartition(".")[2]} = "{field.example}"',
        )
    if problem := label_problem(given, field.key):
        raise InputError([problem])
    return given


def _choice(field: Field, given: Any) -> Any:
    for choice in field.choices:
        if type(given) is type(choice) and given == choice:
            return given
    raise refused(field.key, f"{_shown(given)} is not one of its values", _one_of(field))


def _choices(field: Field, given: Any) -> tuple[str, ...]:
    if not isinstance(given, list):
        raise refused(field.key, f"{_shown(given)} is not a list", f"for instance {field.example}")
    for item in given:
        if not isinstance(item, str) or item not in field.choices:
            raise refused(field.key, f"{_shown(item)} is not one of its values", _one_of(field, item))
    return _distinct(field, given)


def _texts(field: Field, given: Any) -> tuple[str, ...]:
    if not isinstance(given, list) or not all(isinstance(item, str) for item in given):
        raise refused(field.key, f"{_shown(given)} is not a list of texts", f"for instance {field.example}")
    if not field.fewest <= len(given) <= field.most:
        raise refused(
            field.key,
            f"{len(given)} {'entry' if len(given) == 1 else 'entries'}",
            f"give {field.fewest} to {field.most}, for instance {field.example}",
        )
    for item in given:
        if not item.strip() or len(item) > 120:
            raise refused(
                field.key, f"{_shown(item)} is not a text of 1 to 120 characters", f"for instance {field.example}"
            )
    return _distinct(field, given)


def _distinct(field: Field, given: list[str]) -> tuple[str, ...]:
    twice = sorted({item for item in given if given.count(item) > 1})
    if twice:
        raise refused(field.key, f"{_shown(twice[0])} stands there twice", "name each once")
    if not given:
        raise refused(field.key, "the list is empty", f"leave the key out, or for instance {field.example}")
    return tuple(given)


def _number(field: Field, given: Any) -> int | float:
    whole = field.kind == "integer"
    if isinstance(given, bool) or not isinstance(given, int if whole else (int, float)):
        raise refused(
            field.key,
            f"{_shown(given)} is not a {'whole ' if whole else ''}number",
            f"a plain number, without quotes or unit, for instance {field.example}",
        )
    number: int | float = given
    if field.choices:
        return int(_choice(field, number))
    if not math.isfinite(number) or not field.low <= number <= field.high:
        raise refused(field.key, f"{given} is outside {field.low} to {field.high}", f"for instance {field.example}")
    return number


def _date(field: Field, given: Any) -> date:
    if isinstance(given, datetime) or not isinstance(given, date):
        raise refused(field.key, f"{_shown(given)} is not a date", f"a date without quotes: {field.example}")
    if not date.fromisoformat(field.low) <= given <= date.fromisoformat(field.high):
        raise refused(field.key, f"{given} is outside {field.low} to {field.high}", f"for instance {field.example}")
    return given


def _path(field: Field, given: Any, base_dir: Path | None) -> Path:
    right = f"name a file beside the case file, for instance '{field.example}'"
    if not isinstance(given, str) or not given.strip() or "\0" in given:
        raise refused(field.key, f"{_shown(given)} is not a file name", right)
    if base_dir is None:
        raise refused(field.key, "a file can only be named in a case file", "leave it out here")
    relative = Path(given)
    if relative.is_absolute() or relative.drive or ".." in relative.parts:
        # a case travels with its folder: what lies elsewhere would be missing where it is read
        raise refused(field.key, f"'{given}' lies outside the folder of the case file", right)
    target = base_dir / relative
    try:
        if not target.is_file():
            raise refused(field.key, f"'{given}' is {'a folder' if target.is_dir() else 'missing'}", right)
        size = target.stat().st_size
    except OSError as error:
        raise refused(field.key, f"'{given}' cannot be read ({error.strerror})", right) from None
    if field.example.endswith(".csv") and size > limits()["table_bytes_max"].value:
        raise refused(field.key, f"'{given}' is too large for a table ({size} bytes)", right)
    return target


def _thresholds(field: Field, given: Any) -> dict[str, Quantity]:
    from fixplan.sources import thresholds

    known, found, problems = thresholds(), {}, []
    for name, text in given.items():
        path = f"{field.key}.{name}"
        if name not in known:
            problems.append(Problem(path, "is not a planning threshold", nearest(name, known)))
            continue
        try:
            usual = f"{known[name].value:g} {known[name].unit}".removesuffix(" 1")
            found[name] = values.parse_in(text, known[name].unit, path, usual)
        except InputError as error:
            problems.extend(error.problems)
            continue
        most = limits()["threshold_factor_max"].value * known[name].value
        if found[name].value > most > 0:
            default = f"the default is {known[name].value:g} {known[name].unit}"
            problems.append(Problem(path, f"'{found[name].raw}' is far out of range: probably a wrong unit", default))
    if problems:
        raise InputError(problems)
    return found


def _one_of(field: Field, given: Any = "") -> str:
    return "one of: " + ", ".join(str(c) for c in field.choices)
