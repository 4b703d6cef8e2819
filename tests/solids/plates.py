"""Solids of a bridge plate on round posts over a gap, meshed with 10-node tetrahedra by gmsh.

x runs from the clamped proximal end to the tip, the plate lies at y > 0, the model is the half z >= 0. Bone, posts and
plate are bonded where they meet; the plate stands off the bone, so every load passes through the posts.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from tests.solids import solver
from tests.solids.bars import FORCE

Array = npt.NDArray[np.float64]


@dataclass(frozen=True)
class PlateCase:
    """One bridge-plate model; lengths in mm, moduli in MPa. `hole` is an empty hole in the middle (0: none)."""

    thickness: float
    working: float
    screws: int
    e_bar: float
    nu_bar: float
    d: float = 2.4
    gap: float = 2.0
    hole: float = 0.0
    standoff: float = 0.5
    width: float = 6.0
    pitch: float = 6.0
    outer: float = 10.0
    canal: float = 5.0
    e_bone: float = 17_000.0
    nu_bone: float = 0.3
    length: float = 70.0
    fracture: float = 32.0
    family: str = "plate"

    @property
    def name(self) -> str:
        """A stable name: every parameter that differs between cases."""
        text = f"plate-t{self.thickness:g}-w{self.working:g}-n{self.screws}-E{self.e_bar / 1e3:g}-d{self.d:g}"
        text += f"-g{self.gap:g}-o{self.standoff:g}-b{self.width:g}-p{self.pitch:g}-D{self.outer:g}-c{self.canal:g}"
        if self.e_bone != 17_000.0:
            text += f"-B{self.e_bone / 1e3:g}"
        return text + f"-h{self.hole:g}"

    @property
    def posts(self) -> list[float]:
        """Places of the screws along x."""
        reach = [self.working / 2 + i * self.pitch for i in range(self.screws)]
        return sorted([self.fracture - r for r in reach] + [self.fracture + r for r in reach])


def mesh(case: PlateCase, fine: float) -> tuple[Array, npt.NDArray[np.int64], npt.NDArray[np.int64]]:
    """Nodes, 10-node cells and bodies (1 implant, 2 bone); `fine` is the element size in the plate and at the posts."""
    import gmsh  # here, so that the bar families and the case list do without it

    gmsh.initialize(interruptible=False)
    try:
        for key, value in (("General.Terminal", 0), ("General.NumThreads", 1)):
            gmsh.option.setNumber(key, value)
        occ = gmsh.model.occ
        big = 4 * case.length

        def tube(a: float, b: float) -> tuple[int, int]:
            solid = occ.addCylinder(a, 0, 0, b - a, 0, 0, case.outer / 2)
            hole = occ.addCylinder(a, 0, 0, b - a, 0, 0, case.canal / 2)
            return occ.cut([(3, solid)], [(3, hole)])[0][0]

        bones = [tube(0.0, case.fracture - case.gap / 2), tube(case.fracture + case.gap / 2, case.length)]
        bottom, ends = case.outer / 2 + case.standoff, 3.0
        top = bottom + case.thickness
        first, last = case.posts[0] - ends, case.posts[-1] + ends
        plate = [(3, occ.addBox(first, bottom, -case.width / 2, last - first, case.thickness, case.width))]
        if case.hole > 0:
            cutter = occ.addCylinder(case.fracture, bottom - 1, 0, 0, case.thickness + 2, 0, case.hole / 2)
            plate = occ.cut(plate, [(3, cutter)])[0]
        posts = [
            (3, occ.addCylinder(x, -case.outer / 2, 0, 0, top + case.outer / 2, 0, case.d / 2)) for x in case.posts
        ]
        solids = [*bones, *plate, *posts]
        halves = []
        for dim_tag in solids:
            box = occ.addBox(-big, -big, 0, 2 * big, 2 * big, big)
            halves.append(occ.intersect([dim_tag], [(3, box)])[0])
        flat = [v for h in halves for v in h]
        _, parents = occ.fragment(flat, [])
        occ.synchronize()
        owner: dict[int, int] = {}
        at = 0
        for i, half in enumerate(halves):
            for _ in half:
                for _, tag in parents[at]:
                    implant = i >= len(bones)
                    owner[tag] = 1 if implant else owner.get(tag, 2)
                at += 1
        metal = [t for t, k in owner.items() if k == 1]
        field = gmsh.model.mesh.field
        field.add("Constant", 1)
        field.setNumbers(1, "VolumesList", metal)
        field.setNumber(1, "VIn", fine)
        field.setNumber(1, "VOut", 1e3)
        surfaces = {abs(t) for _, t in gmsh.model.getBoundary([(3, t) for t in metal], combined=False, oriented=False)}
        field.add("Distance", 2)
        field.setNumbers(2, "SurfacesList", sorted(surfaces))
        field.setNumber(2, "Sampling", 40)
        field.add("Threshold", 3)
        for key, value in (
            ("InField", 2),
            ("SizeMin", fine),
            ("SizeMax", 3.2 * fine),
            ("DistMin", 0.2),
            ("DistMax", 7.0),
        ):
            field.setNumber(3, key, value)
        field.add("Min", 4)
        field.setNumbers(4, "FieldsList", [1, 3])
        field.setAsBackgroundMesh(4)
        for key in ("Mesh.MeshSizeExtendFromBoundary", "Mesh.MeshSizeFromPoints", "Mesh.MeshSizeFromCurvature"):
            gmsh.option.setNumber(key, 0)
        gmsh.option.setNumber("Mesh.ElementOrder", 2)
        # without the high-order optimiser, which can abort the whole process; the solver refuses a folded element
        gmsh.option.setNumber("Mesh.HighOrderOptimize", 0)
        gmsh.model.mesh.generate(3)
        tags, xyz, _ = gmsh.model.mesh.getNodes()
        index = np.zeros(int(tags.max()) + 1, dtype=np.int64)
        index[tags.astype(int)] = np.arange(len(tags))
        nodes = xyz.reshape(-1, 3)
        cells, bodies = [], []
        for tag, kind in owner.items():
            types, _, conn = gmsh.model.mesh.getElements(3, tag)
            assert list(types) == [11]
            cells.append(index[conn[0].astype(int)].reshape(-1, 10)[:, [0, 1, 2, 3, 4, 5, 6, 7, 9, 8]])
            bodies.append(np.full(len(cells[-1]), kind))
    finally:
        gmsh.finalize()
    every = np.vstack(cells)
    used, flat_ids = np.unique(every, return_inverse=True)
    return nodes[used], flat_ids.reshape(every.shape).astype(np.int64), np.concatenate(bodies)


def tip_weights(nodes: Array, cells: npt.NDArray[np.int64], x: float) -> tuple[npt.NDArray[np.int64], Array, Array]:
    """Work-equivalent weights for a uniform traction and for one in proportion to y on the end face at `x`."""
    on = np.isclose(nodes[:, 0], x)
    faces = []
    for f in ([0, 1, 2, 4, 5, 6], [0, 1, 3, 4, 8, 7], [1, 2, 3, 5, 9, 8], [0, 2, 3, 6, 9, 7]):
        hit = on[cells[:, f]].all(axis=1)
        faces.append(cells[hit][:, f])
    face = np.vstack(faces)
    w, m = np.zeros(len(nodes)), np.zeros(len(nodes))
    area = second = 0.0
    a, b, wa, wb = 0.445948490915965, 0.091576213509771, 0.223381589678011, 0.109951743655322
    rule = [(a, a, wa), (a, 1 - 2 * a, wa), (1 - 2 * a, a, wa), (b, b, wb), (b, 1 - 2 * b, wb), (1 - 2 * b, b, wb)]
    for r, s, weight in rule:
        t = 1 - r - s
        shape = np.array([t * (2 * t - 1), r * (2 * r - 1), s * (2 * s - 1), 4 * t * r, 4 * r * s, 4 * s * t])
        dr = np.array([1 - 4 * t, 4 * r - 1, 0, 4 * (t - r), 4 * s, -4 * s])
        ds = np.array([1 - 4 * t, 0, 4 * s - 1, -4 * r, 4 * r, 4 * (t - s)])
        yz = nodes[face][:, :, 1:]
        jr, js = np.einsum("a,fac->fc", dr, yz), np.einsum("a,fac->fc", ds, yz)
        da = np.abs(jr[:, 0] * js[:, 1] - jr[:, 1] * js[:, 0]) * weight / 2
        y = yz[:, :, 0] @ shape
        np.add.at(w, face, da[:, None] * shape)
        np.add.at(m, face, (da * y)[:, None] * shape)
        area += float(da.sum())
        second += float((da * y * y).sum())
    ids = np.unique(face)
    return ids, w[ids] / area, m[ids] / second


def run(case: PlateCase, folder: Path, fine: float = 0.7) -> dict[str, float]:
    """Solve one case; `fine` is the element size [mm] in the plate and the posts, made smaller if an element folds."""
    for shrink in (1.0, 0.95, 0.9, 0.85, 0.75, 0.65):
        try:
            return _run(case, folder, fine * shrink)
        except RuntimeError as error:
            print(f"{case.name}: {error}; trying a finer mesh", flush=True)
    raise RuntimeError(f"{case.name}: no usable mesh")


def _run(case: PlateCase, folder: Path, fine: float) -> dict[str, float]:
    p, cells, body = mesh(case, fine)
    ids, w, m = tip_weights(p, cells, case.length)
    force = np.zeros_like(p)
    force[ids, 1] = FORCE * w / 2
    end = np.flatnonzero(np.isclose(p[:, 0], 0.0))
    plane = np.flatnonzero(np.isclose(p[:, 2], 0.0, atol=1e-7))
    # u_y = 0 at one point of the clamped face, at the height of the axis
    axis = end[np.argsort(np.abs(p[end, 1]) + 1e-3 * np.abs(p[end, 2] - case.outer / 2))[:1]]
    blocks = [
        ("C3D10", cells[body == 1], case.e_bar, case.nu_bar),
        ("C3D10", cells[body == 2], case.e_bone, case.nu_bone),
    ]
    (u,) = solver.solve(folder, p, blocks, [(end, 1), (axis, 2), (plane, 3)], [force])
    out = {
        "nodes": float(len(p)),
        "u_force": float(w @ u[ids, 1]),
        "rot_force": float(-m @ u[ids, 0]),
    }
    faces = (case.fracture - case.gap / 2, case.fracture + case.gap / 2)
    for side, y in (("near", case.outer / 2), ("far", -case.outer / 2)):
        a, b = (int(np.argmin(np.abs(p - (xf, y, 0.0)).sum(axis=1))) for xf in faces)
        assert np.allclose(p[[a, b], 1], y, atol=1e-6)
        out[f"open_{side}_force"] = float(u[b, 0] - u[a, 0])
    return out
