"""The order sheet as CSV and .xlsx whose cells cannot become formulas, and whose rows do not overprint on paper."""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
import textwrap
import zipfile
from collections.abc import Sequence
from pathlib import Path

from fixplan import atomic
from fixplan.cautions import CAUTIONS
from fixplan.stock.allocate import Allocation
from fixplan.stock.order import HOLIDAYS, OrderLine, unknown_lengths
from fixplan.stock.workdays import spoken

DAYS = "So that it arrives before the day of surgery, at the resupply time given, in working days."
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
WIDTHS = (17, 32, 17, 8, 10, 13, 13, 14, 42, 28, 10)
"""Widths of the columns, in digits of the workbook's own letter (11 points)."""
POINTS_A_LINE = 15.0
ZIP_DAY = (1980, 1, 1, 0, 0, 0)


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
    unknown = [("Not in this order", u.text()) for u in unknown_lengths(allocation)]
    if not lines:
        rows.append(("nothing to order" if not unknown else "nothing else to order",))
    rows += [*unknown, (), (f"Order sheet of {spoken(allocation.on)}: {allocation.levels.text()}",)]
    rows += [("Order by", f"{DAYS} {HOLIDAYS}"), *(("Caution", text) for text in CAUTIONS)]
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


def lines_of(row: Sequence[str | int]) -> int:
    """How many lines the fullest cell of a row takes when its words are wrapped; the last of a short row runs on."""
    spans = [*WIDTHS[: len(row) - 1], sum(WIDTHS[len(row) - 1 :]) if len(row) < len(HEADER) else WIDTHS[-1]]
    return max((_wrapped(str(cell), width) for cell, width in zip(row, spans)), default=1)


def _wrapped(text: str, width: float) -> int:
    # bold and capitals are wider than the digits that a width counts: a tenth is left free
    room = max(1, int(0.9 * width))
    return sum(max(1, len(textwrap.wrap(part, room, break_on_hyphens=False))) for part in text.split("\n")) or 1


def order_xlsx(allocation: Allocation, lines: Sequence[OrderLine]) -> bytes:
    """The order sheet as .xlsx: text cells are stored as text, whatever they start with. The same bytes each time.

    Raises:
        ImportError: when the extra `shelf` (openpyxl) is not installed.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Alignment, Border, Font, Side
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.page import PageMargins

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
            across = "center" if isinstance(value, int) else None
            cell.alignment = Alignment(wrap_text=True, vertical="top", horizontal=across)
            if len(row) == len(HEADER):
                cell.border = Border(bottom=Side("medium" if r == 1 else "thin"))
            if r == 1:
                # a font without a name is printed in another face than the rest
                cell.font = Font(name=cell.font.name, sz=cell.font.sz, bold=True)
        if 0 < len(row) < len(HEADER):
            # a remark runs over all the columns that are left
            sheet.merge_cells(start_row=r, start_column=len(row), end_row=r, end_column=len(HEADER))
        sheet.row_dimensions[r].height = POINTS_A_LINE * lines_of(row)
    for c, width in enumerate(WIDTHS, start=1):
        sheet.column_dimensions[get_column_letter(c)].width = width
    sheet.freeze_panes = "A2"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", sheet.PAPERSIZE_A4
    sheet.page_margins = PageMargins(left=0.4, right=0.4, top=0.5, bottom=0.7)
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
