"""Reading a TOML file that a person wrote."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from fixplan.problems import InputError, Problem

BYTES_MAX = 1_000_000
"""Project default: a case file or a kit is a few pages of text; anything larger is another kind of file."""


def load_toml(path: Path, error: type[InputError]) -> dict[str, Any]:
    """The table in a TOML file. Raises `error` when the file is missing, no text, too large or not TOML."""

    def refuse(what: str, right: str) -> InputError:
        return error([Problem(path.name or str(path), what, right)])

    try:
        if path.is_dir():
            raise refuse("is a folder", "name a file that ends in .toml")
        if not path.is_file():
            raise refuse("no such file", "check the spelling and the folder")
        with path.open("rb") as stream:
            content = stream.read(BYTES_MAX + 1)
    except (OSError, ValueError) as problem:
        if isinstance(problem, InputError):
            raise
        reason = getattr(problem, "strerror", None) or "not a file name"
        raise refuse(f"cannot be read ({reason})", "check the file and its permissions") from None
    if len(content) > BYTES_MAX:
        raise refuse(f"is larger than {BYTES_MAX} bytes", "a file of this kind is a page of text")
    if content.startswith((b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")):
        raise refuse("begins with a byte order mark", "save it as UTF-8 without a byte order mark")
    try:
        table = tomllib.loads(content.decode("utf-8"))
    except UnicodeDecodeError as problem:
        raise refuse(f"is not UTF-8 (byte {problem.start})", "save it as UTF-8 text") from None
    except (ValueError, RecursionError, OverflowError) as problem:
        raise refuse(f"is not valid TOML: {problem}", 'values with a unit stand in quotes: length = "71 mm"') from None
    if _beyond_64_bit(table):
        raise refuse("holds a whole number of more than 64 bit", "TOML allows no larger ones")
    return table


def _beyond_64_bit(table: dict[str, Any]) -> bool:
    # such a number cannot even be printed in a message, nor turned into a float
    stack: list[Any] = [table]
    while stack:
        item = stack.pop()
        if isinstance(item, dict):
            stack.extend(item.values())
        elif isinstance(item, list):
            stack.extend(item)
        elif isinstance(item, int) and not -(2**63) <= item < 2**63:
            return True
    return False
