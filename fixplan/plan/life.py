"""Cycles of the chosen screw to the design amplitude of its metal, as a band, and the torsion its core bears.

A step loads the foot from nothing to the moment and back: amplitude and mean are half the range each, on top of the
stress of the compression where there is one. Cycles are counts of loading beside the steps of a day; no weeks follow.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fixplan.kits import ImScrew
from fixplan.mechanics.fatigue import cycles_to_failure
from fixplan.mechanics.life import STATEMENT, THREAD_NOTCH_FACTORS, BasquinLine, design_line
from fixplan.mechanics.loads import STEPS_PER_DAY, LoadRow, cycles_per_foot
from fixplan.mechanics.mean_stress import reversed_amplitude
from fixplan.mechanics.parts import Contact
from fixplan.mechanics.published import Published
from fixplan.mechanics.responses import BendingResponse
from fixplan.mechanics.screw import screw_response
from fixplan.mechanics.torsion import BREAKING_TORQUES, plastic_torque, shear_strength, yield_torque
from fixplan.plan.response import Setting, loads_for, screw_parts
from fixplan.plan.strength_types import LifeEnd, LifePart, TorsionPart

CASE = "cantilever_plantar"
# a load this small against the band leaves the stress of the compression alone
AT_REST = 1e-6
SMOOTH = Published("notch factor of a smooth shank", 1.0, 1.0, 1.0, "1", "SHIG9", "F", "sec. 6-10")
NOTCHES = {
    "first thread": THREAD_NOTCH_FACTORS["rolled thread"],
    "screw at seat": THREAD_NOTCH_FACTORS["fillet"],
}
# the bounds of the published step bands: active from 10 000, low active from 5000
STEPS = tuple(float(b.lo) for b in reversed(STEPS_PER_DAY) if b.lo is not None)
SOURCE = "PROJECT, SHIG9, F1264-web, TL04"
STATES = {
    Contact.OPEN: "The gap is open: the implant alone carries every load.",
    Contact.CLOSED: "The compression wanted is taken as kept: the closed faces carry their part until they open.",
    Contact.HEALING: "Callus of one modulus carries its part all along.",
}
ENDS = {"loose": "held at seat and thread", "bonded": "bonded to the fracture faces"}


def life_parts(setting: Setting, screw: ImScrew, seat: float) -> tuple[LifePart, ...]:
    """One part for the protected moment and one for that of the activity, where the case names one."""
    rows = [setting.protected] + ([setting.activity] if setting.activity is not None else [])
    return tuple(_part(setting, screw, seat, row) for row in rows)


def _part(setting: Setting, screw: ImScrew, seat: float, row: LoadRow) -> LifePart:
    low, high = (row.mid if v is None else v for v in (row.lo, row.hi))
    moments = np.array([high, row.mid, low])
    with_rest = np.append(moments, AT_REST * low)
    loads = loads_for(setting.bone, setting.fracture, with_rest, plate=False)
    part = screw_parts([screw], np.asarray(seat))
    bracket = screw_response(setting.bone, setting.fracture, part, loads, cases=(CASE,))
    ends: tuple[LifeEnd, ...] = ()
    if screw.material.fatigue_MPa is not None and bool(np.all(bracket.valid)):
        ends = tuple(_end(screw, name, getattr(bracket, key).bending[CASE]) for key, name in ENDS.items())
    per_day = np.asarray(cycles_per_foot(np.array(STEPS)))
    notch = _notch(screw, ends[0].section) if ends else SMOOTH
    note = f"{STATEMENT} Each step is taken as one full load and release. {STATES[setting.fracture.state]}"
    if setting.ray != 5:
        note += " The assumed moment is that of the fifth metatarsal; none was found for this ray."
    if not ends:
        note = f"No design amplitude is at hand for {screw.material.name}, so no cycles are told."
    return LifePart(
        activity=row.activity,
        moments_N_mm=tuple(float(m) for m in moments),
        notch=_worst_first(notch),
        design_amplitude_MPa=screw.material.fatigue_MPa,
        ends=ends,
        steps_per_day=STEPS,
        cycles_per_day=tuple(float(c) for c in per_day),
        source=f"{row.source}, {SOURCE}" if row.source not in SOURCE else SOURCE,
        note=note,
    )


def _notch(screw: ImScrew, section: str) -> Published:
    """The notch factor of a critical section: thread where the screw is threaded all along."""
    if section == "screw at fracture":
        return THREAD_NOTCH_FACTORS["rolled thread"] if screw.d_shank is None else SMOOTH
    return NOTCHES[section]


def _worst_first(factor: Published) -> tuple[float, ...]:
    low, high = (factor.mid if v is None else v for v in (factor.lo, factor.hi))
    return (high, factor.mid, low)


def _end(screw: ImScrew, name: str, response: BendingResponse) -> LifeEnd:
    metal = screw.material
    assert metal.fatigue_MPa is not None
    line = design_line(metal.fatigue_MPa, metal.ultimate_MPa)
    section_found, amplitude, cycles = "", np.zeros(3), np.full(3, np.inf)
    for section, stress in response.stress_MPa.items():
        s = np.broadcast_to(np.asarray(stress, float), (4,))
        half = (s[:3] - s[3]) / 2
        if not np.any(half > 0):
            continue
        local, found = _cycles(
            half, s[3] + half, np.array(_worst_first(_notch(screw, section))), metal.ultimate_MPa, line
        )
        if not section_found or found[0] < cycles[0]:
            section_found, amplitude, cycles = section, local, found
    yields = np.asarray(response.peak_stress_MPa)[:3] >= metal.yield_MPa
    told = [_told(float(c), bool(y), line.life_lo, line.life_hi) for c, y in zip(cycles, yields)]
    (worst, first), (middle, second), (best, third) = told
    told_amplitude = tuple(float(a) for a in amplitude)
    return LifeEnd(name, section_found, told_amplitude, worst, middle, best, (first, second, third))


def _cycles(
    half: npt.NDArray[np.float64],
    mean: npt.NDArray[np.float64],
    notch: npt.NDArray[np.float64],
    ultimate: float,
    line: BasquinLine,
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Local reversed amplitude and cycles; 0 cycles where the mean alone reaches the tensile strength."""
    breaks = mean >= ultimate
    local = np.asarray(reversed_amplitude(notch * half, np.where(breaks, 0.0, mean), ultimate), dtype=np.float64)
    cycles = np.asarray(cycles_to_failure(local, line.coefficient, line.exponent), dtype=np.float64)
    return local, np.where(breaks, 0.0, cycles)


