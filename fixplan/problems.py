"""A refused input: where, what is wrong, what would be right.

Every room that reads something from outside raises `InputError`; the command line prints its problems and
ends with exit status 2.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing wrong with an input.

    `where` is a key path ("bone.length") or file, table and key; `what` says what was found; `right` says
    what would be accepted.
    """

    where: str
    what: str
    right: str = ""

    def __str__(self) -> str:
        tail = f"; {self.right}" if self.right else ""
        return f"{self.where}: {self.what}{tail}"


class InputError(ValueError):
    """An input was refused; `problems` holds everything that was found wrong with it, not only the first."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))
