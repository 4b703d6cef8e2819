"""What to order and by when, counted in working days."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from fixplan.stock.allocate import Allocation
from fixplan.stock.model import ROLES, Item, Unmeasured
from fixplan.stock.wording import counted
from fixplan.stock.workdays import arrival, latest_order, spoken

HOLIDAYS = "Working days are Monday to Friday; public holidays are not known here and lengthen the time."


@dataclass(frozen=True)
class OrderLine:
    """One item to order: pieces in all, of these for first choices, and the days.

    `lead` is the resupply time in working days; without it `order_by`, the last day on which to order, and `arrives`,
    when it comes if ordered on the day of the sheet, are None. `late`: order_by is past.
    """

    item: Item
    quantity: int
    for_first_choices: int
    needed_on: dt.date
    order_by: dt.date | None
    arrives: dt.date | None
    lead: int | None
    late: bool
    today: bool
    cases: tuple[str, ...]
    reasons: tuple[str, ...]

    @property
    def remark(self) -> str:
        """What the day says, in words."""
        if self.order_by is None or self.arrives is None:
            return "resupply time not given"
        if self.late:
            lead = counted(self.lead or 0, "working day")
            return (
                f"too late for the usual lead of {lead}: ordered today it comes on {spoken(self.arrives)}; "
                "borrow, or tell the surgeon"
            )
        return "today is the last day to order" if self.today else ""

    def cells(self) -> tuple[str | int, ...]:
        """The line in the order of HEADER; numbers stay numbers."""
        return (
            self.item.item,
            self.item.text(),
            " ".join(self.item.gtins),
            self.quantity,
            self.for_first_choices,
            spoken(self.needed_on),
            spoken(self.order_by) if self.order_by else "",
            ", ".join(self.cases),
            "; ".join(self.reasons),
            self.remark,
            "",
        )


def order_lines(allocation: Allocation, *, resupply_days: int | None = None) -> tuple[OrderLine, ...]:
    """Every shortage of the list, added up by item; the most urgent first.

    Pieces that come back (reusable instruments) are ordered for the day on which most are lacking; others add up.

    Args:
        allocation: the allotted list.
        resupply_days: working days from order to shelf, as the store says; None when not known. What is ordered has to
            arrive before the day of surgery.

    Raises:
        ValueError: for a negative resupply time.
    """
    if resupply_days is not None and resupply_days < 0:
        raise ValueError(f"resupply_days is {resupply_days}; give 0 or more working days, or none")
    per_day: dict[Item, dict[dt.date, list[int]]] = {}
    cases: dict[Item, list[str]] = {}
    reasons: dict[Item, list[str]] = {}
    for trolley in allocation.trolleys:
        for short in trolley.shortages:
            missing = dict(short.missing)
            day = per_day.setdefault(short.item, {}).setdefault(trolley.need.date, [0, 0])
            day[0] += max(missing.values())
            day[1] += missing.get(ROLES[0], 0)
            cases.setdefault(short.item, []).append(trolley.need.case)
            reasons.setdefault(short.item, []).extend(short.reasons)
    out = []
    for item, days in per_day.items():
        together = max if item.reusable else sum
        first_day = min(days)
        by = None if resupply_days is None else latest_order(first_day, resupply_days)
        out.append(
            OrderLine(
                item=item,
                quantity=together(d[0] for d in days.values()),
                for_first_choices=together(d[1] for d in days.values()),
                needed_on=first_day,
                order_by=by,
                arrives=None if resupply_days is None else arrival(allocation.on, resupply_days),
                lead=resupply_days,
                late=by is not None and by < allocation.on,
                today=by == allocation.on,
                cases=tuple(cases[item]),
                reasons=tuple(dict.fromkeys(reasons[item])),
            )
        )
    return tuple(sorted(out, key=lambda o: (o.needed_on, -o.for_first_choices, o.item.text(), o.item.item)))


@dataclass(frozen=True)
class UnknownLengths:
    """Screws of a case that no order can name yet."""

    case: str
    needed_on: dt.date
    plate: Unmeasured

    def text(self) -> str:
        """What is not on the order, in one line."""
        return f"{self.case}, {spoken(self.needed_on)}, {self.plate.role}: screw lengths unknown, {self.plate.text()}"


def unknown_lengths(allocation: Allocation) -> tuple[UnknownLengths, ...]:
    """Every plate of the list whose screws have no length in the plan, in the order of surgery."""
    return tuple(UnknownLengths(t.need.case, t.need.date, u) for t in allocation.trolleys for u in t.need.unmeasured)
