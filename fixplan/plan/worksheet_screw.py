"""The worked lines of a screw's size: windows before stock, then the first choice against each of its limits."""

from __future__ import annotations

import numpy as np

from fixplan.bone.profile import interpolate
from fixplan.kits import ImScrew
from fixplan.plan.frame import Frame, bores
from fixplan.plan.inputs import Parameter
from fixplan.plan.screws import FULL, Sized, permitted
from fixplan.plan.types import Finding, Limit, ScrewCandidate, ScrewPlan
from fixplan.plan.words import RULES
from fixplan.plan.worksheet_line import Sheet, Shown
from fixplan.sizing import limits as forms
from fixplan.sources import GRADES

WINDOWS, OTHER_THREADS = "Screw: the windows, before any stock", "Screw: the window of length for other threads"


def value(x: object) -> float:
    """A number of a single (not drawn) frame."""
    return float(np.asarray(x))


def found(findings: tuple[Finding, ...], rule: str, field: str) -> Shown:
    """The number of a finding by its key; empty where the rule was not held."""
    label = RULES[rule].label
    return {f"finding:{label}:{field}": getattr(f, field) for f in findings if f.label == label}


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
            low["purchase"] = value(held.purchase_min)
            shows = limit_of(screw.limits, "purchase", name)
            sheet.add(id, "Shortest screw, thread over the whole length", forms.shortest_full, low, shows=shows)
        else:
            low |= {"run_out": value(held.run_out_margin), "thread": kinds[name]}
            shows = limit_of(screw.limits, "run_out", name)
            sheet.add(id, f"Shortest screw, {name} thread", forms.shortest_partial, low, shows=shows)
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
            sheet.add(id, words[rule], forms.longest, high, shows=shows)
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
        )
        widen = {"corridor": corridor, "widening": value(held.ream_max)}
        sheet.add(
            "window-ream",
            "Widest diameter by how much the canal may be widened",
            forms.widest_reamed,
            widen,
            shows=limit_of(screw.limits, "ream"),
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
        )


def limit_of(limits: tuple[Limit, ...], name: str, thread: str = "") -> Shown:
    """A limit of the windows by its key; empty where there is none."""
    return {f"limit:{name}:{thread}": m.value_mm for m in limits if m.name == name and m.thread == thread}


def whose_wall(thresholds: dict[str, Parameter]) -> str:
    """What the limit of the wall is, whose it is and how well it is known: nobody has shown that it holds."""
    least = thresholds["wall_min"]
    whose = f"from {least.source}: {GRADES.get(least.grade, least.grade)}" if least.grade else "set in the case file"
    return (
        f"The least wall of {least.value:g} mm is a planning limit ({whose}). What is left by the widths entered, not "
        "what the bone bears."
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
    limit = sheet.add("beyond-fracture", title, forms.beyond_fracture, where, note, found(c.findings, rule, "limit"))
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
        _wall(sheet, frame, screw, c, thresholds)


def _wall(sheet: Sheet, frame: Frame, screw: ImScrew, c: ScrewCandidate, thresholds: dict[str, Parameter]) -> None:
    assert c.ream_limit_mm is not None
    least = value(frame.limits.wall_min)
    outer = {"outer": c.ream_limit_mm + 2 * least, "wall": least}
    own = sheet.add(
        "wall-limit",
        "Widest hole that leaves the least wall over its own thread",
        forms.widest_with_wall,
        outer,
        whose_wall(thresholds),
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
