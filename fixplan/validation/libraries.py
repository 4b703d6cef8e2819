"""Reference libraries: their stored answers beside ours, computed now.

`data/libraries.csv` is made by `tests/reference_libraries/make_reference.py`; the tests run the libraries themselves.
"""

from __future__ import annotations

import csv
import functools
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from fixplan.validation.frames import CONSTRUCTS, STEPPED, stepped_deflection, stiffness
from fixplan.validation.rows import AGREES, DIFFERS, Check
from fixplan.validation.sections import CASES, ours

DATA = Path(__file__).parent / "data" / "libraries.csv"
FIELDS = ("group", "case", "quantity", "unit", "value", "mesh_error", "library", "version")
SECTIONS, BEAMS = 1e-3, 1e-4
SECTION_GROUP = "Sections against a section mesher"
FRAME_GROUP = "Constructs against space frames"
STEPPED_GROUP = "Stepped beams against symbolic beams"
UNITS = {"EA": "N", "EI_y": "N*mm**2", "EI_x": "N*mm**2", "y_c": "mm"}


@dataclass(frozen=True)
class Stored:
    """One answer of a library. `mesh_error`: relative error of its mesh, 0 where it has none."""

    group: str
    case: str
    quantity: str
    unit: str
    value: float
    mesh_error: float
    library: str
    version: str


@functools.cache
def stored() -> dict[tuple[str, str, str], Stored]:
    """The file's rows by (group, case, quantity)."""
    with DATA.open(newline="", encoding="utf-8") as file:
        rows = [
            Stored(**{**row, "value": float(row["value"]), "mesh_error": float(row["mesh_error"])})  # type: ignore[arg-type]
            for row in csv.DictReader(file)
        ]
    return {(r.group, r.case, r.quantity): r for r in rows}


def _check(group: str, row: Stored, mine: float, allowed: float, where: str) -> Check:
    # a symmetric section has its centroid on the axis: the library's answer there is rounding, not a length
    tolerance = max(allowed * abs(row.value), 1e-6 if row.unit == "mm" else 0.0)
    difference = mine - row.value
    agrees = abs(difference) <= tolerance
    remark = f"mesh error {100 * row.mesh_error:.3f} %" if row.mesh_error else ""
    return Check(
        group,
        f"{row.case}, {row.quantity.replace('_', ' ')}",
        f"{row.library} {row.version}",
        where,
        "computed by the library",
        row.unit,
        row.value,
        mine,
        difference,
        tolerance,
        AGREES if agrees else DIFFERS,
        "agrees" if agrees else "does not agree",
        remark,
    )


def section_checks() -> Iterator[Check]:
    """Rigidity and centroid of every section, 0.1 %."""
    for case in CASES:
        mine = ours(case)
        for quantity in UNITS:
            if quantity == "y_c" and case.plate is None:
                continue  # concentric: both are zero
            row = stored()[("sections", case.name, quantity)]
            yield _check(SECTION_GROUP, row, float(getattr(mine, quantity)), SECTIONS, "finite elements")


def frame_checks() -> Iterator[Check]:
    """Stiffness of every construct in every load case, 0.01 %."""
    for name, (make, cases) in CONSTRUCTS.items():
        end = make()
        for case in cases:
            row = stored()[("frames", name, case)]
            yield _check(FRAME_GROUP, row, stiffness(end, case), BEAMS, "space frame")


def stepped_checks() -> Iterator[Check]:
    """Deflection of every stepped beam under its forces, 0.01 %."""
    for name, (_, _, forces, _) in STEPPED.items():
        for _, at in forces:
            row = stored()[("stepped", name, f"deflection at {at:g} mm")]
            where = "moments of the library, integrated here"
            yield _check(STEPPED_GROUP, row, stepped_deflection(name, at), BEAMS, where)
