"""The allotted list as one plain document (JSON) and in words: with shelf and recalls as read, rules and cautions."""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import fixplan
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.stock.allocate import HERE, Allocation, Trolley
from fixplan.stock.model import Item, ShelfReport, ShelfRow
from fixplan.stock.order import HOLIDAYS, OrderLine, unknown_lengths
from fixplan.stock.recalled import RecallReport
from fixplan.stock.wording import counted
from fixplan.stock.workdays import spoken

FORMAT = "fixplan-stock-1"
SCHEMA = Path(__file__).with_name("stock.schema.json")


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
        "site": trolley.need.site,
        "complete": dict(trolley.complete),
        "states": dict(trolley.states),
        "unmeasured": [_bare(u) | {"holes": list(u.holes), "text": u.text()} for u in trolley.need.unmeasured],
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
        "leave": [{"item": _item(x.item), "shelf": _row(x.row), "why": x.why} for x in trolley.leave],
    }


def shelf_read(shelf: ShelfReport | None) -> dict[str, Any] | None:
    """The shelf as it was read; None when it was no file."""
    if shelf is None:
        return None
    aside = [
        {"line": p.line, "column": p.column, "value": p.value, "reason": p.reason, "text": p.text()}
        | ({"seen": _row(p.row)} if p.row else {})
        for p in shelf.set_aside
    ]
    return {
        "path": shelf.path,
        "form": shelf.form,
        "sha256": shelf.sha256,
        "columns": _bare(shelf.columns),
        "lines_read": len(shelf.rows),
        "set_aside": aside,
        "blank": shelf.blank,
        "notes": list(shelf.notes),
    }


def recall_read(recall: RecallReport | None) -> dict[str, Any] | None:
    """The recall list as it was read: what to take off the shelf, and what matched nothing; None without a list."""
    if recall is None:
        return None
    return {
        "path": recall.path,
        "sha256": recall.sha256,
        "entries": _bare(recall.entries),
        "off_shelf": [
            {"shelf": _row(o.row), "why": o.why, "unread": o.unread, "text": o.text()}
            | ({} if o.unread else {"pieces": o.row.quantity})
            for o in recall.off_shelf
        ],
        "matched_nothing": [
            _bare(u.recall) | {"same_lot_on": list(u.lines), "text": u.text()} for u in recall.unmatched
        ],
    }


def document(
    allocation: Allocation,
    orders: Sequence[OrderLine] = (),
    shelf: ShelfReport | None = None,
    recall: RecallReport | None = None,
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
            _bare(o)
            | {"item": _item(o.item), "late": o.late, "remark": o.remark}
            | {k: _bare(getattr(o, k)) for k in ("order_by", "arrives", "lead")}
            for o in orders
        ],
        "not_in_orders": [u.text() for u in unknown_lengths(allocation)],
        "shelf": shelf_read(shelf),
        "recall": recall_read(recall),
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
        states = ", ".join(f"{role} {_loud(state)}" for role, state in t.states)
        lines.append(f"{spoken(t.need.date)}  {t.need.order}  {t.need.case}: {states or 'NOTHING PLANNED'}")
        lines += [f"    note: {n}" for n in t.need.notes]
        lines += [f"    screw lengths unknown, {u.role}: {u.text()}" for u in t.need.unmeasured]
        for s in t.shortages:
            lines.append(f"    short: {_coded(s.item)}, {s.found} of {s.wanted} ({'; '.join(s.reasons)})")
        if looks := sum(bool(p.flags) for p in t.picks):
            lines.append(f"    look at {counted(looks, 'pack')}, marked on the pick list")
        lines += [f"    leave: {_coded(x.item)}, {_pack(x.row)}: {x.why}" for x in t.leave]
    for o in orders:
        by = f" by {spoken(o.order_by)}" if o.order_by else ""
        lines.append(f"order{by}: {o.quantity} × {_coded(o.item)}" + (f" - {o.remark}" if o.remark else ""))
    for case in dict.fromkeys(u.case for u in unknown_lengths(allocation)):
        roles = [u.plate.role for u in unknown_lengths(allocation) if u.case == case]
        lines.append(f"not in the order: screws of unknown length for {case} ({', '.join(roles)})")
    if any(o.order_by for o in orders):
        lines.append(HOLIDAYS)
    return "\n".join([*lines, CAUTION_SHORT])


def _pack(row: ShelfRow) -> str:
    return row.place + (f", lot {row.lot}" if row.lot else "")


def _coded(item: Item) -> str:
    return item.text() + (f" [{item.item}]" if item.item else "")


def _loud(state: str) -> str:
    return state if state == HERE else state.upper()
