"""compare(case, kits, constructs): two to four constructs side by side, each as a plan of its own would hold it.

No overall winner is named: each row says which is higher, and what bench tests say of that difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from fixplan.case.model import Case
from fixplan.kits import CorticalScrew, ImScrew, KitSet, Plate
from fixplan.plan import plates as plate_road
from fixplan.plan import screws as screw_road
from fixplan.plan.compare_rows import differences, rows
from fixplan.plan.compare_types import Compared, Comparison
from fixplan.plan.constructs import EXAMPLE, PLATE, SCREW, Wish, find_stock, parse_wish
from fixplan.plan.frame import Frame, Reader, build
from fixplan.plan.make import make_plan, with_sources
from fixplan.plan.resolve import Resolved, resolve
from fixplan.plan.response import Setting, respond_screws, setting
from fixplan.plan.tradeoffs import Road, picked_in
from fixplan.plan.types import Plan
from fixplan.problems import InputError, Problem
from fixplan.sizing.plate import best_placement
from fixplan.sizing.rules import at_least

FORMAT = "fixplan-compare/1"
FEWEST, MOST = 2, 4
NOTE = (
    "No overall winner: a construct that is higher in one row is lower in another, and bench tests do not bear out "
    "every order of the beams. The surgeon weighs the rows."
)


def compare(case: Case, kits: KitSet, on: date, constructs: Sequence[str] = ()) -> Comparison:
    """Set constructs side by side: those named here, or those of the case file.

    Raises InputError: fewer than two or more than four constructs, one that is not understood, or one twice.
    """
    where = "--construct" if constructs else "compare.constructs"
    asked = tuple(constructs) or case.compare
    if not FEWEST <= len(asked) <= MOST:
        what = f"{len(asked)} construct{'' if len(asked) == 1 else 's'} named"
        right = f"name {FEWEST} to {MOST} with --construct or under [compare], {EXAMPLE}"
        raise InputError([Problem(where, what, right)])
    wishes = [parse_wish(text, where) for text in asked]
    plan = make_plan(case, kits, on, worksheet=False)
    roads: dict[tuple[str, float | None], _Variant] = {}
    found = []
    for letter, wish in zip("ABCD", wishes):
        found.append(_one(letter, wish, case, kits, plan, roads, where))
    made = [(c.item, c.gap_state, tuple(s.filled for s in c.plate.screws) if c.plate else ()) for c in found]
    for k, key in enumerate(made):
        if key in made[:k]:
            other = found[made.index(key)]
            what = f"'{found[k].asked}' is the same construct as '{other.asked}': {found[k].label}"
            raise InputError([Problem(where, what, f"name constructs that differ, {EXAMPLE}")])
    return with_sources(
        Comparison(
            format=FORMAT,
            fixplan=plan.fixplan,
            case=plan.case,
            inputs_sha256=plan.inputs_sha256,
            fit_for_planning=plan.fit_for_planning,
            constructs=tuple(found),
            rows=rows(found, case, kits, _wanted(case)),
            differences=differences(found),
            tradeoffs=picked_in(Road(case, kits), plan, found),
            given=plan.given,
            findings=tuple(f for f in plan.findings if f.rule == "left_out"),
            note=NOTE,
            cautions=plan.cautions,
            sources=(),
            provenance=plan.provenance,
        )
    )


@dataclass(frozen=True)
class _Variant:
    """The numerical road of the case with one state of the gap."""

    resolved: Resolved
    frame: Frame
    read: Reader
    forces: Setting
    state: str


def _wanted(case: Case) -> float | None:
    return None if case.fracture.compression is None else case.fracture.compression.value


def _variant(case: Case, wish: Wish, roads: dict[tuple[str, float | None], _Variant]) -> _Variant:
    key = (wish.gap, wish.compression.value if wish.compression else None)
    if key not in roads:
        fracture = case.fracture
        if wish.gap == "open":
            fracture = replace(fracture, compression=None, callus_modulus=None)
        elif wish.gap == "closed":
            fracture = replace(fracture, compression=wish.compression, callus_modulus=None)
        varied = replace(case, fracture=fracture)
        # what is compared need not be what the case wants considered: both kinds are resolved
        resolved = resolve(replace(varied, plan=replace(varied.plan, consider=())))
        frame, read = build(resolved), Reader(resolved)
        forces = setting(frame, read, case.bone.ray, case.patient.activity)
        state = forces.fracture.state.value
        if fracture.compression is not None:
            state += f", {fracture.compression.value:g} N"
        roads[key] = _Variant(resolved, frame, read, forces, state)
    return roads[key]


def _one(
    letter: str,
    wish: Wish,
    case: Case,
    kits: KitSet,
    plan: Plan,
    roads: dict[tuple[str, float | None], _Variant],
    where: str,
) -> Compared:
    def first(kind: str) -> ImScrew | Plate | None:
        part = plan.screw if kind == SCREW else plan.plate
        code = None if part is None else part.first_choice
        stock: tuple[ImScrew | Plate, ...] = kits.im_screws if kind == SCREW else kits.plates
        return next((s for s in stock if s.item == code), None)

    thing = find_stock(wish, kits, first, where)
    v = _variant(case, wish, roads)
    kind = SCREW if isinstance(thing, ImScrew) else PLATE
    if kind == SCREW and SCREW not in v.resolved.consider:
        why = "; ".join(text for part, text, _ in v.resolved.left_out if part == SCREW)
        raise InputError(
            [Problem(where, f"'{wish.asked}': no screw can be held against this bone. {why}", "measure it")]
        )
    screw = _screw(v, thing, kits) if isinstance(thing, ImScrew) else None
    plate = _plate(v, thing, wish, case, kits) if isinstance(thing, Plate) else None
    held = screw or plate
    assert held is not None
    notes = []
    if case.plan.kits and thing.kit not in case.plan.kits:
        notes.append("Not of the kits that the case file names.")
    if wish.screws is not None and plate is not None:
        count = min(sum(s.filled and s.side == side for s in plate.screws) for side in ("proximal", "distal"))
        if count < wish.screws:
            notes.append(f"Asked for {wish.screws} screws a side; the free bone takes {count} on the poorer side.")
    if not held.response:
        notes.append("No mechanics: this construct cannot be built in this bone.")
    return Compared(
        letter, wish.asked, held.label, kind, thing.item, thing.kit, v.state, held.verdict, screw, plate, tuple(notes)
    )


def _screw(v: _Variant, screw: ImScrew, kits: KitSet) -> screw_road.ScrewCandidate:
    seat = float(np.asarray(v.frame.site.seat))
    tools = tuple(t.item for t in kits.instruments_for(screw))
    return screw_road.one_screw(
        v.frame, screw, v.resolved.thresholds, lambda some: respond_screws(v.forces, some, seat), tools
    )


def _plate(v: _Variant, plate: Plate, wish: Wish, case: Case, kits: KitSet) -> plate_road.PlateCandidate:
    comminuted = case.fracture.pattern == "comminuted"
    bed = plate_road.bed(v.frame, v.read, case.bone.ray, comminuted, bool(case.fracture.crosses_tmt))
    limits = bed.limits
    if wish.screws is not None:
        # filled as if that many were wanted, then held against the rule that the plan holds
        limits = replace(limits, screws_per_side_min=float(wish.screws))
    placed = best_placement(plate_road.stock_plate(plate), bed.sizing, limits)
    if wish.screws is not None:
        count = float(placed.held["screws_per_side"].value)
        held = placed.held | {
            "screws_per_side": at_least(count, bed.limits.screws_per_side_min),
            "cortices_per_side": at_least(2 * count, bed.limits.cortices_per_side_min),
        }
        placed = replace(placed, held=held)

    def tools(used: Sequence[CorticalScrew]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(t.item for s in used for t in kits.instruments_for(s)))

    return plate_road.one_plate(v.frame, kits, bed, v.forces, plate, placed, v.resolved.thresholds, tools)
