"""A straight screw in a bowed bone: offset, contact, angle, gap."""

import math

import numpy as np
import pytest

from fixplan.mechanics.straightening import (
    SMALL_ANGLE,
    bow_radius,
    flattening_angle,
    forced_angle,
    opened_gap,
    straighten,
    tangent_offset,
)


def test_half_circle_is_the_end_of_the_range():
    assert bow_radius(10.0, 5.0) == 5.0


def test_offset_starts_flat_and_is_the_circle():
    assert tangent_offset(0.0, 50.0) == 0.0
    assert tangent_offset(20.0, 50.0) == pytest.approx(50 - math.sqrt(50**2 - 20**2))


def test_offset_keeps_its_digits_in_a_nearly_straight_bone():
    """R - sqrt(R^2 - x^2) would lose them: the parabola x^2 / 2R is exact to 1e-12 here."""
    assert tangent_offset(1.0, 1e7) == pytest.approx(5e-8, rel=1e-12)


def test_screw_wider_than_the_corridor():
    """Corridor radius R_c - f/2: 0.25 mm of missing radius take 0.5 mm of height between legs of 20 and 30 mm."""
    assert flattening_angle(2 * 0.25, 20.0, 30.0) == pytest.approx(0.5 / 20 + 0.5 / 30)


def test_angle_and_gap_by_hand():
    """3-4-5: 3 mm beyond on radius 5 is 1 mm off; room 0.4 over 12 mm is 0.05 rad; times 8 mm is 0.4 mm."""
    result = straighten(3.0, 5.0, 0.4, 12.0, 8.0)
    assert result.offset == pytest.approx(1.0)
    assert result.angle == pytest.approx(0.05)
    assert result.gap == pytest.approx(0.4)
    assert result.contact
    assert result.small_angle
    assert result.beyond == 3.0
    assert forced_angle(1.0, 0.4, 12.0) == pytest.approx(0.05)
    assert opened_gap(0.05, 8.0) == pytest.approx(0.4)


def test_before_contact_nothing_is_forced():
    result = straighten([-5.0, 0.0, 3.0, 3.0], 5.0, [0.4, 0.4, 1.0, 1.5], 12.0, 8.0)
    np.testing.assert_array_equal(result.contact, [False] * 4)
    np.testing.assert_array_equal(result.angle, [0.0] * 4)
    np.testing.assert_array_equal(result.gap, [0.0] * 4)
    np.testing.assert_allclose(result.offset, [0.0, 0.0, 1.0, 1.0])
    np.testing.assert_array_equal(result.beyond, [-5.0, 0.0, 3.0, 3.0])


def test_the_first_tenth_of_a_millimetre_counts():
    """x^2 / 2R for a short reach: 0.1 mm on radius 5 is 0.001 mm."""
    assert straighten(0.1, 5.0, 0.0, 12.0, 8.0).offset == pytest.approx(0.001, rel=1e-3)


def test_short_of_the_bow_a_tip_without_room_does_not_count_as_contact():
    assert not straighten(-1.0, 5.0, 0.0, 12.0, 8.0).contact


def test_large_angles_are_told():
    """1 mm over 5 mm is 0.2 rad, the last that counts as small; over 4.9 mm it is more."""
    np.testing.assert_array_equal(straighten(3.0, 5.0, 0.0, [5.0, 4.9], 8.0).small_angle, [True, False])
    assert math.tan(SMALL_ANGLE) / SMALL_ANGLE < 1.014


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: bow_radius(0.0, 1.0), "chord must be finite and > 0"),
        (lambda: bow_radius(10.0, 0.0), "sagitta must be finite and > 0; a bone without a bow"),
        (lambda: bow_radius(10.0, 5.1), "sagitta must be <= chord / 2; more than a half circle"),
        (lambda: tangent_offset(-1.0, 5.0), "beyond must be finite and >= 0; a tip before the bow"),
        (lambda: tangent_offset(5.0, 5.0), "beyond must be < radius; the tip cannot lie"),
        (lambda: tangent_offset(1.0, 0.0), "radius must be finite and > 0"),
        (lambda: forced_angle(-1.0, 0.0, 1.0), "offset must be finite and >= 0"),
        (lambda: forced_angle(1.0, -0.1, 1.0), "clearance must be finite and >= 0; a tip thicker"),
        (lambda: forced_angle(1.0, 0.0, 0.0), "lever must be finite and > 0; the tip must lie beyond"),
        (lambda: flattening_angle(-1.0, 1.0, 1.0), "height must be finite and >= 0"),
        (lambda: flattening_angle(1.0, 0.0, 1.0), "proximal must be finite and > 0"),
        (lambda: flattening_angle(1.0, 1.0, 0.0), "distal must be finite and > 0"),
        (lambda: opened_gap(-0.1, 1.0), "angle must be finite and >= 0; a tip with room"),
        (lambda: opened_gap(0.1, 0.0), "lever must be finite and > 0"),
        (lambda: straighten(math.nan, 5.0, 0.0, 1.0, 1.0), "beyond must be finite"),
        (lambda: straighten(-1.0, 0.0, 0.0, 1.0, 1.0), "radius must be finite and > 0"),
        (lambda: straighten(6.0, 5.0, 0.0, 1.0, 1.0), "beyond must be < radius"),
    ],
)
def test_refusals(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_the_side_that_opens_is_the_one_the_canal_turns_to():
    """Two legs hinged at the origin, the distal one turned to +y by 0.1 rad: turned straight, its face's +y corner
    moves distally by sin(0.1) h (plane geometry), the -y corner proximally.
    """
    turn, h = 0.1, 4.0
    normal = np.array([-math.sin(turn), math.cos(turn)])  # across the turned leg, towards +y
    back = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    corner = back @ (np.array([0.0, h]))
    assert corner[0] == pytest.approx(h * math.sin(turn))
    assert corner[0] > 0
    assert (back @ np.array([0.0, -h]))[0] < 0
    assert back @ normal == pytest.approx([0.0, 1.0])
    # small angles: the form used is angle times lever
    assert opened_gap(turn, h) == pytest.approx(corner[0], rel=2e-3)
