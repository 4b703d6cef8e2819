"""Bridge plate: lines, critical sections, and the bracket of responses.

Model: a straight plate along one side of the bone at a standoff, its line set by the bone's outer surface at
the fracture. Bonded end: locked screws carry shear across, plate and bone bend about their common centroid
from one end of the plate to the other, up to the fracture faces; the plate alone bridges the gap. Loose end:
the plate is held at its innermost screws and bridges the working length alone; beyond them plate and bone
bend each about its own centroid, or about the common one where the screws are locked. The bending of the
plate screws adds working length (`correction.py`), at the loose end only. Screws further out are counted as
rigid links. A lag screw beside the plate enters as the closed state: it compresses the fracture, and its own
bending is left out. Force on the bone's axis bends the plate by its offset. Torsion: a couple in the free
span twists the plate about itself. Units: mm, N, MPa, N*mm, rad; see `parts.py` for axes and `beam.py` for
signs.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import Array
from fixplan.mechanics.bracket import blank, both_ends
from fixplan.mechanics.chunks import in_chunks
from fixplan.mechanics.correction import (
    PROJECT_DEFAULT,
    LocalBending,
    end_compliance,
    hole_stress,
    screw_bending_span,
    within,
)
from fixplan.mechanics.evaluate import Hot, Member
from fixplan.mechanics.loadcases import CASES, BenchSpans, Case, bending_cases
from fixplan.mechanics.parts import SIDES, Bone, Contact, Fracture, Loads, Plate
from fixplan.mechanics.responses import Bracket, EndResponse
from fixplan.mechanics.span import Line
from fixplan.mechanics.stations import Stations, area_at, at_point, case_points, second_at, torsion_at

EMPTY_HOLE = "plate at empty hole"


def _rigidities(plate: Plate, hole: Array) -> dict[str, Array]:
    """Plate bent through its thickness, bent edgewise, and pulled, at a section with a hole of the given
    diameter (0: none).
    """
    return {
        "flat": np.asarray(
            plate.E[..., None] * sec.second_moment_net_flat(plate.width[..., None], plate.thickness[..., None], hole)
        ),
        "edge": np.asarray(
            plate.E[..., None] * sec.second_moment_net_edge(plate.width[..., None], plate.thickness[..., None], hole)
        ),
        "pull": np.asarray(
            plate.E[..., None] * sec.area_rectangle(plate.width[..., None] - hole, plate.thickness[..., None])
        ),
    }


def _plate_member(
    bone: Bone,
    fracture: Fracture,
    plate: Plate,
    local: LocalBending,
    cases: list[Case],
    *,
    bonded: bool,
    contact: Contact,
) -> Member:
    f = fracture.centre
    main, sign = SIDES[plate.side]
    other = "x" if main == "y" else "y"
    gap = np.zeros_like(fracture.gap) if fracture.state is Contact.CLOSED else fracture.gap
    g1, g2 = f - gap / 2, f + gap / 2
    a, b = (g1, g2) if bonded else (plate.inner_proximal, plate.inner_distal)
    h1, h2 = f - plate.hole / 2, f + plate.hole / 2
    st = Stations.of(bone, [a, b, f, g1, g2, h1, h2, plate.start, plate.end, *case_points(cases)])
    mid, widths = st.mid, st.widths()
    none = np.zeros_like(mid)
    under = (mid > plate.start[..., None]) & (mid < plate.end[..., None])
    inside = (mid > a[..., None]) & (mid < b[..., None])
    in_gap = (mid > g1[..., None]) & (mid < g2[..., None])
    at_hole = plate.empty_hole[..., None] & (mid > h1[..., None]) & (mid < h2[..., None])
    own = _rigidities(plate, np.where(at_hole, plate.hole[..., None], 0.0))
    here = at_point(bone, f)
    offset = sign * sec.plate_offset(here[f"outer_{main}"], plate.standoff, plate.thickness)
    heals, whole = contact is Contact.HEALING, bonded and contact is Contact.CLOSED
    soft = fracture.callus_E[..., None] if fracture.callus_E is not None and heals else bone.E[..., None]
    E_b = np.where(in_gap, soft, bone.E[..., None])
    EA_b = E_b * area_at(widths, none)
    GJ_b = bone.G[..., None] * E_b / bone.E[..., None] * torsion_at(widths, none)
    # pieces where bone (or callus) and plate share a common centroid
    locked = np.asarray(plate.locked)
    shared = under & (~inside | (in_gap & heals)) if bonded else under & ~inside & locked[..., None]
    alone = inside & ~shared
    e = offset[..., None]
    centroid = np.where(shared, sec.composite_centroid(EA_b, 0.0, own["pull"], e), 0.0)
    EI_b = {plane: E_b * second_at(widths, plane, none) for plane in (main, other)}
    composite = sec.composite_EI(EI_b[main], EA_b, 0.0, own["flat"], own["pull"], e)
    beside = np.where(under & ~inside, 1.0, 0.0)
    EI_main = np.where(alone, own["flat"], np.where(shared, composite, EI_b[main] + beside * own["flat"]))
    EI_other = np.where(alone, own["edge"], EI_b[other] + np.where(shared, 1.0, beside) * own["edge"])
    EA = np.where(alone, own["pull"], EA_b + np.where(shared, own["pull"], 0.0))
    plate_GJ = plate.G[..., None] * sec.torsion_rectangle(plate.width[..., None], plate.thickness[..., None])
    GJ = np.where(alone, plate_GJ, GJ_b + np.where(shared, plate_GJ, 0.0))

    # the sections at the fracture and at the innermost screws, one per case
    solid = {k: v[..., 0] for k, v in _rigidities(plate, np.zeros(1)).items()}
    net = {k: v[..., 0] for k, v in _rigidities(plate, plate.hole[..., None]).items()}
    beside_E = (
        bone.E if whole else (fracture.callus_E if bonded and heals and fracture.callus_E is not None else np.zeros(()))
    )
    axis, zero = _axis_at(here, beside_E, solid["pull"], offset), np.zeros_like(f)
    span = (
        np.zeros(())
        if bonded
        else np.asarray(
            screw_bending_span(
                local.screw_bending, local.screw_relief, plate.E / bone.E, plate.thickness, plate.screw_core
            )
        )
    )
    hinge: dict[str, tuple[Array, Array]] = {}
    for plane, kind in ((main, "flat"), (other, "edge")):
        held_a, held_b = (_held(bone, x, plane, solid, kind, offset, locked & (plane == main)) for x in (a, b))
        hinge[plane] = (
            np.asarray(end_compliance(span, solid[kind], held_a)),
            np.asarray(end_compliance(span, solid[kind], held_b)),
        )
    joined = not bonded and contact is not Contact.OPEN
    line_main = Line(st.s, a, b, f, g1, g2, EI_main, EI_b[main], EA, EA_b, axis, hinge[main][0], hinge[main][1], joined)
    line_other = Line(
        st.s, a, b, f, g1, g2, EI_other, EI_b[other], EA, EA_b, zero, hinge[other][0], hinge[other][1], joined
    )

    def hot(name: str, at: tuple[Array, ...], section: dict[str, Array], factor: Array, around: Array) -> Hot:
        """Corner stress of the plate: about the axis of the whole section in its own plane, edgewise in the
        other.
        """
        line = _axis_at(here, around, section["pull"], offset)
        EI_c = sec.composite_EI(
            around * second_at(here, main, zero),
            around * area_at(here, zero),
            0.0,
            section["flat"],
            section["pull"],
            offset,
        )
        EI_o = around * second_at(here, other, zero) + section["edge"]
        reach = np.abs(offset - line) + plate.thickness / 2
        per = {main: factor * plate.E * reach / EI_c, other: factor * plate.E * plate.width / 2 / EI_o}
        return Hot(
            name, at, True, per, factor * plate.E / (around * area_at(here, zero) + section["pull"]), corner=True
        )

    one = np.ones(())
    hots = [hot("plate over gap", (g1, g2), solid, one, beside_E)]
    if plate.empty_hole.any():
        raised = hole_stress(
            local.hole_base, local.hole_width, local.hole_thickness, _some_hole(plate), plate.width, plate.thickness
        )
        factor = np.where(plate.empty_hole, raised, 0.0)
        hots.append(hot(EMPTY_HOLE, (f,), net, factor, beside_E))
    if not bonded:
        hots.append(hot("plate at inner screw", (a, b), net, one, np.zeros(())))
    length = np.diff(st.s)
    rest = np.where(inside, 0.0, length * (1 / EA + centroid**2 / EI_main)).sum(-1)
    J = plate.G * sec.torsion_rectangle(plate.width, plate.thickness)
    beside_G = bone.G * beside_E / bone.E * torsion_at(here, zero)
    tau = sec.torsion_stress_rectangle(1.0, plate.width, plate.thickness) * J / (J + beside_G)
    half = {"y": here["outer_y"] / 2, "x": here["outer_x"] / 2}
    c = {"y": st.outer_y / 2, "x": st.outer_x / 2}
    is_bone = np.asarray(~in_gap, dtype=np.float64)
    lines = {main: line_main, other: line_other}
    return Member(lines, tuple(hots), half, c, bone.E, is_bone, rest, GJ, GJ_b, np.asarray(tau), np.abs(centroid), main)


def _some_hole(plate: Plate) -> Array:
    """Hole diameter [mm], the plate's width where it has no hole and none is asked for."""
    return np.where(plate.hole > 0, plate.hole, plate.width)


