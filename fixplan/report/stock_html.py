"""The theatre's pages: a pick list for each case, one sheet for the list. One self-contained file each, no script."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

import fixplan
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.report.style import content_policy, environment, stylesheet
from fixplan.report.svg import mark
from fixplan.stock.allocate import Allocation, Pick, Trolley
from fixplan.stock.model import ROLES, ShelfReport
from fixplan.stock.order import OrderLine

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
ANSWERS = {
    "covered": "Yes: every piece of every case is here and in date.",
    "back-ups short": "Yes for the first choices; some back-ups are short.",
    "short": "No: not every first choice is here.",
}
SHOWN = 60
"""Lines set aside that are printed; all of them stand in the JSON."""


def day(date: dt.date) -> str:
    """A date that no reader can turn round: 3 December 2026."""
    return f"{date.day} {MONTHS[date.month - 1]} {date.year}"


def days(dates: Sequence[dt.date]) -> str:
    """The span of a list in words."""
    if not dates:
        return "without cases"
    first, last = min(dates), max(dates)
    return day(first) if first == last else f"{day(first)} to {day(last)}"


def verdict(shape: str, word: str) -> Markup:
    """A shape and a word, as on the plan."""
    svg = Markup('<svg class="mark" viewBox="0 0 2.4 2.4" aria-hidden="true">{}</svg>').format(
        mark(shape, 1.2, 1.2, 1.0)
    )
    return Markup('<span class="verdict">{} {}</span>').format(svg, word)


def _place(pick: Pick) -> tuple[Any, ...]:
    roles = [ROLES.index(r) for r in pick.roles]
    return (pick.item.kind == "instrument", min(roles, default=9), pick.row.location, pick.item.text(), pick.row.line)


def _groups(trolley: Trolley) -> list[tuple[str, list[Pick]]]:
    """Implants in the order of the roles; instruments by where they lie, so that the walk is short."""
    implants = sorted((p for p in trolley.picks if p.item.kind != "instrument"), key=_place)
    tools = sorted(
        (p for p in trolley.picks if p.item.kind == "instrument"),
        key=lambda p: (p.row.location, p.item.text(), p.row.line),
    )
    return [(t, g) for t, g in (("Implants", implants), ("Instruments", tools)) if g]


def _render(template: str, shelf: ShelfReport | None, **values: Any) -> str:
    css = stylesheet("stock_page.css.j2")
    env = environment()
    env.filters.update(day=day, list_to_dict=dict)
    return env.get_template(template).render(
        css=css,
        policy=content_policy(css),
        cautions=CAUTIONS,
        caution_short=CAUTION_SHORT,
        version=fixplan.__version__,
        shelf_mark=shelf.sha256[:12] if shelf and shelf.sha256 else "not a file",
        shelf=shelf,
        state=verdict,
        **values,
    )


def pick_list(allocation: Allocation, case: str, shelf: ShelfReport | None = None) -> str:
    """The pick list of one case as an HTML document.

    Raises:
        ValueError: when no case carries that label.
    """
    for trolley in allocation.trolleys:
        if trolley.need.case == case:
            return _render(
                "stock_pick.html.j2",
                shelf,
                trolley=trolley,
                need=trolley.need,
                groups=_groups(trolley),
                on=allocation.on,
                proved=allocation.proved,
            )
    raise ValueError(f"case {case!r} is not on the list: {', '.join(t.need.case for t in allocation.trolleys)}")


def pick_lists(allocation: Allocation, shelf: ShelfReport | None = None) -> Mapping[str, str]:
    """Every case's pick list, by label."""
    return {t.need.case: pick_list(allocation, t.need.case, shelf) for t in allocation.trolleys}


def list_sheet(allocation: Allocation, orders: Sequence[OrderLine] = (), shelf: ShelfReport | None = None) -> str:
    """The sheet of the whole list as an HTML document."""
    short = [t.need.case for t in allocation.trolleys if dict(t.complete).get(ROLES[0]) is False]
    return _render(
        "stock_list.html.j2",
        shelf,
        allocation=allocation,
        orders=orders,
        days=days([t.need.date for t in allocation.trolleys]),
        answer=ANSWERS[allocation.status],
        short_cases=short,
        roles=ROLES,
        looks=[(t.need.case, p) for t in allocation.trolleys for p in t.picks if p.flags],
        shown=SHOWN,
    )
