"""The worked lines of a construct's mechanics: load, moment at the section, what the joint carries, stress, yield."""

from __future__ import annotations

from collections.abc import Sequence

from fixplan.kits import Material
from fixplan.mechanics import flexure, joint, loads, section, strength
from fixplan.mechanics.parts import Contact
from fixplan.plan.remarks import hardest, widest
from fixplan.plan.response import PROTECTED
from fixplan.plan.types import LoadResponse
from fixplan.plan.worksheet_bent import ENDS, Bent, Parts
from fixplan.plan.worksheet_line import Sheet
from fixplan.plan.worksheet_load import Evaluate, case_of, loaded
from fixplan.plan.worksheet_motion import gap_lines, stiffness_lines
from fixplan.plan.worksheet_parts import PIECES, Cut, hollow, one, widths_at


def mechanics_lines(sheet: Sheet, p: Parts, rows: Sequence[LoadResponse], evaluate: Evaluate, metal: Material) -> None:
    """Worked lines of every row of the responses: the rows that are judged first, the others for the screen."""
    name = p.kind.capitalize()
    same = [r for r in rows if r.activity == rows[0].activity]
    hard = [hardest([r for r in rows if r.activity == a]) for a in dict.fromkeys(r.activity for r in rows)]
    most = widest(same)

    def bent(row: LoadResponse, end: str, judged: Sequence[LoadResponse]) -> Bent:
        case = case_of(row, p.bone, p.fracture, plate=p.kind == "plate")
        tag = "" if row in judged else f"-{row.load_case.replace('_', '-')}"
        return Bent(p, row, end, case, loaded(evaluate, row, end, p.fracture.state), tag)

    sheet.head(f"{name}: its section, and the moments assumed")
    p.fracture_lines(sheet)
    for row in rows:
        _moment(sheet, bent(row, "loose", rows))
    for end in ENDS:
        for row in hard:
            sheet.head(f"{name}: stress and yield, {end} end, {row.label}", aside=end == "bonded" or row not in same)
            _stress(sheet, bent(row, end, hard), metal)
        sheet.head(f"{name}: motion at the gap, {end} end, {most.label}", aside=end == "bonded")
        gap_lines(sheet, bent(most, end, (most,)))
    for row in rows:
        sheet.head(f"{name}: the rest of {row.label}", aside=True)
        for end in ENDS:
            if row not in hard:
                _stress(sheet, bent(row, end, hard), metal)
            if row is not most:
                gap_lines(sheet, bent(row, end, (most,)))
            stiffness_lines(sheet, bent(row, end, rows[:1]))


def _moment(sheet: Sheet, b: Bent) -> None:
    """The moment at the fracture: assumed, and the force that gives it."""
    r, case = b.row, b.case
    fields = {
        f"{b.parts.kind}:{r.label}:{e}:moment_at_fracture_N_mm": getattr(r, e).moment_at_fracture_N_mm for e in ENDS
    }
    note = (
        f"The moment is assumed, {r.moment_lo_N_mm:g} to {r.moment_hi_N_mm:g} N·mm; the force is the one that gives "
        "its middle here."
    )
    when = "" if r.activity == PROTECTED else f"-{r.activity}"
    if case.arm is None:
        numbers = {"force": b.ran.force, "lever": case.lever(case.centre)}
        sheet.add(
            f"{b.parts.prefix}moment{when}",
            f"Moment at the fracture, force at the head, {r.activity}",
            loads.lever_moment,
            numbers,
            note,
            fields,
            r.source,
        )
    else:
        sheet.add(
            f"{b.parts.prefix}moment-four{when}",
            f"Moment at the fracture, four-point bending, {r.activity}",
            flexure.four_point_moment,
            {"force": b.ran.force, "arm": case.arm},
            note,
            fields,
            r.source,
        )


