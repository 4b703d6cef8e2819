"""Strength of the screw chosen: one part of the plan made from life, torsion, purchase and straightening."""

from __future__ import annotations

import numpy as np

from fixplan.kits import ImScrew
from fixplan.plan.bow import straightening_part, with_straightening
from fixplan.plan.frame import Frame, Reader
from fixplan.plan.life import life_parts, torsion_part
from fixplan.plan.purchase_view import purchase_finding, purchase_of
from fixplan.plan.response import Setting
from fixplan.plan.strength_types import StrengthPart
from fixplan.plan.types import Finding, ScrewPlan


def with_strength(
    frame: Frame, read: Reader, setting: Setting, screw: ScrewPlan, chosen: ImScrew | None
) -> tuple[ScrewPlan, StrengthPart | None, tuple[Finding, ...]]:
    """The screw part with straightening beside tips in doubt, what is said of the screw chosen, findings on it.

    For a single (not drawn) frame.
    """
    bow = straightening_part(frame, read.resolved.measured is not None, screw.candidates)
    screw = with_straightening(screw, bow)
    if chosen is None:
        return screw, None, ()
    candidate = next(c for c in screw.candidates if c.item == chosen.item)
    held = purchase_of(frame, read, chosen, candidate)
    finding = purchase_finding(held)
    part = StrengthPart(
        chosen.item,
        candidate.label,
        life_parts(setting, chosen, float(np.asarray(frame.site.seat))),
        torsion_part(chosen),
        held,
        bow,
    )
    return screw, part, () if finding is None else (finding,)
