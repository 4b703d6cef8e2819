"""The beam against three-dimensional finite elements: `tests/solids/reference.csv`, method in `tests/solids/README.md`.

Displacements of idealised constructs, solved as solids with a general-purpose program. A third of the cases was left
out of the fit of the corrections. Deflection is compared at the tip under a tip force, opening at the cortex far from
the load's side (bars) or from the plate; stresses at re-entrant corners do not converge and are not compared.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from fixplan.mechanics.beam import cantilever
from fixplan.mechanics.construct import (
    PROJECT_DEFAULT,
    Bone,
    Bracket,
    Fracture,
    Loads,
    Plate,
    Screw,
    plate_response,
    screw_response,
)
from fixplan.mechanics.correction import hole_stress
from fixplan.mechanics.parts import SIDES
from fixplan.validation.frames import numbers
from fixplan.validation.rows import AGREES, DIFFERS, OPEN, Check

FORCE = 10.0  # N, of every solid
CASE = "cantilever_plantar"
HERE = Path(__file__).parent
PLACES = (HERE / "data" / "solids.csv", HERE.parents[1] / "tests" / "solids" / "reference.csv")
#: accuracy wanted of the corrected beam: deflection, opening
WANTED = {
    "tube": (0.02, 0.02),
    "bonded": (0.03, 0.06),
    "ends": (0.03, 0.06),
    "plate": (0.04, 0.04),
    "hole": (0.04, 0.04),
    "strip": (0.02,),
}
FAMILIES = {
    "tube": "Solids: intact tube",
    "bonded": "Solids: screw bonded across a gap",
    "ends": "Solids: screw held at seat and thread only",
    "plate": "Solids: bridge plate",
    "hole": "Solids: bridge plate with an empty hole over the gap",
    "strip": "Solids: peak stress at an empty hole of a plate",
}
Row = dict[str, str]


def read(path: Path | None = None) -> list[Row]:
    """The rows that count (the mesh in use), or none where the file is not at hand."""
    found = [p for p in ((path,) if path else PLACES) if p.exists()]
    if not found:
        return []
    with found[0].open(newline="", encoding="utf-8") as file:
        rows = [{k: v for k, v in row.items() if v} for row in csv.DictReader(file)]
    return [r for r in rows if r["mesh"] == "use"]


def family(row: Row) -> str:
    """Plates with an empty hole are a family of their own."""
    return "hole" if row["family"] == "plate" and float(row.get("hole", 0)) > 0 else row["family"]


def _shear(e: float, nu: float) -> float:
    return e / (2 * (1 + nu))


def _setting(row: Row, edges: list[float], canal: list[float]) -> tuple[Bone, Fracture, Loads]:
    e, outer = float(row["e_bone"]), np.full(len(canal), float(row["outer"]))
    moduli = numbers(e, _shear(e, float(row["nu_bone"])))
    bone = Bone(np.array(edges), outer, outer, np.array(canal), np.array(canal), *moduli)
    at, gap = numbers(float(row["fracture"]), float(row["gap"]))
    return bone, Fracture(at, gap), Loads(*numbers(FORCE, FORCE, FORCE, FORCE, FORCE))


def _screw(row: Row) -> Bracket:
    d, length, e = float(row["d"]), float(row["length"]), float(row["e_bar"])
    seat, tip, thread, edges, canals = 0.0, length, length / 4, [0.0, length], [float(row["canal"])]
    bed = d
    if row["family"] == "ends":
        canal, bed, thread = float(row["canal"]), float(row["seat"]), float(row["thread"])
        # the seat lies where the head's bed ends: bone, drilled to the bar's size, runs on alone proximal of it
        seat = float(row["seat_at"]) + bed
        tip = seat + float(row["free"]) + thread
        edges, canals = [0.0, seat - bed, seat, tip - thread, tip, length], [canal, d, canal, d, canal]
    bone, fracture, loads = _setting(row, edges, canals)
    # a plain bar: the thread's core is as thick as the shank, its crest only just above it
    sizes = (1.01 * d, d, d, float(row["bore"]), thread, tip - seat, seat, e, _shear(e, float(row["nu_bar"])), bed)
    return screw_response(bone, fracture, Screw(*numbers(*sizes)), loads, cases=(CASE,))


def _plate(row: Row) -> Bracket:
    """The loose end, with locked screws. The plate is counted from the first to the last screw."""
    bone, fracture, loads = _setting(row, [0.0, float(row["length"])], [float(row["canal"])])
    half, more = float(row["working"]) / 2, (int(row["screws"]) - 1) * float(row["pitch"])
    f, e, hole = float(row["fracture"]), float(row["e_bar"]), float(row["hole"])
    ends = (f - half - more, f + half + more, f - half, f + half)
    sizes = [float(row[k]) for k in ("width", "thickness", "standoff")]
    rest = (float(row["d"]), float(row["screws"]), e, _shear(e, float(row["nu_bar"])))
    values = numbers(*sizes, hole, *ends, *rest)
    part = Plate("dorsal", *values[:12], empty_hole=np.asarray(hole > 0), locked=True)  # type: ignore[misc, arg-type]
    return plate_response(bone, fracture, part, loads, cases=(CASE,))


def _tube(row: Row) -> float:
    """Tip deflection of an intact tube with shear; coefficient of a hollow circle: COWPER66."""
    e, o, c, length, nu = (float(row[k]) for k in ("e_bone", "outer", "canal", "length", "nu_bone"))
    m = c / o
    k = 6 * (1 + nu) * (1 + m**2) ** 2 / ((7 + 6 * nu) * (1 + m**2) ** 2 + (20 + 12 * nu) * m**2)
    EI, GA = e * np.pi / 64 * (o**4 - c**4), k * _shear(e, nu) * np.pi / 4 * (o**2 - c**2)
    return float(cantilever([0.0, length], [EI], [FORCE], [length], GA=[GA]).deflection[-1])


def _strip(row: Row) -> float:
    """Peak over net-section stress at an empty hole."""
    fit = PROJECT_DEFAULT
    sizes = (float(row["hole"]), float(row["width"]), float(row["thickness"]))
    return float(hole_stress(fit.hole_base, fit.hole_width, fit.hole_thickness, *sizes))


def compare(row: Row) -> Iterator[tuple[str, float, float, float | None]]:
    """(quantity, solid, corrected beam, plain beam), mm or a ratio; the plain value is None where there is none.

    Raises ValueError where the beam finds the construct impossible.
    """
    if row["family"] == "strip":
        yield "peak over net-section stress", float(row["peak_over_net"]), _strip(row), 1.0
        return
    u = float(row["u_force"])
    if row["family"] == "tube":
        yield "tip deflection", u, _tube(row), None
        return
    bracket = _plate(row) if row["family"] == "plate" else _screw(row)
    if not bool(np.all(bracket.valid)):
        raise ValueError(f"case {row['case']}: the beam finds the construct impossible; check the row")
    r = (bracket.bonded if row["family"] == "bonded" else bracket.loose).bending[CASE]
    # the solids' force pulls the far side of a plate apart and presses that of a bar together
    far = "plantar" if row["family"] == "plate" else "dorsal"
    assert far in SIDES
    yield "tip deflection", u, float(r.deflection_mm), FORCE / float(r.plain_stiffness_N_per_mm)
    yield "opening", float(row["open_far_force"]), float(r.opening_mm[far]), float(r.plain_opening_mm[far])


def _percent(share: float) -> str:
    return f"{100 * share:+.1f} %".replace("-", "\u2212")


def words(row: Row) -> str:
    """A case in words; lengths in mm, moduli in GPa."""

    def n(key: str, scale: float = 1.0) -> str:
        return f"{float(row.get(key, 0)) / scale:g}"

    bone = f"bone {n('outer')}/{n('canal')} mm, {n('e_bone', 1e3)} GPa"
    if row["family"] == "tube":
        return bone
    if row["family"] == "strip":
        return f"plate {n('width')} × {n('thickness')} mm, hole {n('hole')}"
    if row["family"] == "plate":
        hole = f", hole {n('hole')}" if float(row.get("hole", 0)) > 0 else ""
        return (
            f"plate {n('width')} × {n('thickness')} mm{hole}, {n('e_bar', 1e3)} GPa, standoff {n('standoff')}, working "
            f"length {n('working')}, {n('screws')} screws of {n('d')} a side, gap {n('gap')}, {bone}"
        )
    bore = f"/{n('bore')}" if float(row.get("bore", 0)) > 0 else ""
    held = f", held over {n('seat')} and {n('thread')}, free {n('free')}" if row["family"] == "ends" else ""
    return f"screw {n('d')}{bore} mm, {n('e_bar', 1e3)} GPa{held}, gap {n('gap')}, {bone}"


def solid_checks(path: Path | None = None) -> Iterator[Check]:
    """Every case and quantity; held-out cases in groups of their own. Without the file one open row that says so."""
    rows = read(path)
    if not rows:
        text = "The data file of the solids is not in this installation; run the command from the project's folder."
        yield Check("Solids", "all", "PROJECT", "", "", "", None, None, None, None, OPEN, "not shown", text)
    for name, title in FAMILIES.items():
        for held in ("0", "1"):
            for row in rows:
                if family(row) != name or row["held_out"] != held:
                    continue
                whole = name in ("tube", "strip")
                group = title if whole else f"{title}, {'left out of' if held == '1' else 'used in'} the fit"
                for k, (quantity, solid, beam, plain) in enumerate(compare(row)):
                    allowed = WANTED[name][k]
                    difference = beam - solid
                    agrees = abs(difference) <= allowed * abs(solid)
                    remark = f"{_percent(difference / solid)}, allowed {100 * allowed:.0f} %"
                    if plain is not None:
                        remark += f"; without correction {_percent(plain / solid - 1)}"
                    yield Check(
                        group,
                        f"{words(row)}: {quantity}",
                        "PROJECT",
                        "tests/solids",
                        "computed as a solid",
                        "1" if name == "strip" else "mm",
                        solid,
                        beam,
                        difference,
                        allowed * abs(solid),
                        AGREES if agrees else DIFFERS,
                        "agrees" if agrees else "does not agree",
                        remark,
                    )