def _stress(sheet: Sheet, b: Bent, metal: Material) -> None:
    """From the moment to the peak stress of the critical section, and its factor against yield."""
    p, e = b.parts, b.response
    state = p.fracture.state
    cut = p.cut(sheet, e.critical_section, b.end, b.case, state)
    if state is Contact.OPEN or (cut.EI is not None and not _at_fracture(b)):
        stress, note = _alone(sheet, b, cut), ""
    elif state is Contact.CLOSED:
        stress, note = _closed(sheet, b, cut)
    else:
        moment = _at_cut(sheet, b, cut) if cut.EI is not None else b.ran.moment
        stress, note = _together(sheet, b, cut, moment, b.ran.stress[e.critical_section], "stress")
    kind, activity = p.kind, b.row.activity
    factor = {b.key("yield_factor"): e.yield_factor}
    if b.end == "loose" and not b.tag:
        label = f"{kind}: factor against yield" if activity == PROTECTED else f"{kind}: {activity} before it has united"
        factor |= {f"finding:{label}:value": e.yield_factor, f"{kind}:under:{activity}": e.yield_factor}
    sheet.add(
        f"{p.prefix}yield{b.tail}",
        f"{kind.capitalize()}: factor against yield, {activity}, {b.end} end",
        strength.yield_factor,
        {"stress": stress, "yield_strength": metal.yield_MPa},
        " ".join(filter(None, (f"Critical section: {e.critical_section}.", note, metal.name + "."))) + " " + ONCE,
        factor,
        metal.sources.get("yield_MPa", ""),
    )


def _at_fracture(b: Bent) -> bool:
    return b.response.critical_section != "first thread"


def _at_cut(sheet: Sheet, b: Bent, cut: Cut) -> float:
    """The whole moment at the section, by the lever of the force or the rollers of the test."""
    name = f"Moment at the section: {b.response.critical_section}"
    id = f"{b.parts.prefix}moment-section{b.tail}"
    if b.case.arm is None:
        return sheet.add(id, name, loads.lever_moment, {"force": b.ran.force, "lever": b.case.lever(cut.x)})
    # beyond the inner rollers the moment falls off to nothing at the outer ones, an arm further out
    reach = b.case.arm + b.case.inner / 2
    arm = min(b.case.arm, reach - abs(cut.x - b.case.centre)) if cut.EI is not None else b.case.arm
    return sheet.add(id, name, flexure.four_point_moment, {"force": b.ran.force, "arm": arm})


def _bend(sheet: Sheet, b: Bent, name: str, title: str, moment: float, cut: Cut, note: str = "") -> float:
    """Stress of the implant alone under a moment; the line `name` "stress" is the peak stress of the row."""
    id, numbers = f"{b.parts.prefix}{name}{b.tail}", {"moment": moment, "modulus": cut.modulus}
    if cut.factor is not None:
        return sheet.add(id, title, flexure.hole_peak, {"factor": cut.factor, **numbers}, note, _peak(b, name))
    return sheet.add(id, title, flexure.flexure_stress, numbers, note, _peak(b, name))


def _share(sheet: Sheet, b: Bent, name: str, title: str, moment: float, cut: Cut) -> float:
    """Stress of the implant where it bends together with bone or callus."""
    assert cut.EI is not None
    numbers = {"moment": moment, "E": b.parts.E, "reach": cut.reach, "EI": cut.EI}
    note = "Both bend as one here."
    return sheet.add(f"{b.parts.prefix}{name}{b.tail}", title, flexure.shared_stress, numbers, note, _peak(b, name))


def _peak(b: Bent, name: str) -> dict[str, float | None]:
    return {b.key("peak_stress_MPa"): b.response.peak_stress_MPa} if name == "stress" else {}


def _title(b: Bent) -> str:
    return f"Peak stress, {b.response.critical_section}, {b.end} end"


def _alone(sheet: Sheet, b: Bent, cut: Cut) -> float:
    """Implant alone across an open gap, or implant and bone as one beside the fracture."""
    moment = _at_cut(sheet, b, cut)
    if cut.EI is None:
        return _bend(sheet, b, "stress", _title(b), moment, cut, "The implant alone carries the moment here.")
    if b.parts.fracture.state is not Contact.CLOSED:
        return _share(sheet, b, "stress", _title(b), moment, cut)
    return _sum(sheet, b, _share(sheet, b, "stress-both", "Bending stress, bone and implant as one", moment, cut), 0.0)


