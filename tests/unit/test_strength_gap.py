"""Gap motion and the strain theory, with the evidence against it."""

import math

import numpy as np
import pytest

from fixplan.mechanics.gap import COUNTER_EVIDENCE, STATEMENT, gap_motion, gap_strain, opening, strain_check

LIMITS = (0.02, 0.10, 1.00)  # PER02: lamellar bone, cartilage, granulation tissue


def test_strain_is_displacement_over_gap_and_keeps_its_sign():
    """GAPSTRAIN07: relative end displacement over initial gap width. 0.02 mm in 1 mm is 2 %, the limit of bone."""
    assert gap_strain(0.02, 1.0) == pytest.approx(0.02)
    assert gap_strain(-0.1, 2.0) == pytest.approx(-0.05)


def test_the_smaller_gap_is_strained_more():
    """The point of the theory: the same motion in a tenth of the gap is ten times the strain."""
    assert gap_strain(0.1, 0.1) == pytest.approx(10 * gap_strain(0.1, 1.0))


def test_opening_of_a_hinge():
    """A hinge at one cortex opens the far one by angle times bone height: 0.01 rad over 8 mm is 0.08 mm."""
    assert opening(0.0, 0.01, 8.0) == pytest.approx(0.08)
    assert opening(0.05, 0.01, -4.0) == pytest.approx(0.01)


def test_motion_on_both_sides():
    motion = gap_motion(0.01, 0.02, [4.0, 5.0], -4.0, 1.0, 0.03)
    np.testing.assert_allclose(motion.opening_near, [0.09, 0.11])
    np.testing.assert_allclose(motion.opening_far, [-0.07, -0.07])
    np.testing.assert_allclose(motion.strain_near, [0.09, 0.11])
    np.testing.assert_allclose(motion.strain_far, [-0.07, -0.07])
    np.testing.assert_allclose(motion.shear, 0.03)
    np.testing.assert_allclose(motion.shear_strain, [0.03, 0.03])
    np.testing.assert_allclose(motion.largest_strain, [0.09, 0.11])
    assert not motion.faces_meet.any()


@pytest.mark.parametrize(
    ("axial", "turn", "shear", "wanted"), [(0.0, 0.01, -0.5, 0.5), (-0.2, 0.0, 0.1, 0.2), (0.3, 0.0, 0.1, 0.3)]
)
def test_largest_strain_is_a_magnitude_of_any_of_the_three(axial, turn, shear, wanted):
    assert gap_motion(axial, turn, 4.0, -4.0, 1.0, shear).largest_strain == pytest.approx(wanted)


def test_no_shear_unless_given():
    assert gap_motion(0.1, 0.0, 4.0, -4.0, 1.0).shear_strain == 0.0


def test_faces_that_meet_are_told():
    np.testing.assert_array_equal(
        gap_motion([-0.5, -0.51, 0.0, 0.0], [0.0, 0.0, 0.2, -0.2], 4.0, -1.0, 0.5).faces_meet,
        [False, True, False, True],
    )
    assert gap_motion(0.0, 0.2, 1.0, -4.0, 0.5).faces_meet


@pytest.mark.parametrize(
    ("strain", "bone", "cartilage", "granulation"),
    [
        (0.0, True, True, True),
        (0.02, True, True, True),
        (0.021, False, True, True),
        (0.10, False, True, True),
        (0.11, False, False, True),
        (1.00, False, False, True),
        (1.01, False, False, False),
    ],
)
def test_which_tissue_bears_the_strain(strain, bone, cartilage, granulation):
    result = strain_check(strain, *LIMITS)
    assert (bool(result.bone), bool(result.cartilage), bool(result.granulation)) == (bone, cartilage, granulation)
    assert result.strain == strain


def test_the_counter_evidence_goes_with_every_check():
    """BJRgap: plated sheep bones healed at 51 % (mean), 32 % (peak compressive), 115 % (peak shear)."""
    result = strain_check(0.05, *LIMITS)
    assert result.statement == STATEMENT
    assert "not pass or fail" in result.statement
    assert result.counter_evidence is COUNTER_EVIDENCE
    assert [row.mid for row in COUNTER_EVIDENCE] == [0.51, 0.32, 1.15]
    assert {row.source for row in COUNTER_EVIDENCE} == {"BJRgap"}
    assert not any(row.unverified for row in COUNTER_EVIDENCE)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: gap_strain(0.1, 0.0), "gap must be finite and > 0; a closed fracture has no gap strain"),
        (lambda: gap_strain(math.nan, 1.0), "displacement must be finite"),
        (lambda: opening(math.inf, 0.0, 0.0), "axial must be finite"),
        (lambda: opening(0.0, math.inf, 0.0), "rotation must be finite"),
        (lambda: opening(0.0, 0.0, math.nan), "lever must be finite"),
        (lambda: gap_motion(0.0, 0.0, 4.0, -4.0, -1.0), "gap must be finite and > 0"),
        (lambda: gap_motion(0.0, 0.0, 4.0, -4.0, 1.0, math.nan), "shear must be finite"),
        (lambda: strain_check(-0.1, *LIMITS), "strain must be finite and >= 0; give the magnitude"),
        (lambda: strain_check(0.1, 0.0, 0.1, 1.0), "limit_bone must be finite and > 0"),
        (lambda: strain_check(0.1, 0.1, 0.1, 1.0), "limit_cartilage must lie between the other two limits; order"),
        (lambda: strain_check(0.1, 0.02, 1.0, 1.0), "limit_cartilage must lie between"),
    ],
)
def test_refusals(call, words):
    with pytest.raises(ValueError, match=words):
        call()
