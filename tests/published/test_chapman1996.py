"""Pull-out of screws from foam: Chapman et al., J Biomech Eng 1996;118:391-398 (CHAP96, abstract read).

The abstract prints no single screw. What it states is tested as stated; the numbers of the formula are checked against
a calculation of the sheared thread flank that does not use the factor 0.57735.
"""

import math

import numpy as np
import pytest

from fixplan.mechanics.purchase import length_needed, pullout_force, thread_shape_factor
from fixplan.validation.tables import PULLOUT as EXAMPLES

# major, core, pitch in mm; ISO 5835 (from memory): deep and shallow bone threads
HB_6_5, HA_4_5, HA_3_5, HA_2_7 = (6.5, 3.0, 2.75), (4.5, 3.0, 1.75), (3.5, 2.4, 1.25), (2.7, 1.9, 1.0)


def test_the_thread_shape_factor_is_the_flank_of_a_sixty_degree_thread():
    """0.57735 is tan 30 degrees: the internal thread is p/2 + 2 (d/2) tan 30 thick at the major diameter, per pitch."""
    for major, core, pitch in (HB_6_5, HA_4_5, HA_3_5, HA_2_7):
        depth = (major - core) / 2
        flank = (pitch / 2 + 2 * (depth / 2) * math.tan(math.radians(30))) / pitch
        assert thread_shape_factor(major, core, pitch) == pytest.approx(flank, abs=5e-6)


def test_more_purchase_with_finer_pitch_or_deeper_thread():
    """Abstract: a finer pitch or a deeper thread raises the shape factor and with it the purchase."""
    finer = pullout_force(2.0, 16.0, 6.5, 3.0, np.array([2.75, 2.2, 1.75]))
    deeper = pullout_force(2.0, 16.0, 6.5, np.array([4.5, 3.6, 3.0]), 2.75)
    assert np.all(np.diff(finer) > 0)
    assert np.all(np.diff(deeper) > 0)


def test_controlled_by_diameter_length_and_shear_strength():
    """Abstract: the force is controlled by major diameter, engaged length, shear strength and shape factor."""
    base = pullout_force(1.6, 16.0, 6.5, 3.0, 2.75)
    assert pullout_force(3.2, 16.0, 6.5, 3.0, 2.75) == pytest.approx(2 * base)
    assert pullout_force(1.6, 8.0, 6.5, 3.0, 2.75) == pytest.approx(base / 2)
    assert pullout_force(1.6, 16.0, 7.5, 4.0, 2.75) == pytest.approx(base * 7.5 / 6.5)


def test_length_needed_is_the_inverse():
    """The same equation solved for the length."""
    assert length_needed(pullout_force(4.3, 20.0, *HA_4_5), 4.3, *HA_4_5) == pytest.approx(20.0)


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda e: f"{e.where}, {e.what}")
def test_printed(example):
    assert float(example.ours()) == pytest.approx(example.published, rel=0, abs=example.tolerance)
