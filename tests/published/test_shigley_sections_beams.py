"""Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th edition: beam deflection with shear
(example 4-9, p. 165).

Printed to four figures; tolerance half of the last printed digit. Units as printed: in, lbf, psi.
"""

import pytest

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import cantilever

EI = 30e6 * sec.second_moment_circle(1.0)
#: table 4-1: the shear correction of a circle is 1.11
GA = 11.5e6 * sec.area_circle(1.0) / 1.11


def test_example_4_9_bending_part():
    beam = cantilever([0.0, 10.0], [EI], [100.0], [10.0])
    assert beam.deflection[-1] == pytest.approx(0.02263, abs=0.000006)


def test_example_4_9_shear_part():
    with_shear = cantilever([0.0, 10.0], [EI], [100.0], [10.0], GA=[GA])
    without = cantilever([0.0, 10.0], [EI], [100.0], [10.0])
    assert with_shear.deflection[-1] - without.deflection[-1] == pytest.approx(0.00012, abs=0.000005)
    assert with_shear.rotation[-1] == without.rotation[-1]


def test_example_4_9_total():
    # the printed total is the sum of two rounded parts
    beam = cantilever([0.0, 4.0, 10.0], [EI, EI], [100.0], [10.0], GA=[GA, GA])
    assert beam.deflection[-1] == pytest.approx(0.02275, abs=0.00001)
