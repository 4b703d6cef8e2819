"""Who gets what: the best allotment of one shelf to a whole list of cases.

The levels are lexicographic, each solved to its optimum and then held: (1) first choices complete, (2) back-ups
complete, (3) pieces of first choices that stay incomplete, (4) pieces of back-ups that stay incomplete, (5) pieces of
further sizes for the room, (6) days of shelf life left on what is used (least), (7) place in the list of what is served
(soonest). The programme is in
`fixplan.stock.programme`; the rules are in `fixplan.stock.rules`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fixplan.stock import match
from fixplan.stock.deal import solve
from fixplan.stock.levels import Levels, levels_of, list_order
from fixplan.stock.model import ROLES, Item, Need, ShelfReport, ShelfRow
from fixplan.stock.programme import Line, Lot
from fixplan.stock.reasons import Reasons
from fixplan.stock.recall import Recall
from fixplan.stock.rules import RULES, Rule

HERE, SHORT, UNKNOWN = "all here", "short", "screw lengths unknown"
"""What a role of a case can be."""


@dataclass(frozen=True)
class Pick:
    """Pieces of one shelf row for one case, and the roles (of ROLES) they serve."""

    item: Item
    row: ShelfRow
    quantity: int
    roles: tuple[str, ...]
    flags: tuple[str, ...]


@dataclass(frozen=True)
class Shortage:
    """What one case lacks of one item, and every reason found on the shelf. `missing` counts pieces by role."""

    item: Item
    wanted: int
    found: int
    missing: tuple[tuple[str, int], ...]
    reasons: tuple[str, ...]


@dataclass(frozen=True)
class Leave:
    """A pack that is, or looks like, an item of the case and may not be used for it, and why."""

    item: Item
    row: ShelfRow
    why: str


@dataclass(frozen=True)
class Trolley:
    """One case: its picks, what is short, for each role asked for whether it is complete, and packs to leave.

    `leave` holds those of items that are all here; what keeps a pack from an item that is short stands in its reasons.
    """

    need: Need
    picks: tuple[Pick, ...]
    shortages: tuple[Shortage, ...]
    complete: tuple[tuple[str, bool], ...]
    leave: tuple[Leave, ...] = ()

    @property
    def covered(self) -> bool:
        """True when the plan chose something, every role asked for is complete, and every screw has a length."""
        return bool(self.need.first_choice) and not self.shortages and not self.need.unmeasured

    @property
    def states(self) -> tuple[tuple[str, str], ...]:
        """For each role asked for: HERE, SHORT, UNKNOWN, or both of the last two."""
        lacking = {r for s in self.shortages for r, _ in s.missing}
        unknown = {u.role for u in self.need.unmeasured}
        return tuple(
            (r, ", ".join(w for w, on in ((SHORT, r in lacking), (UNKNOWN, r in unknown)) if on) or HERE)
            for r, _ in self.complete
        )


@dataclass(frozen=True)
class Allocation:
    """The whole list, in the order of surgery. `proved` is False when a time limit stopped the solver early."""

    on: dt.date
    expiring_within_days: int
    trolleys: tuple[Trolley, ...]
    levels: Levels
    in_list_order: Levels
    proved: bool
    rules: tuple[Rule, ...] = RULES

    @property
    def status(self) -> str:
        """One of "covered", "back-ups short", UNKNOWN, SHORT.

        SHORT: a first choice lacks a piece, or none was planned.
        """
        if all(t.covered for t in self.trolleys):
            return "covered"
        states = [state for t in self.trolleys for _, state in t.states]
        firsts = [dict(t.states).get(ROLES[0], SHORT) for t in self.trolleys]
        if any(SHORT in state for state in firsts):
            return SHORT
        return UNKNOWN if any(UNKNOWN in state for state in states) else "back-ups short"


def in_order(needs: Sequence[Need]) -> list[Need]:
    """The list by day, then by order of surgery, then as given.

    Raises:
        ValueError: when two cases carry one label.
    """
    seen: set[str] = set()
    for need in needs:
        if need.case in seen:
            raise ValueError(f"case {need.case!r} is on the list twice; give each case its own label")
        seen.add(need.case)
    return sorted(needs, key=lambda n: (n.date, n.order))


def allocate(
    needs: Sequence[Need],
    shelf: ShelfReport | Sequence[ShelfRow],
    *,
    on: dt.date,
    expiring_within_days: int = 30,
    recalled: Sequence[Recall] = (),
    uses_per_day: int = 1,
    time_limit_s: float | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Allocation:
    """Allot a shelf to a list of cases, to the optimum (levels: see the module).

    Args:
        needs: the cases.
        shelf: the shelf as read.
        on: the day the document bears.
        expiring_within_days: mark what expires within this many days after its case.
        recalled: recalled lots.
        uses_per_day: how many cases a day one reusable instrument or tray can serve.
        time_limit_s: stop proving after this long for each level of each independent part of the list.
        progress: called with (parts done, parts).

    Raises:
        ValueError: for a label used twice, or a negative span of days.
    """
    if expiring_within_days < 0:
        raise ValueError(f"expiring_within_days is {expiring_within_days}; give 0 or more")
    if uses_per_day < 1:
        raise ValueError(f"uses_per_day is {uses_per_day}; give 1 or more")
    rows = shelf.rows if isinstance(shelf, ShelfReport) else tuple(shelf)
    needs = in_order(needs)
    index = match.Index(rows, recalled)
    specs: dict[Item, match.Matches] = {}
    lines: list[Line] = []
    for rank, need in enumerate(needs):
        for item, by_role in need.wanted().items():
            if item not in specs:
                specs[item] = index.find(item)
            lines.append(Line(rank, need.case, need.date, item, tuple(by_role.get(r, 0) for r in ROLES)))
    serves: dict[int, list[Item]] = {}
    for spec, matches in specs.items():
        for i in matches.rows:
            serves.setdefault(i, []).append(spec)
    lots = [
        Lot(i, rows[i].quantity, rows[i].expiry, rows[i].tray, tuple(items))
        for i, items in sorted(serves.items())
        if rows[i].quantity
    ]
    taken, proved = solve(lines, lots, uses_per_day=uses_per_day, time_limit_s=time_limit_s, progress=progress)
    held: list[dict[Item, int]] = [{} for _ in needs]
    users: dict[int, list[Line]] = {}
    for line, picks in zip(lines, taken):
        held[line.rank][line.item] = sum(picks.values())
        for i in picks:
            users.setdefault(i, []).append(line)
    why = Reasons(rows, shelf.set_aside if isinstance(shelf, ShelfReport) else (), users)
    by_case: dict[int, list[int]] = {}
    for k, line in enumerate(lines):
        by_case.setdefault(line.rank, []).append(k)
    trolleys = []
    for rank, need in enumerate(needs):
        out: list[Pick] = []
        short: list[Shortage] = []
        leave: list[Leave] = []
        for k in by_case.get(rank, ()):
            line, roles = lines[k], dict(zip(ROLES, lines[k].wanted))
            have = sum(taken[k].values())
            served = tuple(r for r, q in roles.items() if q)
            for i, quantity in sorted(taken[k].items(), key=lambda t: rows[t[0]].line):
                marks = match.flags(line.item, rows[i], need.date, expiring_within_days)
                out.append(Pick(line.item, rows[i], quantity, served, marks))
            missing = tuple((r, q - have) for r, q in roles.items() if q > have)
            if missing:
                reasons = tuple(why.of(line, specs[line.item]))
                short.append(Shortage(line.item, max(line.wanted), have, missing, reasons))
            else:
                leave += [Leave(line.item, row, why_not) for row, why_not in why.unusable(line, specs[line.item])]
        lacking = {r for s in short for r, _ in s.missing} | {u.role for u in need.unmeasured}
        complete = tuple((r, r not in lacking) for r in ROLES if need.role(r))
        trolleys.append(Trolley(need, tuple(out), tuple(short), complete, tuple(leave)))
    naive = list_order(needs, rows, lambda item: specs[item].rows, uses_per_day)
    return Allocation(
        on, expiring_within_days, tuple(trolleys), levels_of(needs, held), levels_of(needs, naive), proved
    )
