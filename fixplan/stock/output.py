"""The allotted list as one plain document (JSON), with the shelf as it was read, the rules and the cautions."""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

import fixplan
from fixplan.cautions import CAUTIONS
from fixplan.stock.allocate import Allocation, Trolley
from fixplan.stock.model import Item, ShelfReport, ShelfRow
from fixplan.stock.order import OrderLine

FORMAT = "fixplan-stock-1"


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
