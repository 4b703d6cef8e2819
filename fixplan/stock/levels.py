"""What an allotment achieves, and what first come, first served would have achieved with the same shelf."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fixplan.stock.match import out_of_date
from fixplan.stock.model import ROLES, Item, Need, ShelfRow


@dataclass(frozen=True)
class Levels:
    """What an allotment achieves, level by level, and out of how many."""

    first_choices: int
    first_choices_asked: int
    backups: int
    backups_asked: int
    rooms: int = 0
    rooms_asked: int = 0

    def text(self) -> str:
        """In one line."""
        rooms = f"; further sizes for the room complete in {self.rooms} of {self.rooms_asked} cases"
        return (
            f"{self.first_choices} of {self.first_choices_asked} first choices and {self.backups} of "
            f"{self.backups_asked} back-ups complete{rooms if self.rooms_asked else ''}"
        )


def levels_of(needs: Sequence[Need], held: Sequence[dict[Item, int]]) -> Levels:
    """Count complete roles when case i holds `held[i]` pieces of each distinct item; every case asks a first choice.

    A role with screws of unknown length is never complete.
    """
    done = dict.fromkeys(ROLES, 0)
    asked = {**dict.fromkeys(ROLES, 0), ROLES[0]: len(needs)}
    for need, have in zip(needs, held):
        wanted = need.wanted()
        unknown = {u.role for u in need.unmeasured}
        for role in ROLES:
            if not need.role(role):
                continue
            asked[role] += role != ROLES[0]
            done[role] += role not in unknown and all(
                have.get(item, 0) >= by_role.get(role, 0) for item, by_role in wanted.items()
            )
    first, up, down, room = ROLES
    return Levels(
        done[first], asked[first], done[up] + done[down], asked[up] + asked[down], done[room], asked[room]
    )  # fmt: skip


def list_order(
    needs: Sequence[Need], rows: Sequence[ShelfRow], found: Callable[[Item], Sequence[int]], uses_per_day: int
) -> list[dict[Item, int]]:
    """First come, first served, for comparison: each case in turn takes all it wants, earliest expiry first."""
    left = [r.quantity for r in rows]
    lent: dict[tuple[int, dt.date], int] = {}
    trays: dict[tuple[str, dt.date], set[str]] = {}
    held: list[dict[Item, int]] = []
    for need in needs:
        have: dict[Item, int] = {}
        for item, by_role in need.wanted().items():
            wanted = max(by_role.values())
            usable = [i for i in found(item) if not out_of_date(rows[i], need.date)]
            for i in sorted(usable, key=lambda i: (rows[i].expiry or dt.date.max, rows[i].line)):
                tray = trays.setdefault((rows[i].tray, need.date), set()) if rows[i].tray else set()
                if need.case not in tray and len(tray) >= uses_per_day:
                    continue
                free = rows[i].quantity * uses_per_day - lent.get((i, need.date), 0) if item.reusable else left[i]
                take = min(free, wanted - have.get(item, 0))
                if take <= 0:
                    continue
                tray.add(need.case)
                have[item] = have.get(item, 0) + take
                if item.reusable:
                    lent[(i, need.date)] = lent.get((i, need.date), 0) + take
                else:
                    left[i] -= take
        held.append(have)
    return held
