"""make_plan(case, kits): the one road from a case to a result."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any, TypeVar, cast

import numpy as np

from fixplan import __version__
from fixplan.appraisal.scope import OUTSIDE, Scope, appraise_scope
from fixplan.case.model import Case
from fixplan.cautions import CAUTIONS
from fixplan.declare import to_plain
from fixplan.kits import CorticalScrew, ImScrew, KitSet, Plate, select
from fixplan.plan.bench import BENCH
from fixplan.plan.chances import Chances, chances
from fixplan.plan.changes import screw_changes
from fixplan.plan.context import aftercare_part, context_part, revision_findings
from fixplan.plan.draws import Progress
from fixplan.plan.frame import Frame, Reader, build
from fixplan.plan.inputs import SCALE, Parameter
from fixplan.plan.plate_changes import plate_changes
from fixplan.plan.plates import Bed, bed, laid_plate, plate_plan, stock_plate
from fixplan.plan.questions import Asked, questions
from fixplan.plan.remarks import remarks
from fixplan.plan.resolve import PLATE, SCREW, Resolved, resolve
from fixplan.plan.response import Setting, respond_screws, setting
from fixplan.plan.screws import Sized, screw_plan, size
from fixplan.plan.stock_used import kits_used, material_values
from fixplan.plan.straight import corridor_part, wanted_axis
from fixplan.plan.strength import with_strength
from fixplan.plan.strength_types import StrengthPart
from fixplan.plan.tradeoffs import Anchor, Ground, tradeoffs
from fixplan.plan.types import (
    BoneStations,
    CaseSummary,
    Change,
    CorridorPart,
    Fit,
    Given,
    Plan,
    PlateCandidate,
    PlatePlan,
    Provenance,
    Question,
    Reason,
    ScrewCandidate,
    ScrewPlan,
    SourceText,
    WorkedLine,
)
from fixplan.plan.worksheet import plate_runs, plate_sheet, screw_runs, screw_sheet
from fixplan.plan.worksheet_load import Evaluate
from fixplan.sizing.plate import Placement, best_placement
from fixplan.sources import all_sources

FORMAT = "fixplan-plan/1"
ZONES = {
    (5, "1"): "zone 1, tuberosity",
    (5, "2"): "zone 2, metaphysis to diaphysis at the joint of fourth and fifth",
    (5, "3"): "zone 3, proximal shaft",
}


def make_plan(
    case: Case,
    kits: KitSet,
    on: date,
    *,
    seed: int = 0,
    draws: int = 0,
    worksheet: bool = True,
    pictures: bool | None = None,
    progress: Progress = lambda done, total: None,
) -> Plan:
    """The plan of a case from the stock of `kits`, dated `on`.

    `draws` is the number of Monte Carlo draws (0: none) and `seed` theirs; `worksheet` false leaves out the worked
    lines, which need SymPy, and the trade-off pictures and questions, unless `pictures` asks for these. `progress` is
    told of draws done and wanted.

    Raises InputError (every problem at once) when a value that nobody publishes is missing.
    """
    resolved = resolve(case)
    stock = select(kits, case.plan.kits)
    frame, read = build(resolved), Reader(resolved)
    forces = setting(frame, read, case.bone.ray, case.patient.activity)
    screw: ScrewPlan | None = None
    sized: Sized | None = None
    drawn: Chances | None = None
    worked: list[WorkedLine] = []
    runs: dict[str, tuple[Evaluate, float]] = {}
    if SCREW in resolved.consider and stock.im_screws:
        sized = size(frame, stock.im_screws)
        seat = float(np.asarray(frame.site.seat))
        if draws:
            drawn = chances(resolved, sized, case.bone.ray, draws, seed, progress)
        screw = screw_plan(
            frame,
            sized,
            resolved.thresholds,
            lambda some: respond_screws(forces, some, seat),
            lambda one: _instruments(stock, one),
            drawn,
        )
        if worksheet:
            best = None
            if screw.first_choice is not None:
                one, candidate = _first(sized, screw)
                run = screw_runs(forces, one, np.asarray(seat))
                runs["screw"] = run, one.material.yield_MPa
                best = one, candidate, run
            worked += screw_sheet(frame, read, forces, sized, screw, resolved.thresholds, best)
    plate: PlatePlan | None = None
    where: Bed | None = None
    item: Plate | None = None
    laid: tuple[Plate, Placement, PlateCandidate] | None = None
    anchors: list[Anchor] = []
    if sized is not None and screw is not None and screw.first_choice is not None:
        anchors.append(Anchor("first choice", screw=_first(sized, screw)[0]))
    if PLATE in resolved.consider and stock.plates:
        comminuted = case.fracture.pattern == "comminuted"
        where = bed(frame, read, case.bone.ray, comminuted, bool(case.fracture.crosses_tmt))
        plate = plate_plan(
            frame, stock, where, forces, resolved.thresholds, lambda used: _screw_instruments(stock, used)
        )
        if plate.first_choice is not None:
            item = next(p for p in stock.plates if p.item == plate.first_choice)
            placed = best_placement(stock_plate(item), where.sizing, where.limits)
            anchors.append(Anchor("first choice", plate=item, bed=where, placed=placed))
            laid = (item, placed, plate.candidates[0])
        if worksheet:
            if laid is not None and laid[2].response:
                on_it = laid_plate(forces, where, laid[0], laid[1], stock, np.ones(1))
                runs["plate"] = plate_runs(*on_it), laid[0].material.yield_MPa
            worked += plate_sheet(forces, stock, where, plate, laid, runs["plate"][0] if "plate" in runs else None)
    changes: tuple[Change, ...] = ()
    if (screw is None or screw.first_choice is None) and where is not None and item is not None:
        # with no screw to hold on to, the plate is the answer, and its own inputs come first
        changes = plate_changes(resolved, stock, forces, where, item)
    if sized is not None and screw is not None:
        first = next((k for k, s in enumerate(sized.screws) if s.item == screw.first_choice), -1)
        changes += screw_changes(resolved, sized.screws, first)
    scope = appraise_scope(
        case.bone.ray,
        case.fracture.zone,
        healing=case.fracture.healing,
        pattern=case.fracture.pattern,
        crosses_tmt=case.fracture.crosses_tmt,
        previous=case.previous.state if case.previous else None,
    )
    given = (*_given(resolved), *_moments(forces))
    limits = tuple(_as_given(p, p.value) for p in resolved.thresholds.values())
    fit = _fit(scope)
    found = remarks(case, resolved, screw, plate, on)
    if sized is not None and screw is not None and screw.first_choice is not None:
        found += revision_findings(case, resolved, _first(sized, screw)[1])
    strength: StrengthPart | None = None
    if sized is not None and screw is not None:
        of = None if screw.first_choice is None else _first(sized, screw)[0]
        screw, strength, more = with_strength(frame, read, forces, screw, of)
        found += more
    ground = Ground(frame, forces, resolved.thresholds, stock)
    drawings = tradeoffs(ground, anchors) if (worksheet if pictures is None else pictures) else ()
    asked: tuple[Question, ...] = ()
    if worksheet:
        chosen = next((a.screw for a in anchors if a.screw is not None), None)
        seat_at = np.asarray(frame.site.seat)
        asked = questions(Asked(screw, plate, chosen, forces, seat_at, kits, changes, drawings, runs))
    plan = Plan(
        format=FORMAT,
        fixplan=__version__,
        case=_summary(case),
        inputs_sha256=case.inputs_sha256,
        fit_for_planning=fit,
        given=given,
        bone=_stations(frame, resolved, sized, screw),
        screw=screw,
        plate=plate,
        draws=drawn.summary if drawn else None,
        changes=() if scope.verdict == OUTSIDE else changes,
        findings=found,
        worked=tuple(worked),
        bench=BENCH,
        thresholds=limits,
        cautions=CAUTIONS,
        sources=(),
        provenance=Provenance(
            version=__version__,
            inputs_sha256=case.inputs_sha256,
            case_file=case.path.name if case.path else "",
            kits=tuple((k.id, k.sha256) for k in stock.kits.values()),
            on=on.isoformat(),
            seed=seed,
            draws=draws,
        ),
        context=context_part(case, resolved, screw=screw is not None),
        aftercare=aftercare_part(case),
        tradeoffs=drawings,
        corridor=None if sized is None or screw is None else _corridor(frame, read, sized, screw),
        questions=asked,
        strength=strength,
        kits=kits_used(stock),
        materials=material_values(stock),
    )
    return with_sources(plan)


def _first(sized: Sized, screw: ScrewPlan) -> tuple[ImScrew, ScrewCandidate]:
    item = next(s for s in sized.screws if s.item == screw.first_choice)
    return item, next(c for c in screw.candidates if c.item == screw.first_choice)


def _corridor(frame: Frame, read: Reader, sized: Sized, screw: ScrewPlan) -> CorridorPart | None:
    """The straight corridor where the bone was measured along its length; elsewhere its bow is not known."""
    if read.resolved.measured is None:
        return None
    first = (None, None) if screw.first_choice is None else _first(sized, screw)
    return corridor_part(frame, read, *first)


def _instruments(stock: KitSet, screw: ImScrew) -> tuple[str, ...]:
    return tuple(t.item for t in stock.instruments_for(screw))


def _screw_instruments(stock: KitSet, used: Iterable[CorticalScrew]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(t.item for s in used for t in stock.instruments_for(s)))


def _summary(case: Case) -> CaseSummary:
    zone = str(case.fracture.zone)
    return CaseSummary(
        label=case.label,
        side=case.side or "not said",
        ray=case.bone.ray,
        zone=zone,
        zone_label=ZONES.get((case.bone.ray, zone), zone),
        planned_for=case.planned_for.isoformat() if case.planned_for else None,
        pattern=case.fracture.pattern or "not said",
        healing=case.fracture.healing or "not said",
        activity=case.patient.activity or "not said",
        previous=f"earlier {case.previous.screw_diameter.value:g} mm screw {case.previous.state}"
        if case.previous
        else "",
    )


def _earlier(case: Case) -> str:
    old = case.previous
    return "" if old is None else f"earlier {old.screw_diameter.value:g} mm screw {old.state}"


def _fit(scope: Scope) -> Fit:
    reasons = tuple(Reason(r.text, ", ".join(r.sources)) for r in scope.reasons)
    return Fit(scope.verdict, scope.sentence, (*reasons, Reason(scope.not_asked, "COMMON")))


def _as_given(p: Parameter, value: float) -> Given:
    return Given(p.name, p.label, value, p.unit, p.sd, p.origin, p.source, p.note, p.decides, p.grade, p.sd_source)


def _moments(forces: Setting) -> tuple[Given, ...]:
    """The design moments that the construct is checked at: nothing published stands behind them."""
    rows = []
    for row in (forces.protected, forces.activity):
        if row is not None:
            lo, hi = (row.mid if end is None else end for end in (row.lo, row.hi))
            # an even band: its standard uncertainty is its width over the root of twelve (JCGM 100, 4.3.7)
            name, label = f"moment_{row.activity}", f"moment at the fracture, {row.activity}"
            note = f"from {lo:g} to {hi:g} N mm, {row.note}"
            rows.append(
                Given(
                    name,
                    label,
                    row.mid,
                    "N*mm",
                    (hi - lo) / 12**0.5,
                    "assumed",
                    row.source,
                    note,
                    "",
                    "P",
                    row.source,
                    *((lo, hi) if lo < hi else ()),
                )
            )
    return tuple(rows)


def _given(resolved: Resolved) -> tuple[Given, ...]:
    """Every parameter as it was read, and the true size of what a film magnified."""
    rows = []
    for p in resolved.parameters.values():
        rows.append(_as_given(p, p.value))
        scale = SCALE.get(p.film)
        if scale is not None and resolved.parameters[scale].value != 1.0:
            m = resolved.parameters[scale].value
            rows.append(
                Given(
                    f"{p.name}_true", f"{p.label}, true to size", p.value / m, p.unit, p.sd / m, "derived",
                    f"{p.name} / {scale}", f"{p.value:g} {p.unit} / {m:.3f}", "",
                )
            )  # fmt: skip
    return tuple(rows)


def _stations(frame: Frame, resolved: Resolved, sized: Sized | None, screw: ScrewPlan | None) -> BoneStations:
    profile, site = frame.profile, frame.site
    keep = np.unique(np.round(profile.s, 3), return_index=True)[1]

    def column(values: object) -> tuple[float, ...]:
        return tuple(float(v) for v in np.asarray(values)[keep])

    seat = float(np.asarray(site.seat))
    axis_ap, axis_lateral = (0.0, 0.0), (0.0, 0.0)
    if sized is not None and screw is not None and screw.first_choice is not None:
        tip = _first(sized, screw)[1].tip_mm
        if np.any(profile.offset_ap) or np.any(profile.offset_lateral):
            axis_ap, axis_lateral = wanted_axis(profile, seat, tip)
    assumed = [p.label for n, p in resolved.parameters.items() if "outer" in n and p.origin == "assumed"]
    outline = "Widths run straight between the levels given; the base, the head and the joints are not drawn."
    if assumed:
        outline += " Outer widths that were not measured come from one foot, scaled: a shape, not this bone."
    return BoneStations(
        s_mm=column(profile.s),
        canal_ap_mm=column(profile.canal_ap),
        canal_lateral_mm=column(profile.canal_lateral),
        outer_ap_mm=column(profile.outer_ap),
        outer_lateral_mm=column(profile.outer_lateral),
        offset_ap_mm=column(profile.offset_ap),
        offset_lateral_mm=column(profile.offset_lateral),
        length_mm=float(frame.length),
        straight_end_mm=float(np.asarray(site.straight_cautious)),
        straight_end_permissive_mm=float(np.asarray(site.straight_permissive)),
        fracture_mm=float(np.asarray(site.fracture)),
        fracture_half_mm=float(np.asarray(site.extent)) / 2,
        seat_mm=seat,
        axis_ap_mm=axis_ap,
        axis_lateral_mm=axis_lateral,
        outline=outline,
    )


R = TypeVar("R")


def with_sources(result: R) -> R:
    """The result with the text of every source that any part of it names."""
    known: Mapping[str, object] = all_sources()
    used: dict[str, None] = {}

    def walk(value: object, key: str = "") -> None:
        if isinstance(value, dict):
            for k, v in value.items():
                walk(v, k)
        elif isinstance(value, list):
            for v in value:
                walk(v, key)
        elif isinstance(value, str) and key in ("source", "sd_source", "note", "text", "why", "chosen_by", "answer"):
            for word in "".join(c if c.isalnum() or c in "-." else " " for c in value).split():
                token = word.strip(".")
                if token in known:
                    used[token] = None

    walk(to_plain(result))
    texts = tuple(SourceText(s.id, s.kind, s.text, s.verified) for i, s in sorted(all_sources().items()) if i in used)
    made: R = replace(cast(Any, result), sources=texts)
    return made
