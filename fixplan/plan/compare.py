"""compare(case, kits, constructs): two to four constructs side by side, each as a plan of its own would hold it.

No overall winner is named: each row says which is higher, and what bench tests say of that difference.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from fixplan.case.model import Case
from fixplan.kits import CorticalScrew, ImScrew, KitSet, Plate
from fixplan.plan import plates as plate_road
from fixplan.plan import screws as screw_road
from fixplan.plan.bow import straightening_finding, straightening_part
from fixplan.plan.compare_bench import differences
from fixplan.plan.compare_cautions import not_passed
from fixplan.plan.compare_rows import rows
from fixplan.plan.compare_types import Compared, Comparison
from fixplan.plan.constructs import EXAMPLE, PLATE, SCREW, Wish, find_stock, parse_wish
from fixplan.plan.draws import Progress
from fixplan.plan.frame import Frame, Reader, build
from fixplan.plan.make import make_plan, with_sources
from fixplan.plan.purchase_view import purchase_of
from fixplan.plan.remarks import OF_THE_CASE, under_load
from fixplan.plan.resolve import Resolved, resolve
from fixplan.plan.response import Setting, respond_screws, setting
from fixplan.plan.strength_types import PurchasePart
from fixplan.plan.tradeoffs import Anchor, Ground, tradeoffs
from fixplan.plan.types import PASS, Plan, PlateCandidate, ScrewCandidate, TradeOff
from fixplan.problems import InputError, Problem
from fixplan.sizing.plate import Placement, best_placement
from fixplan.sizing.rules import at_least

FORMAT = "fixplan-compare/1"
FEWEST, MOST = 2, 4
NOTE = (
    "No overall winner: a construct that is higher in one row is lower in another, and bench tests do not bear out "
    "every order of the beams. The surgeon weighs the rows."
)


def compare(
    case: Case,
    kits: KitSet,
    on: date,
    constructs: Sequence[str] = (),
    *,
    seed: int = 0,
    draws: int = 0,
    progress: Progress = lambda done, total: None,
) -> Comparison:
    """Set constructs side by side: those named here, or those of the case file.

    The first choice that "screw" and "plate" stand for is that of the plan with the same `draws` and `seed`.

    Raises InputError: fewer than two or more than four constructs, one that is not understood, or one twice.
    """
    where = "--construct" if constructs else "compare.constructs"
    asked = tuple(constructs) or case.compare
    if not FEWEST <= len(asked) <= MOST:
        what = f"{len(asked)} construct{'' if len(asked) == 1 else 's'} named"
        right = f"name {FEWEST} to {MOST} with --construct or under [compare], {EXAMPLE}"
        raise InputError([Problem(where, what, right)])
    wishes = [parse_wish(text, where) for text in asked]
    # what is compared need not be what the case wants considered: both kinds are planned
    every = replace(case, plan=replace(case.plan, consider=()))
    plan = make_plan(every, kits, on, seed=seed, draws=draws, worksheet=False, progress=progress)
    roads: dict[tuple[str, float | None], _Variant] = {}
    pieces = [_one(letter, wish, case, kits, plan, roads, where) for letter, wish in zip("ABCD", wishes)]
    found = [p.compared for p in pieces]
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
            rows=rows(found, {p.compared.letter: p.purchase for p in pieces if p.purchase is not None}),
            differences=differences(found),
            tradeoffs=_pictures(kits, pieces),
            given=plan.given,
            findings=tuple(f for f in plan.findings if f.rule in OF_THE_CASE and f.verdict != PASS),
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


@dataclass(frozen=True)
class _Piece:
    """A construct with the road and the stock behind it."""

    compared: Compared
    variant: _Variant
    thing: ImScrew | Plate
    placed: tuple[plate_road.Bed, Placement] | None
    purchase: PurchasePart | None


def _variant(case: Case, wish: Wish, roads: dict[tuple[str, float | None], _Variant]) -> _Variant:
    key = (wish.gap, wish.compression.value if wish.compression else None)
    if key not in roads:
        fracture = case.fracture
        if wish.gap == "open":
            fracture = replace(fracture, compression=None, callus_modulus=None)
        elif wish.gap == "closed":
            fracture = replace(fracture, compression=wish.compression, callus_modulus=None)
        varied = replace(case, fracture=fracture)
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
) -> _Piece:
    def first(kind: str) -> ImScrew | Plate | None:
        part = plan.screw if kind == SCREW else plan.plate
        code = None if part is None else part.first_choice
        stock: tuple[ImScrew | Plate, ...] = kits.im_screws if kind == SCREW else kits.plates
        return next((s for s in stock if s.item == code), None)

    left_out = [f.why for f in plan.findings if f.rule == "left_out" and f.label.startswith(wish.what)]
    if wish.what in (SCREW, PLATE) and left_out:
        raise InputError([Problem(where, f"'{wish.asked}': no {wish.what} is sized here. {left_out[0]}", "measure it")])
    thing = find_stock(wish, kits, first, where)
    v = _variant(case, wish, roads)
    kind = SCREW if isinstance(thing, ImScrew) else PLATE
    if kind == SCREW and SCREW not in v.resolved.consider:
        why = "; ".join(text for part, text, _ in v.resolved.left_out if part == SCREW)
        raise InputError(
            [Problem(where, f"'{wish.asked}': no screw can be held against this bone. {why}", "measure it")]
        )
    screw = _screw(v, thing, kits) if isinstance(thing, ImScrew) else None
    placed = _place(v, thing, wish, case) if isinstance(thing, Plate) else None
    plate = _plate(v, thing, *placed, kits) if isinstance(thing, Plate) and placed else None
    held = screw or plate
    assert held is not None
    notes = []
    if case.plan.kits and thing.kit not in case.plan.kits:
        notes.append("Not of the kits that the case file names.")
    notes += _nearest_note(wish, thing, first)
    if wish.screws is not None and plate is not None:
        count = min(sum(s.filled and s.side == side for s in plate.screws) for side in ("proximal", "distal"))
        if count < wish.screws:
            notes.append(f"Asked for {wish.screws} screws a side; the free bone takes {count} on the poorer side.")
    if not held.response:
        notes.append("No mechanics: this construct cannot be built in this bone.")
    notes += dict.fromkeys(n for r in held.response for n in r.notes)
    purchase = purchase_of(v.frame, v.read, thing, screw) if isinstance(thing, ImScrew) and screw else None
    compared = Compared(
        letter=letter,
        asked=wish.asked,
        label=held.label,
        kind=kind,
        item=thing.item,
        kit=thing.kit,
        gap_state=v.state,
        verdict=held.verdict,
        cautions=not_passed(kind, case, v.resolved, held, purchase),
        under_load=under_load(held.response),
        screw=screw,
        plate=plate,
        notes=tuple(notes),
    )
    return _Piece(compared, v, thing, placed, purchase)


def _nearest_note(wish: Wish, thing: ImScrew | Plate, first: Callable[[str], ImScrew | Plate | None]) -> list[str]:
    """Said where a word led to another length than that of the screw it started from."""
    start = first(SCREW) if wish.what == SCREW else None
    if not isinstance(thing, ImScrew) or not isinstance(start, ImScrew) or {"longer", "shorter"} & set(wish.words):
        return []
    if thing.length == start.length:
        return []
    return [f"Not stocked in {start.length:g} mm: the nearest stock length, {thing.length:g} mm."]


def _screw(v: _Variant, screw: ImScrew, kits: KitSet) -> ScrewCandidate:
    seat = float(np.asarray(v.frame.site.seat))
    tools = tuple(t.item for t in kits.instruments_for(screw))
    held = screw_road.one_screw(
        v.frame, screw, v.resolved.thresholds, lambda some: respond_screws(v.forces, some, seat), tools
    )
    bow = straightening_finding(straightening_part(v.frame, v.resolved.measured is not None, [held]), held)
    return held if bow is None else replace(held, findings=(*held.findings, bow))


def _place(v: _Variant, plate: Plate, wish: Wish, case: Case) -> tuple[plate_road.Bed, Placement]:
    comminuted = case.fracture.pattern == "comminuted"
    bed = plate_road.bed(v.frame, v.read, case.bone.ray, comminuted, bool(case.fracture.crosses_tmt))
    stock = plate_road.stock_plate(plate)
    if wish.screws is None:
        return bed, best_placement(stock, bed.sizing, bed.limits)
    # filled as if that many were wanted, then held against the rule that the plan holds
    placed = best_placement(stock, bed.sizing, replace(bed.limits, screws_per_side_min=float(wish.screws)))
    count = float(placed.held["screws_per_side"].value)
    held = placed.held | {
        "screws_per_side": at_least(count, bed.limits.screws_per_side_min),
        "cortices_per_side": at_least(2 * count, bed.limits.cortices_per_side_min),
    }
    return bed, replace(placed, held=held)


def _plate(v: _Variant, plate: Plate, bed: plate_road.Bed, placed: Placement, kits: KitSet) -> PlateCandidate:
    def tools(used: Sequence[CorticalScrew]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(t.item for s in used for t in kits.instruments_for(s)))

    return plate_road.one_plate(v.frame, kits, bed, v.forces, plate, placed, v.resolved.thresholds, tools)


def _pictures(kits: KitSet, pieces: Sequence[_Piece]) -> tuple[TradeOff, ...]:
    """Trade-offs round the constructs in the state of the gap of the first of them."""
    v = pieces[0].variant
    anchors = []
    for p in pieces:
        if isinstance(p.thing, ImScrew):
            anchors.append(Anchor(p.compared.letter, screw=p.thing))
        elif p.placed is not None and p.compared.plate is not None and p.compared.plate.response:
            anchors.append(Anchor(p.compared.letter, plate=p.thing, bed=p.placed[0], placed=p.placed[1]))
    return tradeoffs(Ground(v.frame, v.forces, v.resolved.thresholds, kits), anchors)
