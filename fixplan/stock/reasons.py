"""Why a wanted piece is not there: every line of the shelf that is it, or looks like it, and what kept it away."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from fixplan.stock import match
from fixplan.stock.model import Item, SetAside, ShelfRow
from fixplan.stock.programme import Line


class Reasons:
    """Answers for one shelf after the allotment; `users` names the lines of the list that each shelf row serves."""

    def __init__(
        self, rows: Sequence[ShelfRow], set_aside: Sequence[SetAside], users: Mapping[int, Sequence[Line]]
    ) -> None:
        self.rows, self.users = rows, users
        self.aside = [p for p in set_aside if p.row is not None]
        self.index = match.Index([p.row for p in self.aside if p.row is not None])

    def of(self, line: Line, matches: match.Matches) -> Iterator[str]:
        """Every reason why rows that are, or look like, the item did not serve this line of the list."""
        found = [*self._taken(line, matches), *self._against(matches), *self._not_read(line.item)]
        yield from found or ["not on the shelf"]

    def _taken(self, line: Line, matches: match.Matches) -> Iterator[str]:
        for i in matches.rows:
            row, users = self.rows[i], self.users.get(i, ())
            if why := match.out_of_date(row, line.date):
                yield f"{row.place}: {why}"
            elif not row.quantity:
                yield f"{row.place}: none left"
            elif others := [u.case for u in users if u is not line and (not line.item.reusable or u.date == line.date)]:
                yield f"{row.place}: already allotted to {', '.join(dict.fromkeys(others))}"
            elif any(u is line for u in users):
                yield f"{row.place}: all that is there ({row.quantity}) goes to this case"
            else:
                yield f"{row.place}: its tray {row.tray} is with another case that day"

    def _against(self, matches: match.Matches) -> Iterator[str]:
        for i, why in matches.against:
            yield f"{self.rows[i].place}: {why}"

    def _not_read(self, item: Item) -> Iterator[str]:
        for row, why in self._unread(item):
            yield f"{row.place}: {why}"

    def _unread(self, item: Item) -> Iterator[tuple[ShelfRow, str]]:
        for i in self.index.near(item):
            problem = self.aside[i]
            assert problem.row is not None
            column = f"{problem.column}: " if problem.column else ""
            yield problem.row, f"set aside when the shelf was read, {column}{problem.reason}"

    def unusable(self, line: Line, matches: match.Matches) -> Iterator[tuple[ShelfRow, str]]:
        """Rows with pieces that are, or look like, the item and may not be used for this line of the list, and why."""
        for i in matches.rows:
            if self.rows[i].quantity and (why := match.out_of_date(self.rows[i], line.date)):
                yield self.rows[i], why
        for i, why in matches.against:
            if self.rows[i].quantity:
                yield self.rows[i], why
        yield from self._unread(line.item)
