"""Sections that a reference library has meshed: bone, screw in bone, callus round a screw, plate on bone.

The cases are invented sizes in the range of metatarsals. `ours` is this program's answer; the library's stands in
`data/libraries.csv`, made by `tests/reference_libraries/make_reference.py`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fixplan.mechanics import section as sec
from fixplan.mechanics.stations import area_at, second_at

E_BONE, E_TI, E_STEEL, E_CALLUS = 17e3, 114e3, 193e3, 1e3


@dataclass(frozen=True)
class SectionCase:
    """Bone outline and canal (x, y) in mm; a bar about the same axis, or a plate above it; moduli in MPa.

    A bar wider than the canal reams it. `void`: a point in the void between bar and canal, for the mesh.
    """

    name: str
    outer: tuple[float, float]
    canal: tuple[float, float] = (0.0, 0.0)
    E_bone: float = E_BONE
    bar: float = 0.0
    bore: float = 0.0
    E_bar: float = E_TI
    void: tuple[float, float] | None = None
    plate: tuple[float, float] | None = None
    standoff: float = 0.0
    hole: float = 0.0
    E_plate: float = E_TI


@dataclass(frozen=True)
class Rigidity:
    """EA [N], EI in the plane of y and of x [N mm2], centroid from the bone's axis [mm]."""

    EA: float
    EI_y: float
    EI_x: float
    y_c: float


_PLATE = (6.0, 1.3)
CASES: tuple[SectionCase, ...] = (
    SectionCase("annulus 10 / 5 mm", (10.0, 10.0), (5.0, 5.0)),
    SectionCase("hollow ellipse 9.5 × 7.5 / 4.5 × 4.0 mm", (9.5, 7.5), (4.5, 4.0)),
    SectionCase("hollow ellipse 7.6 × 11.3 / 3.2 × 5.4 mm", (7.6, 11.3), (3.2, 5.4)),
    SectionCase("thin annulus 8 / 6.8 mm", (8.0, 8.0), (6.8, 6.8)),
    SectionCase("solid ellipse 9 × 7 mm", (9.0, 7.0)),
    SectionCase("screw 4.5 fills a round canal", (10.0, 10.0), (4.5, 4.5), bar=4.5),
    SectionCase(
        "cannulated screw 5.0 fills the canal, steel",
        (10.0, 9.0),
        (5.0, 5.0),
        bar=5.0,
        bore=2.0,
        E_bar=E_STEEL,
        void=(0.0, 0.0),
    ),
    SectionCase("screw 3.0 in a wide canal", (9.5, 8.0), (4.7, 5.5), bar=3.0, void=(0.0, 2.1)),
    SectionCase(
        "screw 3.0 in an off-round canal, steel", (9.5, 7.5), (4.5, 4.0), bar=3.0, E_bar=E_STEEL, void=(1.9, 0.0)
    ),
    SectionCase("screw 5.0 reams a 4.0 × 3.5 mm canal", (10.0, 9.0), (4.0, 3.5), bar=5.0),
    SectionCase("callus round a screw 4.5", (10.0, 9.0), (4.5, 4.5), E_bone=E_CALLUS, bar=4.5),
    *(
        SectionCase(
            f"plate 6 × 1.3{', 2.9 mm hole,' if hole else ''} on {outer[0]:g} × {outer[1]:g} mm at {standoff:g} mm",
            outer,
            canal,
            plate=_PLATE,
            standoff=standoff,
            hole=hole,
            void=(0.0, 0.0),
        )
        for outer, canal in (((10.0, 9.0), (4.7, 5.5)), ((8.0, 8.0), (4.0, 4.0)))
        for hole in (0.0, 2.9)
        for standoff in (0.0, 1.0, 2.0)
    ),
)


def ours(case: SectionCase) -> Rigidity:
    """This program's rigidities of a case."""
    x, y = case.outer
    if case.plate is not None:
        return _plated(case)
    if case.bar == 0:
        if case.canal == (0.0, 0.0):
            area, second = sec.area_ellipse(x, y), (sec.second_moment_ellipse(x, y), sec.second_moment_ellipse(y, x))
        else:
            c, d = case.canal
            area = sec.area_hollow_ellipse(x, y, c, d)
            second = (sec.second_moment_hollow_ellipse(x, y, c, d), sec.second_moment_hollow_ellipse(y, x, d, c))
        return Rigidity(case.E_bone * area, case.E_bone * second[0], case.E_bone * second[1], 0.0)
    widths = {
        k: np.asarray(v) for k, v in zip(("outer_x", "outer_y", "canal_x", "canal_y"), (*case.outer, *case.canal))
    }
    reamed = np.asarray(case.bar)
    bar = case.E_bar * sec.second_moment_annulus(case.bar, case.bore)
    return Rigidity(
        case.E_bone * float(area_at(widths, reamed)) + case.E_bar * sec.area_annulus(case.bar, case.bore),
        case.E_bone * float(second_at(widths, "y", reamed)) + bar,
        case.E_bone * float(second_at(widths, "x", reamed)) + bar,
        0.0,
    )


def _plated(case: SectionCase) -> Rigidity:
    """A plate above the bone (+y), bonded across its standoff."""
    assert case.plate is not None
    (w, t), (x, y), (c, d) = case.plate, case.outer, case.canal
    bone, edge = sec.second_moment_hollow_ellipse(x, y, c, d), sec.second_moment_hollow_ellipse(y, x, d, c)
    EA_b, EA_p = case.E_bone * sec.area_hollow_ellipse(x, y, c, d), case.E_plate * sec.area_rectangle(w - case.hole, t)
    flat = case.E_plate * sec.second_moment_net_flat(w, t, case.hole)
    e = sec.plate_offset(y, case.standoff, t)
    return Rigidity(
        EA_b + EA_p,
        sec.composite_EI(case.E_bone * bone, EA_b, 0.0, flat, EA_p, e),
        case.E_bone * edge + case.E_plate * sec.second_moment_net_edge(w, t, case.hole),
        sec.composite_centroid(EA_b, 0.0, EA_p, e),
    )
