"""Selections and words that the page and the terminal share; nothing is computed here."""

from __future__ import annotations

from typing import Any

from fixplan.plan.types import CAUTION, FAIL, PlateCandidate, ScrewCandidate
from fixplan.report.formats import size

FIT_WORDS = {"plan": "Constructs are published for it", "question": "An open question", "outside scope": "Usually not"}


def source_ids(text: str) -> list[str]:
    """Source ids of a field that may name several, parted by commas or semicolons."""
    return [part.strip() for part in text.replace(";", ",").split(",") if part.strip()]


def not_met(candidate: ScrewCandidate | PlateCandidate) -> str:
    """The rules a size does not pass, failures before cautions, by their names; a dash where it passes all."""
    parts = []
    for verdict in (FAIL, CAUTION):
        labels = [f.label for f in candidate.findings if f.verdict == verdict]
        if labels:
            parts.append(f"{verdict}: {', '.join(labels)}")
    return "; ".join(parts) or "–"


def screw_size(candidate: ScrewCandidate) -> str:
    return size(candidate.diameter_mm, candidate.length_mm)


def margins(candidate: ScrewCandidate) -> list[tuple[str, float | None]]:
    """The four margins of a screw, the tightest first, those not known last."""
    found = [
        ("thread past the fracture and its run-out margin", candidate.margin_run_out_mm),
        ("tip short of the bow and its clearance", candidate.margin_tip_mm),
        ("diameter above the least with the wanted bite", candidate.margin_bite_mm),
        ("diameter below the most that leaves the wall", candidate.margin_wall_mm),
    ]
    return sorted(found, key=lambda pair: float("inf") if pair[1] is None else pair[1])


def by_item(candidates: tuple[Any, ...], item: str | None) -> Any:
    """The candidate with this item code, or None."""
    return next((c for c in candidates if item is not None and c.item == item), None)
