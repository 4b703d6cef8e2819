"""Notch fatigue of titanium grade 1 from a material data sheet (TI-data).

Rotating bending at 10^7 cycles: 193 MPa smooth, 123 MPa with a notch of K_t = 3.
"""

import pytest

from fixplan.mechanics.fatigue import notch_factor


def test_notched_strength_from_the_notch_factor():
    """The sensitivity that the two strengths imply, q = (193/123 - 1) / (3 - 1), gives the notched strength back."""
    assert 193.0 / notch_factor(0.285, 3.0) == pytest.approx(123.0, abs=0.5)
