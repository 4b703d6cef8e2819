"""The worked lines of a screw's size: windows before stock, then the first choice against each of its limits."""

from __future__ import annotations

import numpy as np

from fixplan.kits import ImScrew
from fixplan.plan.frame import Frame, bores
from fixplan.plan.inputs import Parameter
from fixplan.plan.screws import FULL, Sized, permitted
from fixplan.plan.types import ScrewCandidate, ScrewPlan
from fixplan.plan.worksheet_keys import behind, found, limit_of, value
from fixplan.plan.worksheet_line import Sheet
from fixplan.plan.worksheet_wall import wall_lines, whose_wall
from fixplan.sizing import limits as forms

WINDOWS, OTHER_THREADS = "Screw: the windows, before any stock", "Screw: the window of length for other threads"


def window_lines(sheet: Sheet, frame: Frame, screw: ScrewPlan, sized: Sized, thresholds: dict[str, Parameter]) -> None:
    """Every limit of the windows of length and diameter, before any stock."""
    site, held = frame.site, frame.limits
    seat, fracture, extent = value(site.seat), value(site.fracture), value(site.extent)
    first = next((c.thread for c in screw.candidates if c.item == screw.first_choice), None)
    kinds = {FULL if full else f"{t:g} mm": float(t) for t, full in zip(sized.stock.thread, sized.stock.full)}
    names = [w.thread for w in screw.length_windows]
    for name in sorted(names, key=lambda n: n != first):
        sheet.head(WINDOWS if name == (first or names[0]) else OTHER_THREADS, aside=name != (first or names[0]))
        low = {"fracture": fracture, "extent": extent, "seat": seat}
        id = "length-low" if name == (first or names[0]) else f"length-low-{name.split()[0]}"
        if name == FULL:
            low["purchase"], source = value(held.purchase_min), behind(screw.limits, "purchase")
            shows = limit_of(screw.limits, "purchase", name)
            sheet.add(id, "Shortest screw, thread over the whole length", forms.shortest_full, low, "", shows, source)
        else:
            low |= {"run_out": value(held.run_out_margin), "thread": kinds[name]}
            shows, source = limit_of(screw.limits, "run_out", name), behind(screw.limits, "run_out")
            sheet.add(id, f"Shortest screw, {name} thread", forms.shortest_partial, low, "", shows, source)
    sheet.head(WINDOWS)
    ends = (
        ("tip", "length-high", site.straight_cautious),
        ("tip_permissive", "length-permissive", site.straight_permissive),
    )
    banded = value(site.straight_permissive) > value(site.straight_cautious)
    words = {
        "tip": "Longest screw, by the cautious published limit" if banded else "Longest screw",
        "tip_permissive": "Longest screw, by the permissive published limit",
    }
    for rule, id, straight in ends:
        shows = {k: v for name in names for k, v in limit_of(screw.limits, rule, name).items()}
        high = {"straight": value(straight), "clearance": value(held.tip_clearance), "seat": seat}
        if shows:
            sheet.add(id, words[rule], forms.longest, high, "", shows, behind(screw.limits, rule))
    across = bores(frame, *permitted(frame))
    corridor, ream = float(across.corridor[0]), float(across.ream[0])
    if np.isfinite(corridor):
        bite = {"corridor": corridor, "bite": value(held.bite)}
        sheet.add(
            "window-bite",
            "Least diameter that bites over the stretch that thread may occupy",
            forms.least_biting,
            bite,
            shows=limit_of(screw.limits, "bite"),
            also=behind(screw.limits, "bite"),
        )
        widen = {"corridor": corridor, "widening": value(held.ream_max)}
        sheet.add(
            "window-ream",
            "Widest diameter by how much the canal may be widened",
            forms.widest_reamed,
            widen,
            shows=limit_of(screw.limits, "ream"),
            also=behind(screw.limits, "ream"),
        )
    if np.isfinite(ream):
        wall = value(held.wall_min)
        sheet.add(
            "window-wall",
            "Widest diameter that leaves the least wall, over the same stretch",
            forms.widest_with_wall,
            {"outer": ream + 2 * wall, "wall": wall},
            whose_wall(thresholds),
            limit_of(screw.limits, "wall"),
            behind(screw.limits, "wall"),
        )


def choice_lines(
    sheet: Sheet, frame: Frame, screw: ImScrew, c: ScrewCandidate, thresholds: dict[str, Parameter]
) -> None:
    """The screw chosen against each limit: where it ends, the limit, and the room between."""
    sheet.head(f"Screw: the first choice, {c.diameter_mm:.1f} x {c.length_mm:g} mm, against its limits")
    site, held = frame.site, frame.limits
    seat, extent, full = value(site.seat), value(site.extent), screw.thread_length is None
    thread = {"seat": seat, "length": screw.length, "thread": c.thread_mm}
    at = sheet.add(
        "first-thread",
        "First thread",
        forms.first_thread,
        thread,
        shows=found(c.findings, "across" if full else "run_out", "value"),
    )
    end = sheet.add(
        "tip",
        "Tip of the screw",
        forms.tip,
        {"seat": seat, "length": screw.length},
        shows={**found(c.findings, "tip", "value"), **found(c.findings, "purchase", "value")},
    )
    rule, margin = ("purchase", held.purchase_min) if full else ("run_out", held.run_out_margin)
    far = value(site.fracture_distal)
    banded = far > value(site.fracture)
    note = (
        "With the fracture at the far end of the band assumed for its level: the stricter of the two." if banded else ""
    )
    where = {"fracture": far, "extent": extent, "beyond": value(margin)}
    title = "Least depth of the tip beyond the fracture" if full else "Where thread may start beyond the fracture"
    shows, source = found(c.findings, rule, "limit"), behind(c.findings, rule)
    limit = sheet.add("beyond-fracture", title, forms.beyond_fracture, where, note, shows, source)
    name = "Room for the purchase beyond the fracture" if full else "Room between fracture and thread"
    sheet.add(
        "margin-run-out",
        name,
        forms.room_above,
        {"value": end if full else at, "limit": limit},
        shows={"screw:margin_run_out_mm": c.margin_run_out_mm},
    )
    deep = {"straight": value(site.straight_cautious), "clearance": value(held.tip_clearance)}
    limit = sheet.add(
        "tip-limit",
        "How deep the tip may lie",
        forms.tip_limit,
        deep,
        "By the cautious limit." if value(site.straight_permissive) > deep["straight"] else "",
        found(c.findings, "tip", "limit"),
        behind(c.findings, "tip"),
    )
    sheet.add(
        "margin-tip",
        "Room between tip and limit",
        forms.room_below,
        {"limit": limit, "value": end},
        shows={"screw:margin_tip_mm": c.margin_tip_mm},
    )
    if c.corridor_mm is not None:
        bite = {"corridor": c.corridor_mm, "bite": value(held.bite)}
        limit = sheet.add(
            "diameter-low",
            "Least diameter that bites over its own thread",
            forms.least_biting,
            bite,
            shows=found(c.findings, "bite", "limit"),
            also=behind(c.findings, "bite"),
        )
        sheet.add(
            "margin-bite",
            "Room above the least that bites",
            forms.room_above,
            {"value": screw.d_major, "limit": limit},
            shows={"screw:margin_bite_mm": c.margin_bite_mm},
        )
        sheet.add(
            "widened",
            "How much the canal is widened",
            forms.widened,
            {"diameter": screw.d_major, "corridor": c.corridor_mm},
            shows=found(c.findings, "ream", "value"),
        )
    if c.ream_limit_mm is not None:
        wall_lines(sheet, frame, screw, c, thresholds)
