"""Purchase: pull-out against the compression wanted, in cortex, in cancellous bone and across both."""

import math

import numpy as np
import pytest

from fixplan.mechanics import purchase as room
from fixplan.mechanics.purchase import (
    cancellous_band,
    cancellous_shear,
    cortical_band,
    length_needed,
    pullout_force,
    purchase,
    thread_shape_factor,
)

THREAD = (4.5, 3.0, 1.75)


def test_factor_of_a_thread_without_depth_is_one_half():
    assert thread_shape_factor(4.0, 4.0 - 1e-12, 1.0) == pytest.approx(0.5)


def test_no_length_no_purchase():
    assert pullout_force(4.3, 0.0, *THREAD) == 0.0
    assert length_needed(0.0, 4.3, *THREAD) == 0.0


def test_force_is_strength_times_length_times_circumference_times_factor():
    factor = thread_shape_factor(*THREAD)
    assert pullout_force(4.3, 20.0, *THREAD) == pytest.approx(4.3 * 20 * math.pi * 4.5 * factor)


def test_purchase_adds_cortex_and_cancellous_bone():
    both = purchase(*THREAD, 200.0, in_cortex=2.0, in_cancellous=12.0, density=0.3)
    wanted = pullout_force(cortical_band(), 2.0, *THREAD) + pullout_force(cancellous_band(0.3), 12.0, *THREAD)
    np.testing.assert_allclose(both.pullout, wanted)
    np.testing.assert_allclose(both.factor, wanted / 200.0)
    np.testing.assert_array_equal(both.wanted, [200.0, 200.0, 200.0])
    assert both.holds.all()
    assert both.unverified
    assert both.statement == room.STATEMENT


def test_purchase_in_cortex_alone_rests_on_verified_rows():
    alone = purchase(*THREAD, 1.0, in_cortex=3.0)
    np.testing.assert_allclose(alone.pullout, pullout_force(cortical_band(), 3.0, *THREAD))
    assert not alone.unverified
    assert np.all(np.diff(alone.pullout) > 0)


def test_holds_is_the_comparison_and_the_band_can_straddle_it():
    force = pullout_force(cancellous_band(0.3), 12.0, *THREAD)
    check = purchase(*THREAD, force[1], in_cancellous=12.0, density=0.3)
    np.testing.assert_array_equal(check.holds, [False, True, True])
    assert check.factor[1] == pytest.approx(1.0)


def test_nothing_wanted_is_an_infinite_factor():
    assert np.all(np.isinf(purchase(*THREAD, 0.0, in_cortex=3.0).factor))


def test_arrays_of_sizes():
    check = purchase([4.5, 5.0], [3.0, 3.5], 1.75, [[100.0], [200.0]], in_cancellous=10.0, density=0.25)
    assert check.pullout.shape == check.factor.shape == check.holds.shape == (2, 2, 3)
    np.testing.assert_allclose(check.factor[0], 2 * check.factor[1])


def test_density_may_be_given_without_cancellous_length():
    with_density = purchase(*THREAD, 100.0, in_cortex=2.0, density=0.3)
    np.testing.assert_allclose(with_density.pullout, purchase(*THREAD, 100.0, in_cortex=2.0).pullout)
    assert not with_density.unverified


def test_band_is_half_to_one_and_a_half_and_says_that_it_is_assumed():
    low, middle, high = cancellous_band(0.3)
    assert (low / middle, high / middle) == pytest.approx((0.5, 1.5))
    assert room.CANCELLOUS_BAND.unverified
    assert room.CANCELLOUS_COEFFICIENT.unverified
    assert room.CANCELLOUS_EXPONENT.unverified
    assert cancellous_band([0.2, 0.3]).shape == (2, 3)


def test_cortical_rows():
    """TURNER01 (read) 51.6 MPa; RB75 (from memory) 65 to 68 MPa."""
    np.testing.assert_array_equal(cortical_band(), [51.6, 65.0, 68.0])
    assert [row.source for row in room.CORTICAL_SHEAR] == ["TURNER01", "RB75", "RB75"]
    assert [(row.lo, row.hi) for row in room.CORTICAL_SHEAR] == [(None, None), (65.0, 68.0), (65.0, 68.0)]
    assert not any(row.unverified for row in room.CORTICAL_SHEAR)


def test_density_of_one_gives_the_coefficient():
    assert cancellous_shear(1.0, 21.6, 1.65) == 21.6


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: thread_shape_factor(3.0, 4.5, 1.75), "core must be < major; check that the two diameters"),
        (lambda: thread_shape_factor(3.0, 0.0, 1.75), "core must be finite and > 0"),
        (lambda: thread_shape_factor(4.5, 3.0, 0.0), "pitch must be finite and > 0"),
        (lambda: pullout_force(0.0, 1.0, *THREAD), "shear_strength must be"),
        (lambda: pullout_force(1.0, -1.0, *THREAD), "length must be finite and >= 0; a thread that does not reach"),
        (lambda: pullout_force(1.0, 1.0, 3.0, 3.0, 1.0), "core must be < major"),
        (lambda: length_needed(-1.0, 1.0, *THREAD), "force must be finite and >= 0"),
        (lambda: length_needed(1.0, 0.0, *THREAD), "shear_strength must be"),
        (lambda: length_needed(1.0, 1.0, 3.0, 3.0, 1.0), "core must be < major"),
        (lambda: cancellous_shear(0.0, 21.6, 1.65), "density must be finite and > 0; give g/cm3"),
        (lambda: cancellous_shear(0.3, 0.0, 1.65), "coefficient must be"),
        (lambda: cancellous_shear(0.3, 21.6, 0.0), "exponent must be"),
        (lambda: purchase(*THREAD, -1.0, in_cortex=2.0), "wanted must be finite and >= 0; give the compression"),
        (lambda: purchase(*THREAD, 1.0, in_cancellous=0.5), "in_cancellous needs a density; give the apparent density"),
        (lambda: purchase(*THREAD, 1.0, in_cancellous=-2.0), "in_cancellous must be finite and >= 0"),
        (lambda: purchase(*THREAD, 1.0, in_cancellous=2.0, density=-0.3), "density must be"),
    ],
)
def test_refusals(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_cancellous_bone_is_weaker_by_a_power_of_its_density():
    # 20 * 0.25^1.5
    assert cancellous_shear(0.25, 20.0, 1.5) == pytest.approx(2.5)
    with pytest.raises(ValueError, match="in_cancellous"):
        purchase(4.5, 3.6, 1.8, 100.0, in_cortex=10.0, in_cancellous=np.array([0.0, 5.0]))
