"""The mechanics of candidates: from stock and bone to the bracket of responses, all sizes in one call."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fixplan.kits import ImScrew
from fixplan.mechanics.loadcases import four_point_rollers
from fixplan.mechanics.loads import LoadRow, design_moment
from fixplan.mechanics.parts import Bone, Contact, Fracture, Loads, Screw
from fixplan.mechanics.responses import BendingResponse, Bracket
from fixplan.mechanics.screw import screw_response
from fixplan.mechanics.strength import yield_factor
from fixplan.plan.frame import Frame, Reader
from fixplan.plan.types import EndResponse, LoadResponse
from fixplan.sizing.rules import Floats

PROTECTED = "protected"
ACTIVITY = {"rest": PROTECTED, "walking": "walking", "running": "running", "cutting": "cutting"}

LABELS = {
    "cantilever_plantar": "force at the head from plantar, base held",
    "cantilever_lateral": "force at the head from lateral, base held",
    "four_point_im_plantar": "four-point bending from plantar, as for intramedullary devices",
    "four_point_plate_plantar": "four-point bending from plantar, as for plates",
}
SCREW_CASES = ("cantilever_plantar", "cantilever_lateral", "four_point_im_plantar")
PLATE_CASES = ("cantilever_plantar", "cantilever_lateral", "four_point_plate_plantar")

# Poisson's ratio of cortical bone enters only torsion and shear, which the plan does not report: G = E / (2 (1 + nu)).
BONE_POISSON = 0.3


@dataclass(frozen=True)
class Setting:
    """Bone and fracture of a case, ready for the mechanics, and the assumed moments it is checked at.

    `protected` is the moment of protected walking, which an unhealed construct meets first; `activity` that of what the
    patient goes back to, or None when the case does not say.
    """

    bone: Bone
    fracture: Fracture
    protected: LoadRow
    activity: LoadRow | None
    ray: int


def setting(frame: Frame, read: Reader, ray: int, activity: str | None) -> Setting:
    """The mechanics' view of a frame (single or drawn)."""
    profile = frame.profile
    # stations need not reach the ends of the bone: its first and last piece run on to them
    end = frame.length[..., None]
    lead = np.broadcast_shapes(profile.s.shape[:-1], end.shape[:-1])
    s = np.broadcast_to(profile.s, (*lead, profile.s.shape[-1]))
    edges = np.concatenate([np.zeros_like(s[..., :1]), s[..., 1:-1], np.broadcast_to(end, (*lead, 1))], -1)

    def pieces(widths: Floats) -> Floats:
        return (widths[..., 1:] + widths[..., :-1]) / 2.0

    E = read.raw("cortical_modulus")
    bone = Bone(
        edges=np.maximum.accumulate(edges, axis=-1),
        outer_x=pieces(profile.outer_ap),
        outer_y=pieces(profile.outer_lateral),
        canal_x=pieces(profile.canal_ap),
        canal_y=pieces(profile.canal_lateral),
        E=E,
        G=E / (2.0 * (1.0 + BONE_POISSON)),
    )
    goal = ACTIVITY.get(activity or "")
    return Setting(
        bone,
        _fracture(frame, read),
        design_moment(PROTECTED),
        design_moment(goal) if goal not in (None, PROTECTED) else None,
        ray,
    )


def loads_for(bone: Bone, fracture: Fracture, moment: float | Floats, *, plate: bool) -> Loads:
    """Forces that give the same moment at the fracture in every case.

    Cantilever: moment / lever to the head. Four-point: half the load on the arm from an outer to an inner roller.
    """
    length, centre = bone.edges[..., -1], fracture.centre
    force = moment / (length - centre)
    arm, _ = four_point_rollers(centre, length, plate=plate)
    one = np.asarray(1.0)
    return Loads(force, force, 2.0 * moment / arm, one, one)


def _fracture(frame: Frame, read: Reader) -> Fracture:
    centre, gap = np.asarray(frame.site.fracture, float), frame.gap
    if read.has("compression"):
        return Fracture(centre, gap, Contact.CLOSED, preload=read.raw("compression"))
    if read.has("callus_modulus"):
        return Fracture(centre, gap, Contact.HEALING, callus_E=read.raw("callus_modulus"))
    return Fracture(centre, gap)


def wide(setting_: Setting) -> Setting:
    """The same setting with a last axis of one on what varies with draws, so that draws (n, 1) meet sizes (m,)."""
    b, f = setting_.bone, setting_.fracture
    return replace(
        setting_,
        bone=Bone(
            *(getattr(b, n)[..., None, :] for n in ("edges", "outer_x", "outer_y", "canal_x", "canal_y")),
            *(np.asarray(getattr(b, n))[..., None] for n in ("E", "G")),
        ),
        fracture=Fracture(
            f.centre[..., None] if np.ndim(f.centre) else f.centre,
            f.gap[..., None] if np.ndim(f.gap) else f.gap,
            f.state,
            None if f.preload is None else np.asarray(f.preload)[..., None],
            None if f.callus_E is None else np.asarray(f.callus_E)[..., None],
        ),
    )


def screw_parts(screws: Sequence[ImScrew], seat: Floats) -> Screw:
    """Stock screws as the mechanics' part, arrays (m,); a thread that runs all along is core throughout."""

    def column(values: list[float]) -> Floats:
        return np.array(values, float)

    return Screw(
        d_major=column([s.d_major for s in screws]),
        d_core=column([s.d_core for s in screws]),
        d_shank=column([s.d_bridge for s in screws]),
        d_cannula=column([s.d_cannula for s in screws]),
        thread_length=column([s.length if s.thread_length is None else s.thread_length for s in screws]),
        length=column([s.length for s in screws]),
        seat=seat,
        E=column([s.material.E_MPa for s in screws]),
        G=column([s.material.G_MPa for s in screws]),
    )


