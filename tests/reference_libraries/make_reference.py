"""Ask the reference libraries for their answers and store them for the validation page.

    uv run python -m tests.reference_libraries.make_reference

Writes `fixplan/validation/data/libraries.csv`. The mesh error of a section is the difference between outlines of
200 and of 400 corners divided by 3 (errors of a polygon fall with the square of its corners); frames and symbolic
beams have none.
"""

from __future__ import annotations

import csv
from importlib.metadata import version

from fixplan.validation.frames import CONSTRUCTS, STEPPED
from fixplan.validation.libraries import DATA, FIELDS, UNITS
from fixplan.validation.sections import CASES
from tests.published.test_reference_libraries_beams import FRAMES, run, symbolic_deflection
from tests.published.test_reference_libraries_sections import library


def main() -> None:
    rows: list[list[object]] = []
    for case in CASES:
        fine, coarse = library(case, 400), library(case, 200)
        for quantity, unit in UNITS.items():
            value = float(getattr(fine, quantity))
            error = abs(value - float(getattr(coarse, quantity))) / 3 / abs(value) if abs(value) > 1e-6 else 0.0
            tail = ["sectionproperties", version("sectionproperties")]
            rows.append(["sections", case.name, quantity, unit, f"{value:.9g}", f"{error:.2g}", *tail])
    for name, (_, cases) in CONSTRUCTS.items():
        for case in cases:
            unit = "N*mm/rad" if case == "torsion" else "N/mm"
            value = run(FRAMES[name], case)
            rows.append(["frames", name, case, unit, f"{value:.9g}", "0", "PyNiteFEA", version("PyNiteFEA")])
    for name, (_, _, forces, _) in STEPPED.items():
        for _, at in forces:
            value, quantity = symbolic_deflection(name, at), f"deflection at {at:g} mm"
            rows.append(["stepped", name, quantity, "mm", f"{value:.9g}", "0", "SymPy", version("sympy")])
    DATA.parent.mkdir(exist_ok=True)
    with DATA.open("w", newline="", encoding="utf-8") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(FIELDS)
        out.writerows(rows)
    print(f"{DATA.name}: {len(rows)} answers")


if __name__ == "__main__":
    main()
