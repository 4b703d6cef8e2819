"""Selections and words that the page and the terminal share; nothing is computed here."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from fixplan.plan.types import CAUTION, FAIL, LoadResponse, PlateCandidate, ScrewCandidate, ScrewPlan
from fixplan.report.formats import size

FIT_WORDS = {"plan": "Constructs are published for it", "question": "An open question", "outside scope": "Usually not"}


HELD_BEYOND = "thread held beyond the fracture"


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


def bends_first(responses: Sequence[LoadResponse]) -> str:
    """At whose assumed moment the construct would bend before union, as a sentence; empty where at none."""
    at = dict.fromkeys(r.activity for r in responses if r.loose.yield_factor < 1)
    return f"At the assumed {' and '.join(at)} moment{'s' * (len(at) > 1)} it would bend before union" if at else ""


def screw_size(candidate: ScrewCandidate) -> str:
    return size(candidate.diameter_mm, candidate.length_mm)


def margins(candidate: ScrewCandidate) -> list[tuple[str, float | None]]:
    """The four margins of a screw, the tightest first, those not known last.

    A thread along the whole length crosses the fracture: its margin is that of the thread held beyond it.
    """
    across = any(f.rule == "purchase" for f in candidate.findings)
    found = [
        (HELD_BEYOND if across else "thread past the fracture and its run-out margin", candidate.margin_run_out_mm),
        ("tip short of the bow and its clearance", candidate.margin_tip_mm),
        ("diameter above the least with the wanted bite", candidate.margin_bite_mm),
        ("diameter below the most that leaves the wall", candidate.margin_wall_mm),
    ]
    return sorted(found, key=lambda pair: float("inf") if pair[1] is None else pair[1])


FAILS_HERE = "Fail: on the values used; for the case that they are wrong."
"""What a size that fails is doing among those to have in the room."""


def in_the_room(screw: ScrewPlan) -> list[ScrewCandidate]:
    """The sizes to have in the room, each with its verdict on the values used."""
    return [c for c in (by_item(screw.candidates, item) for item in screw.have_in_room) if c is not None]


def fails_here(room: list[ScrewCandidate]) -> str:
    """Said where a size to have in the room fails on the values used; else nothing."""
    return FAILS_HERE if any(c.verdict == FAIL for c in room) else ""


def by_item(candidates: tuple[Any, ...], item: str | None) -> Any:
    """The candidate with this item code, or None."""
    return next((c for c in candidates if item is not None and c.item == item), None)
