"""Solids of a strip with an empty round hole, bent through its thickness: the peak stress over the net-section stress.

A quarter of the strip: x = 0 is the middle of the hole, z = 0 the middle plane of the strip, y its thickness. The edge
of the hole is smooth, so its stress converges, unlike those at faces and posts. At the corner of hole and surface the
stress is uniaxial, so that it is Young's modulus times the strain along x.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tests.solids import solver
from tests.solids.plates import tip_weights

Array = npt.NDArray[np.float64]
MOMENT = 500.0  # N*mm on the whole strip


@dataclass(frozen=True)
class StripCase:
    """One strip; lengths in mm, moduli in MPa."""

    thickness: float
    width: float
    hole: float
    e_bar: float
    nu_bar: float
    length: float = 12.0
    family: str = "strip"

    @property
    def name(self) -> str:
        """A stable name."""
        return f"strip-t{self.thickness:g}-b{self.width:g}-h{self.hole:g}-E{self.e_bar / 1e3:g}"


def mesh(case: StripCase, fine: float) -> tuple[Array, npt.NDArray[np.int64]]:
    """Nodes and 10-node cells; `fine` is the element size at the edge of the hole."""
    import gmsh

    gmsh.initialize(interruptible=False)
    try:
        for key, value in (("General.Terminal", 0), ("General.NumThreads", 1)):
            gmsh.option.setNumber(key, value)
        occ, t = gmsh.model.occ, case.thickness
        box = occ.addBox(0, -t / 2, 0, case.length, t, case.width / 2)
        drill = occ.addCylinder(0, -t, 0, 0, 2 * t, 0, case.hole / 2)
        occ.cut([(3, box)], [(3, drill)])
        occ.synchronize()
        near = [
            tag
            for _, tag in gmsh.model.getEntities(0)
            if np.hypot(*np.array(gmsh.model.getValue(0, tag, []))[[0, 2]]) < case.hole / 2 + 1e-6
        ]
        field = gmsh.model.mesh.field
        field.add("Distance", 1)
        field.setNumbers(1, "PointsList", near)
        field.add("Threshold", 2)
        growth = {"InField": 1, "SizeMin": fine, "SizeMax": 0.8, "DistMin": 0.3, "DistMax": 3.0}
        for key, value in growth.items():
            field.setNumber(2, key, value)
        field.setAsBackgroundMesh(2)
        for key in ("Mesh.MeshSizeExtendFromBoundary", "Mesh.MeshSizeFromPoints", "Mesh.MeshSizeFromCurvature"):
            gmsh.option.setNumber(key, 0)
        gmsh.option.setNumber("Mesh.ElementOrder", 2)
        gmsh.model.mesh.generate(3)
        tags, xyz, _ = gmsh.model.mesh.getNodes()
        _, _, conn = gmsh.model.mesh.getElements(3)
    finally:
        gmsh.finalize()
    index = np.zeros(int(tags.max()) + 1, dtype=np.int64)
    index[tags.astype(int)] = np.arange(len(tags))
    cells = index[conn[0].astype(int)].reshape(-1, 10)[:, [0, 1, 2, 3, 4, 5, 6, 7, 9, 8]]
    used, flat = np.unique(cells, return_inverse=True)
    return xyz.reshape(-1, 3)[used], flat.reshape(cells.shape).astype(np.int64)


def _strain_xx(nodes: Array, cells: npt.NDArray[np.int64], u: Array, node: int) -> float:
    """Strain along x at a corner node, mean over the cells that meet there."""
    found = []
    for cell in cells[(cells[:, :4] == node).any(axis=1)]:
        k = int(np.flatnonzero(cell[:4] == node)[0])
        bary = np.eye(4)[k]
        # derivatives by the four barycentric coordinates of the quadratic shape functions
        d = np.zeros((10, 4))
        d[range(4), range(4)] = 4 * bary - 1
        for m, (i, j) in enumerate(((0, 1), (1, 2), (0, 2), (0, 3), (1, 3), (2, 3))):
            d[4 + m, i], d[4 + m, j] = 4 * bary[j], 4 * bary[i]
        local = d[:, :3] - d[:, 3:]
        gradient = local @ np.linalg.inv(nodes[cell].T @ local)
        found.append(float(u[cell, 0] @ gradient[:, 0]))
    return float(np.mean(found))


def run(case: StripCase, folder: Path, fine: float = 0.12) -> dict[str, float]:
    """Peak stress at the hole over the nominal stress of the net section, 6 M/((w - h) t^2)."""
    p, cells = mesh(case, fine)
    ids, _, m = tip_weights(p, cells, case.length)
    load = np.zeros_like(p)
    # a quarter of the strip bears half the moment on its half width
    load[ids, 0] = -MOMENT * m / 2
    corner = int(np.argmin(np.abs(p - (0.0, case.thickness / 2, case.hole / 2)).sum(axis=1)))
    held = np.flatnonzero(np.isclose(p[:, 0], 0.0))
    middle = held[np.argsort(np.abs(p[held, 1]) + np.abs(p[held, 2] - case.width / 2))[:1]]
    fixed = [(held, 1), (middle, 2), (np.flatnonzero(np.isclose(p[:, 2], 0.0)), 3)]
    (u,) = solver.solve(folder, p, [("C3D10", cells, case.e_bar, case.nu_bar)], fixed, [load])
    nominal = 6 * MOMENT / ((case.width - case.hole) * case.thickness**2)
    peak = case.e_bar * abs(_strain_xx(p, cells, u, corner))
    return {"nodes": float(len(p)), "peak_over_net": peak / nominal}
