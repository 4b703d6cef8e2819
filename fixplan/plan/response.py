"""The mechanics of candidates: from stock and bone to the bracket of responses, all sizes in one call."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from fixplan.kits import ImScrew
from fixplan.mechanics.loads import LoadRow, design_moment
from fixplan.mechanics.parts import Bone, Contact, Fracture, Loads, Screw
from fixplan.mechanics.responses import BendingResponse, Bracket
from fixplan.mechanics.screw import screw_response
from fixplan.plan.frame import Frame, Reader
from fixplan.plan.types import EndResponse, LoadResponse
from fixplan.sizing.rules import Floats

ACTIVITY = {"rest": "protected", "walking": "walking", "running": "running", "cutting": "cutting"}
DEFAULT_ACTIVITY = "walking"

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
    """Bone, fracture and loads of a case, ready for the mechanics."""

    bone: Bone
    fracture: Fracture
    loads: Loads
    band: LoadRow
    moment: float


def setting(frame: Frame, read: Reader, activity: str | None) -> Setting:
    """The mechanics' view of a frame (single or drawn), loaded to the middle of the assumed moment of an activity."""
    profile = frame.profile
    s = profile.s
    edges = np.concatenate([np.zeros_like(s[..., :1]), s[..., 1:-1], frame.length[..., None] + 0.0 * s[..., -1:]], -1)

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
    centre = np.asarray(frame.site.fracture, float)
    band = design_moment(ACTIVITY[activity or DEFAULT_ACTIVITY])
    force = band.mid / (frame.length - centre)
    room = np.minimum(centre, frame.length - centre)
    # four-point: quarter points for plates, third points for intramedullary devices; the same moment at the fracture
    loads = Loads(force, force, 2.0 * band.mid / (2.0 * room / 3.0), np.asarray(1.0), np.asarray(1.0))
    return Setting(bone, _fracture(frame, read), loads, band, band.mid)


def _fracture(frame: Frame, read: Reader) -> Fracture:
    centre, gap = np.asarray(frame.site.fracture, float), frame.gap
    if read.has("compression"):
        return Fracture(centre, gap, Contact.CLOSED, preload=read.raw("compression"))
    if read.has("callus_modulus"):
        return Fracture(centre, gap, Contact.HEALING, callus_E=read.raw("callus_modulus"))
    return Fracture(centre, gap)


def wide(setting_: Setting) -> Setting:
    """The same setting with a last axis of one on what varies with draws, so that draws (n, 1) meet sizes (m,)."""
    b, f, loads = setting_.bone, setting_.fracture, setting_.loads
    varying = {x.name: getattr(loads, x.name) for x in fields(loads) if np.ndim(getattr(loads, x.name))}

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
        loads=replace(loads, **{n: v[..., None] for n, v in varying.items()}),
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


def screw_brackets(setting_: Setting, screws: Sequence[ImScrew], seat: Floats) -> Bracket:
    """Both ends of the bracket for a list of screws, shape (m,) or (n, m)."""
    return screw_response(
        setting_.bone, setting_.fracture, screw_parts(screws, seat), setting_.loads, cases=SCREW_CASES
    )


def respond_screws(setting_: Setting, screws: Sequence[ImScrew], seat: float) -> list[tuple[LoadResponse, ...]]:
    """Load responses of each screw, for the plan."""
    if not screws:
        return []
    bracket = screw_brackets(setting_, screws, np.asarray(seat, float))
    strength = [s.material.yield_MPa for s in screws]
    return [
        load_responses(bracket, setting_, k, y, SCREW_CASES) if bracket.valid[k] else () for k, y in enumerate(strength)
    ]


def load_responses(
    bracket: Bracket, setting_: Setting, k: int, strength: float, cases: Sequence[str]
) -> tuple[LoadResponse, ...]:
    """The bracket of one construct, load case by load case."""
    notes = (
        ()
        if bool(np.ravel(bracket.in_range)[min(k, bracket.in_range.size - 1)])
        else ("The local correction is used outside the range in which it was compared with solids.",)
    )
    found = []
    for case in cases:
        bonded, loose = bracket.bonded.bending[case], bracket.loose.bending[case]
        found.append(
            LoadResponse(
                load_case=case,
                label=LABELS[case],
                activity=setting_.band.activity,
                moment_lo_N_mm=float(setting_.band.lo or setting_.band.mid),
                moment_N_mm=float(setting_.band.mid),
                moment_hi_N_mm=float(setting_.band.hi or setting_.band.mid),
                source=setting_.band.source,
                bonded=end(bonded, k, strength),
                loose=end(loose, k, strength),
                plain_bonded=plain_end(bonded, k, strength),
                plain_loose=plain_end(loose, k, strength),
                notes=notes,
            )
        )
    return tuple(found)


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
        yield_factor=strength / stress,
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
