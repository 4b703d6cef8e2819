"""One table of a kit file: keys, kinds and bounds, before anything is made of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from fixplan import values
from fixplan.kits.keys import BOUNDS_SOURCE, KEYS, Key
from fixplan.kits.model import STATUSES
from fixplan.problems import InputError, Problem, nearest

_CODE = re.compile(r"[A-Z0-9][A-Z0-9.-]{0,19}")
_ID = re.compile(r"[a-z0-9][a-z0-9.-]{0,39}")
_MOST = 200


def read_table(name: str, given: Any, where: str, problems: list[Problem]) -> dict[str, Any] | None:
    """The values of a table [name] by key, lengths in mm and strengths in MPa.

    Adds to `problems`, each with its place under `where`; None when the table cannot be used.
    """
    if not isinstance(given, Mapping):
        problems.append(Problem(where, "is not a table", f"write [[{name}]] and its keys below"))
        return None
    before = len(problems)
    keys = KEYS[name]
    for key in given:
        if key not in keys:
            problems.append(Problem(f"{where}: {key}", "is not a key of this table", nearest(str(key), keys)))
    found: dict[str, Any] = {}
    for key, spec in keys.items():
        place = f"{where}: {key}"
        if key not in given:
            if spec.required:
                problems.append(Problem(place, "is missing", spec.text))
            continue
        try:
            found[key] = _value(spec, given[key], place)
        except InputError as error:
            problems.extend(error.problems)
    return found if len(problems) == before else None


def _refused(place: str, what: str, right: str) -> InputError:
    return InputError([Problem(place, what, right)])


def _value(spec: Key, given: Any, place: str) -> Any:
    match spec.kind:
        case "quantity":
            return _quantity(spec, given, place)
        case "sourced":
            return _sourced(spec, given, place)
        case "range":
            return _range(spec, given, place)
        case "counts":
            return _counts(spec, given, place)
        case "flag":
            if not isinstance(given, bool):
                raise _refused(place, f"'{given}' is not true or false", spec.text)
            return given
        case "texts":
            if not isinstance(given, list) or not given:
                raise _refused(place, "is not a list of texts", spec.text)
            return [_text(item, place, spec) for item in given]
        case "choice":
            if given not in spec.choices:
                raise _refused(
                    place, f"'{given}' is not one of its values", f"one of: {', '.join(map(str, spec.choices))}"
                )
            return given
        case "status":
            if given not in STATUSES:
                raise _refused(place, f"'{given}' is not a status", f"one of: {', '.join(STATUSES)}")
            return given
        case "source":
            return _source(_text(given, place, spec), place)
        case "code" | "id":
            text, form = _text(given, place, spec), _CODE if spec.kind == "code" else _ID
            if not form.fullmatch(text):
                right = f"{'capital' if spec.kind == 'code' else 'small'} letters, digits, '.' and '-'"
                raise _refused(place, f"'{text}' is not of the form of a {spec.kind}", right)
            return text
        case _:
            return _text(given, place, spec)


def _text(given: Any, place: str, spec: Key) -> str:
    if not isinstance(given, str) or not given.strip() or len(given) > 600:
        raise _refused(place, f"{given!r} is not a text", spec.text)
    return given.strip()


def _source(given: str, place: str) -> str:
    from fixplan.sources import all_sources

    if given not in all_sources():
        raise _refused(place, f"'{given}' is not the id of a source", nearest(given, all_sources())[:200])
    return given


def _quantity(spec: Key, given: Any, place: str) -> float:
    found = values.parse(given, spec.dimension, place)
    if found.sd_origin != "none":
        raise _refused(place, f"'{found.raw}' is more than one number", "a nominal size of one number with its unit")
    slack = 1e-9 * spec.high
    if not spec.low - slack <= found.value <= spec.high + slack:
        unit = "" if found.unit == "1" else f" {found.unit}"
        raise _refused(
            place,
            f"'{found.raw}' is outside {spec.low:g} to {spec.high:g}{unit}: probably a wrong unit",
            f"{spec.text} (plausibility bound; {BOUNDS_SOURCE})",
        )
    # 7 decimals: a unit conversion must not turn 4.5 mm into 4.500000000000001 mm in a code or a comparison
    return round(found.value, 7)


def _sourced(spec: Key, given: Any, place: str) -> tuple[float, str, str]:
    if not isinstance(given, Mapping) or set(given) != {"value", "source", "status"}:
        raise _refused(place, "is not a value with its origin", '{ value = "...", source = "<id>", status = "..." }')
    if given["status"] not in STATUSES:
        raise _refused(f"{place}.status", f"'{given['status']}' is not a status", f"one of: {', '.join(STATUSES)}")
    number = _quantity(spec, given["value"], f"{place}.value")
    return number, _source(_text(given["source"], place, spec), f"{place}.source"), given["status"]


def _range(spec: Key, given: Any, place: str) -> list[float]:
    if isinstance(given, Mapping):
        if set(given) != {"from", "to", "step"}:
            raise _refused(
                place, "has other keys than from, to and step", '{ from = "30 mm", to = "70 mm", step = "2 mm" }'
            )
        low, high = (_quantity(spec, given[end], f"{place}.{end}") for end in ("from", "to"))
        step = values.parse(given["step"], spec.dimension, f"{place}.step").value
        if not step > 0 or high < low:
            raise _refused(place, "from, to and step do not make a list", "from below to, and a step above 0")
        count = (high - low) / step
        if count > _MOST:
            raise _refused(place, f"makes more than {_MOST} sizes", "a wider step")
        if abs(count - round(count)) > 1e-6:
            raise _refused(place, "the step does not lead from 'from' to 'to'", "a step that divides the distance")
        return [round(low + i * step, 7) for i in range(round(count) + 1)]
    if not isinstance(given, list) or not given:
        raise _refused(place, "is not a list of sizes", '["16 mm", "22 mm"], or { from, to, step }')
    if len(given) > _MOST:
        raise _refused(place, f"has more than {_MOST} sizes", "fewer sizes")
    sizes = [_quantity(spec, size, place) for size in given]
    if len(set(sizes)) < len(sizes):
        raise _refused(place, "a size stands there twice", "name each once")
    return sizes


def _counts(spec: Key, given: Any, place: str) -> list[int]:
    if not isinstance(given, list) or not given or any(type(n) is not int for n in given):
        raise _refused(place, "is not a list of whole numbers", "for instance [4, 6, 8]")
    if len(set(given)) < len(given):
        raise _refused(place, "a count stands there twice", "name each once")
    if not all(spec.low <= n <= spec.high for n in given):
        raise _refused(place, f"a count is outside {spec.low:g} to {spec.high:g}", spec.text)
    return given
