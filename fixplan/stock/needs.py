"""A theatre list whose sizes are already decided: one line per implant, role by role, as the surgeon ticked them."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from fixplan.kits.model import KitSet
from fixplan.problems import InputError, Problem, nearest
from fixplan.stock import cells
from fixplan.stock.cells import CellError
from fixplan.stock.from_kit import Gtins, construct
from fixplan.stock.lists import read_rows
from fixplan.stock.model import ROLES, Need

WORDS = {
    "case": ("case", "label", "case label"),
    "date": ("date", "day", "date of surgery"),
    "order": ("order", "no", "position", "list order"),
    "role": ("role", "choice"),
    "item": ("item", "item code", "code", "ref", "reference"),
    "pieces": ("pieces", "quantity", "qty", "count"),
}


def read_needs(path: str | Path, kits: KitSet, gtins: Gtins = None) -> tuple[Need, ...]:
    """Needs from CSV or .xlsx with the columns case, date, order, role, item, pieces.

    Roles are those of ROLES. The instruments of each construct are added from the kits.

    Raises:
        InputError: with every line that cannot be used.
    """
    path = Path(path)
    codes: dict[str, dict[str, list[str]]] = {}
    days: dict[str, tuple[dt.date, int]] = {}
    problems: list[Problem] = []
    for line, row in read_rows(path, WORDS, ("case", "date", "order", "role", "item", "pieces")):
        where = f"{path}, line {line}"
        try:
            when = cells.day(row["date"]), cells.place(row["order"])
            pieces = cells.count(row["pieces"])
        except CellError as error:
            problems.append(Problem(where, str(error)))
            continue
        case, role, item = row["case"], row["role"].casefold(), row["item"]
        if role not in ROLES:
            problems.append(Problem(f"{where}, role", f"{row['role']!r} is no role", f"one of {', '.join(ROLES)}"))
        elif item not in kits.items:
            problems.append(Problem(f"{where}, item", f"{item!r} is in no kit", nearest(item, kits.items)))
        elif not case or not pieces:
            problems.append(Problem(where, "no case label or no pieces", "a label, and 1 piece or more"))
        elif days.setdefault(case, when) != when:
            problems.append(
                Problem(where, f"case {case!r} has another date or order above", "one day and place a case")
            )
        else:
            codes.setdefault(case, {}).setdefault(role, []).extend([item] * pieces)
    if not problems and not codes:
        problems.append(Problem(str(path), "no cases", "one line per implant"))
    if problems:
        raise InputError(problems)
    return tuple(_need(case, *days[case], by_role, kits, gtins) for case, by_role in codes.items())


def _need(case: str, day: dt.date, order: int, codes: dict[str, list[str]], kits: KitSet, gtins: Gtins) -> Need:
    first, up, down, room = (construct(kits, codes.get(role, ()), gtins) for role in ROLES)
    return Need(case, day, order, first, up, down, room)
