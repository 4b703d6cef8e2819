"""The worked lines of what moves: opening and strain of the gap, stiffness of the construct."""

from __future__ import annotations

from fixplan.mechanics import flexure, gap, loadcases
from fixplan.mechanics.parts import SIDES
from fixplan.plan.readings import two_digits
from fixplan.plan.worksheet_bent import Bent
from fixplan.plan.worksheet_line import Sheet
from fixplan.plan.worksheet_load import intact_stiffness
from fixplan.plan.worksheet_parts import one, widths_at

SOLVED = (
    "The turn of the faces, and what they part at the axis, are integrated along the bone and read back from its two "
    "sides; they have no single formula."
)


def gap_lines(sheet: Sheet, b: Bent) -> None:
    """Opening at the side that opens most, and the strain of the side that moves most."""
    p, e, sides = b.parts, b.response, b.ran.opening
    half = widths_at(p.bone, one(p.fracture.centre))[f"outer_{b.case.plane}"] / 2
    near, far = (next(s for s, (plane, sign) in SIDES.items() if plane == b.case.plane and sign == k) for k in (1, -1))
    axial, turn = (sides[near] + sides[far]) / 2, (sides[far] - sides[near]) / (2 * half)
    strain = {b.key("gap_strain"): e.gap_strain}
    if b.end == "loose" and not b.tag:
        strain[f"finding:{p.kind}: strain in the gap, a theory check:value"] = e.gap_strain
    widest = max(sides, key=lambda s: abs(sides[s]))
    strained = e.gap_strain is not None and one(p.fracture.gap) > 0
    moved: dict[str, float] = {}
    for side in dict.fromkeys((max(sides, key=lambda s: sides[s]), *([widest] if strained else ()))):
        moved[side] = sheet.add(
            f"{p.prefix}opening{'-closing' if moved else ''}{b.tail}",
            f"Motion at the {side} cortex, {b.end} end",
            gap.opening,
            {"axial": axial, "rotation": turn, "lever": half if side == far else -half},
            SOLVED,
            {b.key("gap_opening_mm"): e.gap_opening_mm},
        )
    if strained:
        sheet.add(
            f"{p.prefix}strain{b.tail}",
            f"{p.kind.capitalize()}: strain in the gap, {b.end} end",
            gap.gap_strain,
            {"displacement": abs(moved[widest]), "gap": one(p.fracture.gap)},
            f"{two_digits(100 * (e.gap_strain or 0.0))} %, at the {widest} cortex, which moves most, "
            f"{'opening' if moved[widest] > 0 else 'closing'}. A theory check, not pass or fail.",
            strain,
        )


def stiffness_lines(sheet: Sheet, b: Bent) -> None:
    """Load over deflection, against the unbroken bone, and as the rigidity that a bending standard reports."""
    p, e, case = b.parts, b.response, b.case
    shows = {b.key("stiffness_N_per_mm"): e.stiffness_N_per_mm}
    if not b.tag and b.end == "loose" and p.kind == "screw":
        shows["finding:stiffness beside the published bench tests:value"] = e.stiffness_N_per_mm
    K = sheet.add(
        f"{p.prefix}stiffness{b.tail}",
        f"Stiffness, {b.end} end",
        flexure.load_stiffness,
        {"force": b.ran.force, "deflection": b.ran.deflection},
        shows=shows,
    )
    if e.ratio_to_intact:
        sheet.add(
            f"{p.prefix}ratio{b.tail}",
            f"Of intact bone, {b.end} end",
            flexure.stiffness_ratio,
            {"stiffness": K, "intact": intact_stiffness(p.bone, p.fracture, case)},
            f"{two_digits(100 * e.ratio_to_intact)} %. The unbroken bone is solved as a beam of the same pieces.",
            shows={b.key("ratio_to_intact"): e.ratio_to_intact},
        )
    if e.EI_N_m2 is None:
        return
    EI = {b.key("EI_N_m2"): 1e6 * e.EI_N_m2}
    id, title = f"{p.prefix}EI{b.tail}", f"Structural bending stiffness, {b.end} end"
    if case.arm is None:
        sheet.add(id, title, loadcases.structural_EI_cantilever, {"K": K, "length": case.length}, shows=EI)
    elif p.kind == "plate":
        sheet.add(id, title, loadcases.structural_EI_plate, {"K": K, "h": case.arm, "a": case.inner}, shows=EI)
    else:
        sheet.add(id, title, loadcases.structural_EI_im_device, {"K": K, "s": case.arm, "c": case.inner}, shows=EI)
