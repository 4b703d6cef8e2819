"""What every construct shares: the intact bone, joint separation, the two ends of the bracket, blanking of
impossible cases.

Units: mm, N, MPa, N*mm, rad; see `parts.py` for axes and `beam.py` for signs.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import Array
from fixplan.mechanics.correction import PLAIN, LocalBending
from fixplan.mechanics.evaluate import Member, Unit, respond, torsion_response, unit_response
from fixplan.mechanics.joint import separation_moment
from fixplan.mechanics.loadcases import CASES, BenchSpans, Case, bending_cases
from fixplan.mechanics.parts import Bone, Contact, Fracture, Loads
from fixplan.mechanics.responses import BendingResponse, EndResponse
from fixplan.mechanics.span import Line
from fixplan.mechanics.stations import Stations, area_at, at_point, case_points, second_at, torsion_at

T = TypeVar("T")


def intact_member(bone: Bone, fracture: Fracture, cases: list[Case]) -> Member:
    """The bone without fracture or implant."""
    f = fracture.centre
    st = Stations.of(bone, [f, *case_points(cases)])
    none = np.zeros_like(st.mid)
    zero = np.zeros(np.broadcast_shapes(f.shape, bone.E.shape))
    E, one = bone.E[..., None], np.ones_like(st.mid)
    lines = {
        plane: Line(
            st.s, f, f, f, f, f, E * second_at(st.widths(), plane, none), one, one, one, zero, zero, zero, joined=False
        )
        for plane in ("y", "x")
    }
    here = at_point(bone, f)
    rest = (np.diff(st.s) / (E * area_at(st.widths(), none))).sum(-1)
    GJ = bone.G[..., None] * torsion_at(st.widths(), none)
    # surface shear of an ellipse, 2T/(pi a b^2) over the narrowest section, as J b.../(a^2+b^2)
    a, b = np.maximum(st.outer_x, st.outer_y) / 2, np.minimum(st.outer_x, st.outer_y) / 2
    tau = (2 * a**2 * b / (a**2 + b**2) / torsion_at(st.widths(), none)).max(-1)
    half = {"y": here["outer_y"] / 2, "x": here["outer_x"] / 2}
    c = {"y": st.outer_y / 2, "x": st.outer_x / 2}
    return Member(lines, (), half, c, bone.E, one, rest, GJ, GJ, tau, none)


def separation_load(bone: Bone, fracture: Fracture, unit: Unit, core: Array) -> Array:
    """Load [N] at which a compressed fracture starts to open under a bending case; infinite when not
    compressed.

    `core`: mm, implant in the contact area; 0 for none.
    """
    if fracture.preload is None:
        return np.full((), np.inf)
    w = at_point(bone, fracture.centre)
    canal = np.maximum(w["canal_x"], core), np.maximum(w["canal_y"], core)
    A = sec.area_hollow_ellipse(w["outer_x"], w["outer_y"], *canal)
    Z = {
        "y": sec.section_modulus_hollow_ellipse(w["outer_x"], w["outer_y"], *canal),
        "x": sec.section_modulus_hollow_ellipse(w["outer_y"], w["outer_x"], canal[1], canal[0]),
    }
    # a core as wide as the bone leaves no contact: such constructs are blanked, here they are kept from the formula
    real = (A > 0) & (Z["y"] > 0) & (Z["x"] > 0)
    area = np.where(real, A, 1.0)
    each = {p: separation_moment(1.0, np.where(real, Z[p], 1.0), area) for p in Z}
    # an ellipse's edge stress under two moments is the root of the squares of the two
    use = np.sqrt(sum(((m / each[p]) ** 2 for p, m in unit.edge.items()), start=np.zeros(())))
    use = np.where(real, use, np.nan)
    with np.errstate(divide="ignore"):
        return np.asarray(fracture.preload / use)


def intact_response(
    bone: Bone, fracture: Fracture, loads: Loads, cases: tuple[str, ...] = CASES, spans: BenchSpans | None = None
) -> EndResponse:
    """The unbroken bone under the same cases: what a construct is compared with.

    `fracture` only says about which place the bench arrangements stand and moments are read.

    Raises:
        ValueError: the fracture lies outside the bone, or a case is unknown or does not fit.
    """
    fracture.check(bone)
    bends = bending_cases(cases, bone.length, fracture.centre, loads, spans)
    member = intact_member(bone, fracture, bends)
    never, none = np.full((), np.inf), np.zeros(())
    out: dict[str, BendingResponse] = {}
    for case in [*bends, *([None] if "axial" in cases else [])]:
        unit = unit_response(member, case)
        name, load, to_EI = (case.name, case.load, case.to_EI) if case else ("axial", loads.axial, np.full((), np.nan))
        out[name] = respond(name, load, to_EI, unit, unit, None, None, never, None, none, {})
    torsion = torsion_response(member, loads.torque, None) if "torsion" in cases else None
    return EndResponse(out, torsion)


def end_response(
    corrected: Member,
    plain: Member | None,
    opened: tuple[Member, Member | None] | None,
    intact: EndResponse,
    bends: list[Case],
    bone: Bone,
    fracture: Fracture,
    loads: Loads,
    cases: tuple[str, ...],
    core: Array,
    preload_stress: Mapping[str, Array],
) -> EndResponse:
    """One end of the bracket from its members; `opened` is the joint after separation (corrected, plain)."""
    gap = np.zeros(()) if opened else fracture.gap
    out: dict[str, BendingResponse] = {}
    for case in [*bends, *([None] if "axial" in cases else [])]:
        unit = unit_response(corrected, case)
        unit_plain = unit_response(plain, case) if plain else None
        after = after_plain = None
        if opened and case is not None:
            after = unit_response(opened[0], case)
            after_plain = unit_response(opened[1], case) if opened[1] else None
        limit = separation_load(bone, fracture, unit, core) if case is not None else np.full((), np.inf)
        name, load, to_EI = (case.name, case.load, case.to_EI) if case else ("axial", loads.axial, np.full((), np.nan))
        out[name] = respond(
            name,
            load,
            to_EI,
            unit,
            unit_plain,
            after,
            after_plain,
            limit,
            intact.bending[name].stiffness_N_per_mm,
            gap,
            preload_stress,
        )
    torsion = None
    if "torsion" in cases and intact.torsion is not None:
        torsion = torsion_response(corrected, loads.torque, intact.torsion.stiffness_N_mm_per_rad)
    return EndResponse(out, torsion)


def both_ends(
    build: Callable[[LocalBending, Contact, bool], Member],
    bone: Bone,
    fracture: Fracture,
    loads: Loads,
    bends: list[Case],
    core: Array,
    preload_stress: Mapping[str, Array],
    *,
    local: LocalBending,
    cases: tuple[str, ...],
    spans: BenchSpans | None,
    plain: bool,
) -> tuple[EndResponse, EndResponse]:
    """The bonded and the loose end of one kind of construct.

    build(local, contact, bonded) makes its member. A closed fracture gets the open one too, for the load beyond
    separation. core: (...) mm, implant in the contact area. preload_stress: (...) MPa by critical section. plain: False
    leaves out the uncorrected beam.
    """
    intact = intact_response(bone, fracture, loads, cases, spans)

    def one(bonded: bool) -> EndResponse:
        opened = None
        if fracture.state is Contact.CLOSED:
            opened = build(local, Contact.OPEN, bonded), build(PLAIN, Contact.OPEN, bonded) if plain else None
        corrected = build(local, fracture.state, bonded)
        uncorrected = build(PLAIN, fracture.state, bonded) if plain else None
        return end_response(
            corrected, uncorrected, opened, intact, bends, bone, fracture, loads, cases, core, preload_stress
        )

    return one(True), one(False)


def blank(result: T, valid: npt.NDArray[np.bool_]) -> T:
    """The same result with NaN wherever the construct is impossible, and every array at its full shape."""
    # NumPy hands back a scalar where every input was one
    if isinstance(result, np.ndarray | np.generic):
        full = np.broadcast_to(result, np.broadcast_shapes(result.shape, valid.shape))
        if full.dtype.kind == "U":
            return np.where(valid, full, "")  # type: ignore[return-value]
        return np.where(valid, full, np.nan)  # type: ignore[return-value]
    if isinstance(result, dict):
        return {k: blank(v, valid) for k, v in result.items()}  # type: ignore[return-value]
    if is_dataclass(result) and not isinstance(result, type):
        return replace(result, **{f.name: blank(getattr(result, f.name), valid) for f in fields(result)})
    return result