def _told(cycles: float, yields: bool, low: float, high: float) -> tuple[float | None, str]:
    """A number inside the lives that define the line, words outside them."""
    if yields:
        return None, "yields in the first load"
    if cycles < low * (1 - 1e-9):
        return None, f"below {low:,.0f}".replace(",", " ")
    if cycles > high * (1 + 1e-9):
        return None, f"above {high:,.0f}".replace(",", " ")
    rounded = float(f"{cycles:.1e}")
    return rounded, f"{rounded:,.0f}".replace(",", " ")


def torsion_part(screw: ImScrew) -> TorsionPart:
    """Torque at first yield and full plasticity of the core; the least breaking torque where the standard has a row."""
    metal = screw.material
    first = float(yield_torque(screw.d_core, screw.d_cannula, shear_strength(metal.yield_MPa)))
    full = float(plastic_torque(screw.d_core, screw.d_cannula, shear_strength(metal.ultimate_MPa)))
    row = next(
        (
            r
            for name, r in BREAKING_TORQUES.items()
            if screw.solid and name == f"HA {screw.d_major:.1f}" and abs(r.core - screw.d_core) < 0.05
        ),
        None,
    )
    text = "Insertion torque is not predicted. Where the driver shows one, it can be held against these."
    if row is None:
        standard = "no row"
        text += " The standard's table of breaking torques has no row for this thread and core."
    else:
        standard = f"{row.screw}, stainless steel"
    return TorsionPart(first, full, standard, None if row is None else row.torque, "SHIG9, GERE7, BEERJ, ISO6475", text)


__all__ = ["life_parts", "torsion_part"]
