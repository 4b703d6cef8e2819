"""What the beams say of one construct under one load case, at its load and where its joint starts to open."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from fixplan.mechanics.bracket import intact_response
from fixplan.mechanics.loadcases import four_point_rollers
from fixplan.mechanics.parts import Bone, Contact, Fracture, Loads
from fixplan.mechanics.responses import Bracket
from fixplan.plan.types import LoadResponse

Evaluate = Callable[[float], Bracket]
"""A moment at the fracture [N*mm] -> the bracket of one construct in all its load cases, arrays (1,)."""


@dataclass(frozen=True)
class Case:
    """One load case on one bone: `length` from the proximal end to the head, `centre` of the fracture [mm].

    `arm` is the distance from an outer to an inner roller in four-point bending, None for a force at the head;
    `inner` that between the inner rollers.
    """

    name: str
    length: float
    centre: float
    arm: float | None
    inner: float = 0.0

    @property
    def plane(self) -> str:
        """ "y" where a force from plantar bends, "x" where one from lateral does."""
        return "x" if self.name.endswith("lateral") else "y"

    def lever(self, x: float) -> float:
        """Lever of the force at the head to a section at x [mm]."""
        return self.length - x


def case_of(r: LoadResponse, bone: Bone, fracture: Fracture, *, plate: bool) -> Case:
    """The load case of a response."""
    length, centre = float(np.max(bone.length)), float(np.max(fracture.centre))
    if not r.load_case.startswith("four"):
        return Case(r.load_case, length, centre, None)
    arm, inner = four_point_rollers(np.asarray(centre), np.asarray(length), plate=plate)
    return Case(r.load_case, length, centre, float(arm), float(inner))


@dataclass(frozen=True)
class Loaded:
    """One end of the bracket: force [N], deflection [mm], moment [N*mm], stress by section [MPa], opening by side [mm].

    `separation` is the moment at which a compressed fracture starts to open, None where nothing compresses it;
    `touching` the stress by section at the smaller of that moment and the load, the screw's tension in it.
    """

    force: float
    deflection: float
    moment: float
    separation: float | None
    stress: Mapping[str, float]
    touching: Mapping[str, float]
    opening: Mapping[str, float]


def _one(values: object) -> float:
    return float(np.asarray(values).reshape(-1)[0])


def intact_stiffness(bone: Bone, fracture: Fracture, case: Case) -> float:
    """Stiffness [N/mm] of the same bone, unbroken and without implant, under a load case; the load cancels out."""
    one = np.ones(())
    unbroken = intact_response(bone, fracture, Loads(one, one, one, one, one), (case.name,))
    return _one(unbroken.bending[case.name].stiffness_N_per_mm)


def loaded(evaluate: Evaluate, r: LoadResponse, end: str, state: Contact) -> Loaded:
    """Run one construct again for one case, with all that the plan does not keep."""

    def run(moment: float) -> tuple[dict[str, float], Bracket]:
        bracket = evaluate(moment)
        response = getattr(bracket, end).bending[r.load_case]
        return {k: _one(v) for k, v in response.stress_MPa.items()}, bracket

    stress, bracket = run(r.moment_N_mm)
    b = getattr(bracket, end).bending[r.load_case]
    force, moment = _one(b.load_N), _one(b.moment_at_fracture_N_mm)
    separation: float | None = None
    touching = stress
    if state is Contact.CLOSED:
        separation = moment * _one(b.separation_load_N) / force
        if separation < moment:
            touching = run(r.moment_N_mm * separation / moment)[0] if separation > 0 else dict.fromkeys(stress, 0.0)
    opening = {k: _one(v) for k, v in b.opening_mm.items()}
    return Loaded(force, _one(b.deflection_mm), moment, separation, stress, touching, opening)
