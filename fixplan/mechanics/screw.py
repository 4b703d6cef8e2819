"""Intramedullary screw: lines, critical sections, and the bracket of responses.

Model: straight, concentric with the bone; shank before the first thread, core in the thread, cannula out;
where the screw is wider than the canal, the bone is reamed to it. Bonded end: implant and bone share all
strain up to the fracture faces. Loose end: the screw is held at its seat and beyond the fracture from its
first thread (or the distal face, whichever is more distal), and alone in between; a thread on the near side
is not counted as a hold. How a head's bed holds is said in `head.py`. Fracture states: open gap; closed under
lag compression, the gap then being zero, with separation where the moment reaches F_p Z/A of the bone's contact
area, and the implant alone for the load beyond; healing, with callus of the bone's outline in the gap. Units: mm,
N, MPa, N*mm, rad; see `parts.py` for axes and `beam.py` for signs.
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
    added_span_ratio,
    end_compliance,
    half_span_compliance,
    within,
)
from fixplan.mechanics.evaluate import Hot, Member
from fixplan.mechanics.flexure import preload_stress
from fixplan.mechanics.head import bed_ratio, diameter_at_seat, seat_hinge
from fixplan.mechanics.loadcases import CASES, BenchSpans, Case, bending_cases
from fixplan.mechanics.parts import Bone, Contact, Fracture, Loads, Screw
from fixplan.mechanics.responses import Bracket
from fixplan.mechanics.span import Line
from fixplan.mechanics.stations import Stations, area_at, at_point, case_points, second_at, torsion_at

#: names of the critical sections
AT_FRACTURE, FIRST_THREAD, SEAT = "screw at fracture", "first thread", "screw at seat"


def _beta_span(local: LocalBending, E_ratio: Array, EI_free: Array, EI_held: Array, d: Array) -> Array:
    # callus as stiff as the bone leaves nothing lost, give or take the last digit
    lost = np.maximum(1 - EI_free / EI_held, 0.0)
    return np.asarray(added_span_ratio(local.bend, local.exponent, E_ratio, lost) * d)


def _screw_member(
    bone: Bone,
    fracture: Fracture,
    screw: Screw,
    local: LocalBending,
    cases: list[Case],
    *,
    bonded: bool,
    contact: Contact,
) -> Member:
    f = fracture.centre
    gap = np.zeros_like(fracture.gap) if contact is Contact.CLOSED or fracture.state is Contact.CLOSED else fracture.gap
    g1, g2 = f - gap / 2, f + gap / 2
    ts, tip, seat = screw.thread_start, screw.tip, screw.seat
    a, b = (g1, g2) if bonded else (seat, np.maximum(ts, g2))
    d_f = np.where(f >= ts, screw.d_core, screw.d_shank)
    d_a = d_f if bonded else diameter_at_seat(screw)
    bed = np.zeros(()) if bonded else bed_ratio(screw) * d_a
    # where the bed is longer than the bone behind the seat, the clamp takes the rest
    drilled = np.minimum(bed, seat)
    st = Stations.of(bone, [a, b, f, g1, g2, seat, seat - drilled, ts, tip, *case_points(cases)])
    mid = st.mid
    in_screw = (mid > seat[..., None]) & (mid < tip[..., None])
    in_bed = (mid > (seat - drilled)[..., None]) & (mid < seat[..., None])
    d = np.where(mid > ts[..., None], screw.d_core[..., None], screw.d_shank[..., None])
    bore, E = screw.d_cannula[..., None], screw.E[..., None]
    core = np.where(in_screw, d, np.where(in_bed, d_a[..., None], 0.0))
    EI_i, EA_i = E * sec.second_moment_annulus(d, bore), E * sec.area_annulus(d, bore)
    GJ_i = screw.G[..., None] * sec.polar_annulus(d, bore)
    inside = (mid > a[..., None]) & (mid < b[..., None])
    in_gap = (mid > g1[..., None]) & (mid < g2[..., None])
    shared = in_screw & (bonded | (mid > b[..., None])) & ~inside
    heals = contact is Contact.HEALING
    soft = fracture.callus_E[..., None] if fracture.callus_E is not None and heals else bone.E[..., None]
    E_b = np.where(in_gap, soft, bone.E[..., None])
    G_b = bone.G[..., None] * E_b / bone.E[..., None]
    EA_b, GJ_b = E_b * area_at(st.widths(), core), G_b * torsion_at(st.widths(), core)
    fills = in_gap & heals & bonded

    def path(bone_part: Array, implant: Array) -> Array:
        return np.where(inside, implant + np.where(fills, bone_part, 0.0), bone_part + np.where(shared, implant, 0.0))

    d_b = d_f if bonded else np.where(b > ts, screw.d_core, screw.d_shank)
    held_b = d_f if bonded else screw.d_core
    # the bed's own bone, not the canal beyond it
    here, at_a, at_b = at_point(bone, f), at_point(bone, a if bonded else seat - drilled / 2), at_point(bone, b)
    ratio = screw.E / bone.E
    joined = not bonded and contact is not Contact.OPEN
    whole = bonded and contact is Contact.CLOSED
    EA_path, GJ_path = path(EA_b, EA_i), path(GJ_b, GJ_i)
    callus = fracture.callus_E if heals and fracture.callus_E is not None else np.zeros(())
    # what stands beside the screw at the fracture and shares its load there
    around = bone.E if whole else (callus if bonded else np.zeros(()))
    around_G = bone.G * around / bone.E
    at_ts = at_point(bone, np.clip(ts, 0.0, bone.length))
    in_composite = bonded & ((ts < g1) | (ts > g2) | whole)
    around_ts = np.where(in_composite, bone.E, around)
    lines: dict[str, Line] = {}
    per: dict[str, dict[str, Array]] = {"fracture": {}, "thread": {}, "seat": {}}
    for plane in ("y", "x"):
        EI_b = E_b * second_at(st.widths(), plane, core)
        hinges, faces = [], []
        # beyond a loose screw's seat the bone runs on alone
        for place, free_d, held_d, alone in ((at_a, d_a, d_a, not bonded), (at_b, d_b, held_b, False)):
            EI_free = screw.E * sec.second_moment_annulus(free_d, screw.d_cannula)
            EI_held = bone.E * second_at(place, plane, held_d) + screw.E * sec.second_moment_annulus(
                held_d, screw.d_cannula
            )
            if heals and bonded and fracture.callus_E is not None:
                EI_free = EI_free + fracture.callus_E * second_at(place, plane, held_d)
            span = _beta_span(local, ratio, EI_free, EI_held, free_d)
            if alone:
                hinge, face = seat_hinge(local, span, EI_free, EI_held - EI_free, bed, drilled, free_d)
            else:
                hinge, face = end_compliance(span, EI_free, EI_held), half_span_compliance(span, EI_held)
            hinges.append(np.zeros(()) if whole else hinge)
            faces.append(np.zeros(()) if whole else face)
        lines[plane] = Line(
            st.s,
            a,
            b,
            f,
            g1,
            g2,
            path(EI_b, EI_i),
            EI_b,
            EA_path,
            EA_b,
            np.zeros_like(f),
            hinges[0],
            hinges[1],
            joined,
            face_a=faces[0],
            face_b=faces[1],
        )

        def share(widths: dict[str, Array], diameter: Array, E_around: Array, plane: str = plane) -> Array:
            """Stress of the screw's surface per moment of the whole section."""
            own = screw.E * sec.second_moment_annulus(diameter, screw.d_cannula)
            around = E_around * second_at(widths, plane, diameter)
            return np.asarray(screw.E * diameter / 2 / (own + around))

        per["fracture"][plane] = share(here, d_f, around)
        per["seat"][plane] = share(at_a, d_a, np.zeros(()))
        per["thread"][plane] = share(at_ts, screw.d_core, around_ts)

    def pull(widths: dict[str, Array], diameter: Array, E_around: Array) -> Array:
        """Stress of the screw per normal force on the whole section."""
        own = screw.E * sec.area_annulus(diameter, screw.d_cannula)
        return np.asarray(screw.E / (own + E_around * area_at(widths, diameter)))

    hots = [
        Hot(AT_FRACTURE, (g1, g2), not bonded, per["fracture"], pull(here, d_f, around)),
        Hot(FIRST_THREAD, (ts,), not bonded, per["thread"], pull(at_ts, screw.d_core, around_ts)),
    ]
    if not bonded:
        hots.append(Hot(SEAT, (seat,), True, per["seat"], pull(at_a, d_a, np.zeros(()))))
    rest = np.where(inside, 0.0, np.diff(st.s) / EA_path).sum(-1)
    # a loose screw twists as one piece up to its first thread, so that the core there bears the whole torque
    d_t = d_f if bonded else np.minimum(d_f, screw.d_core)
    own = screw.G * sec.polar_annulus(d_t, screw.d_cannula)
    tau = screw.G * d_t / 2 / (own + around_G * torsion_at(here, d_t))
    return Member(
        lines,
        tuple(hots),
        {"y": here["outer_y"] / 2, "x": here["outer_x"] / 2},
        {"y": st.outer_y / 2, "x": st.outer_x / 2},
        bone.E,
        np.asarray(~in_gap, dtype=np.float64),
        rest,
        GJ_path,
        GJ_b,
        np.asarray(tau),
        np.zeros_like(mid),
    )


