"""Pull-out of screws from foam: Chapman et al., J Biomech Eng 1996;118:391-398 (CHAP96, abstract read).

The abstract prints no single screw. What it states is tested as stated; the numbers of the formula are checked against
a calculation of the sheared thread flank that does not use the factor 0.57735.
"""

import math

import numpy as np
import pytest

from fixplan.mechanics.purchase import length_needed, pullout_force, thread_shape_factor

# major, core, pitch in mm; ISO 5835 (from memory): deep and shallow bone threads
HB_6_5, HA_4_5, HA_3_5, HA_2_7 = (6.5, 3.0, 2.75), (4.5, 3.0, 1.75), (3.5, 2.4, 1.25), (2.7, 1.9, 1.0)


def test_the_thread_shape_factor_is_the_flank_of_a_sixty_degree_thread():
    """0.57735 is tan 30 degrees: the internal thread is p/2 + 2 (d/2) tan 30 thick at the major diameter, per pitch."""
    for major, core, pitch in (HB_6_5, HA_4_5, HA_3_5, HA_2_7):
        depth = (major - core) / 2
        flank = (pitch / 2 + 2 * (depth / 2) * math.tan(math.radians(30))) / pitch
        assert thread_shape_factor(major, core, pitch) == pytest.approx(flank, abs=5e-6)


@pytest.mark.parametrize(
    ("thread", "length", "shear", "force"),
    [
        # worked by hand: circumference, times length, times strength, times factor
        (HB_6_5, 16.0, 1.6, 20.4204 * 16 * 1.6 * 0.8674),
        (HA_4_5, 20.0, 4.3, 14.1372 * 20 * 4.3 * 0.7474),
        (HA_3_5, 3.0, 65.0, 10.9956 * 3 * 65 * 0.7540),
        (HA_2_7, 4.0, 65.0, 8.4823 * 4 * 65 * 0.7309),
    ],
)
def test_predicted_pullout_by_hand(thread, length, shear, force):
    """Four screws worked by hand from the formula; factors of the threads to four digits."""
    assert pullout_force(shear, length, *thread) == pytest.approx(force, rel=1e-4)


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
