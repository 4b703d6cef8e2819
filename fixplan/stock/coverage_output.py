"""Shelf planning as one plain document (JSON), with the shelf and the recall list as they were read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import fixplan
from fixplan.cautions import CAUTIONS
from fixplan.stock.coverage import Share, SizeSet
from fixplan.stock.depth import Depth
from fixplan.stock.model import ShelfReport
from fixplan.stock.output import recall_read, shelf_read
from fixplan.stock.recalled import RecallReport

FORMAT = "fixplan-coverage-1"
SCHEMA = Path(__file__).with_name("coverage.schema.json")


def coverage_document(
    sizes: Sequence[str],
    population: str,
    today: Share,
    curve: Sequence[SizeSet],
    *,
    on: dt.date,
    smallest: SizeSet | None = None,
    depth: Depth | None = None,
    basis: str = "",
    note: str = "",
    codes: Sequence[str] = (),
    held: Sequence[bool] = (),
    shelf: ShelfReport | None = None,
    recall: RecallReport | None = None,
) -> dict[str, Any]:
    """Shelf planning as plain data; the arguments are those of `coverage_page`, and the item code of each size."""

    def named(s: SizeSet) -> dict[str, Any]:
        return {
            "sizes": [sizes[i] for i in s.sizes],
            "proved": s.proved,
            "share": s.share.share,
            "draws": s.share.draws,
        }

    return {
        "format": FORMAT,
        "fixplan": fixplan.__version__,
        "on": on.isoformat(),
        "population": population,
        "today": {"share": today.share, "standard_error": today.standard_error, "draws": today.draws},
        "attainable": today.attainable / today.draws,
        "note": note,
        "sizes": [{"size": name, "item": code, "on_shelf": there} for name, code, there in zip(sizes, codes, held)],
        "smallest": None if smallest is None else named(smallest),
        "trade_off": [named(s) for s in curve],
        "depth": None
        if depth is None
        else {
            "service_level": depth.wanted,
            "basis": basis,
            "formula": "smallest s with sum of exp(-m) m^k / k! over k = 0 to s >= service level; m = rate * time",
            "source": "STEV14",
            "sizes": [
                {"size": sizes[r.at], "mean": r.mean, "keep": r.keep, "formula": r.formula}
                | {"service": r.service, "short": r.short}
                for r in depth.rows()
            ],
        },
        "shelf": shelf_read(shelf),
        "recall": recall_read(recall),
        "cautions": list(CAUTIONS),
    }
