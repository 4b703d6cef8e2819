"""The people that a shelf is held against: past cases, or the draws of a published series."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

import numpy as np
import numpy.typing as npt

from fixplan.case.read import parse_case
from fixplan.kits import ImScrew
from fixplan.plan.frame import build
from fixplan.plan.population import SERIES, population
from fixplan.plan.resolve import resolve
from fixplan.plan.screws import chosen, size
from fixplan.problems import InputError, Problem
from fixplan.sizing.rules import FAIL
from fixplan.stock.described import word_key
from fixplan.stock.lists import PastCase


@dataclass(frozen=True)
class People:
    """A population held against sizes: which are acceptable (n, sizes), the first choice (n,), and where it is from."""

    acceptable: npt.NDArray[np.bool_]
    choice: npt.NDArray[np.intp]
    words: str
    unit: str
    series: str = ""


@dataclass(frozen=True)
class Group:
    """Which published people: the series, and the zone of the fifth metatarsal that is broken."""

    series: str = "DES16"
    zone: int = 2


def drawn(
    screws: Sequence[ImScrew], n: int, seed: int, group: Group, progress: Callable[[int, int], None]
) -> tuple[People, People]:
    """n people of a published series held against the sizes, and as many of the other series, which disagrees."""
    named = [group.series, *(s for s in SERIES if s != group.series)]
    found = [population(screws, n, seed, series=s, zone=group.zone, progress=progress) for s in named[:2]]
    one, other = (People(p.acceptable, p.choice, p.words, "draws", p.series.source) for p in found)
    return one, other


def used(
    cases: Sequence[PastCase], screws: Sequence[ImScrew], path: str, progress: Callable[[int, int], None]
) -> People:
    """Past cases: planned from their measurements, or taken at the size that was used."""
    at = {word_key(s.item): k for k, s in enumerate(screws)}
    accept = np.zeros((len(cases), len(screws)), bool)
    choice = np.full(len(cases), -1, np.intp)
    problems: list[Problem] = []
    for i, case in enumerate(cases):
        progress(i, len(cases))
        if case.item:
            k = at.get(word_key(case.item))
            if k is None:
                near = get_close_matches(case.item.upper(), [s.item for s in screws], n=1)
                right = f"did you mean '{near[0]}'?" if near else "a code of the kits (--kit names them)"
                what = f"'{case.item}' is no size of these kits"
                problems.append(Problem(f"{path}, line {case.line}, item", what, right))
                continue
            choice[i] = k
            accept[i, choice[i]] = True
            continue
        try:
            frame = build(resolve(parse_case(case.table(), f"{path}, line {case.line}", quick=True)))
        except InputError as refused:
            problems += [Problem(f"{path}, line {case.line}, {p.where}", p.what, p.right) for p in refused.problems]
            continue
        sized = size(frame, screws)
        accept[i] = np.broadcast_to(sized.codes, accept[i].shape) < FAIL
        choice[i] = int(np.asarray(chosen(sized)).reshape(-1)[0])
    if problems:
        raise InputError(problems, "the list of past cases")
    how = "at the size that was used" if all(c.item for c in cases) else "planned from their measurements as read"
    return People(accept, choice, f"{len(cases)} past cases of {Path(path).name}, {how}.", "past cases")
