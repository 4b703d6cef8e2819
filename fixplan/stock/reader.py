"""One line of a shelf as a ShelfRow, or the cell that stopped it and what can be read of the line all the same."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from typing import Any, TypeVar

from fixplan.stock import cells, gs1
from fixplan.stock.bore import bore, said, without
from fixplan.stock.cells import CellError
from fixplan.stock.model import KINDS, Column, ShelfRow
from fixplan.stock.table import FORMULA
from fixplan.stock.wording import KIND_WORDS

T = TypeVar("T")
KIND_OF: Mapping[str, str] = {
    **{k: k for k in KINDS},
    **{k.replace("_", " "): k for k in KINDS},
    **{w: k for k, w in KIND_WORDS.items()},
    **{w + "s": k for k, w in KIND_WORDS.items()},
    "im screws": "im_screw",
}


_NO_DATE: tuple[dt.date | None, str] = (None, "")


class Stopped(Exception):
    """A cell that stopped its row."""

    def __init__(self, column: str, value: str, reason: str) -> None:
        self.problem = (column, value, reason)


class LineReader:
    """Turns the cells of one line into a ShelfRow.

    A `lenient` reader leaves out what cannot be read: for a line that is set aside, to say what and where it may be.
    """

    def __init__(
        self,
        columns: tuple[Column, ...],
        on: dt.date,
        epoch: dt.datetime | None,
        one_per_row: bool,
        codes: Mapping[str, str],
        lenient: bool = False,
    ) -> None:
        self.at = {c.field: i for i, c in enumerate(columns) if c.field}
        self.columns, self.on, self.epoch = columns, on, epoch
        self.one_per_row, self.codes, self.lenient = one_per_row, codes, lenient

    def stop(self, column: str, value: str, reason: str) -> None:
        """Refuse the line, unless this reader makes do with the rest of it."""
        if not self.lenient:
            raise Stopped(column, value, reason)

    def get(self, field: str, row: tuple[str, ...], read: Callable[[str], T], empty: T) -> T:
        """One field of the line, `empty` when there is no such column or nothing in the cell."""
        i = self.at.get(field)
        if i is None or not (text := row[i]):
            return empty
        try:
            if text[0] in "=#":
                cells.refuse_odd(text)
            return read(text)
        except CellError as error:
            shown = "" if text == FORMULA else text
            if self.lenient:
                return empty
            raise Stopped(self.columns[i].header, shown, str(error)) from None

    def unit(self, field: str) -> str:
        return self.columns[self.at[field]].unit if field in self.at else ""

    def expiry(self, text: str) -> tuple[dt.date | None, str]:
        """A date; a bare day number is read when the workbook says where its days begin."""
        if self.epoch is not None and re.fullmatch(r"\d{5}", text):
            day = (self.epoch + dt.timedelta(days=int(text))).date()
            return cells.date(day.isoformat())[0], f"{text} read as the workbook's day number"
        return cells.date(text, self.unit("expiry"))

    def sizes(self, row: tuple[str, ...]) -> dict[str, float | None]:
        out = {
            f"{f}_mm": self.get(f, row, lambda t, f=f: cells.length_mm(t, self.unit(f)), None)  # type: ignore[misc]
            for f in ("diameter", "length", "thread")
        }
        pair: tuple[float, float] | None = self.get("size", row, lambda t: cells.size_mm(t, self.unit("size")), None)
        for name, value in zip(("diameter_mm", "length_mm"), pair or ()):
            if out[name] is not None and out[name] != value:
                self.stop("size", row[self.at["size"]], f"size and {name[:-3]} disagree; put one right")
            out[name] = value
        return out

    def agree(self, what: str, scanned: Any, written: Any, row: tuple[str, ...]) -> Any:
        """The one value of a field that both the barcode and a column may state."""
        if scanned and written and scanned != written:
            self.stop(what, str(written), f"the barcode says {scanned}; scan again or put the column right")
        return scanned or written

    def bore(self, row: tuple[str, ...]) -> str:
        """What the line says of the bore of a screw, in a column for it and in its words."""
        kind, name, kit, size = (self.get(f, row, str, "") for f in ("kind", "name", "kit", "size"))
        if self.get("kind", row, _kind, "im_screw") != "im_screw":
            return ""
        header = self.columns[self.at["bore"]].header if "bore" in self.at else ""
        return said(self.get("bore", row, lambda t: bore(t, header), ""), kind, name, kit, size)

    def row(self, line: int, row: tuple[str, ...]) -> ShelfRow:
        """The line as read.

        Raises:
            Stopped: for the first cell that cannot be used; never from a lenient reader.
        """
        scan: gs1.Scan = self.get("barcode", row, lambda t: gs1.parse(t, self.on), gs1.Scan())
        expiry, note = self.get("expiry", row, self.expiry, _NO_DATE)
        gtin = self.agree("gtin", scan.gtin, self.get("gtin", row, gs1.gtin14, ""), row)
        item = self.agree("item", self.codes.get(gtin, ""), self.get("item", row, str, ""), row)
        kind = self.get("kind", row, _kind, "")
        name = self.get("name", row, str, "")
        size = self.sizes(row)
        sized = kind and size["diameter_mm"] and size["length_mm"]
        if not (item or gtin or sized or (kind == "instrument" and name)):
            self.stop("", "", "nothing says what it is; give an item code, a GTIN, or a kind with diameter and length")
        quantity: int | None = self.get("quantity", row, cells.count, None)
        if quantity is None and not self.one_per_row:
            self.stop("quantity", "", "no quantity; write the number of pieces, 0 if there are none")
        sterile: bool | None = self.get("sterile", row, cells.yes_no, None)
        holes: int | None = self.get("holes", row, cells.count, None)
        return ShelfRow(
            line=line,
            quantity=1 if quantity is None else quantity,
            item=item,
            name=name,
            kind=kind,
            kit=self.get("kit", row, str, ""),
            gtin=gtin,
            **size,
            holes=holes,
            material=self.get("material", row, str, ""),
            bore=self.bore(row),
            lot=self.agree("lot", scan.lot, self.get("lot", row, str, ""), row),
            serial=self.agree("serial", scan.serial, self.get("serial", row, str, ""), row),
            expiry=self.agree("expiry", scan.expiry, expiry, row),
            sterile=sterile,
            location=self.get("location", row, str, ""),
            tray=self.get("tray", row, str, ""),
            notes=(note,) if note else (),
        )


def _kind(text: str) -> str:
    word = without(text)
    if word not in KIND_OF:
        raise CellError(f"not one of the kinds {', '.join(KIND_WORDS.values())}")
    return KIND_OF[word]
