"""Swept half-cylinder meshes of 20-node bricks, made with NumPy alone.

The section lies in the y-z plane (half model, z >= 0, the bending plane is z = 0) and is swept along x.
A half square in the middle is blended into rings; a material map says, for each ring and each layer along x, which
body an element belongs to (0 = empty). Lengths in mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

EMPTY, BAR, BONE = 0, 1, 2


@dataclass(frozen=True)
class Section:
    """8-node quadrilaterals: nodes (n, 2) as (y, z), cells (m, 8), and the outer radius of each cell's ring."""

    nodes: Array
    cells: Ints
    ring_outer: Array


@dataclass(frozen=True)
class Solid:
    """20-node bricks: nodes (n, 3), cells (m, 20), body of each cell."""

    nodes: Array
    cells: Ints
    body: Ints


def half_disc(radii: list[float], core: float, n: int) -> Section:
    """Half disc with rings at `radii` (increasing) round a half square; `n` cells on half a side of the square.

    `core` is the half side of the square; 4 n cells lie on the half circle.
    """
    k = 2 * n  # half steps, so that mid-side nodes are grid nodes
    steps = np.arange(-2 * n, 2 * n + 1) / k
    nodes: list[tuple[float, float]] = []
    core_id: dict[tuple[int, int], int] = {}
    for j in range(k + 1):
        for i in range(2 * k + 1):
            core_id[i, j] = len(nodes)
            nodes.append((core * float(steps[i]), core * j / k))
    cells: list[list[int]] = []
    outer: list[float] = []

    def quad(g: dict[tuple[int, int], int], i: int, j: int) -> list[int]:
        return [
            g[i, j], g[i + 2, j], g[i + 2, j + 2], g[i, j + 2],
            g[i + 1, j], g[i + 2, j + 1], g[i + 1, j + 2], g[i, j + 1],
        ]  # fmt: skip

    for j in range(0, k, 2):
        for i in range(0, 2 * k, 2):
            cells.append(quad(core_id, i, j))
            outer.append(radii[0])
    right = [(2 * k, j) for j in range(k)]
    top = [(i, k) for i in range(2 * k, 0, -1)]
    left = [(0, j) for j in range(k, -1, -1)]
    rim = [core_id[p] for p in right + top + left]
    m = len(rim) - 1
    angle = np.pi * np.arange(m + 1) / m
    grid: dict[tuple[int, int], int] = {(a, 0): rim[a] for a in range(m + 1)}
    start = np.array([nodes[r] for r in rim])
    for b in range(1, 2 * len(radii) + 1):
        if b <= 2:
            circle = radii[0] * np.column_stack([np.cos(angle), np.sin(angle)])
            ring = start + (circle - start) * (b / 2)
        else:
            lo, hi = radii[(b - 1) // 2 - 1], radii[(b - 1) // 2]
            r = hi if b % 2 == 0 else 0.5 * (lo + hi)
            ring = r * np.column_stack([np.cos(angle), np.sin(angle)])
        for a in range(m + 1):
            grid[a, b] = len(nodes)
            nodes.append((float(ring[a, 0]), float(ring[a, 1])))
    for b in range(0, 2 * len(radii), 2):
        for a in range(0, m, 2):
            q = quad(grid, a, b)
            # the ring runs counter-clockwise in angle, outwards in b: turn it round to keep positive volume
            cells.append([q[0], q[3], q[2], q[1], q[7], q[6], q[5], q[4]])
            outer.append(radii[b // 2])
    return Section(np.array(nodes), np.array(cells, dtype=np.int64), np.array(outer))


def sweep(section: Section, x: Array, body: Callable[[float, float], int]) -> Solid:
    """Sweep along the stations `x`; `body(ring outer radius, x of the layer's middle)` names each brick's body."""
    ns = len(section.nodes)
    level = np.empty(2 * len(x) - 1)
    level[::2] = x
    level[1::2] = 0.5 * (x[:-1] + x[1:])
    c = section.cells
    cells: list[Ints] = []
    bodies: list[Ints] = []
    for i in range(len(x) - 1):
        mid = float(level[2 * i + 1])
        kinds = np.array([body(float(r), mid) for r in section.ring_outer], dtype=np.int64)
        lo, me, hi = 2 * i * ns, (2 * i + 1) * ns, (2 * i + 2) * ns
        brick = np.hstack([c[:, :4] + lo, c[:, :4] + hi, c[:, 4:] + lo, c[:, 4:] + hi, c[:, :4] + me])
        keep = kinds != EMPTY
        cells.append(brick[keep])
        bodies.append(kinds[keep])
    every = np.vstack(cells)
    used, flat = np.unique(every, return_inverse=True)
    nodes = np.column_stack([level[used // ns], section.nodes[used % ns]])
    return Solid(nodes, flat.reshape(every.shape).astype(np.int64), np.concatenate(bodies))


def face_weights(solid: Solid, x: float, modulus: Callable[[Ints], Array]) -> tuple[Ints, Array, Array]:
    """Work-equivalent nodal weights of the end face at `x`: (nodes, force weights, moment weights).

    Force weights integrate a traction in proportion to the modulus and sum to 1; moment weights integrate
    modulus * y and have first moment about z of 1, so sum(w * u_y) is the mean deflection and
    sum(m * u_x) the (negative) mean rotation that do work with a tip force and a tip moment.
    """
    on = np.isclose(solid.nodes[:, 0], x)
    faces, kinds = [], []
    for cols in ([0, 1, 2, 3, 8, 9, 10, 11], [4, 5, 6, 7, 12, 13, 14, 15]):
        hit = on[solid.cells[:, cols]].all(axis=1)
        faces.append(solid.cells[hit][:, cols])
        kinds.append(solid.body[hit])
    face = np.vstack(faces)
    e = modulus(np.concatenate(kinds))
    yz = solid.nodes[:, 1:]
    w = np.zeros(len(solid.nodes))
    m = np.zeros(len(solid.nodes))
    g = np.sqrt(0.6)
    area_sum = moment_sum = 0.0
    for p, wp in ((-g, 5 / 9), (0.0, 8 / 9), (g, 5 / 9)):
        for q, wq in ((-g, 5 / 9), (0.0, 8 / 9), (g, 5 / 9)):
            shape, dp, dq = _serendipity(p, q)
            pts = yz[face]
            jp, jq = np.einsum("a,fac->fc", dp, pts), np.einsum("a,fac->fc", dq, pts)
            da = np.abs(jp[:, 0] * jq[:, 1] - jp[:, 1] * jq[:, 0]) * wp * wq
            y = np.einsum("a,fa->f", shape, pts[:, :, 0])
            np.add.at(w, face, (e * da)[:, None] * shape)
            np.add.at(m, face, (e * y * da)[:, None] * shape)
            area_sum += float(np.sum(e * da))
            moment_sum += float(np.sum(e * y * y * da))
    ids = np.unique(face)
    return ids, w[ids] / area_sum, m[ids] / moment_sum


def _serendipity(p: float, q: float) -> tuple[Array, Array, Array]:
    """Shape functions of the 8-node quadrilateral and their derivatives."""
    pc, qc = np.array([-1, 1, 1, -1.0]), np.array([-1, -1, 1, 1.0])
    n, dp, dq = np.zeros(8), np.zeros(8), np.zeros(8)
    a, b = 1 + pc * p, 1 + qc * q
    n[:4] = a * b * (pc * p + qc * q - 1) / 4
    dp[:4] = pc * b * (2 * pc * p + qc * q) / 4
    dq[:4] = qc * a * (pc * p + 2 * qc * q) / 4
    n[4], dp[4], dq[4] = (1 - p * p) * (1 - q) / 2, -p * (1 - q), -(1 - p * p) / 2
    n[6], dp[6], dq[6] = (1 - p * p) * (1 + q) / 2, -p * (1 + q), (1 - p * p) / 2
    n[5], dp[5], dq[5] = (1 - q * q) * (1 + p) / 2, (1 - q * q) / 2, -q * (1 + p)
    n[7], dp[7], dq[7] = (1 - q * q) * (1 - p) / 2, -(1 - q * q) / 2, -q * (1 - p)
    return n, dp, dq


def graded(start: float, end: float, first: float, growth: float, largest: float) -> list[float]:
    """Stations from `start` to `end` (either direction), small at `start`, growing to `largest`; `start` left out."""
    span, sign = abs(end - start), 1.0 if end > start else -1.0
    sizes, h = [], first
    while sum(sizes) < span:
        sizes.append(h)
        h = min(h * growth, largest)
    scale = span / sum(sizes)
    return [start + sign * scale * s for s in np.cumsum(sizes)]
