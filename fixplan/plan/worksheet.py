"""The worked sheet: the plan's own formulas with its own numbers put in, in the order in which a reader asks."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from fixplan.bone.profile import interpolate
from fixplan.kits import ImScrew, Plate
from fixplan.mechanics import gap, loads, section, strength
from fixplan.plan.frame import Frame, Reader
from fixplan.plan.types import PlateCandidate, ScrewCandidate, WorkedLine
from fixplan.sizing import limits
from fixplan.worked import worked


def _line(id: str, title: str, form: Callable[..., Any], numbers: Mapping[str, float], note: str = "") -> WorkedLine:
    w = worked(f"{form.__module__.removeprefix('fixplan.')}.{form.__name__}", numbers)
    where = f"{w.source}: {w.where}" if w.where else w.source
    return WorkedLine(
        id=id,
        title=f"{title}. {note}" if note else title,
        mathml=w.mathml,
        text=w.plain,
        value=w.value,
        unit=w.unit,
        formula=f"{w.text} ({where})",
        source=w.source,
    )


def screw_sheet(frame: Frame, read: Reader, screw: ImScrew, candidate: ScrewCandidate) -> list[WorkedLine]:
    """Windows, wall, sections, stress, yield factor and gap strain of the chosen screw."""
    site = frame.site
    s = {n: float(np.asarray(getattr(site, n))) for n in ("seat", "fracture", "extent", "straight_cautious")}
    t = {
        n: float(np.asarray(getattr(frame.limits, n)))
        for n in ("run_out_margin", "purchase_min", "bite", "wall_min", "tip_clearance")
    }
    lines = []
    low: dict[str, float] = {"fracture": s["fracture"], "extent": s["extent"], "seat": s["seat"]}
    if screw.thread_length is None:
        low |= {"purchase": t["purchase_min"]}
        lines.append(_line("length-low", "Shortest screw", limits.shortest_full, low))
    else:
        low |= {"run_out": t["run_out_margin"], "thread": screw.thread_length}
        lines.append(_line("length-low", "Shortest screw", limits.shortest_partial, low))
    high = {"straight": s["straight_cautious"], "clearance": t["tip_clearance"], "seat": s["seat"]}
    lines.append(_line("length-high", "Longest screw, cautious limit", limits.longest, high))
    if candidate.corridor_mm is not None:
        numbers = {"corridor": candidate.corridor_mm, "bite": t["bite"]}
        lines.append(_line("diameter-low", "Least diameter that bites", limits.least_biting, numbers))
    if candidate.ream_limit_mm is not None:
        numbers = {"ream_limit": candidate.ream_limit_mm, "wall": t["wall_min"], "diameter": screw.d_major}
        own = candidate.wall_left_mm
        thinner = own is not None and own < limits.wall_left(**numbers) - 1e-9
        note = f"The bone's own wall is thinner over this stretch: {own:.2f} mm." if thinner else ""
        lines.append(_line("wall", "Wall left by the screw", limits.wall_left, numbers, note))
    return lines + _screw_mechanics(frame, read, screw, candidate)


def _screw_mechanics(frame: Frame, read: Reader, screw: ImScrew, candidate: ScrewCandidate) -> list[WorkedLine]:
    if not candidate.response:
        return []
    response = candidate.response[0]
    at_fracture = float(np.asarray(frame.site.fracture))
    crossing = screw.d_core if candidate.first_thread_mm <= at_fracture else screw.d_bridge
    ring = {"d_o": crossing, "d_i": screw.d_cannula}
    lines = [
        _line("screw-I", "Screw where it crosses the fracture", section.second_moment_annulus, ring),
        _line("screw-Z", "Section modulus of the screw", section.section_modulus_annulus, ring),
    ]
    second = lines[0].value
    profile = frame.profile
    columns = [profile.outer_ap, profile.outer_lateral, profile.canal_ap, profile.canal_lateral]
    width, height, canal_w, canal_h = (float(c[0]) for c in interpolate(profile.s, columns, np.array([at_fracture])))
    hollow = {"width": width, "height": height, "width_i": max(canal_w, crossing), "height_i": max(canal_h, crossing)}
    lines.append(
        _line(
            "bone-I",
            "Bone at the fracture, bending from plantar",
            section.second_moment_hollow_ellipse,
            hollow,
            "The canal counts as drilled to the screw where that is wider.",
        )
    )
    E = float(read.raw("cortical_modulus"))
    pair = {"EI_1": E * lines[-1].value, "EI_2": screw.material.E_MPa * second}
    lines.append(_line("composite", "Bone and screw together, concentric", section.unbonded_EI, pair))
    lever = float(frame.length) - at_fracture
    force = {"force": response.moment_N_mm / lever, "lever": lever}
    lines.append(_line("moment", f"Moment at the fracture, {response.activity}", loads.lever_moment, force))
    moment = response.bonded.moment_at_fracture_N_mm
    stress = {
        "M": moment,
        "E": screw.material.E_MPa,
        # a positive moment pulls on the negative side: y there, so that tension comes out positive
        "y": -crossing / 2,
        "y_c": 0.0,
        "EI": screw.material.E_MPa * second,
    }
    note = "If the screw alone carries the moment, as in an open gap: the side that is pulled, at mid-gap."
    lines.append(_line("stress", "Stress in the screw at the fracture", section.composite_stress, stress, note))
    factor = {"stress": response.loose.peak_stress_MPa, "yield_strength": screw.material.yield_MPa}
    note = f"At the loose end; critical section: {response.loose.critical_section}."
    lines.append(_line("yield", "Screw: factor against yield", strength.yield_factor, factor, note))
    width_of_gap = float(frame.gap)
    if width_of_gap > 0 and response.loose.gap_strain is not None:
        numbers = {"displacement": response.loose.gap_strain * width_of_gap, "gap": width_of_gap}
        note = "At the loose end, the side that moves most."
        lines.append(_line("strain", "Screw: strain in the gap", gap.gap_strain, numbers, note))
    return lines


def plate_sheet(frame: Frame, plate: Plate, candidate: PlateCandidate) -> list[WorkedLine]:
    """Section, stress, yield factor and gap strain of the chosen plate."""
    flat = {"w": plate.width, "t": plate.thickness}
    lines = [
        _line("plate-I", "Plate, bent through its thickness", section.second_moment_rectangle, flat),
        _line("plate-Z", "Section modulus of the plate", section.section_modulus_rectangle, flat),
    ]
    if not candidate.response:
        return lines
    response = candidate.response[0]
    factor = {"stress": response.loose.peak_stress_MPa, "yield_strength": plate.material.yield_MPa}
    note = f"At the loose end; critical section: {response.loose.critical_section}."
    lines.append(_line("plate-yield", "Plate: factor against yield", strength.yield_factor, factor, note))
    width_of_gap = float(frame.gap)
    if width_of_gap > 0 and response.loose.gap_strain is not None:
        numbers = {"displacement": response.loose.gap_strain * width_of_gap, "gap": width_of_gap}
        note = "At the loose end, the side that moves most."
        lines.append(_line("plate-strain", "Plate: strain in the gap", gap.gap_strain, numbers, note))
    return lines
