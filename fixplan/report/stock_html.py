"""The theatre's pages: a pick list for each case, one sheet for the list. One self-contained file each, no script."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

import fixplan
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.report.stock_chart import trade_off_chart
from fixplan.report.style import content_policy, environment, stylesheet
from fixplan.report.svg import mark
from fixplan.stock.allocate import Allocation, Pick, Trolley
from fixplan.stock.coverage import Share, SizeSet
from fixplan.stock.depth import Depth
from fixplan.stock.fetch import fetch_list
from fixplan.stock.model import ROLES, ShelfReport
from fixplan.stock.order import OrderLine

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
ANSWERS = {
    "covered": "Yes: every piece of every case is here and in date.",
    "back-ups short": "Yes for the first choices; some back-ups are short.",
    "screw lengths unknown": "Not certain: screws for holes of unknown length; take the range.",
    "short": "No: not every first choice is here.",
}
LONGEST = 28
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


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


RAISED = str.maketrans("0123456789-m", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻ᵐ")


def _raised(formula: str) -> str:
    """A formula with raised exponents in the place of ^."""
    return re.sub(r"\^(\d+|-m)", lambda found: found[1].translate(RAISED), formula)


def _label_class(label: str) -> Markup:
    # a short label is kept on one line; a long one has to break
    return Markup(' class="label"') if len(label) <= 16 else Markup("")


def _render(template: str, shelf: ShelfReport | None, **values: Any) -> str:
    css = stylesheet("stock_page.css.j2")
    env = environment()
    env.filters.update(day=day, list_to_dict=dict, label_class=_label_class, percent1=_percent)
    given = dict(
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
    page = env.get_template(template).render(given, long_words=False)
    main = re.sub(r"<[^>]*>", " ", page.partition("<main>")[2])
    # a cell breaks inside words only where a word is too long for any column
    return page if max(map(len, main.split())) <= LONGEST else env.get_template(template).render(given, long_words=True)


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
    short = [t.need.case for t in allocation.trolleys if not dict(t.complete).get(ROLES[0])]
    return _render(
        "stock_list.html.j2",
        shelf,
        allocation=allocation,
        orders=orders,
        days=days([t.need.date for t in allocation.trolleys]),
        answer=ANSWERS[allocation.status],
        short_cases=short,
        roles=[r for r in ROLES if r != ROLES[3] or any(t.need.role(r) for t in allocation.trolleys)],
        noted=[(t.need.case, n) for t in allocation.trolleys for n in t.need.notes],
        fetch=fetch_list(allocation),
        looks=[(t.need.case, p) for t in allocation.trolleys for p in t.picks if p.flags],
        shown=SHOWN,
    )


def coverage_page(
    title: str,
    sizes: Sequence[str],
    population: str,
    today: Share,
    curve: Sequence[SizeSet],
    *,
    on: dt.date,
    wanted: float | None = None,
    smallest: SizeSet | None = None,
    depth: Depth | None = None,
    basis: str = "",
    note: str = "",
    unit: str = "draws",
    held: Sequence[str] = (),
    worked: str = "",
    shelf: ShelfReport | None = None,
) -> str:
    """Shelf planning as an HTML document.

    Args:
        title: the kit or kits.
        sizes: the name of each size, in the order of the table of draws.
        population: where the draws come from, in words, with their source.
        today: what the shelf serves now.
        curve: the trade-off.
        on: the day of the document.
        wanted: the wanted share that `smallest` is for.
        smallest: the smallest set for it.
        depth: pieces to keep, in the order of `sizes`.
        basis: the case rate, the resupply time and how demand was shared, in words.
        note: what to know of the wanted share.
        unit: what is counted: draws, or past cases.
        held: the names of the sizes on the shelf today.
        worked: the formula with the numbers of one size.
        shelf: the shelf as read.
    """
    rows = []
    if depth is not None:
        columns = zip(sizes, depth.mean.tolist(), depth.stock.tolist(), depth.service.tolist(), depth.short.tolist())
        rows = [dict(zip(("size", "mean", "keep", "service", "short"), c)) for c in columns if c[1] > 0]
    return _render(
        "stock_coverage.html.j2",
        shelf,
        title=title,
        sizes=sizes,
        population=population,
        today=today,
        curve=curve,
        on=on,
        wanted=wanted,
        smallest=smallest,
        depth=depth,
        depth_rows=rows,
        basis=basis,
        note=note,
        unit=unit,
        held=held,
        worked=_raised(worked),
        chart=trade_off_chart(curve, today.attainable / today.draws, len(smallest.sizes) if smallest else None),
    )
