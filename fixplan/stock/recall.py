"""One entry of a recall list."""

from __future__ import annotations

from dataclasses import dataclass, field

ALL_LOTS = ("all", "all lots", "any", "every lot", "*")
"""What stands for every lot of a product in a recall list."""


@dataclass(frozen=True)
class Recall:
    """A recalled lot; `item` or `gtin` narrows it to one product, both empty bars the lot whatever it is of.

    One of ALL_LOTS in the place of the lot recalls every lot of the product, which then has to be named.
    """

    lot: str
    item: str = ""
    gtin: str = ""
    note: str = ""
    line: int = field(default=0, compare=False)

    @property
    def every_lot(self) -> bool:
        """True when the whole product is recalled."""
        return " ".join(self.lot.casefold().split()) in ALL_LOTS

    @property
    def lots(self) -> str:
        """The lot in words."""
        return "all lots" if self.every_lot else f"lot {self.lot}"
