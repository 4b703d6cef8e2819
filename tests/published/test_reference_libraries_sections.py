"""Reference library: sectionproperties (finite elements over the section), rigidities and centroids of
composite sections.

Every curved outline is a polygon of N = 400 corners there: its area is short by 4e-5 and its second moment by
8e-5, so 0.1 % is a fair tolerance. The library takes the void between a thin screw and a wider canal for bone
(its hole marker lands inside the screw), so the marker is set by hand. The cases stand in
`fixplan/validation/sections.py`; the validation page shows the library's answers that `data/libraries.csv` holds.
"""

import pytest
from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry, Material
from sectionproperties.pre.library import elliptical_section, rectangular_section

from fixplan.validation.libraries import stored
from fixplan.validation.sections import CASES, Rigidity, SectionCase, ours

CORNERS = 400
MESH = 0.5


def material(E: float) -> Material:
    return Material(f"E {E:g}", E, 0.3, 1.0, 1.0, "w")


def ellipse(x: float, y: float, E: float, corners: int) -> Geometry:
    return elliptical_section(d_x=x, d_y=y, n=corners, material=material(E))


def geometry(case: SectionCase, n: int = CORNERS) -> Geometry:
    """The library's drawing of a case."""
    whole = ellipse(*case.outer, case.E_bone, n)
    if case.canal != (0.0, 0.0):
        canal = tuple(max(c, case.bar) for c in case.canal)
        whole = whole - ellipse(*canal, case.E_bone, n)
    if case.bar:
        bar = ellipse(case.bar, case.bar, case.E_bar, n)
        whole = whole + (bar - ellipse(case.bore, case.bore, case.E_bar, n) if case.bore else bar)
    if case.plate is not None:
        w, t = case.plate
        # resting on a polygon's corner the two regions would share a single node: lift the plate by 0.1 micrometre
        bottom = case.outer[1] / 2 + max(case.standoff, 1e-4)
        part = rectangular_section(d=t, b=(w - case.hole) / (2 if case.hole else 1), material=material(case.E_plate))
        whole = whole + part.shift_section(-w / 2, bottom)
        if case.hole:
            whole = whole + part.shift_section(case.hole / 2, bottom)
    if case.void is not None:
        whole.holes = [case.void]
    return whole


def library(case: SectionCase, n: int = CORNERS) -> Rigidity:
    """The library's rigidities of a case."""
    section = Section(geometry(case, n).create_mesh(mesh_sizes=[MESH]))
    section.calculate_geometric_properties()
    EI_y, EI_x, _ = section.get_eic()
    return Rigidity(section.get_ea(), EI_y, EI_x, section.get_c()[1])


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.name)
def test_rigidities_and_centroid(case):
    mine, theirs = ours(case), library(case)
    assert pytest.approx(theirs.EA, rel=1e-3) == mine.EA
    assert mine.EI_y == pytest.approx(theirs.EI_y, rel=1e-3)
    assert mine.EI_x == pytest.approx(theirs.EI_x, rel=1e-3)
    assert mine.y_c == pytest.approx(theirs.y_c, rel=1e-3, abs=1e-6)


def test_the_stored_answers_are_the_library_s():
    case = CASES[5]
    row = stored()[("sections", case.name, "EI_y")]
    assert library(case).EI_y == pytest.approx(row.value, rel=1e-6)
    # and the stated error of the mesh covers what is known of polygons: 8e-5 of a circle's second moment at 400
    assert 2e-5 < row.mesh_error < 2e-4
