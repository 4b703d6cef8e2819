"""The sections of an implant where the beams look for its peak stress, worked from their own dimensions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fixplan.kits import ImScrew, Plate
from fixplan.mechanics import flexure, section
from fixplan.mechanics import parts as mech
from fixplan.mechanics.correction import PROJECT_DEFAULT, hole_stress
from fixplan.mechanics.parts import Bone, Contact, Fracture
from fixplan.mechanics.screw import FIRST_THREAD, SEAT
from fixplan.mechanics.stations import at_point
from fixplan.plan.worksheet_line import Sheet
from fixplan.plan.worksheet_load import Case

PIECES = (
    "The beam takes the bone in short pieces, each as wide as the mean of its two ends: these are the widths of the "
    "piece just beyond this place."
)
PLANES = {"y": "bent from plantar", "x": "bent from lateral"}


@dataclass(frozen=True)
class Cut:
    """A section of the implant: where it lies [mm], its modulus [mm3], and what bends with it there.

    `factor` raises the stress at an empty hole, None elsewhere. `EI` [N*mm2] is of implant and bone (or callus) bending
    together about one axis and `reach` [mm] the distance from that axis to the implant's edge; None: the implant alone.
    """

    x: float
    modulus: float
    factor: float | None = None
    EI: float | None = None
    reach: float = 0.0


def widths_at(bone: Bone, x: float) -> Mapping[str, float]:
    """Widths of one bone at one place, as the beams take them (mm)."""
    return {k: float(np.asarray(v).reshape(-1)[0]) for k, v in at_point(bone, np.asarray(x, float)).items()}


def one(value: object) -> float:
    """The number of an array of one."""
    return float(np.asarray(value).reshape(-1)[0])


def hollow(widths: Mapping[str, float], plane: str, core: float) -> dict[str, float]:
    """The bone's section for bending in a plane, its canal widened to an implant of diameter `core`."""
    canal = {k: max(widths[f"canal_{k}"], core) for k in ("x", "y")}
    other = "x" if plane == "y" else "y"
    return {
        "width": widths[f"outer_{other}"],
        "height": widths[f"outer_{plane}"],
        "width_i": canal[other],
        "height_i": canal[plane],
    }


def beside(bone: Bone, fracture: Fracture, end: str, contact: Contact, *, at_gap: bool) -> float | None:
    """Modulus [MPa] of what bends with the implant at a section of the bonded end; None: nothing does."""
    if end == "loose":
        return None
    if not at_gap or contact is Contact.CLOSED:
        return one(bone.E)
    return one(fracture.callus_E) if contact is Contact.HEALING else None


