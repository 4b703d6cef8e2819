"""Solids of a round bar in a bone tube: intact tube, bar bonded across a gap, bar held at its two ends only.

x runs from the clamped proximal end to the tip, y is the bending direction, the model is the half z >= 0.
Clamp: u_x = 0 on the end face and u_y = 0 at one point, so that the section may contract freely as a beam's does.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from tests.solids import hexmesh, solver
from tests.solids.hexmesh import BAR, BONE, EMPTY

FORCE = 10.0  # N at the tip, towards +y
MOMENT = 500.0  # N*mm at the tip, same sense as the force's moment


@dataclass(frozen=True)
class BarCase:
    """One bar-in-tube model; lengths in mm, moduli in MPa.

    family: "tube" (no bar, no gap), "bonded" (bar fills the canal from end to end) or "ends" (bar runs from the
    seat to the tip of the thread; it is bonded over `seat` at its proximal end and over `thread` at its distal end).
    """

    family: str
    d: float
    outer: float
    gap: float
    e_bar: float
    nu_bar: float
    e_bone: float
    canal: float
    length: float = 70.0
    fracture: float = 25.0
    seat_at: float = 0.0
    seat: float = 0.0
    thread: float = 0.0
    free: float = 0.0
    nu_bone: float = 0.3
    bore: float = 0.0

    @property
    def name(self) -> str:
        """A stable name: every parameter that differs between cases."""
        parts = [f"{self.family}-d{self.d:g}-D{self.outer:g}-c{self.canal:g}-g{self.gap:g}"]
        parts.append(f"E{self.e_bar / 1e3:g}-{self.e_bone / 1e3:g}")
        if self.bore > 0:
            parts.append(f"b{self.bore:g}")
        if self.family == "ends":
            parts.append(f"s{self.seat:g}-f{self.free:g}-t{self.thread:g}")
        return "-".join(parts)


def stations(case: BarCase, fine: float) -> np.ndarray:
    """Stations along x, fine at every place where a section changes."""
    marks = {0.0, case.length}
    if case.family != "tube":
        marks |= {case.fracture - case.gap / 2, case.fracture + case.gap / 2}
    if case.family == "ends":
        first = case.seat_at + case.seat
        marks |= {case.seat_at, first, first + case.free, first + case.free + case.thread}
    ends = sorted(marks)
    h = fine * (case.d if case.family != "tube" else case.outer / 2)
    x = [0.0]
    for a, b in pairwise(ends):
        plain_a, plain_b = a == 0.0, b == case.length
        biggest = 4.0
        if plain_a and plain_b:
            part = [a + (b - a) * (i + 1) / 24 for i in range(24)]
        elif plain_a:
            part = [*hexmesh.graded(b, a, h, 1.35, biggest)[::-1][1:], b]
        elif plain_b:
            part = hexmesh.graded(a, b, h, 1.35, biggest)
        else:
            mid = 0.5 * (a + b)
            left = hexmesh.graded(a, mid, min(h, (b - a) / 4), 1.35, biggest)
            right = hexmesh.graded(b, mid, min(h, (b - a) / 4), 1.35, biggest)[::-1]
            part = [*left, *right[1:], b]
        x += part
    return np.array(x)


def run(case: BarCase, folder: Path, n: int = 2, fine: float = 0.12) -> dict[str, float]:
    """Solve one case; `n` cells on half a side of the core square, `fine` the first layer over the bar diameter."""
    rb, rc, ro = case.d / 2, case.canal / 2, case.outer / 2
    rings = [0.78 * rb, rb]
    if case.bore > 0:
        rings = [case.bore / 2, 0.5 * case.bore / 2 + 0.5 * rb, rb]
    if rc > rb + 1e-9:
        rings.append(rc)
    wall = ro - rc
    cut = [0.18, 0.5, 1.0] if n == 2 else [0.1, 0.3, 0.6, 1.0]
    rings += [rc + f * wall for f in cut]
    lo, hi = case.fracture - case.gap / 2, case.fracture + case.gap / 2
    bonded_from = case.seat_at
    bonded_to = bonded_from + case.seat + case.free + case.thread

    def body(r: float, x: float) -> int:
        if r <= case.bore / 2 + 1e-9:
            return EMPTY
        inside = r <= rb + 1e-9
        cortex = r > rc + 1e-9
        open_gap = case.family != "tube" and lo < x < hi
        if case.family == "tube":
            return BONE if cortex else EMPTY
        if case.family == "bonded":
            return BAR if inside else (EMPTY if open_gap else BONE)
        if inside:
            return BAR if bonded_from < x < bonded_to else EMPTY
        if cortex:
            return EMPTY if open_gap else BONE
        held = bonded_from < x < bonded_from + case.seat or bonded_to - case.thread < x < bonded_to
        return BONE if held else EMPTY

    x = stations(case, fine)
    solid = hexmesh.sweep(hexmesh.half_disc(rings, 0.6 * rings[0] if case.bore > 0 else 0.5 * rb, n), x, body)
    p = solid.nodes
    moduli = np.array([0.0, case.e_bar, case.e_bone])
    ids, w, m = hexmesh.face_weights(solid, case.length, lambda k: moduli[k])
    # half model: half the load
    force = np.zeros_like(p)
    force[ids, 1] = FORCE * w / 2
    couple = np.zeros_like(p)
    couple[ids, 0] = -MOMENT * m / 2
    end = np.flatnonzero(np.isclose(p[:, 0], 0.0))
    axis = end[np.lexsort((p[end, 1], np.hypot(p[end, 1], p[end, 2])))[:1]]
    if case.family != "bonded" or case.bore > 0:  # hollow at the clamp: hold the two points of the neutral line instead
        axis = end[np.isclose(p[end, 1], 0.0, atol=1e-6)]
    blocks = [
        ("C3D20R", solid.cells[solid.body == k], e, nu)
        for k, e, nu in ((BAR, case.e_bar, case.nu_bar), (BONE, case.e_bone, case.nu_bone))
        if (solid.body == k).any()
    ]
    fixed = [(end, 1), (axis, 2), (np.flatnonzero(np.isclose(p[:, 2], 0.0)), 3)]
    u_f, u_m = solver.solve(folder, p, blocks, fixed, [force, couple])
    out = {
        "nodes": float(len(p)),
        "u_force": float(w @ u_f[ids, 1]),
        "rot_force": float(-m @ u_f[ids, 0]),
        "u_moment": float(w @ u_m[ids, 1]),
        "rot_moment": float(-m @ u_m[ids, 0]),
    }
    if case.family != "tube":
        for tag, u in (("force", u_f), ("moment", u_m)):
            for side, y in (("near", -ro), ("far", ro)):
                a, b = (
                    np.flatnonzero(
                        np.isclose(p[:, 0], xf) & np.isclose(p[:, 1], y) & np.isclose(p[:, 2], 0.0, atol=1e-6)
                    )[0]
                    for xf in (lo, hi)
                )
                out[f"open_{side}_{tag}"] = float(u[b, 0] - u[a, 0])
    return out