def _sum(sheet: Sheet, b: Bent, together: float, alone: float, note: str = "") -> float:
    numbers = {"together": together, "alone": alone, "tension": b.parts.tension(sheet, b.response.critical_section)}
    id = f"{b.parts.prefix}stress{b.tail}"
    return sheet.add(id, _title(b), flexure.sum_of_stresses, numbers, note, _peak(b, "stress"))


def _closed(sheet: Sheet, b: Bent, cut: Cut) -> tuple[float, str]:
    """A fracture closed under compression: both carry up to the separation moment, the implant alone beyond it."""
    p, name = b.parts, b.response.critical_section
    limit, beyond = _separation(sheet, b), 0.0
    if limit < b.ran.moment:
        beyond = sheet.add(
            f"{p.prefix}moment-beyond{b.tail}",
            "Moment beyond separation, on the implant alone",
            flexure.moment_beyond,
            {"moment": b.ran.moment, "separation": limit},
        )
    solved = b.ran.touching[name] - p.tension(sheet, name)
    together, note = _together(sheet, b, cut, min(limit, b.ran.moment), solved, "stress-both")
    if not beyond:
        note = f"The load stays below the separation moment: the faces touch. {note}".strip()
        if p.kind == "plate" and cut.EI is None:
            return together, note
        return _sum(sheet, b, together, 0.0, note), ""
    if b.case.arm is None:
        beyond = sheet.add(
            f"{p.prefix}moment-alone{b.tail}",
            f"The same at the section: {name}",
            flexure.moment_at_section,
            {"moment": beyond, "lever_x": b.case.lever(cut.x), "lever": b.case.lever(b.case.centre)},
        )
    alone = _bend(sheet, b, "stress-alone", "Stress from the moment beyond separation", beyond, cut)
    return _sum(sheet, b, together, alone, note), ""


ONCE = "One static load; not fatigue."
SOLVED = (
    "The stress while both carry is solved from equal turning and stretch of plate and bone between the innermost "
    "screws; it has no single formula."
)


def _together(sheet: Sheet, b: Bent, cut: Cut, moment: float, solved: float, name: str) -> tuple[float, str]:
    """Bending stress while bone (or callus) and implant both carry the moment, and what to say where it is solved."""
    healing = b.parts.fracture.state is Contact.HEALING
    title = _title(b) if name == "stress" else "Bending stress while the faces touch"
    if cut.EI is not None and cut.factor is None:
        return _share(sheet, b, name, title, moment, cut), ""
    if b.parts.kind == "plate" or moment == 0:
        # the plate stands off the axis: it takes part of the moment and, with the bone, a couple of forces
        return solved, SOLVED if moment else ""
    own = sheet.add(
        f"{b.parts.prefix}moment-implant{b.tail}",
        f"The screw's part of the moment: {b.response.critical_section}",
        flexure.implant_part,
        {"share": solved * cut.modulus / moment, "moment": moment},
        f"Between seat and thread {'bone and callus take' if healing else 'the bone takes'} the rest; the share is "
        "solved, it has no single formula.",
    )
    return _bend(sheet, b, name, title, own, cut), ""


def _separation(sheet: Sheet, b: Bent) -> float:
    """The moment at which the compressed fracture starts to open."""
    p, plane = b.parts, b.case.plane
    face = hollow(widths_at(p.bone, one(p.fracture.centre)), plane, p.core())
    tail = "" if plane == "y" else "-lateral"
    note = f"The faces of the fracture; the canal, or the implant where that is wider, is left out. {PIECES}"
    area = sheet.add(f"{p.prefix}contact-A", "Area in contact", section.area_hollow_ellipse, face, note)
    Z = sheet.add(
        f"{p.prefix}contact-Z{tail}", "Section modulus of that area", section.section_modulus_hollow_ellipse, face
    )
    numbers = {"preload": one(p.fracture.preload), "modulus": Z, "area": area, "offset": 0.0}
    return sheet.add(
        f"{p.prefix}separation{tail}",
        "Moment at which the fracture starts to open",
        joint.separation_moment,
        numbers,
        "The compression is the one entered; it may be lost with time.",
    )
