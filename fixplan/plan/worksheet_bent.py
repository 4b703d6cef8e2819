"""One row of the table of responses at one end of the bracket, as its worked lines see it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from fixplan.mechanics.parts import Bone, Contact, Fracture
from fixplan.plan.response import PROTECTED
from fixplan.plan.types import EndResponse, LoadResponse
from fixplan.plan.worksheet_line import Sheet
from fixplan.plan.worksheet_load import Case, Loaded
from fixplan.plan.worksheet_parts import Cut

ENDS = ("loose", "bonded")


class Parts(Protocol):
    """A construct as the worked lines see it."""

    @property
    def bone(self) -> Bone: ...
    @property
    def fracture(self) -> Fracture: ...
    @property
    def kind(self) -> str: ...
    @property
    def prefix(self) -> str: ...
    @property
    def E(self) -> float: ...
    def core(self) -> float: ...
    def tension(self, sheet: Sheet, section_name: str) -> float: ...
    def fracture_lines(self, sheet: Sheet) -> None: ...
    def cut(self, sheet: Sheet, name: str, end: str, case: Case, contact: Contact) -> Cut: ...


@dataclass(frozen=True)
class Bent:
    """One row of the table of responses, at one end of the bracket."""

    parts: Parts
    row: LoadResponse
    end: str
    case: Case
    ran: Loaded
    tag: str = ""
    """Parts the ids of this row's lines from those of the row that decides; "" for the row that does."""

    @property
    def response(self) -> EndResponse:
        found: EndResponse = getattr(self.row, self.end)
        return found

    @property
    def tail(self) -> str:
        """What tells the ids of this row's lines from those of the row that decides first, at the loose end."""
        when = "" if self.row.activity == PROTECTED else f"-{self.row.activity}"
        return when + ("" if self.end == "loose" else "-bonded") + self.tag

    def key(self, field: str) -> str:
        return f"{self.parts.kind}:{self.row.label}:{self.end}:{field}"