@dataclass(frozen=True)
class ScrewParts:
    """A screw of the plan as the beams see it."""

    bone: Bone
    fracture: Fracture
    screw: ImScrew
    part: mech.Screw
    kind: str = "screw"
    prefix: str = ""

    @property
    def E(self) -> float:
        return self.screw.material.E_MPa

    def diameter(self, x: float) -> float:
        """Core in the thread, shank before it (mm)."""
        return self.screw.d_core if x >= one(self.part.thread_start) else self.screw.d_bridge

    def tension(self, sheet: Sheet, section_name: str) -> float:
        """Tension [MPa] of the screw that compresses the fracture, at one of its critical sections."""
        tail, where, x = {
            FIRST_THREAD: ("-thread", "at its first thread", one(self.part.thread_start)),
            SEAT: ("-seat", "at its seat", one(self.part.seat)),
        }.get(section_name, ("", "where it crosses the fracture", one(self.fracture.centre)))
        area = sheet.add(
            f"screw-A{tail}",
            f"Area of the screw {where}",
            section.area_annulus,
            {"d_o": self.diameter(x), "d_i": self.screw.d_cannula},
        )
        return sheet.add(
            f"tension{tail}",
            f"Tension of the screw from compressing the fracture, {where}"
            if tail
            else "Tension of the screw from compressing the fracture",
            flexure.preload_stress,
            {"preload": one(self.fracture.preload), "area": area},
        )

    def core(self) -> float:
        """What of the contact area the implant takes: its diameter (mm)."""
        return self.diameter(one(self.fracture.centre))

    def fracture_lines(self, sheet: Sheet) -> None:
        """The screw and the bone round it at the fracture."""
        f = one(self.fracture.centre)
        ring = {"d_o": self.diameter(f), "d_i": self.screw.d_cannula}
        sheet.add("screw-I", "Screw where it crosses the fracture", section.second_moment_annulus, ring)
        sheet.add("screw-Z", "Section modulus of the screw there", section.section_modulus_annulus, ring)
        self._together(sheet, f, self.diameter(f), "y", one(self.bone.E), "")

    def _together(self, sheet: Sheet, x: float, d: float, plane: str, E: float, slug: str) -> float:
        tail = f"{slug}{'' if plane == 'y' else '-lateral'}"
        tail += "" if one(self.bone.E) == E else "-callus"
        what = "Bone" if one(self.bone.E) == E else "Callus"
        ring = {"d_o": d, "d_i": self.screw.d_cannula}
        alone = sheet.add(f"screw-I{slug}", "Screw at this section", section.second_moment_annulus, ring)
        around = sheet.add(
            f"bone-I{tail}",
            f"{what} round the screw{' at the fracture' if not slug else ''}, {PLANES[plane]}",
            section.second_moment_hollow_ellipse,
            hollow(widths_at(self.bone, x), plane, d),
            f"The canal counts as drilled to the screw where that is wider. {PIECES}",
        )
        return sheet.add(
            f"composite{tail}",
            f"{what} and screw together",
            flexure.concentric_EI,
            {"E_1": E, "I_1": around, "E_2": self.E, "I_2": alone},
            "They share one axis, so the rigidities add.",
        )

    def cut(self, sheet: Sheet, name: str, end: str, case: Case, contact: Contact) -> Cut:
        """The section of this name at one end of the bracket."""
        f, g = one(self.fracture.centre), 0.0 if contact is Contact.CLOSED else one(self.fracture.gap)
        thread, seat = one(self.part.thread_start), one(self.part.seat)
        x, slug = {
            "screw at fracture": (f - g / 2, ""),
            "first thread": (thread, "-thread"),
            "screw at seat": (seat, "-seat"),
        }[name]
        d = self.screw.d_core if name == "first thread" else self.diameter(seat if name == "screw at seat" else f)
        ring = {"d_o": d, "d_i": self.screw.d_cannula}
        Z = sheet.add(f"screw-Z{slug}", f"Section modulus of the screw: {name}", section.section_modulus_annulus, ring)
        at_gap = name == "screw at fracture" or f - g / 2 <= thread <= f + g / 2
        E = beside(self.bone, self.fracture, end, contact, at_gap=at_gap)
        if E is None:
            return Cut(x, Z)
        EI = self._together(sheet, f if at_gap and not slug else x, d, case.plane, E, slug)
        return Cut(x, Z, None, EI, d / 2)