def _held(
    bone: Bone,
    x: Array,
    plane: str,
    solid: dict[str, Array],
    kind: str,
    offset: Array,
    composite: npt.NDArray[np.bool_],
) -> Array:
    """Flexural rigidity of bone and plate at an innermost screw, about the common centroid or each about its own."""
    here, zero = at_point(bone, x), np.zeros_like(x)
    EI = bone.E * second_at(here, plane, zero)
    common = sec.composite_EI(EI, bone.E * area_at(here, zero), 0.0, solid[kind], solid["pull"], offset)
    return np.asarray(np.where(composite, common, sec.unbonded_EI(EI, solid[kind])))


def _axis_at(here: dict[str, Array], E_around: Array, pull: Array, offset: Array) -> Array:
    """Centroid of plate and what stands beside it at the fracture; the plate's own when nothing does."""
    area = area_at(here, np.zeros(()))
    return np.asarray(sec.composite_centroid(E_around * area, 0.0, pull, offset))


def _possible(bone: Bone, fracture: Fracture, plate: Plate) -> npt.NDArray[np.bool_]:
    """Where the plate lies on the bone and has its innermost screws on either side of the gap."""
    half = fracture.gap / 2
    near, far = fracture.centre - half, fracture.centre + half
    return np.asarray((plate.end <= bone.length) & (plate.inner_proximal <= near) & (plate.inner_distal >= far))


