"""The worked sheet: the plan's own formulas with its own numbers put in, in the order in which a reader asks.

A number on the page is linked to the line that gives it (`WorkedLine.shows`), and to no other.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from fixplan.kits import ImScrew, KitSet, Plate
from fixplan.mechanics.parts import Plate as Laid
from fixplan.mechanics.plate import plate_response
from fixplan.mechanics.responses import Bracket
from fixplan.mechanics.screw import screw_response
from fixplan.plan.frame import Frame, Reader
from fixplan.plan.inputs import Parameter
from fixplan.plan.plates import Bed, laid_plate
from fixplan.plan.response import PLATE_CASES, SCREW_CASES, Setting, loads_for, screw_parts
from fixplan.plan.screws import Sized
from fixplan.plan.types import PlateCandidate, PlatePlan, ScrewCandidate, ScrewPlan, WorkedLine
from fixplan.plan.worksheet_bending import mechanics_lines
from fixplan.plan.worksheet_line import Sheet
from fixplan.plan.worksheet_load import Evaluate
from fixplan.plan.worksheet_parts import PlateParts, ScrewParts
from fixplan.plan.worksheet_plate import plate_lines
from fixplan.plan.worksheet_screw import choice_lines, window_lines
from fixplan.plan.worksheet_strength import strength_lines
from fixplan.sizing.plate import Placement
from fixplan.sizing.rules import Floats


def screw_sheet(
    frame: Frame,
    read: Reader,
    forces: Setting,
    sized: Sized,
    plan: ScrewPlan,
    thresholds: dict[str, Parameter],
    chosen: tuple[ImScrew, ScrewCandidate, Evaluate] | None,
) -> list[WorkedLine]:
    """Windows; and of the chosen screw its margins, its walls and its mechanics in the load cases that decide."""
    sheet = Sheet()
    window_lines(sheet, frame, plan, sized, thresholds)
    if chosen is None:
        return sheet.lines
    screw, candidate, run = chosen
    choice_lines(sheet, frame, screw, candidate, thresholds)
    if candidate.response:
        seat = np.asarray(frame.site.seat)
        parts = ScrewParts(forces.bone, forces.fracture, screw, screw_parts([screw], seat))
        mechanics_lines(sheet, parts, candidate.response, run, screw.material)
    strength_lines(sheet, frame, read, screw, candidate)
    return sheet.lines


def screw_runs(forces: Setting, screw: ImScrew, seat: Floats) -> Evaluate:
    """One screw under any moment; a moment asked for again is not run again."""
    part = screw_parts([screw], seat)

    @cache
    def run(moment: float) -> Bracket:
        loads = loads_for(forces.bone, forces.fracture, moment, plate=False)
        return screw_response(forces.bone, forces.fracture, part, loads, cases=SCREW_CASES, plain=False)

    return run


def plate_sheet(
    forces: Setting,
    kits: KitSet,
    where: Bed,
    plan: PlatePlan,
    chosen: tuple[Plate, Placement, PlateCandidate] | None,
    run: Evaluate | None,
) -> list[WorkedLine]:
    """Span; and of the chosen plate its ratios and its mechanics in the load cases that decide."""
    sheet = Sheet()
    plate_lines(sheet, where, plan, chosen)
    if chosen is None or run is None or not chosen[2].response:
        return sheet.lines
    plate, placed, candidate = chosen
    shifted, part = laid_plate(forces, where, plate, placed, kits, np.ones(1))
    parts = PlateParts(shifted.bone, shifted.fracture, plate, part)
    mechanics_lines(sheet, parts, candidate.response, run, plate.material)
    return sheet.lines


def plate_runs(shifted: Setting, part: Laid) -> Evaluate:
    """One plate, as it is laid, under any moment; a moment asked for again is not run again."""

    @cache
    def run(moment: float) -> Bracket:
        loads = loads_for(shifted.bone, shifted.fracture, moment, plate=True)
        return plate_response(shifted.bone, shifted.fracture, part, loads, cases=PLATE_CASES, plain=False)

    return run
