"""The command `coverage`: whom the shelf serves, which sizes to hold, and how many of each."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import numpy as np

from fixplan.atomic import write_all
from fixplan.cautions import CAUTION_SHORT
from fixplan.cli_options import SERVICE
from fixplan.commands import Result, check_out
from fixplan.commands_people import Group, People, drawn, used
from fixplan.commands_shelf import Given, ShelfFile, Tell, open_store
from fixplan.kits import ImScrew, KitSet
from fixplan.problems import InputError, Problem, nearest
from fixplan.progress import progress_bar
from fixplan.report.stock_coverage_html import coverage_page
from fixplan.sources import threshold
from fixplan.stock.coverage import SizeSet, coverage, shares_asked, smallest_set, trade_off
from fixplan.stock.coverage_output import coverage_document
from fixplan.stock.depth import Depth, stock_depth, worked_service
from fixplan.stock.described import word_key
from fixplan.stock.from_kit import wanted
from fixplan.stock.lists import read_past_cases
from fixplan.stock.match import Index, on_shelf

WORKDAYS_A_WEEK = 5.0
DEMO_DRAWS = 1000
DEMO_RESUPPLY = 10


@dataclass(frozen=True)
class Aims:
    """What is wanted of the shelf. `rate` is cases a week, `resupply` working days; both or neither."""

    share: float
    service: float
    rate: float | None = None
    resupply: int | None = None


def cover(
    given: Given,
    past: Path | None,
    named: Sequence[str],
    group: Group,
    aims: Aims,
    on: date,
    draws: int,
    seed: int,
    out: Path,
    tell: Tell,
) -> Result:
    """Hold a population against the shelf; writes coverage.html and coverage.json into `out`."""
    check_out(out)
    _check(aims)
    store = open_store(given, on, tell)
    rows, kits = store.shelf, store.kits
    cases = read_past_cases(past) if past else ()
    index = Index(rows.rows)
    seen = {s.kit for s in kits.im_screws if index.find(wanted(s, 1, store.gtins)).rows}
    used_once = {word_key(c.item) for c in cases if c.item}
    seen |= {s.kit for s in kits.im_screws if word_key(s.item) in used_once}
    screws = _screws(kits, named, seen)
    with progress_bar("population") as bar:
        other = None
        if cases:
            people = used(cases, screws, str(past), bar)
        else:
            people, other = drawn(screws, draws, seed, group, bar)
    held = on_shelf([wanted(s, 1, store.gtins) for s in screws], rows.rows, on, store.recalls)
    today = coverage(people.acceptable, held)
    attainable = today.attainable / today.draws
    words = (
        f"{people.words} Sizes: diameter × length in mm, T thread length, V thread all along, S solid, else cannulated."
    )
    if other is not None:
        share = coverage(other.acceptable, held).share
        words += f" The series disagree: by {other.series} the same shelf serves {100 * share:.1f} %."
    if not attainable:
        what = "no size of the kits is acceptable for anybody in this population"
        raise InputError([Problem("--population", what, "another kit (--kit), or other cases")])
    target, note = aims.share, ""
    if target > attainable:
        target = aims.share * attainable
        note = (
            f"A share of {100 * aims.share:.1f} % cannot be reached: all sizes of these kits together serve "
            f"{100 * attainable:.1f} %. The set is for {100 * aims.share:.1f} % of those who can be served, "
            f"{100 * target:.1f} % of all."
        )
    smallest = smallest_set(people.acceptable, target)
    with progress_bar("trade-off") as bar:
        curve = trade_off(people.acceptable, progress=bar)
    depth, basis = _depth(people, screws, smallest, aims)
    names = [_name(s) for s in screws]
    title = ", ".join(dict.fromkeys(s.kit for s in screws))
    page = coverage_page(
        title,
        names,
        words,
        today,
        curve,
        on=on,
        wanted=target,
        smallest=smallest,
        depth=depth,
        basis=basis,
        note=note,
        unit=people.unit,
        held=[n for n, h in zip(names, held.tolist()) if h],
        worked=_worked(depth, names),
        shelf=rows,
        recall=store.recall,
    )
    data = coverage_document(
        names, words, today, curve, on=on, smallest=smallest, depth=depth, basis=basis, note=note,
        codes=[s.item for s in screws], held=held.tolist(), shelf=rows, recall=store.recall,
    )  # fmt: skip
    text = json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    files: dict[Path, str | bytes] = {out / "coverage.html": page, out / "coverage.json": text}
    out.mkdir(parents=True, exist_ok=True)
    write_all(files)
    lines = [
        f"{title}: the shelf serves {100 * today.share:.1f} % of {today.draws} {people.unit} today; "
        f"all {len(screws)} sizes together would serve {100 * attainable:.1f} %.",
        *([note] if note else []),
        f"Smallest set for {100 * target:.1f} %: {len(smallest.sizes)} sizes, serving "
        f"{100 * smallest.share.share:.1f} %: {', '.join(names[i] for i in smallest.sizes)}.",
        f"Population: {words}",
        *_depth_lines(depth, names, basis),
        "",
        "Written: " + ", ".join(str(f) for f in files),
        CAUTION_SHORT,
    ]
    return Result(lambda: "\n".join(lines) + "\n", lambda: text)


def demo_coverage(folder: Path, out: Path, on: date) -> Result:
    """Shelf planning for the invented shelf of `folder`."""
    aims = Aims(threshold("room_coverage").value, SERVICE, 2.0, DEMO_RESUPPLY)
    given = Given(ShelfFile(folder / "shelf.csv"), folder / "recalled-lots.csv")
    kits = ("im-screws-cannulated-ti",)
    return cover(given, None, kits, Group(), aims, on, DEMO_DRAWS, 0, out, lambda _: None)


def _check(aims: Aims) -> None:
    problems = []
    if not 0 < aims.share <= 1:
        problems.append(
            Problem("--share", f"{aims.share:g} is not a share", "above 0 and at most 1, for instance 0.95")
        )
    if not 0 < aims.service < 1:
        problems.append(Problem("--service", f"{aims.service:g} is no service level", "above 0 and below 1"))
    if (aims.rate is None) != (aims.resupply is None):
        problems.append(Problem("--rate, --resupply", "one is given without the other", "both, or neither"))
    if aims.rate is not None and not 0 < aims.rate < float("inf"):
        problems.append(Problem("--rate", f"{aims.rate:g} is no case rate", "cases a week, above 0"))
    if problems:
        raise InputError(problems, "shelf planning")


def _screws(kits: KitSet, named: Sequence[str], seen: set[str]) -> list[ImScrew]:
    with_screws = list(dict.fromkeys(s.kit for s in kits.im_screws))
    unknown = [n for n in named if n not in with_screws]
    if unknown:
        raise InputError([Problem("--kit", f"'{n}' is no kit of screws", nearest(n, with_screws)) for n in unknown])
    wanted_kits = set(named) or seen
    if not wanted_kits:
        right = f"name a kit with --kit: {', '.join(with_screws)}"
        raise InputError([Problem("--shelf", "no intramedullary screw of the kits stands on the shelf", right)])
    return [s for s in kits.im_screws if s.kit in wanted_kits]


def _name(s: ImScrew) -> str:
    thread = "V" if s.thread_length is None else f"T{s.thread_length:g}"
    return f"{s.d_major:.1f} × {s.length:g} {thread}{' S' if s.solid else ''}"


def _depth(people: People, screws: Sequence[ImScrew], best: SizeSet, aims: Aims) -> tuple[Depth | None, str]:
    if aims.rate is None or aims.resupply is None:
        return None, ""
    held = np.zeros(len(screws), bool)
    held[list(best.sizes)] = True
    sizes = np.array([[s.d_major, s.length] for s in screws])
    asked = shares_asked(people.acceptable, held, people.choice, sizes)
    depth = stock_depth(asked * aims.rate / WORKDAYS_A_WEEK, float(aims.resupply), aims.service, held.astype(int))
    basis = (
        f"{aims.rate:g} cases a week, {aims.resupply} working days (Monday to Friday) to resupply. Each case uses one "
        "screw: its first choice where the set holds it, else the acceptable size of the set nearest to it in "
        "diameter, then in length (project default). A back-up that comes back unopened is not counted. Each size of "
        "the set is held at least once, also where the formula alone asks for none (project default)."
    )
    return depth, basis


def _worked(depth: Depth | None, names: Sequence[str]) -> str:
    """The formula with the numbers of the size that is asked for most."""
    if depth is None:
        return ""
    k = int(np.argmax(depth.mean))
    return f"{names[k]}: {worked_service(float(depth.mean[k]), int(depth.stock[k]))}"


def _depth_lines(depth: Depth | None, names: Sequence[str], basis: str) -> list[str]:
    if depth is None:
        return []
    lines = [f"How many of each ({basis})"]
    for r in depth.rows():
        why = f"; {r.remark}" if r.remark else ""
        lines.append(
            f"  {names[r.at]}: keep {r.keep} (mean demand {r.mean:.2f}, met with chance {100 * r.service:.1f} %{why})"
        )
    return [*lines, f"  {_worked(depth, names)}"]