def _hide_absent_hole(end: EndResponse, empty: npt.NDArray[np.bool_]) -> EndResponse:
    """No number for a hole that is not there."""
    bending = {
        name: replace(
            r, stress_MPa={k: np.where(empty, v, np.nan) if k == EMPTY_HOLE else v for k, v in r.stress_MPa.items()}
        )
        for name, r in end.bending.items()
    }
    return replace(end, bending=bending)


def plate_response(
    bone: Bone,
    fracture: Fracture,
    plate: Plate,
    loads: Loads,
    *,
    local: LocalBending = PROJECT_DEFAULT,
    cases: tuple[str, ...] = CASES,
    spans: BenchSpans | None = None,
    plain: bool = True,
) -> Bracket:
    """Both ends of the bracket for bridge plates on one side of the bone, all sizes and draws at once.

    Args:
        bone, fracture, plate, loads: see `parts.py`; leading dimensions broadcast, for instance draws (n, 1)
        against plates (k,). local: coefficients of the local corrections. cases: which to run. spans: of the
        bench arrangements. plain: False leaves out the uncorrected values (NaN), in half the time.

    Raises:
        ValueError: the fracture lies outside the bone, or a case is unknown or does not fit.

    A plate that leaves the bone or does not span the fracture is not an error here: `valid`
    is False and its numbers are NaN.
    """

    def run(bone: Bone, fracture: Fracture, plate: Plate, loads: Loads) -> Bracket:
        return _bracket(bone, fracture, plate, loads, local, cases, spans, plain)

    return in_chunks(run, bone, fracture, plate, loads)


def _bracket(
    bone: Bone,
    fracture: Fracture,
    plate: Plate,
    loads: Loads,
    local: LocalBending,
    cases: tuple[str, ...],
    spans: BenchSpans | None,
    plain: bool,
) -> Bracket:
    fracture.check(bone)
    valid = _possible(bone, fracture, plate)
    near, far = fracture.centre - fracture.gap / 2, fracture.centre + fracture.gap / 2
    # a stand-in keeps impossible cases finite; they are blanked at the end
    safe = replace(
        plate,
        start=np.where(valid, plate.start, near / 4),
        inner_proximal=np.where(valid, plate.inner_proximal, near / 2),
        inner_distal=np.where(valid, plate.inner_distal, (far + bone.length) / 2),
        end=np.where(valid, plate.end, (far + 3 * bone.length) / 4),
    )
    bends = bending_cases(cases, bone.length, fracture.centre, loads, spans)
    none = np.zeros(())

    def build(loc: LocalBending, contact: Contact, bonded: bool) -> Member:
        return _plate_member(bone, fracture, safe, loc, bends, bonded=bonded, contact=contact)

    ends = both_ends(build, bone, fracture, loads, bends, none, {}, local=local, cases=cases, spans=spans, plain=plain)
    bonded, loose = (blank(_hide_absent_hole(end, plate.empty_hole), valid) for end in ends)
    in_range = (
        within(plate.thickness / plate.screw_core, local.thickness_over_core)
        & within(plate.E / bone.E, local.E_ratio)
        & within(fracture.gap, local.gap_mm)
        & (~plate.empty_hole | within(plate.hole / plate.width, local.hole_over_width))
        & (~plate.empty_hole | within(plate.thickness / _some_hole(plate), local.thickness_over_hole))
    )
    return Bracket(bonded, loose, valid, np.asarray(in_range), local.origin)