@dataclass(frozen=True)
class PlateParts:
    """A plate of the plan as the beams see it; bone and fracture of the stretch it spans."""

    bone: Bone
    fracture: Fracture
    plate: Plate
    part: mech.Plate
    kind: str = "plate"
    prefix: str = "plate-"

    @property
    def E(self) -> float:
        return self.plate.material.E_MPa

    def tension(self, sheet: Sheet, section_name: str) -> float:
        """A plate is not what compresses the fracture."""
        return 0.0

    def core(self) -> float:
        """A plate takes nothing of the contact area."""
        return 0.0

    def fracture_lines(self, sheet: Sheet) -> None:
        """The plate's own section."""
        flat = {"w": self.plate.width, "t": self.plate.thickness}
        sheet.add("plate-I", "Plate, bent through its thickness", section.second_moment_rectangle, flat)
        sheet.add("plate-Z", "Section modulus of the plate", section.section_modulus_rectangle, flat)

    def cut(self, sheet: Sheet, name: str, end: str, case: Case, contact: Contact) -> Cut:
        """The section of this name at one end of the bracket."""
        f, g = one(self.fracture.centre), 0.0 if contact is Contact.CLOSED else one(self.fracture.gap)
        x = {
            "plate over gap": f - g / 2,
            "plate at empty hole": f,
            "plate at inner screw": one(self.part.inner_proximal),
        }[name]
        flat = case.plane == mech.SIDES[self.part.side][0]
        w, t, hole = self.plate.width, self.plate.thickness, self.plate.hole_diameter
        if name == "plate over gap":
            hole = 0.0
            size = {"w": w, "t": t} if flat else {"w": t, "t": w}
            id, title = ("plate-Z", "Section modulus of the plate") if flat else ("plate-Z-edge", "Plate bent edgewise")
            Z = sheet.add(id, title, section.section_modulus_rectangle, size)
        else:
            form = flexure.section_modulus_net_flat if flat else flexure.section_modulus_net_edge
            Z = sheet.add(
                f"plate-Z-net{'' if flat else '-edge'}",
                f"Section modulus at a hole: {name}",
                form,
                {"w": w, "t": t, "hole": hole},
            )
        factor = None
        if name == "plate at empty hole":
            local = PROJECT_DEFAULT
            factor = sheet.add(
                "plate-hole",
                "Peak at the edge of an empty hole",
                hole_stress,
                {
                    "base": local.hole_base,
                    "by_width": local.hole_width,
                    "by_thickness": local.hole_thickness,
                    "hole": hole,
                    "width": w,
                    "thickness": t,
                },
            )
        E = beside(self.bone, self.fracture, end, contact, at_gap=True)
        if E is None or name == "plate at inner screw":
            return Cut(x, Z, factor)
        return Cut(x, Z, factor, *self._together(sheet, E, hole, flat=flat, plane=case.plane))

    def _together(self, sheet: Sheet, E: float, hole: float, *, flat: bool, plane: str) -> tuple[float, float]:
        w, t = self.plate.width, self.plate.thickness
        tail = f"-{plane}{'-hole' if hole else ''}"
        here = widths_at(self.bone, one(self.fracture.centre))
        round_ = hollow(here, plane, 0.0)
        around = sheet.add(
            f"plate-bone-I-{plane}",
            f"Bone or callus at the fracture, {PLANES[plane]}",
            section.second_moment_hollow_ellipse,
            round_,
        )
        if not flat:
            own = float(section.second_moment_net_edge(w, t, hole))
            EI = sheet.add(
                f"plate-composite{tail}",
                "Bone and plate together, the plate edgewise",
                flexure.concentric_EI,
                {"E_1": E, "I_1": around, "E_2": self.E, "I_2": own},
            )
            return EI, w / 2
        area = float(section.area_hollow_ellipse(**round_))
        pull, own = self.E * (w - hole) * t, self.E * float(section.second_moment_net_flat(w, t, hole))
        e = sheet.add(
            "plate-offset",
            "Offset of the plate from the bone's axis",
            section.plate_offset,
            {"outer": round_["height"], "standoff": one(self.part.standoff), "thickness": t},
        )
        axis = sheet.add(
            f"plate-axis{tail}",
            "Common axis of bone and plate",
            section.composite_centroid,
            {"EA_1": E * area, "y_1": 0.0, "EA_2": pull, "y_2": e},
        )
        EI = sheet.add(
            f"plate-composite{tail}",
            "Bone and plate together, about the common axis",
            section.composite_EI,
            {"EI_1": E * around, "EA_1": E * area, "y_1": 0.0, "EI_2": own, "EA_2": pull, "y_2": e},
        )
        return EI, e - axis + t / 2
