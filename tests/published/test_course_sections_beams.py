"""A course's worked answer (source COURSE): timber beam strengthened by a steel plate on top, the path of an
eccentric plate.

Timber 140 x 400 mm (E 12.5 GPa), steel plate 200 x 8 mm (E 200 GPa) on top, M = 30 kN m. Printed: timber 2.76
MPa in compression at its top and 5.36 MPa in tension at its bottom, steel 46.8 MPa. A coursework answer, not
a textbook's.
"""

import pytest

from fixplan.mechanics import section as sec

E_T, E_S = 12.5e3, 200e3
EA_T, EA_S = E_T * 140 * 400, E_S * 200 * 8
EI_T, EI_S = E_T * sec.second_moment_rectangle(140.0, 400.0), E_S * sec.second_moment_rectangle(200.0, 8.0)
#: the plate lies on the beam: no standoff
E_OFF = sec.plate_offset(400.0, 0.0, 8.0)
Y_C = sec.composite_centroid(EA_T, 0.0, EA_S, E_OFF)
EI = sec.composite_EI(EI_T, EA_T, 0.0, EI_S, EA_S, E_OFF)


@pytest.mark.parametrize(
    ("E", "y", "printed", "digit"),
    [(E_T, 200.0, -2.76, 0.005), (E_T, -200.0, 5.36, 0.005), (E_S, 208.0, -46.8, 0.05)],
)
def test_stress_at_each_edge(E, y, printed, digit):
    assert sec.composite_stress(30e6, E, y, Y_C, EI) == pytest.approx(printed, abs=digit)


def test_the_plate_is_in_its_place():
    assert E_OFF == 204.0
