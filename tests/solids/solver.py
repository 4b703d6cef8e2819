"""Writes a linear static deck, runs the finite-element solver on it and reads nodal displacements back.

The solver is CalculiX CrunchiX (`ccx`, Debian package calculix-ccx), run as a separate program.
"""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


def _lines(ids: Ints, per: int = 12) -> str:
    return "\n".join(", ".join(str(v) for v in ids[i : i + per]) for i in range(0, len(ids), per))


def solve(
    folder: Path,
    nodes: Array,
    blocks: list[tuple[str, Ints, float, float]],
    fixed: list[tuple[Ints, int]],
    steps: list[Array],
    stress_points: Ints | None = None,
) -> list[Array]:
    """Displacements (n, 3) [mm] for each load step.

    blocks: (element type, cells with 0-based nodes, Young's modulus [MPa], Poisson's ratio); fixed: (nodes, axis 1-3);
    steps: nodal forces (n, 3) [N].
    """
    folder.mkdir(parents=True, exist_ok=True)
    out = ["*NODE, NSET=ALL"]
    out += [f"{i + 1}, {p[0]:.9g}, {p[1]:.9g}, {p[2]:.9g}" for i, p in enumerate(nodes)]
    first = 1
    for b, (kind, cells, young, poisson) in enumerate(blocks):
        out.append(f"*ELEMENT, TYPE={kind}, ELSET=B{b}")
        for i, cell in enumerate(cells):
            ids = [first + i, *(int(v) + 1 for v in cell)]
            out.append(", ".join(map(str, ids[:16])) + ("," if len(ids) > 16 else ""))
            if len(ids) > 16:
                out.append(", ".join(map(str, ids[16:])))
        first += len(cells)
        out += [f"*MATERIAL, NAME=M{b}", "*ELASTIC", f"{young:.9g}, {poisson:.9g}"]
        out.append(f"*SOLID SECTION, ELSET=B{b}, MATERIAL=M{b}")
    out.append("*BOUNDARY")
    out += [f"{int(n) + 1}, {axis}" for ids, axis in fixed for n in ids]
    for load in steps:
        out += ["*STEP", "*STATIC", "*CLOAD, OP=NEW"]
        out += [f"{n + 1}, {a + 1}, {load[n, a]:.12g}" for n, a in zip(*np.nonzero(load))]
        out += ["*NODE PRINT, NSET=ALL", "U", "*END STEP"]
    (folder / "job.inp").write_text("\n".join(out) + "\n")
    run = subprocess.run(
        ["nice", "-n", "10", "ccx", "-i", "job"],
        cwd=folder,
        env={**os.environ, "OMP_NUM_THREADS": os.environ.get("OMP_NUM_THREADS", "1")},
        capture_output=True,
        text=True,
        check=False,
    )
    (folder / "job.log").write_text(run.stdout + run.stderr)
    if run.returncode or "*ERROR" in run.stdout:
        raise RuntimeError(f"solver failed, see {folder / 'job.log'}")
    return _read(folder / "job.dat", len(nodes), len(steps))


def _read(path: Path, n: int, steps: int) -> list[Array]:
    result: list[Array] = []
    rows: list[str] = []
    for line in path.read_text().splitlines():
        if line.lstrip().startswith("displacements"):
            rows = []
        elif line.strip():
            rows.append(line)
            if len(rows) == n:
                table = np.array([r.split() for r in rows], dtype=float)
                u = np.full((n, 3), np.nan)
                u[table[:, 0].astype(int) - 1] = table[:, 1:]
                result.append(u)
    if len(result) != steps or any(np.isnan(u).any() for u in result):
        raise RuntimeError(f"{path}: expected {steps} complete steps, read {len(result)}")
    return result
