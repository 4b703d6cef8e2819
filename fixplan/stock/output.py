"""The allotted list as one plain document (JSON), with the shelf as it was read, the rules and the cautions."""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import fixplan
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.stock.allocate import Allocation, Trolley
from fixplan.stock.coverage import Share, SizeSet
from fixplan.stock.depth import Depth
from fixplan.stock.model import Item, ShelfReport, ShelfRow
from fixplan.stock.order import OrderLine

FORMAT = "fixplan-stock-1"
COVERAGE_FORMAT = "fixplan-coverage-1"
SCHEMAS = {
    FORMAT: Path(__file__).with_name("stock.schema.json"),
    COVERAGE_FORMAT: Path(__file__).with_name("coverage.schema.json"),
}
"""The JSON Schema of each document, by its format."""


def _bare(value: Any) -> Any:
    """Dataclasses, dates and tuples as JSON knows them; what is not stated (None, empty) is left out."""
    if isinstance(value, dt.date):
        return value.isoformat()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {f.name: _bare(getattr(value, f.name)) for f in dataclasses.fields(value)}
        return {k: v for k, v in fields.items() if v not in (None, "", [], {})}
    if isinstance(value, Mapping):
        return {str(k): _bare(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_bare(v) for v in value]
    return value


def _item(item: Item) -> dict[str, Any]:
    out: dict[str, Any] = _bare(item)
    out.pop("quantity", None)
    return out | {"text": item.text()}


def _row(row: ShelfRow) -> dict[str, Any]:
    out: dict[str, Any] = _bare(row)
    out.pop("quantity", None)
    return out


def _trolley(trolley: Trolley) -> dict[str, Any]:
    return {
        "case": trolley.need.case,
        "date": trolley.need.date.isoformat(),
        "order": trolley.need.order,
        "covered": trolley.covered,
        "notes": list(trolley.need.notes),
        "plan": trolley.need.plan,
        "complete": dict(trolley.complete),
        "picks": [
            {
                "item": _item(p.item),
                "shelf": _row(p.row),
                "pieces": p.quantity,
                "for": list(p.roles),
                "look_at": list(p.flags),
            }
            for p in trolley.picks
        ],
        "short": [
            {
                "item": _item(s.item),
                "wanted": s.wanted,
                "found": s.found,
                "missing": dict(s.missing),
                "reasons": list(s.reasons),
            }
            for s in trolley.shortages
        ],
    }


def document(
    allocation: Allocation, orders: Sequence[OrderLine] = (), shelf: ShelfReport | None = None
) -> dict[str, Any]:
    """The whole result as plain data, ready for json.dumps."""
    return {
        "format": FORMAT,
        "fixplan": fixplan.__version__,
        "on": allocation.on.isoformat(),
        "status": allocation.status,
        "proved": allocation.proved,
        "expiring_within_days": allocation.expiring_within_days,
        "levels": _bare(allocation.levels),
        "in_list_order": _bare(allocation.in_list_order),
        "cases": [_trolley(t) for t in allocation.trolleys],
        "orders": [
            _bare(o) | {"item": _item(o.item), "late": o.late, "remark": o.remark, "order_by": _bare(o.order_by)}
            for o in orders
        ],
        "shelf": None
        if shelf is None
        else {
            "path": shelf.path,
            "form": shelf.form,
            "sha256": shelf.sha256,
            "columns": _bare(shelf.columns),
            "lines_read": len(shelf.rows),
            "set_aside": [_bare(p) | {"text": p.text()} for p in shelf.set_aside],
            "blank": shelf.blank,
            "notes": list(shelf.notes),
        },
        "rules": _bare(allocation.rules),
        "cautions": list(CAUTIONS),
    }


def summary(allocation: Allocation, orders: Sequence[OrderLine] = ()) -> str:
    """The answer for a terminal: one line for the list, one for each case, what is short, and the caution."""
    lines = [f"{allocation.status}: {allocation.levels.text()}"]
    if allocation.in_list_order != allocation.levels:
        lines.append(f"  taken in list order: {allocation.in_list_order.text()}")
    if not allocation.proved:
        lines.append("  the allotment was stopped before it was proved best")
    for t in allocation.trolleys:
        states = ", ".join(f"{role} {'all here' if done else 'SHORT'}" for role, done in t.complete)
        lines.append(f"{t.need.date.isoformat()}  {t.need.order}  {t.need.case}: {states or 'NOTHING PLANNED'}")
        lines += [f"    note: {n}" for n in t.need.notes]
        for s in t.shortages:
            lines.append(f"    short: {s.item.text()}, {s.found} of {s.wanted} ({'; '.join(s.reasons)})")
    for o in orders:
        by = f" by {o.order_by.isoformat()}" if o.order_by else ""
        lines.append(f"order{by}: {o.quantity} × {o.item.text()}" + (f" - {o.remark}" if o.remark else ""))
    return "\n".join([*lines, CAUTION_SHORT])


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
        "format": COVERAGE_FORMAT,
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
                {"size": name, "mean": m, "keep": s, "service": f, "short": short}
                for name, m, s, f, short in zip(
                    sizes, depth.mean.tolist(), depth.stock.tolist(), depth.service.tolist(), depth.short.tolist()
                )
            ],
        },
        "cautions": list(CAUTIONS),
    }
