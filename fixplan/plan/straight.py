"""The straight corridor of a bone measured along its length: how deep it reaches, where it enters, what it touches.

Sizing asks for the corridor over each thread; this part shows the corridor from the seat on, which is what a guide wire
and a whole screw follow. Lengths in mm, angles in degrees (they leave the core here).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fixplan.bone.corridor import Corridor, clearance, corridor, deepest_tip, silhouette
from fixplan.bone.profile import Floats, Profile, interpolate
from fixplan.kits import ImScrew
from fixplan.plan.frame import Frame, Reader
from fixplan.plan.screws import permitted
from fixplan.plan.straight_words import from_entry, reading_of
from fixplan.plan.types import (
    CorridorAxis,
    CorridorContact,
    CorridorPart,
    Curve,
    Mark,
    Picked,
    ScrewCandidate,
    TradeOff,
    WallLeft,
)
from fixplan.problems import InputError, Problem

STEPS = 22
# a corridor to a tip nearer than this is the width of the canal at the seat
SHORTEST_MM = 5.0
# a contact that holds less than this of the corridor is not worth a line
LEAST_SHARE = 0.02
ENTRY = ("entry_from_lateral", "entry_from_dorsal")

NOTE = (
    "Straight lines between the stations. Often many axes are equally good: the one shown lies amid the freedom there "
    "is. The wall left is about this axis: a wire that runs otherwise leaves another wall. Confirm entry and direction "
    "on both films in theatre."
)


@dataclass(frozen=True)
class _Run:
    """One axis from start to tip in both surfaces."""

    axis: CorridorAxis
    entry: Floats
    slope: Floats
    canal: Corridor


def corridor_part(frame: Frame, read: Reader, screw: ImScrew | None, chosen: ScrewCandidate | None) -> CorridorPart:
    """The corridor for the first choice, or for the deepest tip allowed where no screw was chosen.

    For a single (not drawn) frame whose profile was measured along the length. Raises InputError for a measured entry
    that lies outside the bone.
    """
    bone = frame.profile
    start = max(float(np.asarray(frame.site.seat)), float(bone.s[0]))
    last = float(bone.s[-1])
    tip = chosen.tip_mm if chosen is not None else float(permitted(frame)[1][0])
    tip = max(min(tip, last), min(start + SHORTEST_MM, last))
    wall = float(np.asarray(frame.limits.wall_min))
    wanted = _run(bone, start, tip, wall, "axis that the corridor wants", None)
    point = _entry(read, bone, start)
    measured = None if point is None else _run(bone, start, tip, wall, "from the entry measured", point)
    between = None if measured is None else float(np.degrees(_angle(wanted.slope, measured.slope)))
    contacts = _contacts(wanted.canal)
    walls = () if screw is None or chosen is None else _walls(bone, wanted, start, chosen)
    depth = _depth(bone, start, last, wall, tip, float(permitted(frame)[1][0]), screw, chosen)
    reading = reading_of(start, tip, wall, wanted.axis, contacts, walls, chosen)
    if measured is not None:
        reading += from_entry(wanted.axis, measured.axis, between or 0.0)
    axes = wanted.axis, None if measured is None else measured.axis
    return CorridorPart(start, tip, depth, *axes, between, contacts, walls, reading, NOTE)


def wanted_axis(bone: Profile, seat: float, tip: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """The axis of the corridor at seat and tip, AP film and lateral film [mm]: what the drawing shows."""
    start = max(seat, float(bone.s[0]))
    c = corridor(bone, start, tip, centred=True)
    ends = [c.entry + c.slope * (level - start) for level in (seat, tip)]
    return (float(ends[0][0]), float(ends[1][0])), (float(ends[0][1]), float(ends[1][1]))


def _run(bone: Profile, start: float, tip: float, wall: float, name: str, entry: Floats | None) -> _Run:
    inner = corridor(bone, start, tip, entry=entry, centred=True)
    outer = corridor(bone, start, tip, inside="outer", entry=entry)
    middle = np.stack(interpolate(bone.s, [bone.offset_ap, bone.offset_lateral], np.array([start])), axis=-1)[0]
    # 1e-6 of a millimetre or a degree is rounding of the solver, not a direction
    turn = np.round(np.degrees(np.arctan(inner.slope)), 6) + 0.0
    off = np.round(inner.entry - middle, 6) + 0.0
    axis = CorridorAxis(
        name,
        float(off[0]),
        float(off[1]),
        float(turn[0]),
        float(turn[1]),
        2.0 * float(inner.cylinder_radius),
        2.0 * (float(outer.cylinder_radius) - wall),
    )
    return _Run(axis, inner.entry, inner.slope, inner)


def _entry(read: Reader, bone: Profile, start: float) -> Floats | None:
    """The measured entry point at the start, x and y, from its distances to the lateral and the dorsal surface."""
    if not all(read.has(name) for name in ENTRY):
        return None
    columns = [bone.outer_ap, bone.outer_lateral, bone.offset_ap, bone.offset_lateral]
    width, height, x, y = (float(v[0]) for v in interpolate(bone.s, columns, np.array([start])))
    found = []
    for name, across, middle, far in ((ENTRY[0], width, x, "medial"), (ENTRY[1], height, y, "plantar")):
        distance = float(read.true(name))
        if not 0.0 < distance < across:
            raise InputError(
                [
                    Problem(
                        f"bone.{name}",
                        f"{distance:.1f} mm reaches to or past the {far} surface: at {start:.1f} mm from the proximal "
                        f"end the bone is {across:.1f} mm across",
                        "measure it at the level of the seat, on the film named, from the surface to the wire",
                    )
                ]
            )
        found.append(middle + across / 2 - distance)
    return np.array(found)


def _angle(a: Floats, b: Floats) -> float:
    u, v = (np.array([*s, 1.0]) for s in (a, b))
    return float(np.arctan2(np.linalg.norm(np.cross(u, v)), u @ v))


def _contacts(c: Corridor) -> tuple[CorridorContact, ...]:
    held: dict[tuple[float, str], float] = {}
    for s, wall, share in zip(c.contact_s, c.contact_wall, c.contact_share):
        if wall:
            key = (round(float(s), 3), str(wall))
            held[key] = held.get(key, 0.0) + float(share)
    rows = [CorridorContact(wall, s, share) for (s, wall), share in sorted(held.items()) if share >= LEAST_SHARE]
    return tuple(rows)


def _walls(bone: Profile, run: _Run, start: float, chosen: ScrewCandidate) -> tuple[WallLeft, ...]:
    lo, hi = max(chosen.first_thread_mm, start), min(chosen.tip_mm, float(bone.s[-1]))
    inside = bone.s[(bone.s > lo) & (bone.s < hi)]
    s = np.unique(np.round(np.concatenate([[lo], inside, [hi]]), 6))
    x, y = (run.entry[k] + run.slope[k] * (s - start) for k in (0, 1))
    radius = chosen.diameter_mm / 2
    # discs square to s hold the tilted cylinder when they are wider by 1/cos(tilt)
    radius = radius * float(np.sqrt(1.0 + run.slope @ run.slope))
    least = clearance(bone, s, x, y, inside="outer")[0] - radius
    shown = silhouette(bone, s, x, y, radius)
    return tuple(
        WallLeft(float(at), float(least[k]), *(float(shown[k, side]) for side in (2, 0, 1, 3)))
        for k, at in enumerate(s)
    )


def _depth(
    bone: Profile,
    start: float,
    last: float,
    wall: float,
    tip: float,
    allowed: float,
    screw: ImScrew | None,
    chosen: ScrewCandidate | None,
) -> TradeOff:
    tips = np.linspace(min(start + SHORTEST_MM, (start + last) / 2), last, STEPS)
    canal = 2.0 * corridor(bone, start, tips).cylinder_radius
    ream = 2.0 * (corridor(bone, start, tips, inside="outer").cylinder_radius - wall)

    def curve(name: str, y: npt.ArrayLike) -> Curve:
        return Curve(name, tuple(float(v) for v in tips), tuple(float(v) for v in np.asarray(y)))

    reading = (
        f"The corridor in the canal narrows from {canal[0]:.1f} mm (tip at {tips[0]:.0f} mm) to "
        f"{max(float(canal[-1]), 0.0):.1f} mm (tip at {last:.0f} mm)."
    )
    if canal[-1] <= 0:
        reading += " Where the curve falls below 0 no straight line stays in the canal."
    if chosen is not None:
        hole = chosen.diameter_mm
        deep = float(deepest_tip(bone, start, hole / 2, inside="outer", wall_min=wall))
        if np.isnan(deep):
            reading += f" From the seat on, no straight hole of {hole:.1f} mm leaves the least wall."
        else:
            end = ", the last station" if deep >= last - 0.05 else ""
            reading += f" A straight hole of {hole:.1f} mm leaves the least wall to a tip at {deep:.0f} mm{end}."
        if not np.isnan(deep) and deep > allowed:
            reading += f" The rule for the tip stops earlier, at {allowed:.1f} mm: before the bow."
    marks = (
        ()
        if chosen is None or screw is None
        else (Mark("first choice", chosen.diameter_mm, None, "size", screw.source),)
    )
    return TradeOff(
        "corridor-depth",
        "Straight corridor against depth of the tip",
        "tip from the proximal end",
        "mm",
        "diameter of the straight corridor",
        "mm",
        (curve("in the canal, no cutting", canal), curve("reaming limit, least wall left", ream)),
        (Picked("tip", tip),),
        marks,
        reading,
        f"From {start:.1f} mm on, each point with its own best axis; a deeper tip never has the wider corridor.",
        (),
    )
