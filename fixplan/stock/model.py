"""What the theatre room speaks of: wanted items, cases, shelf rows, and what could not be read.

Lengths are in mm, dates are calendar dates, quantities are whole pieces.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace

from fixplan.stock.wording import counted, listed, shown, size_of, text_of, words_of

KINDS = ("im_screw", "cortical_screw", "locking_screw", "plate", "instrument")
ROLES = ("first choice", "one up", "one down", "in the room")
"""What pieces of a case are for; `in the room`: further sizes that the plan would have at hand."""


@dataclass(frozen=True)
class Item:
    """One wanted thing and how many of it.

    `item` is the code of the kit file, `gtins` the GTIN-14 numbers known for it, `name` identifies an instrument.
    Every stated attribute has to agree with the shelf; None means that the plan does not care.
    `bore` is "solid" or "cannulated" for an intramedullary screw, empty where the plan does not care.
    A `single_use` instrument is used up; any other instrument comes back after reprocessing.
    """

    kind: str
    item: str = ""
    name: str = ""
    kit: str = ""
    gtins: tuple[str, ...] = ()
    diameter_mm: float | None = None
    length_mm: float | None = None
    thread_mm: float | None = None
    holes: int | None = None
    material: str = ""
    bore: str = ""
    sterile: bool | None = None
    single_use: bool = False
    quantity: int = 1

    def __post_init__(self) -> None:
        """Refuse an item that nothing on a shelf could be matched with."""
        if self.kind not in KINDS:
            raise ValueError(f"kind {self.kind!r} is not one of {', '.join(KINDS)}")
        if self.quantity < 1:
            raise ValueError(f"quantity {self.quantity} of {self.item or self.name or self.kind}: give 1 or more")
        if not (self.item or self.gtins or self.name or (self.diameter_mm and self.length_mm)):
            raise ValueError(f"a wanted {self.kind} needs an item code, a GTIN, a name, or a diameter and a length")

    @property
    def spec(self) -> Item:
        """The same item without its quantity: what two wishes have in common."""
        return replace(self, quantity=1)

    @property
    def reusable(self) -> bool:
        """True for an instrument that comes back after the case."""
        return self.kind == "instrument" and not self.single_use

    def size(self) -> str:
        """The size alone, as it is read across the room; empty for an instrument."""
        return size_of(self)

    def words(self) -> str:
        """All but what `size` says, in the words of the trade."""
        return words_of(self)

    def text(self) -> str:
        """The item in one line: what it is, its size, and the rest."""
        return text_of(self)


@dataclass(frozen=True)
class Unmeasured:
    """Screws of a plate whose length the plan does not give: those of `holes`, or all of them where it lists none."""

    role: str
    plate: str
    holes: tuple[int, ...] = ()
    system_mm: float | None = None

    def text(self) -> str:
        """What is not known and what to lay out for it."""
        numbers = [str(h) for h in self.holes]
        which = f"hole{'s' if len(numbers) > 1 else ''} {listed(numbers)}" if numbers else "all holes"
        why = "length to be measured in theatre" if numbers else "not listed in the plan; ask"
        sizes = f"{shown(self.system_mm)} mm " if self.system_mm else ""
        return f"screws for {which} of {self.plate}: {why}; take the whole range of {sizes}screws"


@dataclass(frozen=True)
class Need:
    """What one case asks of the shelf on its day.

    Each of `first_choice`, `one_up` and `one_down` is a whole construct: implants and the instruments to put it in;
    `in_room` are the further sizes for the room, one piece each, with their instruments. An empty `first_choice` says
    that the plan chose nothing: the case is never covered. `notes` are printed with the case; `plan` says which plan it
    comes from.
    """

    case: str
    date: dt.date
    order: int
    first_choice: tuple[Item, ...]
    one_up: tuple[Item, ...] = ()
    one_down: tuple[Item, ...] = ()
    in_room: tuple[Item, ...] = ()
    notes: tuple[str, ...] = ()
    plan: str = ""
    site: str = ""
    """Side and bone, as the plan says them."""
    unmeasured: tuple[Unmeasured, ...] = ()
    """Plates with screws whose length the plan does not give: such a role is never called complete."""

    def role(self, name: str) -> tuple[Item, ...]:
        """The items of one of ROLES."""
        return dict(zip(ROLES, (self.first_choice, self.one_up, self.one_down, self.in_room)))[name]

    def wanted(self) -> dict[Item, dict[str, int]]:
        """Pieces wanted of each distinct item, by role; the same item named twice in a role adds up."""
        out: dict[Item, dict[str, int]] = {}
        for role in ROLES:
            for item in self.role(role):
                by_role = out.setdefault(item.spec, {})
                by_role[role] = by_role.get(role, 0) + item.quantity
        return out


@dataclass(frozen=True)
class ShelfRow:
    """One readable line of the shelf. `line` is its line in the file, from 1. `expiry` is the last day of use."""

    line: int
    quantity: int
    item: str = ""
    name: str = ""
    kind: str = ""
    kit: str = ""
    gtin: str = ""
    diameter_mm: float | None = None
    length_mm: float | None = None
    thread_mm: float | None = None
    holes: int | None = None
    material: str = ""
    bore: str = ""
    lot: str = ""
    serial: str = ""
    expiry: dt.date | None = None
    sterile: bool | None = None
    location: str = ""
    tray: str = ""
    notes: tuple[str, ...] = ()

    @property
    def place(self) -> str:
        """Where the line stands in the file, and where the piece lies."""
        return f"shelf line {self.line}" + (f", {self.location}" if self.location else "")

    @property
    def sterility(self) -> str:
        """Sterile, not sterile or not stated."""
        return {True: "sterile", False: "not sterile"}.get(self.sterile, "not stated")  # type: ignore[arg-type]

    def text(self) -> str:
        """What lies there, as far as the line says it; its code when the line says nothing else."""
        return text_of(self) or self.item or (f"GTIN {self.gtin}" if self.gtin else "not said what it is")


@dataclass(frozen=True)
class SetAside:
    """A line that was not used: where, what stood there, why it was set aside, and what would be right."""

    line: int
    column: str
    value: str
    reason: str
    row: ShelfRow | None = field(default=None, compare=False, repr=False)
    """What could be read of the line all the same: what it may be, its lot and its place. Never allotted."""

    def text(self) -> str:
        """One sentence for the terminal and the sheet."""
        where = f"line {self.line}" + (f", {self.column}" if self.column else "")
        return f"{where}: {self.reason}" + (f" (it says {self.value!r})" if self.value else "")


@dataclass(frozen=True)
class Column:
    """How one column of the file was understood; `field` is empty when it was not used."""

    header: str
    field: str
    unit: str = ""


@dataclass(frozen=True)
class ShelfReport:
    """The shelf as it was read. Every line below the header is in `rows`, in `set_aside` or counted in `blank`."""

    path: str
    form: str
    columns: tuple[Column, ...]
    header_line: int
    rows: tuple[ShelfRow, ...]
    set_aside: tuple[SetAside, ...]
    blank: int
    notes: tuple[str, ...] = ()
    sha256: str = ""

    @property
    def lines(self) -> int:
        """Lines below the header."""
        return len(self.rows) + len(self.set_aside) + self.blank

    def told_back(self) -> str:
        """What was recognised, in one paragraph."""
        used = "; ".join(
            f"{c.header!r} as {c.field}{(', ' if c.field == 'expiry' else ' in ') + c.unit if c.unit else ''}"
            for c in self.columns
            if c.field
        )
        left = ", ".join(repr(c.header) for c in self.columns if not c.field and c.header)
        pieces = sum(r.quantity for r in self.rows)
        return (
            f"{self.path}: {self.form}; header on line {self.header_line}; read {used}."
            + (f" Not used: {left}." if left else "")
            + f" {counted(len(self.rows), 'line')} read ({counted(pieces, 'piece')}), {len(self.set_aside)} set aside, "
            f"{self.blank} blank."
        )
