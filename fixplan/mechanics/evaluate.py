"""From lines to responses: unit loads through the span solver, then scaled to the loads, through joint
separation where there is one.

Units: mm, N, MPa, N*mm, rad. Signs as in `beam.py`; opening positive when the faces part.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fixplan.mechanics.beam import Array, value_at
from fixplan.mechanics.flexure import load_stiffness, stiffness_ratio
from fixplan.mechanics.loadcases import Case
from fixplan.mechanics.parts import SIDES
from fixplan.mechanics.responses import BendingResponse, TorsionResponse
from fixplan.mechanics.span import Line, SpanState, solve


@dataclass(frozen=True)
class Hot:
    """A critical section of the implant: nominal stress per moment in each plane, and per normal force.

    at: places, mm; the worst counts. inside: its moment is the implant's own line (free span), else the whole
    moment. corner: stresses of the two planes meet at a corner (plate); otherwise they combine as on a
    circle.
    """

    name: str
    at: tuple[Array, ...]
    inside: bool
    per_moment: Mapping[str, Array]
    per_force: Array
    corner: bool = False


@dataclass(frozen=True)
class Member:
    """One end of the bracket in one fracture state: lines in both planes and what is read from them.

    main: the plane of the implant's offset. half: plane -> distance from the bone's axis to the cortex at the
    fracture, mm. bone_c: plane -> (..., m) half outer sizes. is_bone: (..., m) False in the gap. axial_rest:
    (...) mm/N, axial compliance outside the free span. GJ_*: (..., m) N*mm2. tau_per_torque: (...) 1/mm3, of
    the implant. shift: (..., m) mm, distance of the common centroid from the bone's axis outside the free
    span.
    """

    lines: Mapping[str, Line]
    hots: tuple[Hot, ...]
    half: Mapping[str, Array]
    bone_c: Mapping[str, Array]
    bone_E: Array
    is_bone: Array
    axial_rest: Array
    GJ_path: Array
    GJ_chain: Array
    tau_per_torque: Array
    shift: Array
    main: str = "y"


@dataclass(frozen=True)
class Unit:
    """Everything that is linear in the load, per newton."""

    moment: Array
    edge: Mapping[str, Array]
    deflection: Array
    rotation: Array
    stress: Mapping[str, Array]
    bone_stress: Array
    opening: Mapping[str, Array]
    shear: Array


def _read(line: Line, state: SpanState, case: Case) -> tuple[Array, Array]:
    """Displacement at the load, supports at rest, and rotation of the head."""

    def at(x: Array) -> Array:
        on_bone = value_at(line.s, state.w, x)
        if line.joined:
            return on_bone
        in_gap = (x >= line.gap_from) & (x <= line.gap_to)
        return np.where(in_gap, value_at(line.s, state.w_path, x), on_bone)

    places = [case.read[..., k] for k in range(case.read.shape[-1])]
    mean = sum((at(x) for x in places), start=np.zeros(())) / len(places)
    if case.supports is None:
        return mean, state.theta_head
    p, q = case.supports
    w_p, w_q = at(p), at(q)
    centre = case.read.mean(-1)
    sag = w_p + (w_q - w_p) * (centre - p) / (q - p)
    return mean - sag, np.full(mean.shape, np.nan)


def _stresses(member: Member, states: Mapping[str, SpanState]) -> dict[str, Array]:
    out: dict[str, Array] = {}
    for hot in member.hots:
        worst = np.zeros(())
        for x in hot.at:
            parts = []
            pull = np.zeros(())
            for plane, state in states.items():
                moment = state.implant if hot.inside else state.total
                parts.append(np.abs(value_at(member.lines[plane].s, moment, x) * hot.per_moment[plane]))
                pull = np.maximum(pull, np.abs(state.normal))
            bend = (
                sum(parts, start=np.zeros(()))
                if hot.corner
                else np.sqrt(sum((p**2 for p in parts), start=np.zeros(())))
            )
            worst = np.maximum(worst, bend + pull * hot.per_force)
        out[hot.name] = worst
    return out


def _bone_stress(member: Member, states: Mapping[str, SpanState]) -> Array:
    """Greatest bending stress of the bone: on an ellipse the two planes combine as a root of squares, about a
    shifted axis plus the shift.
    """
    worst = np.zeros(())
    for path, chain in (("moment_left", "bone_left"), ("moment_right", "bone_right")):
        square, shift = np.zeros(()), np.zeros(())
        for plane, state in states.items():
            line = member.lines[plane]
            own, shared = getattr(state, chain) / line.EI_chain, getattr(state, path) / line.EI_path
            bend = np.where(line.inside, own, shared)
            # pieces without length, and callus, carry no stress of bone
            bend = np.where(line.length > 0, bend, 0.0) * member.is_bone * member.bone_E[..., None]
            square = square + (bend * member.bone_c[plane]) ** 2
            if plane == member.main:
                shift = np.abs(bend) * np.where(line.inside, 0.0, member.shift)
        worst = np.maximum(worst, (np.sqrt(square) + shift).max(-1))
    return worst


def unit_response(member: Member, case: Case | None) -> Unit:
    """Response to one newton of a bending case; None: one newton of axial compression on the bone's axis."""
    shares = {"y": 1.0, "x": 1.0} if case is None else case.share
    states: dict[str, SpanState] = {}
    for plane, share in shares.items():
        line = member.lines[plane]
        if case is None:
            nothing = np.zeros(1)
            states[plane] = solve(line, nothing, nothing, -1.0)
        else:
            states[plane] = solve(line, case.forces * np.asarray(share)[..., None], case.at)
    moment2, deflection, turn2, shear2 = np.zeros(()), np.zeros(()), np.zeros(()), np.zeros(())
    opening: dict[str, Array] = {}
    edge: dict[str, Array] = {}
    for plane, state in states.items():
        line = member.lines[plane]
        edge[plane] = np.abs(value_at(line.s, state.implant if case is None else state.total, line.centre))
        moment2 = moment2 + edge[plane] ** 2
        shear2 = shear2 + state.shear**2
        if case is not None:
            w, turn = _read(line, state, case)
            deflection = deflection + w * np.asarray(shares[plane])
            turn2 = turn2 + turn**2
    # an implant stretches once, in the plane of its offset; without an offset both planes agree
    stretch = states[member.main].stretch if member.main in states else np.zeros(())
    for side, (plane, sign) in SIDES.items():
        if plane in states:
            opening[side] = stretch - states[plane].open_rotation * sign * member.half[plane]
    if case is None:
        deflection = axial_compliance(member, states)
        turn2 = np.full((), np.nan)
    return Unit(
        np.sqrt(moment2),
        edge,
        deflection,
        np.sqrt(turn2),
        _stresses(member, states),
        _bone_stress(member, states),
        opening,
        np.sqrt(shear2),
    )