def _possible(bone: Bone, fracture: Fracture, screw: Screw, local: LocalBending) -> npt.NDArray[np.bool_]:
    """Where the screw starts before the fracture, ends beyond it and in the bone, leaves bone around it and has a
    bed that holds its head.
    """
    half = fracture.gap / 2
    crosses = (screw.seat < fracture.centre - half) & (screw.tip > fracture.centre + half) & (screw.tip <= bone.length)
    # widths along the screw: pieces that it touches
    touched = (bone.edges[..., 1:] > screw.seat[..., None]) & (bone.edges[..., :-1] < screw.tip[..., None])
    narrow = np.where(touched, np.minimum(bone.outer_x, bone.outer_y), np.inf).min(-1)
    return np.asarray(crosses & (bed_ratio(screw) > local.bed_end) & (np.maximum(screw.d_shank, screw.d_core) < narrow))


def screw_response(
    bone: Bone,
    fracture: Fracture,
    screw: Screw,
    loads: Loads,
    *,
    local: LocalBending = PROJECT_DEFAULT,
    cases: tuple[str, ...] = CASES,
    spans: BenchSpans | None = None,
    plain: bool = True,
) -> Bracket:
    """Both ends of the bracket for intramedullary screws, all sizes and draws at once.

    Args:
        bone, fracture, screw, loads: see `parts.py`; leading dimensions broadcast, for instance draws (n, 1)
        against sizes (k,). local: coefficients of the local corrections. cases: which to run. spans: of the
        bench arrangements. plain: False leaves out the uncorrected values (NaN), in half the time.

    Raises:
        ValueError: the fracture lies outside the bone, or a case is unknown or does not fit.

    A screw that does not cross the fracture, leaves the bone or is as wide as it is not an
    error here: `valid` is False and its numbers are NaN.
    """

    def run(bone: Bone, fracture: Fracture, screw: Screw, loads: Loads) -> Bracket:
        return _bracket(bone, fracture, screw, loads, local, cases, spans, plain)

    return in_chunks(run, bone, fracture, screw, loads)


