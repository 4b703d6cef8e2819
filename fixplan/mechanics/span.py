"""The free span: where an implant alone, or an implant beside a bone that callus or contact joins, crosses
the fracture.

Outside the free span [a, b] implant and bone share one line (the path). Inside it the implant is the path and
the two bone ends are stubs, held at a and at b only. Forces that stand on a stub reach the implant at its
hold, so the implant's moment inside [a, b] is the straight continuation of its moment in the gap. When the
stubs are joined, implant and bone chain are two beams with common ends: the three section forces of the
implant follow from equal rotation, deflection and stretch (force method; Gere, ch. 10; 3 equations per case).
Units: mm, N, MPa, N*mm, rad. Signs as in `beam.py`; normal force positive in tension; `offset` is the
implant's centroid above the bone's axis.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from fixplan.mechanics.beam import (
    Array,
    accumulate,
    first_integral,
    integral,
    moment_of_forces,
    value_at,
)


@dataclass(frozen=True)
class Line:
    """Rigidities of one construct in one plane. s: (..., m+1); pieces (..., m); points (...). See the
    module's head.

    `joined` is True where the bone runs on from a to b beside the implant (callus or contact); the chain then
    has a rigidity in the gap too. `face_a`, `face_b`: rad/(N mm), what the faces of an open gap turn beyond
    the hinges, because the cortex near a face carries no load.
    """

    s: Array
    a: Array
    b: Array
    centre: Array
    gap_from: Array
    gap_to: Array
    EI_path: Array
    EI_chain: Array
    EA_implant: Array
    EA_chain: Array
    offset: Array
    hinge_a: Array
    hinge_b: Array
    joined: bool
    face_a: Array | None = None
    face_b: Array | None = None

    @cached_property
    def length(self) -> Array:
        """mm, (..., m)."""
        return np.diff(self.s)

    @cached_property
    def mid(self) -> Array:
        """mm, (..., m)."""
        return (self.s[..., 1:] + self.s[..., :-1]) / 2

    @cached_property
    def inside(self) -> npt.NDArray[np.bool_]:
        """Pieces of the free span, (..., m)."""
        return (self.mid > self.a[..., None]) & (self.mid < self.b[..., None])


@dataclass(frozen=True)
class SpanState:
    """A loaded line.

    moment_left, moment_right: (..., m) N*mm, at the ends of each piece, on the path (the implant inside the
    free span). bone_left, bone_right: the bone's own share inside the free span. normal: (...) N in the
    implant. w, w_path: (..., m+1) mm, of the bone and of the path. theta_head: (...) rad. open_rotation:
    (...) rad, rotation of the distal face against the proximal one. stretch: (...) mm, at the bone's axis.
    shear: (...) mm, transverse.
    """

    moment_left: Array
    moment_right: Array
    bone_left: Array
    bone_right: Array
    normal: Array
    w: Array
    w_path: Array
    theta_head: Array
    open_rotation: Array
    stretch: Array
    shear: Array
    total: Array
    implant: Array


def _implant_forces(line: Line, total: Array, left: Array, right: Array, axial: Array) -> tuple[Array, Array, Array]:
    """Moment and its slope at the fracture, and the normal force, of an implant beside a joined bone chain."""
    inside, s, f = line.inside, line.s, line.centre
    zero = np.zeros_like(line.length)
    flex = np.where(inside, 1 / line.EI_path, zero)
    chain = np.where(inside, 1 / line.EI_chain, zero)
    arm = s - f[..., None]
    p, q = arm[..., :-1], arm[..., 1:]
    h0, h1 = line.hinge_a, line.hinge_b
    xa, xb = line.a - f, line.b - f
    a0 = integral(line.length, flex, flex) + h0 + h1
    a1 = first_integral(s, f, flex, flex) + h0 * xa + h1 * xb
    a2 = first_integral(s, f, flex * p, flex * q) + h0 * xa**2 + h1 * xb**2
    b0 = integral(line.length, chain, chain)
    b1 = first_integral(s, f, chain, chain)
    b2 = first_integral(s, f, chain * p, chain * q)
    t0 = integral(line.length, chain * left, chain * right)
    t1 = first_integral(s, f, chain * left, chain * right)
    soft_i = np.where(inside, line.length / line.EA_implant, zero).sum(-1)
    soft_b = np.where(inside, line.length / line.EA_chain, zero).sum(-1)
    e = line.offset
    rows = [
        [a0 + b0, a1 + b1, -e * b0],
        [a1 + b1, a2 + b2, -e * b1],
        [-e * b0, -e * b1, soft_i + soft_b + e**2 * b0],
    ]
    right_side = [t0, t1, axial * soft_b - e * t0]
    lead = np.broadcast_shapes(*(x.shape for row in rows for x in row), *(x.shape for x in right_side))
    matrix = np.stack([np.stack([np.broadcast_to(x, lead) for x in row], -1) for row in rows], -2)
    vector = np.stack([np.broadcast_to(x, lead) for x in right_side], -1)
    x = np.linalg.solve(matrix, vector[..., None])[..., 0]
    return x[..., 0], x[..., 1], x[..., 2]


def _place(line: Line, x: npt.ArrayLike, w0: Array, t0: Array, at: Array, w: Array, t: Array) -> tuple[Array, Array]:
    """Deflection and rotation at station x of a stub (w, t integrated from zero) that leaves (w0, t0) at
    station `at`.
    """
    turn = t0 - value_at(line.s, t, at)
    rise = w0 - value_at(line.s, w, at)
    x_ = np.asarray(x, dtype=np.float64)
    return value_at(line.s, w, x_) + rise + turn * (x_ - at), value_at(line.s, t, x_) + turn


def solve(line: Line, forces: Array, at: Array, axial: npt.ArrayLike = 0.0) -> SpanState:
    """Solve one line under transverse forces (clamped at s = 0 unless the reactions are among the forces) and
    an axial force.

    Args:
        forces, at: (..., k) N and mm. axial: (...) N on the bone's axis, tension positive.
    """
    n = np.asarray(axial, dtype=np.float64)
    s, length, inside = line.s, line.length, line.inside
    f = line.centre[..., None]
    total = moment_of_forces(s, forces, at)
    left, right = total[..., :-1], total[..., 1:]
    e = line.offset[..., None]
    zero = np.zeros(np.broadcast_shapes(left.shape, inside.shape, (*n.shape, 1), e.shape))
    if line.joined:
        m0, v0, normal = _implant_forces(line, total, left, right, n)
        implant = m0[..., None] + v0[..., None] * (s - f)
    else:
        normal = n + np.zeros(zero.shape[:-1])
        here = moment_of_forces(f, forces, at)
        before = -np.where(at >= f, forces, 0.0).sum(-1)[..., None]
        beyond = -np.where(at > f, forces, 0.0).sum(-1)[..., None]
        implant = here + np.where(s <= f, before, beyond) * (s - f) + normal[..., None] * e
    in_gap = (line.mid > line.gap_from[..., None]) & (line.mid < line.gap_to[..., None])
    m_left = np.where(inside, implant[..., :-1], left)
    m_right = np.where(inside, implant[..., 1:], right)
    carries = inside if line.joined else inside & ~in_gap
    push = e * normal[..., None]
    b_left = np.where(carries, left - implant[..., :-1] + push, zero)
    b_right = np.where(carries, right - implant[..., 1:] + push, zero)

    t_path, w_path = accumulate(length, m_left / line.EI_path, m_right / line.EI_path)
    turn_a = line.hinge_a * value_at(s, implant, line.a)
    turn_b = line.hinge_b * value_at(s, implant, line.b)
    w_a, t_a = value_at(s, w_path, line.a), value_at(s, t_path, line.a)
    t_b = value_at(s, t_path, line.b) + turn_a + turn_b
    w_path = (
        w_path
        + turn_a[..., None] * np.maximum(s - line.a[..., None], 0.0)
        + turn_b[..., None] * np.maximum(s - line.b[..., None], 0.0)
    )
    w_b = value_at(s, w_path, line.b)

    bend_left, bend_right = b_left / line.EI_chain, b_right / line.EI_chain
    near = carries if line.joined else carries & (line.mid < f)
    t1, w1 = accumulate(length, np.where(near, bend_left, 0.0), np.where(near, bend_right, 0.0))
    w_p, t_p = _place(line, line.gap_from, w_a, t_a, line.a, w1, t1)
    rise = w_a[..., None] + w1 + t_a[..., None] * (s - line.a[..., None])
    if line.joined:
        w_d, t_d = _place(line, line.gap_to, w_a, t_a, line.a, w1, t1)
        fall = rise
    else:
        t2, w2 = accumulate(length, np.where(near, 0.0, bend_left), np.where(near, 0.0, bend_right))
        w_d, t_d = _place(line, line.gap_to, w_b, t_b, line.b, w2, t2)
        turn = (t_b - value_at(s, t2, line.b))[..., None]
        fall = w2 + (w_b - value_at(s, w2, line.b))[..., None] + turn * (s - line.b[..., None])
    outside = (s <= line.a[..., None]) | (s >= line.b[..., None])
    w = np.where(outside, w_path, np.where(s <= f, rise, fall))
    rotation = t_d - t_p
    if not line.joined:
        for face, x in ((line.face_a, line.a), (line.face_b, line.b)):
            if face is not None:
                rotation = rotation + face * value_at(s, implant, x)
    if line.joined:
        gap_soft = np.where(in_gap, length / line.EA_chain, 0.0).sum(-1)
        stretch = (n - normal) * gap_soft
    else:
        stretch = normal * np.where(inside, length / line.EA_implant, 0.0).sum(-1) + line.offset * (t_b - t_a)
    shear = w_d - w_p - t_p * (line.gap_to - line.gap_from)
    head = t_path[..., -1] + turn_a + turn_b
    return SpanState(
        m_left, m_right, b_left, b_right, normal, w, w_path, head, rotation, stretch, shear, total, implant
    )
