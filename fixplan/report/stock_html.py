"""The theatre's pages: a pick list for each case, one sheet for the list. One self-contained file each, no script."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape

import fixplan
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.report.formats import visible
from fixplan.report.style import content_policy, environment, stylesheet
from fixplan.report.svg import mark
from fixplan.stock.allocate import HERE, SHORT, UNKNOWN, Allocation, Leave, Pick, Trolley
from fixplan.stock.fetch import fetch_list
from fixplan.stock.match import UNDATED
from fixplan.stock.model import ROLES, ShelfReport
from fixplan.stock.order import HOLIDAYS, OrderLine, unknown_lengths
from fixplan.stock.recalled import RecallReport
from fixplan.stock.workdays import WEEKDAYS

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
ANSWERS = {
    "covered": "Yes: every piece of every case is here and in date.",
    UNDATED: "Yes: every piece of every case is here, but the shelf does not say of all that they are in date.",
    "back-ups short": "Yes for the first choices; some back-ups are short.",
    UNKNOWN: "Screw lengths unknown: some are measured in theatre, so no list can name them; take the whole range.",
    SHORT: "No: not every first choice is here.",
}
LONGEST = 28
UNBROKEN = re.compile(r"((?:[\d.]+ × )?[\d.]+ mm|(?<!\S)(?=\S{3,17}(?!\S))\S+-\S+)")
SHOWN = 60
"""Lines set aside that are printed; all of them stand in the JSON."""


def day(date: dt.date) -> str:
    """A date that no reader can turn round: 3 December 2026."""
    return f"{date.day} {MONTHS[date.month - 1]} {date.year}"


def weekday(date: dt.date) -> str:
    """The same with its weekday: Thursday 3 December 2026."""
    return f"{WEEKDAYS[date.weekday()]} {day(date)}"


def days(dates: Sequence[dt.date]) -> str:
    """The span of a list in words."""
    if not dates:
        return "without cases"
    first, last = min(dates), max(dates)
    return weekday(first) if first == last else f"{weekday(first)} to {weekday(last)}"


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


def _state(words: str) -> Markup:
    """The state of a role, each part with its shape."""
    shapes = {HERE: "pass", UNKNOWN: "caution"}
    return Markup(" ").join(verdict(shapes.get(word, "fail"), word) for word in words.split(", "))


def _dated(text: str) -> str:
    """The dates in a sentence as they stand elsewhere on the page."""
    return re.sub(r"\b\d{4}-\d\d-\d\d\b", lambda found: day(dt.date.fromisoformat(found[0])), text)


def _whole(text: str) -> Markup:
    """Text whose sizes and short hyphenated words, such as the name of an alloy, are not broken over lines."""
    parts = UNBROKEN.split(visible(text))
    return Markup("").join(
        Markup('<span class="keep">{}</span>').format(p) if i % 2 else escape(p) for i, p in enumerate(parts)
    )


def _label_class(label: str) -> Markup:
    # a short label is kept on one line; a long one has to break
    return Markup(' class="label"') if len(label) <= 16 else Markup("")


def render(template: str, shelf: ShelfReport | None, **values: Any) -> str:
    css = stylesheet("stock_page.css.j2")
    env = environment()
    env.filters.update(day=day, list_to_dict=dict, label_class=_label_class, weekday=weekday, role_state=_state)
    env.filters.update(dated=_dated, whole=_whole)
    given = dict(
        css=css,
        policy=content_policy(css),
        cautions=CAUTIONS,
        caution_short=CAUTION_SHORT,
        version=fixplan.__version__,
        shelf_mark=shelf.sha256[:12] if shelf and shelf.sha256 else "not a file",
        shelf=shelf,
        state=verdict,
        shown=SHOWN,
        **values,
    )
    page = env.get_template(template).render(given, long_words=False)
    main = re.sub(r"<[^>]*>", " ", page.partition("<main>")[2])
    # a cell breaks inside words only where a word is too long for any column
    return page if max(map(len, main.split())) <= LONGEST else env.get_template(template).render(given, long_words=True)


def _unknown(trolley: Trolley) -> tuple[str, ...]:
    return tuple(f"{u.role.capitalize()}, screw lengths unknown: {u.text()}." for u in trolley.need.unmeasured)


def pick_list(
    allocation: Allocation, case: str, shelf: ShelfReport | None = None, recall: RecallReport | None = None
) -> str:
    """The pick list of one case as an HTML document.

    Raises:
        ValueError: when no case carries that label.
    """
    for trolley in allocation.trolleys:
        if trolley.need.case == case:
            return render(
                "stock_pick.html.j2",
                shelf,
                trolley=trolley,
                need=trolley.need,
                notes=(*_unknown(trolley), *trolley.need.notes),
                groups=_groups(trolley),
                on=allocation.on,
                proved=allocation.proved,
                recall=recall,
            )
    raise ValueError(f"case {case!r} is not on the list: {', '.join(t.need.case for t in allocation.trolleys)}")


def pick_lists(
    allocation: Allocation, shelf: ShelfReport | None = None, recall: RecallReport | None = None
) -> Mapping[str, str]:
    """Every case's pick list, by label."""
    return {t.need.case: pick_list(allocation, t.need.case, shelf, recall) for t in allocation.trolleys}


def list_sheet(
    allocation: Allocation,
    orders: Sequence[OrderLine] = (),
    shelf: ShelfReport | None = None,
    recall: RecallReport | None = None,
) -> str:
    """The sheet of the whole list as an HTML document."""
    firsts = [(t.need.case, dict(t.states).get(ROLES[0], SHORT)) for t in allocation.trolleys]
    unknown = unknown_lengths(allocation)
    undated = any(UNDATED in p.flags for t in allocation.trolleys for p in t.picks)
    return render(
        "stock_list.html.j2",
        shelf,
        allocation=allocation,
        orders=orders,
        days=days([t.need.date for t in allocation.trolleys]),
        answer=ANSWERS[UNDATED if undated and allocation.status == "covered" else allocation.status],
        short_cases=[case for case, state in firsts if SHORT in state],
        unknown_cases=list(dict.fromkeys(u.case for u in unknown)),
        unknown=unknown,
        holidays=HOLIDAYS,
        recall=recall,
        roles=[r for r in ROLES if r != ROLES[3] or any(t.need.role(r) for t in allocation.trolleys)],
        noted=[(t.need.case, n) for t in allocation.trolleys for n in (*_unknown(t), *t.need.notes)],
        fetch=fetch_list(allocation),
        looks=[(t.need.case, p) for t in allocation.trolleys for p in t.picks if p.flags],
        leaves=_leaves(allocation),
    )


def _leaves(allocation: Allocation) -> list[tuple[list[str], Leave]]:
    """Each pack to leave once for each reason, with the cases whose item it looks like."""
    found: dict[Leave, list[str]] = {}
    for trolley in allocation.trolleys:
        for leave in trolley.leave:
            found.setdefault(leave, []).append(trolley.need.case)
    return [(cases, leave) for leave, cases in found.items()]
