"""Fits the local corrections to reference.csv and prints them: python -m tests.solids.fit.

Only rows that are not held out are fitted. Relative errors are beam over solid, less 1; those called corrected use the
coefficients as they stand in `fixplan/mechanics/correction_data.py`, rounded from the fit.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.optimize import least_squares

from fixplan.mechanics.correction_data import (
    BED_END,
    BEND,
    EXPONENT,
    HOLE_BASE,
    HOLE_THICKNESS,
    HOLE_WIDTH,
    SCREW_BENDING,
    SCREW_RELIEF,
)
from tests.solids import beam

Array = npt.NDArray[np.float64]
Row = dict[str, str]
Errors = dict[str, float]


def read() -> list[Row]:
    """The rows that count, blanks left out."""
    with (Path(__file__).parent / "reference.csv").open(newline="") as f:
        return [r for r in ({k: v for k, v in row.items() if v} for row in csv.DictReader(f)) if r["mesh"] == "use"]


def errors(row: Row, model: dict[str, float]) -> Errors:
    """Relative errors of tip deflection and of the opening at the far cortex, both under the tip force."""
    found = {"u": model["u_force"] / float(row["u_force"]) - 1}
    if row["family"] != "tube":
        found["open"] = model["open_far_force"] / abs(float(row["open_far_force"])) - 1
    return found


def fit(rows: list[Row], model: Callable[[Row, Array], dict[str, float]], start: list[float]) -> Array:
    """Least squares of the relative errors of the rows that are not held out, deflection weighted twice."""
    chosen = [r for r in rows if r["held_out"] == "0"]

    def residual(p: Array) -> Array:
        found = [errors(r, model(r, p)) for r in chosen]
        return np.array([x for e in found for x in (2 * e["u"], e["open"])])

    return np.asarray(least_squares(residual, start, x_scale=np.abs(start)).x)


def bar(row: Row, p: Array) -> dict[str, float]:
    """Bar with the added span p0 sqrt(E_bar/E_bone) (1 - EI_bar/EI_composite)^p1 d."""
    return beam.bar_beam(row, beam.bar_added(row, float(p[0]), float(p[1])))


def ends(row: Row, p: Array) -> dict[str, float]:
    """Bar in beds that hold nothing over p0 bar diameters, with the added span of the bonded bars."""
    return beam.bar_beam(row, beam.bar_added(row, BEND, EXPONENT), float(p[0]))


def strip(rows: list[Row]) -> tuple[Array, Array]:
    """Coefficients and relative errors of the peak stress at an empty hole; every strip is fitted."""
    h, w, t, peak = (np.array([float(r[k]) for r in rows]) for k in ("hole", "width", "thickness", "peak_over_net"))

    def residual(p: Array) -> Array:
        return np.asarray((p[0] - p[1] * h / w + p[2] * t / h) / peak - 1)

    found = np.asarray(least_squares(residual, [1.6, 0.7, 0.2]).x)
    return found, residual(np.array([HOLE_BASE, HOLE_WIDTH, HOLE_THICKNESS]))


def show(title: str, rows: list[Row], corrected: list[Errors], plain: list[Errors]) -> None:
    """Ranges of the errors, fitted and held out apart, and each held-out case."""
    print(f"\n{title}")
    held = np.array([r["held_out"] == "1" for r in rows])
    for label, group in (("plain", plain), ("corrected", corrected)):
        for key in group[0]:
            e = 100 * np.array([g[key] for g in group])
            for name, x in (("fitted", e[~held]), ("held out", e[held])):
                if len(x):
                    print(f"  {label:9s} {key:4s} {name:8s} {x.min():+6.1f} to {x.max():+6.1f} %, {len(x)} cases")
    for r, c, p in zip(rows, corrected, plain, strict=True):
        if r["held_out"] == "1" and "open" in c:
            numbers = " ".join(f"{k} {100 * c[k]:+5.1f} (plain {100 * p[k]:+5.1f})" for k in c)
            print(f"    {r['case']:52s} {numbers}")


def plate(row: Row, p: Array) -> dict[str, float]:
    """Plate with the added length max(p0 (E_plate/E_bone)^(1/4) t^2/d - p1 d, 0)."""
    return beam.plate_beam(row, beam.plate_added(row, float(p[0]), float(p[1])))


def main() -> None:
    """Fit, print, and say how every held-out case fares."""
    rows = {f: [r for r in read() if r["family"] == f] for f in ("tube", "bonded", "ends", "plate", "strip")}
    whole = [r for r in rows["plate"] if float(r["hole"]) == 0]
    bars = fit(rows["bonded"], bar, [0.4, 0.6])
    plates = fit(whole, plate, [1.0, 0.4])
    print(f"bar:   beta = {bars[0]:.4f} sqrt(E_bar/E_bone) (1 - EI_bar/EI_composite)^{bars[1]:.4f}")
    beds = fit(rows["ends"], ends, [0.05])
    print(f"bed:   holds over its length less {beds[0]:.4f} d")
    print(f"plate: dL = max({plates[0]:.4f} (E_plate/E_bone)^(1/4) t^2/d - {plates[1]:.4f} d, 0)")
    hole, left = strip(rows["strip"])
    print(f"hole:  {hole[0]:.4f} - {hole[1]:.4f} h/w + {hole[2]:.4f} t/h, {len(left)} strips, none left out;", end=" ")
    print(f"with the rounded numbers {100 * left.min():+.1f} to {100 * left.max():+.1f} %")
    show(
        "tube: plain without and with shear deflection (no correction)",
        rows["tube"],
        [errors(r, beam.bar_beam(r, 0.0, shear=True)) for r in rows["tube"]],
        [errors(r, beam.bar_beam(r, 0.0)) for r in rows["tube"]],
    )
    for family, title, model, chosen in (
        ("bonded", "bar bonded across a gap", bar, [BEND, EXPONENT]),
        ("ends", "bar held at its ends (only the bed's end fitted)", ends, [BED_END]),
    ):
        group = rows[family]
        show(
            title,
            group,
            [errors(r, model(r, np.array(chosen))) for r in group],
            [errors(r, beam.bar_beam(r, 0.0)) for r in group],
        )
    both = np.array([SCREW_BENDING, SCREW_RELIEF])
    for title, group in (
        ("plate", whole),
        ("plate with an empty hole (not fitted)", [r for r in rows["plate"] if float(r["hole"]) > 0]),
    ):
        show(
            title,
            group,
            [errors(r, plate(r, both)) for r in group],
            [errors(r, beam.plate_beam(r, 0.0)) for r in group],
        )


if __name__ == "__main__":
    main()
