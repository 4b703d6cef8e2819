"""Shelf planning as a page: whom the shelf serves, the smallest set, the trade-off, how many of each."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence

from fixplan.report.stock_chart import trade_off_chart
from fixplan.report.stock_html import render
from fixplan.stock.coverage import Share, SizeSet
from fixplan.stock.depth import Depth
from fixplan.stock.model import ShelfReport
from fixplan.stock.recalled import RecallReport

RAISED = str.maketrans("0123456789-m", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻ᵐ")


def _raised(formula: str) -> str:
    """A formula with raised exponents in the place of ^."""
    return re.sub(r"\^(\d+|-m)", lambda found: found[1].translate(RAISED), formula)


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


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
    recall: RecallReport | None = None,
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
        recall: the recall list as read.
    """
    return render(
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
        depth_rows=depth.rows() if depth else [],
        basis=basis,
        note=note,
        unit=unit,
        held=held,
        lacking=[sizes[i] for i in smallest.sizes if sizes[i] not in held] if smallest else [],
        worked=_raised(worked),
        recall=recall,
        percent=_percent,
        chart=trade_off_chart(curve, today.attainable / today.draws, len(smallest.sizes) if smallest else None),
    )
