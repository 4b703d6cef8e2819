"""The command `coverage`: whom the shelf serves, which sizes to hold, and how many of each."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import numpy.typing as npt

from fixplan.atomic import write_all
from fixplan.case.read import parse_case
from fixplan.cautions import CAUTION_SHORT
from fixplan.cli_options import SERVICE
from fixplan.commands import Result, check_out
from fixplan.commands_stock import ShelfFile, Tell, open_shelf, told
from fixplan.kits import ImScrew, KitSet, load_kits
from fixplan.plan.frame import build
from fixplan.plan.population import SERIES, population
from fixplan.plan.resolve import resolve
from fixplan.plan.screws import chosen, size
from fixplan.problems import InputError, Problem, nearest
from fixplan.progress import progress_bar
from fixplan.report.stock_html import coverage_page
from fixplan.sizing.rules import FAIL
from fixplan.sources import threshold
from fixplan.stock.coverage import SizeSet, coverage, shares_asked, smallest_set, trade_off
from fixplan.stock.depth import Depth, stock_depth, worked_service
from fixplan.stock.from_kit import wanted
from fixplan.stock.lists import PastCase, read_codes, read_past_cases, read_recalls
from fixplan.stock.match import Index, on_shelf
from fixplan.stock.output import coverage_document

DAYS_A_WEEK = 7.0
DEMO_DRAWS = 1000


@dataclass(frozen=True)
class Aims:
    """What is wanted of the shelf. `rate` is cases a week, `resupply` calendar days; both or neither."""

    share: float
    service: float
    rate: float | None = None
    resupply: int | None = None


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


def cover(
    shelf: ShelfFile,
    past: Path | None,
    named: Sequence[str],
    group: Group,
    aims: Aims,
    recalled: Path | None,
    codes: Path | None,
    folders: Sequence[Path],
    on: date,
    draws: int,
    seed: int,
    out: Path,
    tell: Tell,
) -> Result:
    """Hold a population against the shelf; writes coverage.html and coverage.json into `out`."""
    check_out(out)
    _check(aims)
    known = read_codes(codes) if codes else {}
    recalls = read_recalls(recalled) if recalled else ()
    rows = open_shelf(shelf, on, known)
    tell(told(rows))
    rows = replace(rows, path=shelf.path.name)  # a folder of this machine says nothing to the theatre
    kits = load_kits(folders) if folders else load_kits()
    cases = read_past_cases(past) if past else ()
    index = Index(rows.rows)
    seen = {s.kit for s in kits.im_screws if index.find(wanted(s)).rows}
    seen |= {s.kit for s in kits.im_screws if s.item in {c.item for c in cases if c.item}}
    screws = _screws(kits, named, seen)
    with progress_bar("population") as bar:
        other = None
        if cases:
            people = _used(cases, screws, str(past), bar)
        else:
            people, other = published(screws, draws, seed, group, bar)
    held = on_shelf([wanted(s) for s in screws], rows.rows, on, recalls)
    today = coverage(people.acceptable, held)
    attainable = today.attainable / today.draws
    words = f"{people.words} Sizes: diameter × length in mm, T thread length, S solid, V thread all along."
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
    )
    data = coverage_document(
        names, words, today, curve, on=on, smallest=smallest, depth=depth, basis=basis, note=note,
        codes=[s.item for s in screws], held=held.tolist(),
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
    aims = Aims(threshold("room_coverage").value, SERVICE, 2.0, 14)
    shelf = ShelfFile(folder / "shelf.csv")
    kits = ("im-screws-cannulated-ti",)
    recalled = folder / "recalled-lots.csv"
    return cover(shelf, None, kits, Group(), aims, recalled, None, (), on, DEMO_DRAWS, 0, out, lambda _: None)


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


def published(
    screws: Sequence[ImScrew], n: int, seed: int, group: Group, progress: Callable[[int, int], None]
) -> tuple[People, People]:
    """n people of a published series held against the sizes, and as many of the other series, which disagrees."""
    drawn = [group.series, *(s for s in SERIES if s != group.series)]
    found = [population(screws, n, seed, series=s, zone=group.zone, progress=progress) for s in drawn[:2]]
    one, other = (People(p.acceptable, p.choice, p.words, "draws", p.series.source) for p in found)
    return one, other


def _used(
    cases: Sequence[PastCase], screws: Sequence[ImScrew], path: str, progress: Callable[[int, int], None]
) -> People:
    """Past cases: planned from their measurements, or taken at the size that was used."""
    at = {s.item: k for k, s in enumerate(screws)}
    accept = np.zeros((len(cases), len(screws)), bool)
    choice = np.full(len(cases), -1, np.intp)
    problems: list[Problem] = []
    for i, case in enumerate(cases):
        progress(i, len(cases))
        if case.item:
            if case.item not in at:
                problems.append(Problem(f"{path}, line {case.line}, item", f"'{case.item}' is no size of these kits"))
                continue
            choice[i] = at[case.item]
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
        raise InputError(problems, "the past cases")
    how = "at the size that was used" if all(c.item for c in cases) else "planned from their measurements as read"
    return People(accept, choice, f"{len(cases)} past cases of {Path(path).name}, {how}.", "past cases")


def _depth(people: People, screws: Sequence[ImScrew], best: SizeSet, aims: Aims) -> tuple[Depth | None, str]:
    if aims.rate is None or aims.resupply is None:
        return None, ""
    held = np.zeros(len(screws), bool)
    held[list(best.sizes)] = True
    sizes = np.array([[s.d_major, s.length] for s in screws])
    asked = shares_asked(people.acceptable, held, people.choice, sizes)
    depth = stock_depth(asked * aims.rate / DAYS_A_WEEK, float(aims.resupply), aims.service)
    basis = (
        f"{aims.rate:g} cases a week, {aims.resupply} days to resupply. Each case uses one screw: its first choice "
        "where the set holds it, else the acceptable size of the set nearest to it in diameter, then in length "
        "(project default). A back-up that comes back unopened is not counted; where the formula alone "
        "asks for none, a size of the set is still held once."
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
    for name, m, s, f in zip(names, depth.mean.tolist(), depth.stock.tolist(), depth.service.tolist()):
        if m > 0:
            lines.append(f"  {name}: keep {s} (mean demand {m:.2f}, met with chance {100 * f:.1f} %)")
    return [*lines, f"  {_worked(depth, names)}"]