def _bracket(
    bone: Bone,
    fracture: Fracture,
    screw: Screw,
    loads: Loads,
    local: LocalBending,
    cases: tuple[str, ...],
    spans: BenchSpans | None,
    plain: bool,
) -> Bracket:
    fracture.check(bone)
    valid = _possible(bone, fracture, screw, local)
    middle = fracture.centre
    # a stand-in keeps impossible cases finite; they are blanked at the end
    seat = np.where(valid, screw.seat, middle / 4 - fracture.gap / 8)
    tip = np.where(valid, screw.tip, (middle + fracture.gap / 2 + bone.length) / 2)
    length = tip - seat
    thread = np.where(valid, screw.thread_length, length / 4)
    thin = np.minimum(bone.outer_x, bone.outer_y).min(-1) / 4
    safe = replace(
        screw,
        seat=seat,
        length=length,
        thread_length=np.minimum(thread, length),
        d_major=np.where(valid, screw.d_major, 2 * thin),
        d_core=np.where(valid, screw.d_core, thin),
        d_shank=np.where(valid, screw.d_shank, thin),
        d_cannula=np.where(valid, screw.d_cannula, 0.0),
        bed=None if screw.bed is None else np.where(valid, screw.bed, thin),
    )
    bends = bending_cases(cases, bone.length, middle, loads, spans)
    d_f = np.where(middle >= safe.thread_start, safe.d_core, safe.d_shank)
    preload: dict[str, Array] = {}
    if fracture.preload is not None:
        places = {AT_FRACTURE: d_f, FIRST_THREAD: safe.d_core, SEAT: diameter_at_seat(safe)}
        preload = {
            k: np.asarray(preload_stress(fracture.preload, sec.area_annulus(d, safe.d_cannula)))
            for k, d in places.items()
        }

    def build(loc: LocalBending, contact: Contact, bonded: bool) -> Member:
        return _screw_member(bone, fracture, safe, loc, bends, bonded=bonded, contact=contact)

    ends = both_ends(
        build, bone, fracture, loads, bends, d_f, preload, local=local, cases=cases, spans=spans, plain=plain
    )
    here = at_point(bone, middle)
    in_range = (
        within(screw.E / bone.E, local.E_ratio)
        & within(np.minimum(here["outer_x"], here["outer_y"]) / d_f, local.outer_over_d)
        & within(fracture.gap, local.gap_mm)
        & within(bed_ratio(safe), local.bed_over_d)
    )
    bonded, loose = (blank(end, valid) for end in ends)
    return Bracket(bonded, loose, valid, np.asarray(in_range), local.origin)
