"""A refused input: where, what is wrong, what would be right.

Every room that reads something from outside raises `InputError`; the command line prints its problems and
ends with exit status 2.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing wrong with an input.

    `where` is a key path ("bone.length") or file, table and key; `what` says what was found; `right` says
    what would be accepted. All three are one line of printable text, whatever the input held.
    """

    where: str
    what: str
    right: str = ""

    def __post_init__(self) -> None:
        for name in ("where", "what", "right"):
            object.__setattr__(self, name, _one_line(getattr(self, name)))

    def __str__(self) -> str:
        tail = f"; {self.right}" if self.right else ""
        return f"{self.where}: {self.what}{tail}"


class InputError(ValueError):
    """An input was refused.

    `problems` holds everything that was found wrong with it, not only the first; `subject` names the input.
    """

    def __init__(self, problems: Iterable[Problem], subject: str = "") -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        self.subject = _one_line(subject)
        lines = [str(p) for p in self.problems]
        if self.subject:
            count = "1 problem" if len(lines) == 1 else f"{len(lines)} problems"
            lines = [f"{self.subject}: {count}", *(f"  {line}" for line in lines)]
        super().__init__("\n".join(lines))


def nearest(given: str, known: Iterable[str]) -> str:
    """A remedy for an unknown name: the nearest known one, or all of them when none is near."""
    names = sorted(known)
    near = difflib.get_close_matches(given[:80], names, n=1)
    if near:
        return f"did you mean '{near[0]}'?"
    return "known here: " + ", ".join(names)


def _one_line(text: str) -> str:
    # what a refused file held must not steer the terminal it is reported on
    shown = "".join(c if c.isprintable() else "?" for c in text)
    return shown if len(shown) <= 400 else shown[:397] + "..."
