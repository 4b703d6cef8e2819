"""The screws of a plate, hole by hole: the bone under each, the length from stock, and what the rules say of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fixplan.bone.profile import Profile
from fixplan.digits import told
from fixplan.kits import CorticalScrew, Plate
from fixplan.plan.resolve import Resolved
from fixplan.plan.types import Finding
from fixplan.sizing.plate import Placement, PlateBed
from fixplan.sizing.plate_lie import Seat, Surface, cortices
from fixplan.sizing.rules import CAUTION, FAIL, PASS, ROUNDING_MM, VERDICTS, Held, at_least

RULE = "cortices_per_side"
BEND = "Bend the plate to the bone; its screws then need other lengths: measure in theatre."


def surface_of(profile: Profile, resolved: Resolved, side: str, centre: float) -> Surface:
    """The bone of a single profile under a plate on one side, seen edge-on; positions count from `centre` [mm]."""
    across = "lateral" if side in ("dorsal", "plantar") else "ap"
    sign = 1.0 if side in ("dorsal", "lateral") else -1.0
    widths = np.asarray(getattr(profile, f"outer_{across}"), float)
    heights = sign * np.asarray(getattr(profile, f"offset_{across}"), float) + widths / 2
    x, height, outer = (tuple(map(float, v)) for v in (np.asarray(profile.s) - centre, heights, widths))
    return Surface(x, height, outer, _taken(resolved, f"outer_{across}"))


def _taken(resolved: Resolved, name: str) -> str:
    """Which outer widths in the direction of the screws were not measured, in words; empty where stations were read."""
    if resolved.measured is not None:
        return ""
    found = [resolved.parameters.get(n) for n in (name, f"fracture_{name}")]
    if any(p is not None and p.origin != "measured" for p in found):
        return "Outer widths of the bone: assumed, not measured."
    return "" if found[1] is not None else "Widths beyond the isthmus: taken as at the isthmus."


def screw_for(seat: Seat | None, plate: Plate, stock: Sequence[CorticalScrew]) -> CorticalScrew | None:
    """The shortest stock screw that reaches through the far cortex; None where the bone or such a screw is missing."""
    if seat is None:
        return None
    return next((s for s in stock if s.length >= seat.screw(plate.thickness) - ROUNDING_MM), None)


def with_cortices(
    placed: Placement, plate: Plate, bed: PlateBed, stock: Sequence[CorticalScrew], least: float
) -> Placement:
    """The placement with its cortices counted hole by hole, as far as the longest stock screw reaches.

    Fails where screws end short though the plate be bent to the bone; cautions where only a straight plate leaves them
    short, and where the bone under a filled hole was not measured. `least`: cortices wanted on each side.
    """
    if bed.surface is None:
        return placed
    holes = [(u, x > 0) for u, x, f in zip(placed.under, placed.positions, placed.filled) if f]
    under, sides = [u for u, _ in holes], [d for _, d in holes]
    longest = max((s.length for s in stock), default=float("inf"))
    bent = [None if u is None else Seat(bed.standoff, u.depth) for u in under]
    straight, at_best = (cortices(some, sides, plate.thickness, longest) for some in (under, bent))
    held = at_least(straight, least if at_best < least else -np.inf, least)
    if int(held.code) == PASS and (None in under or bed.surface.taken):
        held = Held(held.value, held.limit, held.margin, np.asarray(CAUTION, np.int8))
    return replace(placed, held=placed.held | {RULE: held})


def lying(one: Finding, placed: Placement, bed: PlateBed) -> Finding:
    """The finding of the standoff, with the hole at which a straight plate lies farthest off the bone."""
    if bed.surface is None or one.verdict == VERDICTS[FAIL]:
        return one
    known = [(u.standoff, n) for n, (u, f) in enumerate(zip(placed.under, placed.filled), start=1) if f and u]
    if not known or max(known)[0] <= bed.standoff + ROUNDING_MM:
        return one
    worst, hole = max(known)
    taken = f" {bed.surface.taken}" if bed.surface.taken else ""
    limit = told(one.limit) if one.limit is not None else "the limit"
    lies = (
        f"Lying straight and {bed.standoff:.1f} mm off the bone where it comes nearest, the plate is {worst:.1f} mm off"
    )
    if one.verdict == VERDICTS[CAUTION]:
        return replace(one, why=f"{lies} at hole {hole}, more than {limit} mm. {BEND}{taken}")
    return replace(one, why=f"{lies} at hole {hole} (at most {limit} mm).{taken}")


def reaching(
    one: Finding, placed: Placement, plate: Plate, bed: PlateBed, stock: Sequence[CorticalScrew], across_joint: bool
) -> Finding:
    """The finding of the cortices, with each hole whose screw ends short or whose bone is not known."""
    if bed.surface is None or not stock:
        return one
    longest = stock[-1].length
    filled = [(n, u) for n, (u, f) in enumerate(zip(placed.under, placed.filled), start=1) if f]
    short = [
        f"hole {n} needs {u.screw(plate.thickness):.1f} mm, {u.screw(plate.thickness) - longest:.1f} mm more"
        for n, u in filled
        if u is not None and u.screw(plate.thickness) > longest + ROUNDING_MM
    ]
    words = [one.why] if one.verdict == VERDICTS[FAIL] else []
    if short:
        words.append(f"The longest screw in stock, {longest:g} mm, ends short of the far cortex: {'; '.join(short)}.")
        if one.verdict != VERDICTS[FAIL]:
            words.append(f"Under a plate bent to the bone it reaches. {BEND}")
    source = one.source
    unknown = [n for n, u in filled if u is None]
    if unknown and across_joint:
        words.append(
            "The proximal screws sit in the cuneiform, which was not measured: whether they hold both cortices is not "
            "known. Measure their length in theatre. (The one published case bridged to the medial cuneiform, MOR20; "
            "the drawing runs on along the ray.)"
        )
        source = f"{source}, MOR20"
    elif unknown:
        holes = f"hole{'s' if len(unknown) > 1 else ''} {', '.join(map(str, unknown))}"
        words.append(
            f"The bone under {holes} lies beyond the stations measured: whether both cortices are held there is not "
            "known. Measure in theatre."
        )
    elif bed.surface.taken:
        words.append(f"{bed.surface.taken} Whether both cortices are held is not known: measure in theatre.")
    return replace(one, why=" ".join(words), source=source) if words else one
