"""Reference library: sectionproperties (finite elements over the section), rigidities and centroids of
composite sections.

Every curved outline is a polygon of N = 400 corners there: its area is short by 4e-5 and its second moment by
8e-5, so 0.1 % is a fair tolerance. The library takes the void between a thin screw and a wider canal for bone
(its hole marker lands inside the screw), so the marker is set by hand.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry, Material
from sectionproperties.pre.library import elliptical_section, rectangular_section

from fixplan.mechanics import section as sec
from fixplan.mechanics.stations import area_at, second_at

N = 400
E_BONE, E_TI, E_STEEL, E_CALLUS = 17e3, 114e3, 193e3, 1e3


@dataclass(frozen=True)
class Reference:
    EA: float
    EI_y: float
    """bending in the plane of y"""
    EI_x: float
    y_c: float


def material(E: float) -> Material:
    return Material(f"E {E:g}", E, 0.3, 1.0, 1.0, "w")


def ellipse(x: float, y: float, E: float) -> Geometry:
    return elliptical_section(d_x=x, d_y=y, n=N, material=material(E))


def ring(x: float, y: float, cx: float, cy: float, E: float) -> Geometry:
    return ellipse(x, y, E) - ellipse(cx, cy, E)


def mesh(geometry: Geometry, size: float = 0.5, void: tuple[float, float] | None = None) -> Reference:
    if void is not None:
        geometry.holes = [void]
    section = Section(geometry.create_mesh(mesh_sizes=[size]))
    section.calculate_geometric_properties()
    EI_y, EI_x, _ = section.get_eic()
    return Reference(section.get_ea(), EI_y, EI_x, section.get_c()[1])


def bone_and_screw(widths: dict[str, float], d: float, bore: float, E: float, E_bone: float) -> Reference:
    """Ours: bone reamed to the screw where that is wider, both about one axis."""
    screw = E * sec.second_moment_annulus(d, bore)
    return Reference(
        E_bone * float(area_at(widths, np.asarray(d))) + E * sec.area_annulus(d, bore),
        E_bone * float(second_at(widths, "y", np.asarray(d))) + screw,
        E_bone * float(second_at(widths, "x", np.asarray(d))) + screw,
        0.0,
    )


def agree(ours: Reference, theirs: Reference) -> None:
    assert pytest.approx(theirs.EA, rel=1e-3) == ours.EA
    assert ours.EI_y == pytest.approx(theirs.EI_y, rel=1e-3)
    assert ours.EI_x == pytest.approx(theirs.EI_x, rel=1e-3)
    assert ours.y_c == pytest.approx(theirs.y_c, rel=1e-3, abs=1e-6)


@pytest.mark.parametrize(
    "size", [(10.0, 10.0, 5.0, 5.0), (9.5, 7.5, 4.5, 4.0), (7.6, 11.3, 3.2, 5.4), (8.0, 8.0, 6.8, 6.8)]
)
def test_bone_alone(size):
    outer_x, outer_y, canal_x, canal_y = size
    EI_y = E_BONE * sec.second_moment_hollow_ellipse(outer_x, outer_y, canal_x, canal_y)
    EI_x = E_BONE * sec.second_moment_hollow_ellipse(outer_y, outer_x, canal_y, canal_x)
    EA = E_BONE * sec.area_hollow_ellipse(*size)
    agree(Reference(EA, EI_y, EI_x, 0.0), mesh(ring(*size, E_BONE)))


def test_solid_ellipse_and_plate_sections():
    ours = Reference(
        E_BONE * sec.area_ellipse(9.0, 7.0),
        E_BONE * sec.second_moment_ellipse(9.0, 7.0),
        E_BONE * sec.second_moment_ellipse(7.0, 9.0),
        0.0,
    )
    agree(ours, mesh(ellipse(9.0, 7.0, E_BONE)))


#: outer x, y; canal x, y; screw diameter, bore, modulus; where the void's marker goes
SCREWS = {
    "fills a round canal": ((10.0, 10.0, 4.5, 4.5), 4.5, 0.0, E_TI, None),
    "cannulated, fills the canal": ((10.0, 9.0, 5.0, 5.0), 5.0, 2.0, E_STEEL, (0.0, 0.0)),
    "thin in a wide canal": ((9.5, 8.0, 4.7, 5.5), 3.0, 0.0, E_TI, (0.0, 2.1)),
    "thin, off-round canal": ((9.5, 7.5, 4.5, 4.0), 3.0, 0.0, E_STEEL, (1.9, 0.0)),
}


@pytest.mark.parametrize("name", SCREWS)
def test_screw_in_bone(name):
    (outer_x, outer_y, canal_x, canal_y), d, bore, E, void = SCREWS[name]
    geometry = ring(outer_x, outer_y, canal_x, canal_y, E_BONE)
    geometry += ring(d, d, bore, bore, E) if bore else ellipse(d, d, E)
    widths = {"outer_x": outer_x, "outer_y": outer_y, "canal_x": canal_x, "canal_y": canal_y}
    agree(bone_and_screw(widths, d, bore, E, E_BONE), mesh(geometry, void=void))


def test_screw_wider_than_the_canal_reams_it():
    geometry = ring(10.0, 9.0, 5.0, 5.0, E_BONE) + ellipse(5.0, 5.0, E_TI)
    widths = {"outer_x": 10.0, "outer_y": 9.0, "canal_x": 4.0, "canal_y": 3.5}
    agree(bone_and_screw(widths, 5.0, 0.0, E_TI, E_BONE), mesh(geometry))


def test_callus_round_a_screw():
    geometry = ring(10.0, 9.0, 4.5, 4.5, E_CALLUS) + ellipse(4.5, 4.5, E_TI)
    widths = {"outer_x": 10.0, "outer_y": 9.0, "canal_x": 4.5, "canal_y": 4.5}
    agree(bone_and_screw(widths, 4.5, 0.0, E_TI, E_CALLUS), mesh(geometry))


def plated(
    size: tuple[float, float, float, float], w: float, t: float, standoff: float, hole: float, E: float
) -> Reference:
    """Ours: a plate above the bone (+y), bonded across its standoff."""
    outer_x, outer_y, canal_x, canal_y = size
    EA_b, EA_p = E_BONE * sec.area_hollow_ellipse(*size), E * sec.area_rectangle(w - hole, t)
    EI_b = E_BONE * sec.second_moment_hollow_ellipse(*size)
    EI_p = E * sec.second_moment_net_flat(w, t, hole)
    e = sec.plate_offset(outer_y, standoff, t)
    edge = E_BONE * sec.second_moment_hollow_ellipse(outer_y, outer_x, canal_y, canal_x)
    return Reference(
        EA_b + EA_p,
        sec.composite_EI(EI_b, EA_b, 0.0, EI_p, EA_p, e),
        edge + E * sec.second_moment_net_edge(w, t, hole),
        sec.composite_centroid(EA_b, 0.0, EA_p, e),
    )


@pytest.mark.parametrize("standoff", [0.0, 1.0, 2.0])
@pytest.mark.parametrize("size", [(10.0, 9.0, 4.7, 5.5), (8.0, 8.0, 4.0, 4.0)])
@pytest.mark.parametrize("hole", [0.0, 2.9])
def test_plate_on_bone(size, standoff, hole):
    w, t, E = 6.0, 1.3, E_TI
    # resting on a polygon's corner the two regions would share a single node: lift the plate by 0.1 micrometre
    bottom = size[1] / 2 + max(standoff, 1e-4)
    geometry = ring(*size, E_BONE)
    part = rectangular_section(d=t, b=(w - hole) / (2 if hole else 1), material=material(E))
    if hole:
        geometry += part.shift_section(-w / 2, bottom) + part.shift_section(hole / 2, bottom)
    else:
        geometry += part.shift_section(-w / 2, bottom)
    agree(plated(size, w, t, standoff, hole, E), mesh(geometry, void=(0.0, 0.0)))
