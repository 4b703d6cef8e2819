"""The worked lines of a plate's size: the span before stock, then the first choice's ratios and lengths."""

from __future__ import annotations

from fixplan.kits import Plate
from fixplan.plan.plates import Bed
from fixplan.plan.types import PlateCandidate, PlatePlan
from fixplan.plan.worksheet_keys import found
from fixplan.plan.worksheet_line import Sheet
from fixplan.sizing import plate_limits as forms
from fixplan.sizing.plate import Placement


def plate_lines(
    sheet: Sheet, where: Bed, plan: PlatePlan, chosen: tuple[Plate, Placement, PlateCandidate] | None
) -> None:
    """Limits of the span, then the chosen plate's own ratios."""
    bed, held = where.sizing, where.limits
    limits = {f"span:{m.name}": m.value_mm for m in plan.limits}
    sheet.head("Plate: the span, before any stock")
    if bed.fracture_length > 0:
        ratio = {"ratio": held.span_ratio_min, "fracture": bed.fracture_length}
        sheet.add("span-low", "Shortest plate by the span ratio", forms.least_by_ratio, ratio, shows=limits)
    room = {"proximal": bed.room_proximal, "bridged": bed.bridged, "distal": bed.room_distal}
    sheet.add("span-high", "Longest plate in the free bone", forms.longest_plate, room, shows=limits)
    if chosen is None:
        return
    plate, placed, c = chosen
    sheet.head(f"Plate: the first choice, {c.holes} holes, {c.length_mm:g} mm, against its limits")
    if bed.fracture_length > 0:
        shows = {**found(c.findings, "span_ratio", "value"), "plate:span_ratio": c.span_ratio}
        ratio = {"length": plate.length, "fracture": bed.fracture_length}
        sheet.add("span-ratio", "Plate span ratio", forms.span_ratio, ratio, shows=shows)
    filled = {"filled": float(sum(placed.filled)), "holes": float(plate.holes)}
    shows = {**found(c.findings, "screw_density", "value"), "plate:screw_density": c.screw_density}
    sheet.add("screw-density", "Plate-screw density", forms.screw_density, filled, shows=shows)
    inner = [x for x, taken in zip(placed.positions, placed.filled) if taken]
    if min(inner, default=1.0) < 0 < max(inner, default=-1.0):
        ends = {"distal": min(x for x in inner if x > 0), "proximal": max(x for x in inner if x < 0)}
        shows = {"plate:working_length_mm": c.working_length_mm}
        sheet.add("working-length", "Working length", forms.working_length, ends, shows=shows)
    if bed.surface_width is not None:
        share = {"fraction": held.plate_width_fraction_max, "surface": bed.surface_width}
        sheet.add(
            "plate-width",
            "Widest plate on this bone",
            forms.widest_plate,
            share,
            shows=found(c.findings, "plate_width", "limit"),
        )
