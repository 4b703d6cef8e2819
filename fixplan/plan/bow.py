"""Straightening: the angle that a tip beyond the straight segment forces on a broken bone, and the gap it opens.

From the measured bow only (stations or landmarks); without them the bow is not known and nothing is invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fixplan.bone.bow import LEAST_STATIONS, Estimate, bow_of
from fixplan.bone.profile import interpolate
from fixplan.mechanics.straightening import straighten
from fixplan.plan.frame import Frame
from fixplan.plan.strength_types import StraighteningPart, StraightRow
from fixplan.plan.types import CAUTION, FAIL, PASS, Finding, ScrewCandidate, ScrewPlan

SOURCE = "GEOM, HOR04"
RULE = "straightening"
#: film -> sides to which a positive and a negative curvature turn
SIDES = {"AP film": ("lateral", "medial"), "lateral film": ("dorsal", "plantar")}
NOT_MEASURED = (
    "Bow not measured: angle and gap are not known. Stations or landmarks along the bone would tell them. One bench "
    "series saw long screws straighten the bone and open a lateral gap (HOR04)."
)
NOT_SEEN = "No bow is told from a straight canal within the reading error: no angle is forced as far as the films show."
FEW = f"Fewer than {LEAST_STATIONS} stations: the bow cannot be fitted, angle and gap are not known."
NOTE = (
    "The part beyond the fracture turns about the fracture until the tip clears the wall; a bone that bends instead "
    "opens less, so the gap is an upper bound. It opens on the side to which the canal turns."
)


@dataclass(frozen=True)
class _Plane:
    film: str
    curvature: Estimate
    canal: str
    outer: str


def straightening_part(frame: Frame, measured: bool, shown: Sequence[ScrewCandidate]) -> StraighteningPart:
    """Rows of every size shown whose tip lies beyond the straight segment, of a single (not drawn) frame."""
    if not measured:
        return StraighteningPart(False, None, None, (), "HOR04", NOT_MEASURED)
    if frame.profile.s.shape[-1] < LEAST_STATIONS:
        return StraighteningPart(False, None, None, (), "HOR04", FEW)
    # a point of the centre line is the mean of two edges: half the uncertainty of a width
    bow = bow_of(frame.profile, frame.width_sd / 2)
    if not bool(bow.seen):
        return StraighteningPart(False, None, None, (), SOURCE, NOT_SEEN)
    planes = (
        _Plane("AP film", bow.curvature_ap, "canal_ap", "outer_ap"),
        _Plane("lateral film", bow.curvature_lateral, "canal_lateral", "outer_lateral"),
    )
    end = float(np.asarray(frame.site.straight_cautious))
    rows = [_row(frame, plane, c, c.tip_mm - end) for c in shown if c.tip_mm > end for plane in planes]
    return StraighteningPart(True, _radius(bow.curvature_ap), _radius(bow.curvature_lateral), tuple(rows), SOURCE, NOTE)


def _radius(curvature: Estimate) -> float | None:
    """Radius in mm; None where the interval of the curvature holds a straight line."""
    if float(curvature.low) <= 0 <= float(curvature.high):
        return None
    return 1 / abs(float(curvature.value))


def _row(frame: Frame, plane: _Plane, c: ScrewCandidate, beyond: float) -> StraightRow:
    value = float(plane.curvature.value)
    side = SIDES[plane.film][0 if value >= 0 else 1]
    last, fracture = float(frame.profile.s[-1]), float(np.asarray(frame.site.fracture))
    greatest = max(abs(float(plane.curvature.low)), abs(float(plane.curvature.high)))
    if c.tip_mm > last or beyond * greatest >= 1 or c.tip_mm <= fracture:
        text = "The tip lies beyond the stations measured, or the bow is too strong for the model: not known."
        return StraightRow(c.item, c.label, plane.film, side, beyond, None, None, None, None, text)
    canal, outer = (getattr(frame.profile, n) for n in (plane.canal, plane.outer))
    at_tip = float(interpolate(frame.profile.s, [canal], np.array([c.tip_mm]))[0][0])
    height = float(interpolate(frame.profile.s, [outer], np.array([fracture]))[0][0])
    # a thread as wide as the canal has no room to give before the wall takes it
    room = max(at_tip - c.diameter_mm, 0.0) / 2
    if value == 0:
        return StraightRow(c.item, c.label, plane.film, side, beyond, room, 0.0, 0.0, 0.0, "No bow in this film.")
    radii = np.array([1 / abs(value), 1 / greatest])
    found = straighten(beyond, radii, room, c.tip_mm - fracture, height)
    angle, high = (float(a) for a in np.degrees(found.angle))
    gap = float(found.gap[0])
    if angle == 0:
        text = f"The tip keeps clear of the wall ({room:.1f} mm of room): no angle is forced."
    elif angle < 0.05:
        text = f"The tip touches the wall and forces less than 0.1 degrees, towards opening the {side} cortex."
    else:
        text = f"The tip forces {angle:.1f} degrees and opens the {side} cortex by up to {gap:.1f} mm."
    if not bool(found.small_angle.all()):
        text += " The angle is beyond the range of the small-angle forms."
    return StraightRow(c.item, c.label, plane.film, side, beyond, room, angle, high, gap, text)


def straightening_finding(part: StraighteningPart, c: ScrewCandidate) -> Finding | None:
    """For a size whose tip fails or is in doubt: the angle forced, or that the bow is not known."""
    tip = next((f for f in c.findings if f.rule == "tip"), None)
    if tip is None or tip.verdict == PASS:
        return None
    rows = [r for r in part.rows if r.item == c.item and r.angle_deg is not None]
    worst = max(rows, key=lambda r: r.angle_deg or 0.0, default=None)
    if worst is None:
        return Finding(RULE, "angle forced on the bow", CAUTION, None, None, "deg", part.note, part.source)
    forced = [r.text for r in rows if r.angle_deg] or [worst.text]
    verdict = CAUTION if worst.angle_deg else PASS
    # the tip's own verdict decides; this says what it would do
    assert verdict != FAIL
    return Finding(
        RULE, "angle forced on the bow", verdict, worst.angle_deg, None, "deg", " ".join(forced), part.source
    )


def with_straightening(screw: ScrewPlan, part: StraighteningPart) -> ScrewPlan:
    """The same screw part with the straightening beside each tip that fails or is in doubt."""
    candidates = []
    for c in screw.candidates:
        one = straightening_finding(part, c)
        candidates.append(c if one is None else replace(c, findings=(*c.findings, one)))
    return replace(screw, candidates=tuple(candidates))