Evaluate = Callable[[Loads, tuple[str, ...]], Bracket]


def screw_brackets(
    setting_: Setting,
    screws: Sequence[ImScrew],
    seat: Floats,
    moment: float | Floats,
    cases: tuple[str, ...] = SCREW_CASES,
) -> Bracket:
    """Both ends of the bracket for a list of screws at a moment, shape (m,) or (n, m)."""
    loads = loads_for(setting_.bone, setting_.fracture, moment, plate=False)
    return screw_response(setting_.bone, setting_.fracture, screw_parts(screws, seat), loads, cases=cases)


def respond_screws(setting_: Setting, screws: Sequence[ImScrew], seat: float) -> list[tuple[LoadResponse, ...]]:
    """Load responses of each screw, for the plan."""
    if not screws:
        return []
    part = screw_parts(screws, np.asarray(seat, float))

    def evaluate(loads: Loads, cases: tuple[str, ...]) -> Bracket:
        return screw_response(setting_.bone, setting_.fracture, part, loads, cases=cases)

    return respond(setting_, evaluate, [s.material.yield_MPa for s in screws], plate=False)


def respond(
    setting_: Setting, evaluate: Evaluate, strength: Sequence[float], *, plate: bool
) -> list[tuple[LoadResponse, ...]]:
    """Load responses of several constructs: every case at the protected moment, then every case at the activity's."""
    cases = PLATE_CASES if plate else SCREW_CASES
    runs: list[tuple[LoadRow, tuple[str, ...]]] = [(setting_.protected, cases)]
    if setting_.activity is not None:
        runs.append((setting_.activity, cases))
    found: list[list[LoadResponse]] = [[] for _ in strength]
    for row, some in runs:
        bracket = evaluate(loads_for(setting_.bone, setting_.fracture, row.mid, plate=plate), some)
        for k, limit in enumerate(strength):
            if bracket.valid[k]:
                found[k] += _load_responses(bracket, row, setting_.ray, k, limit, some)
    return [tuple(rows) for rows in found]


def _load_responses(
    bracket: Bracket, row: LoadRow, ray: int, k: int, strength: float, cases: Sequence[str]
) -> list[LoadResponse]:
    """The bracket of one construct, load case by load case."""
    notes = []
    if not bool(np.broadcast_to(bracket.in_range, bracket.valid.shape)[k]):
        notes.append("The local correction is used outside the range in which it was compared with solids.")
    if ray != 5:
        notes.append("The assumed moment is that of the fifth metatarsal; none was found for this ray.")
    found = []
    for case in cases:
        bonded, loose = bracket.bonded.bending[case], bracket.loose.bending[case]
        found.append(
            LoadResponse(
                load_case=case,
                label=f"{LABELS[case]}, {row.activity}",
                activity=row.activity,
                moment_lo_N_mm=row.mid if row.lo is None else row.lo,
                moment_N_mm=row.mid,
                moment_hi_N_mm=row.mid if row.hi is None else row.hi,
                source=row.source,
                bonded=end(bonded, k, strength),
                loose=end(loose, k, strength),
                plain_bonded=plain_end(bonded, k, strength),
                plain_loose=plain_end(loose, k, strength),
                notes=tuple(notes),
            )
        )
    return found


def end(response: BendingResponse, k: int, strength: float) -> EndResponse:
    """One end of the bracket as plain numbers; None where a number is not known."""

    def at(values: object) -> float:
        return float(np.asarray(values)[k])

    def known(values: object) -> float | None:
        value = at(values)
        return value if np.isfinite(value) else None

    stress = at(response.peak_stress_MPa)
    return EndResponse(
        stiffness_N_per_mm=at(response.stiffness_N_per_mm),
        EI_N_m2=known(response.EI_N_m2),
        ratio_to_intact=known(response.ratio_to_intact),
        moment_at_fracture_N_mm=at(response.moment_at_fracture_N_mm),
        peak_stress_MPa=stress,
        critical_section=str(response.critical_section[k]),
        yield_factor=float(yield_factor(stress, strength)),
        gap_opening_mm=max(at(v) for v in response.opening_mm.values()),
        gap_strain=known(response.gap_strain),
    )


def plain_end(response: BendingResponse, k: int, strength: float) -> EndResponse:
    """The same end without the local correction: the moments, and so the stresses, stay as they are."""
    corrected = end(response, k, strength)
    stiffness = float(response.plain_stiffness_N_per_mm[k])
    share = stiffness / corrected.stiffness_N_per_mm
    opening = max(float(np.asarray(v)[k]) for v in response.plain_opening_mm.values())
    strained = corrected.gap_strain is not None and corrected.gap_opening_mm > 0
    return replace(
        corrected,
        stiffness_N_per_mm=stiffness,
        EI_N_m2=None if corrected.EI_N_m2 is None else corrected.EI_N_m2 * share,
        ratio_to_intact=None if corrected.ratio_to_intact is None else corrected.ratio_to_intact * share,
        gap_opening_mm=opening,
        gap_strain=corrected.gap_strain * opening / corrected.gap_opening_mm if strained else corrected.gap_strain,  # type: ignore[operator]
    )
