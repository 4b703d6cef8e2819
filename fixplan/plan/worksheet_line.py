"""Worked lines as they are collected: one formula, its numbers, and the numbers of the plan that it gives."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from fixplan.plan.types import WorkedLine
from fixplan.sources import all_sources
from fixplan.worked import worked

CLOSE = 1e-9
"""Two numbers that differ by less than this, relative to their size, are one number worked twice."""

Shown = Mapping[str, float | None]


class Sheet:
    """Worked lines in reading order; a line asked for twice stays one line."""

    def __init__(self) -> None:
        self._lines: dict[str, WorkedLine] = {}
        self.part, self.aside = "", False

    def head(self, part: str, *, aside: bool = False) -> None:
        """Head the lines that follow; `aside`: they are for the screen, not for print."""
        self.part, self.aside = part, aside

    @property
    def lines(self) -> list[WorkedLine]:
        return list(self._lines.values())

    def add(
        self,
        id: str,
        title: str,
        form: Callable[..., Any],
        numbers: Mapping[str, float],
        note: str = "",
        shows: Shown | None = None,
        also: str = "",
    ) -> float:
        """Work a line and return its result in core units.

        `shows` names numbers of the plan, each with its value there in the unit of the line: only those that the line
        gives are linked to it, so that a link never leads to another number. `also`: sources of what is put in.
        """
        known = self._lines.get(id)
        if known is None:
            w = worked(f"{form.__module__.removeprefix('fixplan.')}.{form.__name__}", numbers)
            known = WorkedLine(
                id=id,
                title=title,
                mathml=w.mathml,
                text=w.plain,
                value=w.value,
                unit=w.unit,
                formula=f"{w.text} ({w.where})" if w.where else w.text,
                source=_sources(w.source, w.where, also),
                part=self.part,
                aside=self.aside,
                note=note,
                symbols=tuple((symbol, text) for symbol, text, _, _ in w.inputs),
            )
        named = [k for k, v in (shows or {}).items() if v is not None and same(v, known.value)]
        self._lines[id] = replace(known, shows=tuple(dict.fromkeys((*known.shows, *named))))
        return known.value


def same(a: float, b: float) -> bool:
    """Whether two numbers are one, give or take rounding."""
    return math.isclose(a, b, rel_tol=CLOSE, abs_tol=CLOSE)


def _sources(source: str, where: str, also: str) -> str:
    """Ids of the source of a formula, of those named where it stands, and of what is put in; each once."""
    words = "".join(c if c.isalnum() or c == "-" else " " for c in where).split()
    named = (w for w in words if w in all_sources())
    return ", ".join(dict.fromkeys((source, *named, *filter(None, also.split(", ")))))
