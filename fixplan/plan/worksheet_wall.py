"""The worked lines of the wall round a screw: the limit and whose it is, what is left, and the bone's own wall."""

from __future__ import annotations

import numpy as np

from fixplan.bone.profile import interpolate
from fixplan.kits import ImScrew
from fixplan.plan.frame import Frame, bores
from fixplan.plan.inputs import Parameter
from fixplan.plan.screws import permitted
from fixplan.plan.types import ScrewCandidate
from fixplan.plan.worksheet_keys import behind, found, value
from fixplan.plan.worksheet_line import Sheet
from fixplan.sizing import limits as forms
from fixplan.sources import GRADES


def whose_wall(thresholds: dict[str, Parameter]) -> str:
    """What the limit of the wall is, whose it is and how well it is known: nobody has shown that it holds."""
    least = thresholds["wall_min"]
    whose = f"from {least.source}: {GRADES.get(least.grade, least.grade)}" if least.grade else "set in the case file"
    return (
        f"The least wall of {least.value:g} mm is a planning limit ({whose}). What is left by the widths entered, not "
        "what the bone bears."
    )


def wall_lines(sheet: Sheet, frame: Frame, screw: ImScrew, c: ScrewCandidate, thresholds: dict[str, Parameter]) -> None:
    """The limit of the wall, the room below it, and the wall that is left."""
    assert c.ream_limit_mm is not None
    least = value(frame.limits.wall_min)
    outer = {"outer": c.ream_limit_mm + 2 * least, "wall": least}
    own = sheet.add(
        "wall-limit",
        "Widest hole that leaves the least wall over its own thread",
        forms.widest_with_wall,
        outer,
        whose_wall(thresholds),
        also=behind(c.findings, "wall"),
    )
    whole = float(bores(frame, *permitted(frame), surfaces=("outer",)).ream[0]) - frame.outer_doubt
    if np.isfinite(whole):
        note = "The whole stretch counts too, since the end of the screw is not yet known."
        if frame.outer_doubt:
            note += f" {frame.outer_doubt:.1f} mm is taken off, the doubt of an outer width that was assumed."
        limit = sheet.add(
            "wall-strict",
            "The stricter of the two limits of the wall",
            forms.strict_wall,
            {"own": own, "whole": whole},
            note,
            found(c.findings, "wall", "limit"),
        )
        sheet.add(
            "margin-wall",
            "Room below the limit of the wall",
            forms.room_below,
            {"limit": limit, "value": screw.d_major},
            shows={"screw:margin_wall_mm": c.margin_wall_mm},
        )
    numbers = {"ream_limit": c.ream_limit_mm, "wall": least, "diameter": screw.d_major}
    thinner = c.wall_left_mm is not None and c.wall_left_mm < forms.wall_left(**numbers) - 1e-9
    note = f"The bone's own wall is thinner over this stretch: {c.wall_left_mm:.2f} mm, and counts." if thinner else ""
    sheet.add("wall", "Wall left by the screw", forms.wall_left, numbers, note, {"screw:wall_left_mm": c.wall_left_mm})
    if thinner:
        _native(sheet, frame, c)


def _native(sheet: Sheet, frame: Frame, c: ScrewCandidate) -> None:
    """The bone's own wall where it is thinnest over the thread: at a station, or at an end of the thread."""
    p = frame.profile
    lo, hi = max(c.first_thread_mm, float(p.s[0])), min(c.tip_mm, float(p.s[-1]))
    at = np.unique(np.concatenate([[lo, hi], p.s[(p.s > lo) & (p.s < hi)]]))
    columns = interpolate(p.s, [p.outer_ap, p.canal_ap, p.outer_lateral, p.canal_lateral], at)
    places = [
        (float(forms.own_wall(outer, canal)), film, float(s), {"outer": float(outer), "canal": float(canal)})
        for film, pair in (("AP", columns[:2]), ("lateral", columns[2:]))
        for s, outer, canal in zip(at, *pair)
    ]
    _, film, s, widths = min(places, key=lambda row: row[0])
    note = f"On the {film} film, {s:.1f} mm from the proximal end, where it is thinnest over the thread."
    shows = {"screw:wall_left_mm": c.wall_left_mm}
    shows |= {f"finding:{f.label}:value": f.value for f in c.findings if f.rule == "own_wall"}
    sheet.add("own-wall", "The bone's own wall", forms.own_wall, widths, note, shows)
