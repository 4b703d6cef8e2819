"""What stands round the construct: published context, scores, revision, and what series watched after surgery.

Evidence, never advice. Everything comes from `fixplan.appraisal`; here it is chosen for the case and put into the
plan's own records, so that the pages and the document show each entry with source, grade and population.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace
from datetime import date

import numpy as np

from fixplan.appraisal import aftercare as after
from fixplan.appraisal.evidence import UNVERIFIED, Result, Statement
from fixplan.appraisal.evidence import context as published
from fixplan.appraisal.revision_context import revision_context
from fixplan.appraisal.score import Score
from fixplan.appraisal.scores import ScoreInputs, scores
from fixplan.case.model import Case
from fixplan.plan.frame import build
from fixplan.plan.resolve import Resolved
from fixplan.plan.screws import diameter_limits
from fixplan.plan.types import (
    CAUTION,
    PASS,
    AftercarePart,
    AfterMilestone,
    AfterRow,
    ContextPart,
    ContextTopic,
    Evidence,
    Finding,
    PublishedMeasure,
    PublishedResult,
    RevisionPart,
    ScoreLine,
    ScrewCandidate,
    Window,
)
from fixplan.sources import GRADES
from fixplan.values import Quantity

NOTE = (
    "What is published, each entry with its source, how well it is known, and for whom it holds. Evidence, never "
    "advice; series that disagree stand side by side."
)


def context_part(case: Case, resolved: Resolved, *, screw: bool) -> ContextPart:
    """Topics, ticked risks, results, scores and revision of a case; `screw` false: no screw was sized."""
    previous = case.previous.state if case.previous else None
    found = published(
        case.bone.ray,
        case.fracture.zone,
        healing=case.fracture.healing,
        previous=previous,
        risks=case.patient.risks,
    )
    return ContextPart(
        topics=tuple(ContextTopic(t.name, t.heading, _all(t.statements)) for t in found.topics),
        risks=tuple(ContextTopic(r.name, r.name[:1].upper() + r.name[1:], _all(r.statements)) for r in found.risks),
        measures=tuple(PublishedMeasure(m.name, m.unit, tuple(map(_result, m.results))) for m in found.measures),
        scores=tuple(map(_score, scores(score_inputs(case)))),
        revision=_revision(case, resolved, screw=screw),
        note=NOTE,
    )


def aftercare_part(case: Case) -> AftercarePart:
    """What published series watched after surgery, as bands of dates from the planned day where it is known."""
    care = after.aftercare(
        case.planned_for,
        case.bone.ray,
        case.fracture.zone,
        healing=case.fracture.healing,
        previous=case.previous.state if case.previous else None,
    )
    return AftercarePart(
        planned_for=_day(care.planned_for),
        milestones=tuple(
            AfterMilestone(
                m.name,
                m.label,
                tuple(map(_row, m.rows)),
                m.weeks_low,
                m.weeks_high,
                _day(m.earliest),
                _day(m.latest),
            )
            for m in care.milestones
        ),
        watch=tuple(map(_row, care.watch)),
        signs=_all(care.signs),
        union=_all(care.union),
        removal=_all(care.removal),
        note=care.note,
    )


def score_inputs(case: Case) -> ScoreInputs:
    """What the scores may use, from what the case gives and from nothing else; angles in degrees.

    A risk ticked in the list counts as "yes"; one that is not ticked is "not given", never "no".
    """
    patient, energy = case.patient, case.patient.energy
    isthmus = case.bone.isthmus

    def value(quantity: Quantity | None) -> float | None:
        return None if quantity is None else quantity.value

    def degrees(quantity: Quantity | None) -> float | None:
        # nine decimals undo the round trip through radians, so that an angle at a cut-off stays at it
        return None if quantity is None else round(math.degrees(quantity.value), 9)

    def ticked(name: str) -> bool | None:
        return True if name in patient.risks else None

    return ScoreInputs(
        ray=case.bone.ray,
        metatarsus_adductus_angle=degrees(patient.metatarsus_adductus_angle),
        calcaneal_pitch=degrees(patient.calcaneal_pitch),
        vitamin_d=value(patient.vitamin_d),
        outer_ap=value(isthmus.outer_ap),
        # one diameter without a film is no width of the AP film
        canal_ap=value(isthmus.canal_ap),
        energy_availability=energy.energy_availability,
        bmi=value(energy.bmi),
        menarche_age=value(energy.menarche_age),
        menses_per_year=energy.menses_per_year,
        bmd_z=energy.bmd_z,
        earlier_stress_fractures=energy.earlier_stress_fractures,
        earlier_at_high_risk_site=energy.earlier_at_high_risk_site,
        bony_tenderness=patient.bony_tenderness,
        pes_cavus=ticked("pes cavus"),
        load_raised=patient.load_raised if patient.load_raised is not None else ticked("training change"),
    )


def revision_findings(case: Case, resolved: Resolved, chosen: ScrewCandidate | None) -> tuple[Finding, ...]:
    """After an earlier screw of the fifth: a screw beside the published revision practice; never a fail."""
    if case.previous is None or case.bone.ray != 5 or chosen is None:
        return ()
    least = resolved.thresholds["revision_diameter"]
    solid, wide = chosen.cannula_mm == 0, chosen.diameter_mm >= least.value
    what = f"This screw is {'solid' if solid else 'cannulated'}, {chosen.diameter_mm:.1f} mm"
    text = (
        f"{what}; one revision series used solid screws of {least.value:g} mm or more with cancellous graft (HUN11). "
        "In another series the diameter did not differ between failures and the rest (LAR02)."
    )
    return (
        Finding(
            "revision_diameter",
            "screw after an earlier screw",
            PASS if solid and wide else CAUTION,
            chosen.diameter_mm,
            least.value,
            "mm",
            text,
            f"{least.source}, HUN11, LAR02" if least.source != "HUN11" else "HUN11, LAR02",
        ),
    )


def _revision(case: Case, resolved: Resolved, *, screw: bool) -> RevisionPart | None:
    earlier = case.previous
    found = revision_context(
        case.bone.ray,
        case.fracture.zone,
        healing=case.fracture.healing,
        previous=earlier.state if earlier else None,
        screw_diameter=earlier.screw_diameter.value if earlier else None,
    )
    if found is None:
        return None
    before = after_ = None
    text = ""
    if earlier is not None and screw:
        before, after_ = _diameters(_without_hole(resolved)), _diameters(resolved)
        text = _moved(before, after_)
    model = tuple(
        Evidence(f"model-{k}", r.text, ", ".join(r.sources), r.grade, GRADES[r.grade], "", r.grade in UNVERIFIED)
        for k, r in enumerate(found.model)
    )
    return RevisionPart(found.heading, model, _all(found.published), before, after_, text)


def _without_hole(resolved: Resolved) -> Resolved:
    return replace(resolved, parameters={k: v for k, v in resolved.parameters.items() if k != "old_hole"})


def _diameters(resolved: Resolved) -> Window:
    return diameter_limits(build(resolved), resolved.thresholds)[0]


def _moved(before: Window, now: Window) -> str:
    def words(w: Window) -> str:
        return "none" if w.empty else f"{w.lo_mm:.1f} to {w.hi_mm:.1f} mm"

    text = f"Diameter window without the old hole: {words(before)}; with it: {words(now)}."
    if np.isclose(before.lo_mm, now.lo_mm) and np.isclose(before.hi_mm, now.hi_mm):
        return (
            text + " The old hole is nowhere wider than the canal where thread may lie, or another limit governs: it "
            "changes nothing in the window."
        )
    text += (
        f" The low end moves by {now.lo_mm - before.lo_mm:.1f} mm, the high end by {now.hi_mm - before.hi_mm:.1f} mm."
    )
    return text + " The length windows do not depend on the hole."


def _all(found: Iterable[Statement]) -> tuple[Evidence, ...]:
    return tuple(evidence(s) for s in found)


def evidence(s: Statement) -> Evidence:
    """A statement of the data file as the plan's record."""
    return Evidence(s.id, s.text, ", ".join(s.sources), s.grade, GRADES[s.grade], s.population, s.unverified)


def _result(r: Result) -> PublishedResult:
    return PublishedResult(
        r.arm, r.value, r.sd, r.low, r.high, r.interval, r.unit, r.n, r.stage, r.note, ", ".join(r.sources), r.grade,
        GRADES[r.grade], r.population, r.unverified,
    )  # fmt: skip


def _score(s: Score) -> ScoreLine:
    return ScoreLine(
        s.name, s.label, s.value, s.low, s.high, s.unit, s.band or "", s.text, s.missing, ", ".join(s.sources), s.grade,
        GRADES[s.grade], s.population, s.grade in UNVERIFIED,
    )  # fmt: skip


def _row(r: after.Row) -> AfterRow:
    return AfterRow(
        r.text, r.weeks, r.weeks_low, r.weeks_high, r.how, _day(r.earliest), _day(r.latest), ", ".join(r.sources),
        r.grade, GRADES[r.grade], r.population, r.unverified,
    )  # fmt: skip


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
