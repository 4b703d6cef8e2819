"""The row in which the mechanics rooms keep a published or assumed number with its origin."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Published:
    """One number with its band, unit, source id and grade.

    `lo` and `hi` are None where the source prints no spread. Grades: "F" read in the source, "F2" read at
    second hand, "F-part" read in part, "M-h" and "M-m" from memory with high and medium confidence,
    "assumed" a project default.
    """

    name: str
    mid: float
    lo: float | None
    hi: float | None
    unit: str
    source: str
    grade: str
    note: str = ""

    @property
    def unverified(self) -> bool:
        """True when the number may be shown only with a visible flag."""
        return self.grade in {"M-m", "assumed"}
