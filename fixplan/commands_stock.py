"""The command `stock`: the theatre list held against the shelf; pick lists, list sheet, order sheet and JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from fixplan.atomic import write_all
from fixplan.case.read import read_case
from fixplan.commands import Result, check_out
from fixplan.commands_shelf import Given, ShelfFile, Tell, open_store
from fixplan.kits import KitSet
from fixplan.plan.make import make_plan
from fixplan.problems import InputError, Problem
from fixplan.progress import progress_bar
from fixplan.report.jsonio import plan_document
from fixplan.report.stock_html import list_sheet, pick_list
from fixplan.stock.allocate import Allocation, allocate
from fixplan.stock.from_plan import need_of, read_plan
from fixplan.stock.model import Need, ShelfReport
from fixplan.stock.order import OrderLine, order_lines
from fixplan.stock.order_sheet import order_csv, order_xlsx
from fixplan.stock.output import document, summary
from fixplan.stock.recalled import RecallReport
from fixplan.stock.theatre_list import read_theatre_list
from fixplan.stock.workdays import spoken

NOT_COVERED = 3
"""Exit status when a piece is short or a screw length unknown; refused is 2 and done is 0."""
DEMO_RESUPPLY = 5
SATURDAY = 5
PICK = "-pick.html"
"""The end of the name of every pick list."""


@dataclass(frozen=True)
class Terms:
    """How the list is judged. `resupply` is in working days."""

    on: date
    expiring_within: int = 30
    resupply: int | None = None
    uses_per_day: int = 1
    prefer: str | None = None
    seed: int = 0
    draws: int = 0


@dataclass(frozen=True)
class Entry:
    """A file of the list with its day and place; None: the day stands in the file, the place follows."""

    path: Path
    day: date | None
    order: int | None


def stock(
    cases: Sequence[Path], theatre_list: Path | None, given: Given, terms: Terms, out: Path, tell: Tell
) -> Result:
    """Plan or read every case, allot the shelf, write the documents into `out`. `tell` hears how the shelf was read."""
    check_out(out)
    return _held(_entries(cases, theatre_list), given, terms, out, tell)


def _held(entries: Sequence[Entry], given: Given, terms: Terms, out: Path, tell: Tell) -> Result:
    store = open_store(given, terms.on, tell)
    needs = planned(entries, store.kits, terms, store.gtins)
    with progress_bar("allotment") as bar:
        answer = allocate(
            needs,
            store.shelf,
            on=terms.on,
            expiring_within_days=terms.expiring_within,
            recalled=store.recalls,
            uses_per_day=terms.uses_per_day,
            progress=bar,
        )
    orders = order_lines(answer, resupply_days=terms.resupply)
    files = documents(answer, orders, store.shelf, store.recall, out)
    out.mkdir(parents=True, exist_ok=True)
    write_all(files)
    if left := sorted(p.name for p in out.glob(f"*{PICK}") if p not in files):
        tell(f"Not of this list, left in {out} by an earlier run: {', '.join(left)}; do not pick from them.")
    written = "Written: " + ", ".join(str(f) for f in files)
    if find_spec("openpyxl") is None:
        written += "\nNo order.xlsx: install fixplan with its extra 'shelf' for it"
    return Result(
        lambda: f"{summary(answer, orders)}\n\n{written}\n",
        lambda: _json(document(answer, orders, store.shelf, store.recall)),
        0 if answer.status == "covered" else NOT_COVERED,
    )


def demo_list(folder: Path, out: Path, on: date) -> Result:
    """The invented theatre list of `folder` on its shelf, from the plans that lie in `out` already."""
    entries = read_theatre_list(folder / "theatre-list.csv")
    plans = [out / f"{stem(read_case(e.path).label)}-plan.json" for e in entries]
    terms = Terms(on, resupply=DEMO_RESUPPLY)
    given = Given(ShelfFile(folder / "shelf.csv"), folder / "recalled-lots.csv")
    listed = [Entry(plan, e.date, e.order) for plan, e in zip(plans, entries)]
    return _held(listed, given, terms, out, lambda _: None)


def _entries(cases: Sequence[Path], theatre_list: Path | None) -> list[Entry]:
    if theatre_list is not None:
        if cases:
            raise InputError([Problem("--list", "case files are named beside a theatre list", "one or the other")])
        return [Entry(e.path, e.date, e.order) for e in read_theatre_list(theatre_list)]
    if not cases:
        raise InputError([Problem("CASE.toml", "no case is named", "name case files, or a theatre list with --list")])
    return [Entry(path, None, None) for path in cases]


def planned(entries: Sequence[Entry], kits: KitSet, terms: Terms, gtins: Mapping[str, tuple[str, ...]]) -> list[Need]:
    """What each case asks for: case files are planned, plans are read. Raises InputError with the problems of all."""
    needs: list[Need] = []
    problems: list[Problem] = []
    labels: dict[str, Path] = {}
    places: dict[date, int] = {}
    with progress_bar("cases") as bar:
        for i, entry in enumerate(entries):
            bar(i, len(entries))
            try:
                plan = _plan(entry.path, kits, terms)
                need = _placed(entry, plan, kits, terms, gtins, places)
            except InputError as refused:
                problems += [Problem(_in(entry.path, p.where), p.what, p.right) for p in refused.problems]
                continue
            except (KeyError, TypeError, AttributeError, ValueError) as broken:
                if entry.path.suffix != ".json":
                    raise
                what = f"is not a whole plan ({type(broken).__name__}: {broken})"
                problems.append(Problem(str(entry.path), what, "the -plan.json as it was written, or plan again"))
                continue
            first = labels.setdefault(stem(need.case), entry.path)
            if len(labels) == len(needs):
                what = f"label '{need.case}' is on the list already ({first})"
                problems.append(Problem(f"{entry.path}: case.label", what, "a label of its own for each case"))
                continue
            needs.append(need)
    if problems:
        raise InputError(problems, "the list of cases")
    return _same_place(needs)


def _same_place(needs: Sequence[Need]) -> list[Need]:
    """The needs, with a note on each whose place of its day is another case's too."""
    at: dict[tuple[date, int], list[str]] = {}
    for need in needs:
        at.setdefault((need.date, need.order), []).append(need.case)
    out = []
    for need in needs:
        others = [case for case in at[need.date, need.order] if case != need.case]
        what = f"Place {need.order} of {need.date.isoformat()} is given to {', '.join(others)} too; check the list."
        out.append(replace(need, notes=(*need.notes, what)) if others else need)
    return out


