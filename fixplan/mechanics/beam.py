"""The beam engine: stepped beams, statically determinate, integrated exactly piece by piece.

Units: mm, N, MPa, N*mm, rad. Axis s runs from the proximal to the distal end. Deflection w and transverse
forces are positive the same way; a positive moment M gives w'' = M/EI > 0 and pulls on the negative side.
A beam has n pieces between n + 1 edges along the last axis; any leading dimensions broadcast (sizes, draws).
Source of the method: direct integration of M/EI, Gere, ch. 9; Shigley 9e, eq. 4-30.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from fixplan.mechanics import guard
from fixplan.mechanics.guard import refuse_unless

Array: TypeAlias = npt.NDArray[np.float64]


def finite(name: str, value: npt.ArrayLike) -> Array:
    """`value` as a float array, refused when any element is NaN or infinite."""
    out = np.asarray(value, dtype=np.float64)
    guard.finite(name, out)
    return out


def positive(name: str, value: npt.ArrayLike) -> Array:
    """`value` as a float array, refused unless finite and above zero."""
    out = np.asarray(value, dtype=np.float64)
    guard.positive(name, out)
    return out


def not_negative(name: str, value: npt.ArrayLike) -> Array:
    """`value` as a float array, refused unless finite and at least zero."""
    out = np.asarray(value, dtype=np.float64)
    guard.not_negative(name, out)
    return out


def merge(edges: npt.ArrayLike, *points: npt.ArrayLike) -> Array:
    """Edges and further points in one ascending list along the last axis.

    Args:
        edges: (..., n+1) mm. points: each (...) mm, without the station axis.
    """
    e = np.asarray(edges, dtype=np.float64)
    p = [np.asarray(x, dtype=np.float64) for x in points]
    lead = np.broadcast_shapes(e.shape[:-1], *(x.shape for x in p))
    parts = [np.broadcast_to(e, lead + e.shape[-1:]), *(np.broadcast_to(x, lead)[..., None] for x in p)]
    return np.sort(np.concatenate(parts, axis=-1), axis=-1)


def sample(edges: npt.ArrayLike, values: npt.ArrayLike, at: npt.ArrayLike) -> Array:
    """Value of the piece that holds each point.

    Args:
        edges: (..., n+1) mm; values: (..., n); at: (..., m) mm, inside the beam. A point on an inner edge
        takes the piece beyond it.
    """
    e, v, x = (np.asarray(a, dtype=np.float64) for a in (edges, values, at))
    out = v[..., :1] + np.zeros_like(x)
    # a loop over the few pieces of one bone, never over cases
    for k in range(1, v.shape[-1]):
        out = np.where(x >= e[..., k : k + 1], v[..., k : k + 1], out)
    return out


def value_at(stations: Array, values: npt.ArrayLike, x: npt.ArrayLike) -> Array:
    """Value at the first station not below x, which has to be one of the stations.

    Args:
        stations, values: (..., m); x: (...) mm.
    """
    v = np.asarray(values, dtype=np.float64)
    x_ = np.asarray(x, dtype=np.float64)
    lead = np.broadcast_shapes(stations.shape[:-1], v.shape[:-1], x_.shape)
    k = np.broadcast_to((stations < x_[..., None]).sum(-1), lead)[..., None]
    return np.take_along_axis(np.broadcast_to(v, lead + v.shape[-1:]), k, axis=-1)[..., 0]


def moment_of_forces(s: npt.ArrayLike, forces: npt.ArrayLike, at: npt.ArrayLike) -> Array:
    """Moment [N mm] at s of all forces distal of it: sum F (a - s) over a > s.

    Args:
        s: (..., m) mm; forces: (..., k) N; at: (..., k) mm. Reactions are among the forces, except a clamp at
        the proximal end.
    """
    x = np.asarray(s, dtype=np.float64)
    f, a = np.broadcast_arrays(np.asarray(forces, dtype=np.float64), np.asarray(at, dtype=np.float64))
    total = np.zeros(np.broadcast_shapes(x.shape[:-1], f.shape[:-1]) + x.shape[-1:])
    for k in range(f.shape[-1]):
        total = total + f[..., k : k + 1] * np.maximum(a[..., k : k + 1] - x, 0.0)
    return total


def accumulate(length: Array, left: Array, right: Array) -> tuple[Array, Array]:
    """Rotation and deflection at the edges from curvature that is linear in each piece, both zero at the
    first edge.

    Args:
        length: (..., n) mm; left, right: (..., n) curvature [1/mm] at the ends of each piece.

    Returns:
        rotation [rad] and deflection [mm], each (..., n+1).
    """
    zero = np.zeros((*np.broadcast_shapes(length.shape, left.shape)[:-1], 1))
    rotation = np.concatenate([zero, np.cumsum((left + right) / 2 * length, axis=-1)], axis=-1)
    step = rotation[..., :-1] * length + (left / 3 + right / 6) * length**2
    return rotation, np.concatenate([zero, np.cumsum(step, axis=-1)], axis=-1)


def integral(length: Array, left: Array, right: Array) -> Array:
    """Integral over all pieces of a function linear in each piece."""
    return np.asarray(((left + right) / 2 * length).sum(-1))


def first_integral(stations: Array, origin: npt.ArrayLike, left: Array, right: Array) -> Array:
    """Integral of (s - origin) times a function linear in each piece, exact (Simpson)."""
    o = np.asarray(origin, dtype=np.float64)[..., None]
    a, b = stations[..., :-1] - o, stations[..., 1:] - o
    return np.asarray(((b - a) / 6 * (a * left + (a + b) * (left + right) + b * right)).sum(-1))


@dataclass(frozen=True)
class BeamState:
    """A loaded beam: everything along the last axis; edges m + 1, pieces m."""

    s: Array
    moment: Array
    """N*mm at the edges"""
    shear_force: Array
    """N in each piece: minus the slope of the moment"""
    rotation: Array
    """rad at the edges, of the section (without the shear angle)"""
    deflection: Array
    """mm at the edges"""
    reactions: Array
    """N: at the clamp, or at the proximal and the distal support"""


def _pieces(
    edges: npt.ArrayLike, rigidity: npt.ArrayLike, shear: npt.ArrayLike | None
) -> tuple[Array, Array, Array | None]:
    e = finite("edges", edges)
    ei = positive("EI", rigidity)
    refuse_unless(np.diff(e) > 0, "edges", e[..., 1:], "must ascend", "sort the stations")
    if e.shape[-1] != ei.shape[-1] + 1:
        raise ValueError(f"EI has {ei.shape[-1]} pieces for {e.shape[-1]} edges: give one piece fewer than edges")
    return e, ei, None if shear is None else positive("GA", shear)


def _state(e: Array, ei: Array, ga: Array | None, forces: Array, at: Array) -> tuple[Array, Array, Array, Array, Array]:
    s = merge(e, *(at[..., k] for k in range(at.shape[-1])))
    length = np.diff(s)
    mid = (s[..., 1:] + s[..., :-1]) / 2
    moment = moment_of_forces(s, forces, at)
    rigidity = sample(e, ei, mid)
    rotation, deflection = accumulate(length, moment[..., :-1] / rigidity, moment[..., 1:] / rigidity)
    pull = (forces[..., None, :] * (at[..., None, :] > mid[..., :, None])).sum(-1)
    if ga is not None:
        lead = np.zeros((*deflection.shape[:-1], 1))
        deflection = deflection + np.concatenate(
            [lead, np.cumsum(pull * length / sample(e, ga, mid), axis=-1)], axis=-1
        )
    return s, moment, pull, rotation, deflection


def cantilever(
    edges: npt.ArrayLike,
    EI: npt.ArrayLike,
    forces: npt.ArrayLike,
    at: npt.ArrayLike,
    GA: npt.ArrayLike | None = None,
) -> BeamState:
    """Stepped cantilever clamped at its first edge.

    Args:
        edges: (..., n+1) mm, ascending. EI: (..., n) N*mm2. forces, at: (..., k) N and mm, within the beam.
        GA: (..., n) N, shear rigidity divided by the shape factor; None leaves shear deflection out.

    Raises:
        ValueError: a value is not finite, not positive or out of the beam.
    """
    e, ei, ga = _pieces(edges, EI, GA)
    f, a = finite("forces", forces), finite("at", at)
    refuse_unless((a >= e[..., :1]) & (a <= e[..., -1:]), "at", a, "must lie on the beam", "move the force")
    f, a = np.broadcast_arrays(f, a)
    s, moment, pull, rotation, deflection = _state(e, ei, ga, f, a)
    return BeamState(s, moment, pull, rotation, deflection, -f.sum(-1)[..., None])


def simply_supported(
    edges: npt.ArrayLike,
    EI: npt.ArrayLike,
    forces: npt.ArrayLike,
    at: npt.ArrayLike,
    supports: tuple[npt.ArrayLike, npt.ArrayLike],
    GA: npt.ArrayLike | None = None,
) -> BeamState:
    """Stepped beam on two simple supports, which may stand inside its ends.

    Args: as for `cantilever`; supports: proximal and distal, (...) mm each.
    """
    e, ei, ga = _pieces(edges, EI, GA)
    f, a = np.broadcast_arrays(finite("forces", forces), finite("at", at))
    p, q = (finite("supports", x) for x in supports)
    everything, where, reactions = with_reactions(f, a, p, q)
    refuse_unless(
        (where >= e[..., :1]) & (where <= e[..., -1:]), "at", where, "must lie on the beam", "move force or support"
    )
    s, moment, pull, rotation, deflection = _state(e, ei, ga, everything, where)
    w_p, w_q = value_at(s, deflection, p), value_at(s, deflection, q)
    slope = (w_q - w_p) / (q - p)
    deflection = deflection - w_p[..., None] - slope[..., None] * (s - p[..., None])
    return BeamState(s, moment, pull, rotation - slope[..., None], deflection, reactions)


def with_reactions(forces: Array, at: Array, p: Array, q: Array) -> tuple[Array, Array, Array]:
    """Forces with the reactions of two simple supports at p < q added.

    Returns:
        all forces (..., k+2), their places (..., k+2), and the two reactions (..., 2).
    """
    refuse_unless(q > p, "supports", p, "the proximal one must stand proximal of the distal one", "swap them")
    far = -(forces * (at - p[..., None])).sum(-1) / (q - p)
    near = -forces.sum(-1) - far
    lead = np.broadcast_shapes(near.shape, p.shape, q.shape)
    reactions = np.stack([np.broadcast_to(near, lead), np.broadcast_to(far, lead)], axis=-1)
    places = np.stack([np.broadcast_to(p, lead), np.broadcast_to(q, lead)], axis=-1)
    wide = (*lead, forces.shape[-1])
    return (
        np.concatenate([np.broadcast_to(forces, wide), reactions], axis=-1),
        np.concatenate([np.broadcast_to(at, wide), places], axis=-1),
        reactions,
    )