def axial_compliance(member: Member, states: Mapping[str, SpanState]) -> Array:
    """Shortening per newton [mm/N] along the bone's axis."""
    line, state = member.lines[member.main], states[member.main]
    inside = line.inside
    if line.joined:
        own = np.where(inside, line.length / line.EA_chain, 0.0).sum(-1)
        return np.asarray(member.axial_rest + (1 + state.normal) * own)
    free = np.where(inside, line.length / line.EA_implant, 0.0).sum(-1)
    bend = np.where(inside, line.length / line.EI_path, 0.0).sum(-1) + line.hinge_a + line.hinge_b
    return np.asarray(member.axial_rest + free + line.offset**2 * bend)


def _mix(load: Array, limit: Array, closed: Array, opened: Array) -> Array:
    """A quantity linear up to the separation load and linear, at another rate, beyond it."""
    first = np.minimum(load, limit)
    return first * closed + np.where(load > limit, load - first, 0.0) * opened


def respond(
    name: str,
    load: Array,
    to_EI: Array,
    unit: Unit,
    plain: Unit | None,
    opened: Unit | None,
    plain_opened: Unit | None,
    limit: Array,
    intact: Array | None,
    gap: Array,
    preload_stress: Mapping[str, Array],
) -> BendingResponse:
    """Scale unit responses to the load. `opened` is the joint after separation; `limit` the load at which it
    opens [N].
    """
    after = opened or unit

    def mix(a: Array, b: Array) -> Array:
        return _mix(load, limit, a, b)

    deflection = mix(unit.deflection, after.deflection)
    stiffness = load_stiffness(load, deflection)
    stress = {k: mix(unit.stress[k], after.stress[k]) + preload_stress.get(k, 0.0) for k in unit.stress}
    bone = mix(unit.bone_stress, after.bone_stress)
    named = stress or {"bone": bone}
    table = np.stack(np.broadcast_arrays(*named.values()), axis=-1)
    opening = {k: mix(v, after.opening[k]) for k, v in unit.opening.items()}
    widest = np.stack(np.broadcast_arrays(*(np.abs(v) for v in opening.values())), -1).max(-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        strain = np.where(gap > 0, widest / gap, np.nan)
    plain_stiffness, plain_opening = np.full((), np.nan), {k: np.full((), np.nan) for k in opening}
    if plain is not None:
        plain_after = plain_opened or plain
        plain_stiffness = np.asarray(load_stiffness(load, mix(plain.deflection, plain_after.deflection)))
        plain_opening = {k: mix(v, plain_after.opening[k]) for k, v in plain.opening.items()}
    return BendingResponse(
        case=name,
        load_N=load,
        stiffness_N_per_mm=stiffness,
        EI_N_m2=stiffness * to_EI * 1e-6,
        ratio_to_intact=np.ones_like(stiffness) if intact is None else stiffness_ratio(stiffness, intact),
        moment_at_fracture_N_mm=load * unit.moment,
        peak_stress_MPa=table.max(-1),
        critical_section=np.array(list(named))[table.argmax(-1)],
        stress_MPa=stress,
        bone_stress_MPa=bone,
        opening_mm=opening,
        shear_mm=mix(unit.shear, after.shear),
        gap_strain=strain,
        deflection_mm=deflection,
        rotation_rad=mix(unit.rotation, after.rotation),
        separation_load_N=limit,
        plain_stiffness_N_per_mm=plain_stiffness,
        plain_opening_mm=plain_opening,
    )


def torsion_response(member: Member, torque: Array, intact: Array | None) -> TorsionResponse:
    """Torsion about the bone's axis; two joined branches share a free span by their stiffness."""
    line = member.lines["y"]
    inside = line.inside
    each = line.length / member.GJ_path
    free = np.where(inside, each, 0.0).sum(-1)
    share = np.ones(())
    if line.joined:
        beside = np.where(inside, line.length / member.GJ_chain, 0.0).sum(-1)
        share = beside / (free + beside)
    span = free * share
    stiffness = 1 / (np.where(inside, 0.0, each).sum(-1) + span)
    return TorsionResponse(
        torque_N_mm=torque,
        stiffness_N_mm_per_rad=stiffness,
        ratio_to_intact=np.ones_like(stiffness) if intact is None else stiffness / intact,
        shear_stress_MPa=torque * share * member.tau_per_torque,
        gap_twist_rad=torque * span,
    )