def _in(path: Path, where: str) -> str:
    """A place in a file, with the file named once."""
    return where if where.startswith((str(path), path.name)) else f"{path}: {where}"


def _plan(path: Path, kits: KitSet, terms: Terms) -> dict[str, Any]:
    if path.suffix == ".json":
        return read_plan(path, kits)
    if path.is_file() and path.suffix != ".toml":
        right = "a case file that ends in .toml, or the -plan.json of `fixplan plan`"
        raise InputError([Problem(str(path), "is neither a case file nor a plan", right)])
    case = read_case(path)
    return plan_document(make_plan(case, kits, terms.on, seed=terms.seed, draws=terms.draws, worksheet=False))


def _placed(
    entry: Entry,
    plan: dict[str, Any],
    kits: KitSet,
    terms: Terms,
    gtins: Mapping[str, tuple[str, ...]],
    places: dict[date, int],
) -> Need:
    stated = plan["case"]["planned_for"]
    in_case = date.fromisoformat(stated) if stated else None
    day = entry.day or in_case
    if day is None:
        right = "planned_for = 2026-12-03 under [case], or a theatre list with its date"
        raise InputError([Problem("case.planned_for", "no day is given, and the day decides what is in date", right)])
    places[day] = places.get(day, 0) + 1
    need = need_of(plan, kits, day, entry.order or places[day], prefer=terms.prefer, gtins=gtins)
    notes = list(need.notes)
    if in_case is not None and in_case != day:
        notes.append(f"The list says {day.isoformat()}, the case file {in_case.isoformat()}; the list is used.")
    if day.weekday() >= SATURDAY:
        notes.append(f"The day of this case, {spoken(day)}, is at a weekend; check the date.")
    if day < terms.on:
        notes.append(f"The day of this case, {day.isoformat()}, is past on {terms.on.isoformat()}; check the date.")
    return replace(need, notes=tuple(notes))


def stem(label: str) -> str:
    """A file name from a label."""
    return re.sub(r"[^A-Za-z0-9._-]+", "-", label).strip("-.") or "case"


def documents(
    answer: Allocation, orders: Sequence[OrderLine], rows: ShelfReport, recall: RecallReport | None, out: Path
) -> dict[Path, str | bytes]:
    """Every document of a list by its path: the sheet, a pick list per case, the order sheets, the JSON."""
    files: dict[Path, str | bytes] = {out / "theatre-list.html": list_sheet(answer, orders, rows, recall)}
    for t in answer.trolleys:
        files[out / f"{stem(t.need.case)}{PICK}"] = pick_list(answer, t.need.case, rows, recall)
    files[out / "order.csv"] = order_csv(answer, orders)
    if find_spec("openpyxl") is not None:
        files[out / "order.xlsx"] = order_xlsx(answer, orders)
    files[out / "stock.json"] = _json(document(answer, orders, rows, recall))
    return files


def _json(data: dict[str, Any]) -> str:
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
