"""What to order and by when; written as CSV and .xlsx whose cells cannot become formulas."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from fixplan import atomic
from fixplan.cautions import CAUTIONS
from fixplan.stock.allocate import Allocation
from fixplan.stock.model import ROLES, Item

HEADER = (
    "item",
    "description",
    "GTIN",
    "pieces",
    "for first choices",
    "needed on",
    "order by",
    "cases",
    "why",
    "remark",
    "ordered",
)
ZIP_DAY = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True)
class OrderLine:
    """One item to order: pieces in all, of these for first choices, and the days.

    `order_by` is None while no resupply time is given; `late` says that this day is past.
    """

    item: Item
    quantity: int
    for_first_choices: int
    needed_on: dt.date
    order_by: dt.date | None
    late: bool
    cases: tuple[str, ...]
    reasons: tuple[str, ...]

    @property
    def remark(self) -> str:
        """What the day says, in words."""
        if self.order_by is None:
            return "resupply time not given"
        return "too late at this resupply time: borrow, or tell the surgeon" if self.late else ""

    def cells(self) -> tuple[str | int, ...]:
        """The line in the order of HEADER; numbers stay numbers."""
        return (
            self.item.item,
            self.item.text(),
            " ".join(self.item.gtins),
            self.quantity,
            self.for_first_choices,
            self.needed_on.isoformat(),
            self.order_by.isoformat() if self.order_by else "",
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
        resupply_days: calendar days from order to shelf, as the store says; None when not known.

    Raises:
        ValueError: for a negative resupply time.
    """
    if resupply_days is not None and resupply_days < 0:
        raise ValueError(f"resupply_days is {resupply_days}; give 0 or more calendar days, or none")
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
        by = None if resupply_days is None else first_day - dt.timedelta(days=resupply_days)
        out.append(
            OrderLine(
                item=item,
                quantity=together(d[0] for d in days.values()),
                for_first_choices=together(d[1] for d in days.values()),
                needed_on=first_day,
                order_by=by,
                late=by is not None and by < allocation.on,
                cases=tuple(cases[item]),
                reasons=tuple(dict.fromkeys(reasons[item])),
            )
        )
    return tuple(sorted(out, key=lambda o: (o.needed_on, -o.for_first_choices, o.item.text(), o.item.item)))


def safe_cell(text: str) -> str:
    """Text that no spreadsheet takes for a formula: an apostrophe before = + - @, tab, or line break at its start."""
    return "'" + text if re.match(r"\s*[=+\-@\t\r\n|＝＋－＠]", text) else text


def _plain(value: str | int) -> str | int:
    if isinstance(value, int):
        return value
    # a workbook knows one line break only, and no other control characters
    text = value.replace("\r\n", "\n").replace("\r", "\n")
    return re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", "�", text)


def sheet_rows(allocation: Allocation, lines: Sequence[OrderLine]) -> list[tuple[str | int, ...]]:
    """The order sheet as rows: header, lines, and below them the cautions."""
    rows: list[tuple[str | int, ...]] = [HEADER, *(line.cells() for line in lines)]
    if not lines:
        rows.append(("nothing to order",))
    rows += [(), (f"Order sheet of {allocation.on.isoformat()}: {allocation.levels.text()}",)]
    rows += [("Caution", text) for text in CAUTIONS]
    return [tuple(_plain(c) for c in row) for row in rows]


def order_csv(allocation: Allocation, lines: Sequence[OrderLine]) -> str:
    """The order sheet as CSV (RFC 4180), with a byte-order mark so that spreadsheets read it as UTF-8."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    for row in sheet_rows(allocation, lines):
        writer.writerow([safe_cell(c) if isinstance(c, str) else c for c in row])
    return "\ufeff" + out.getvalue()


def write_order_csv(path: str | Path, allocation: Allocation, lines: Sequence[OrderLine]) -> None:
    """Write the order sheet as CSV, whole or not at all."""
    atomic.write(Path(path), order_csv(allocation, lines))


def order_xlsx(allocation: Allocation, lines: Sequence[OrderLine]) -> bytes:
    """The order sheet as .xlsx: text cells are stored as text, whatever they start with. The same bytes each time.

    Raises:
        ImportError: when the extra `shelf` (openpyxl) is not installed.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Font

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Order"
    for r, row in enumerate(sheet_rows(allocation, lines), start=1):
        for c, value in enumerate(row, start=1):
            cell = sheet.cell(r, c)
            if isinstance(value, int):
                cell.value = value
            elif value:
                cell.value = value
                cell.data_type = "s"  # openpyxl would store "=…" as a formula
                cell.quotePrefix = value[0] in "=+-@"
            cell.alignment = Alignment(wrap_text=True, vertical="top")
            if r == 1:
                cell.font = Font(bold=True)
    for letter, width in zip("ABCDEFGHIJK", (18, 34, 17, 8, 10, 12, 12, 18, 44, 26, 10)):
        sheet.column_dimensions[letter].width = width
    sheet.freeze_panes = "A2"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True  # type: ignore[union-attr]
    sheet.oddFooter.center.text = "Check every size against the kit in the room. The surgeon decides. Page &P of &N"  # type: ignore[union-attr]
    raw = io.BytesIO()
    book.save(raw)
    return _same_bytes(raw.getvalue(), allocation.on)


def _same_bytes(data: bytes, on: dt.date) -> bytes:
    """The workbook without the moment of its making."""
    out = io.BytesIO()
    stamp = f"{on.isoformat()}T00:00:00Z"
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as new:
        for entry in old.infolist():
            content = old.read(entry)
            if entry.filename == "docProps/core.xml":
                content = re.sub(rb">[0-9T:.-]+Z<", b">" + stamp.encode() + b"<", content)
            info = zipfile.ZipInfo(entry.filename, ZIP_DAY)
            info.compress_type, info.external_attr = zipfile.ZIP_STORED, 0o600 << 16
            new.writestr(info, content)
    return out.getvalue()


def write_order_xlsx(path: str | Path, allocation: Allocation, lines: Sequence[OrderLine]) -> None:
    """Write the order sheet as .xlsx, whole or not at all."""
    atomic.write(Path(path), order_xlsx(allocation, lines))
