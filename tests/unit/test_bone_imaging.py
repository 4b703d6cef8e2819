"""Magnification from a marker, from geometry, or assumed."""

import numpy as np
import pytest

from fixplan.bone.imaging import (
    Magnification,
    assumed,
    from_geometry,
    from_marker,
    geometric_magnification,
    true_length,
)


def test_published_example_of_the_geometry():
    """Facts of the trade: focus to detector 100 cm, bone 4 cm above it: 100/96 = 1.042 (similar triangles)."""
    assert geometric_magnification(1000.0, 40.0) == pytest.approx(1.042, abs=5e-4)


def test_a_marker_gives_the_magnification_back():
    """28.1 mm seen of 25 mm: 1.124; 28.1 mm on the film is then 25 mm at the bone."""
    scale = from_marker(25.0, 28.1)
    assert scale.value == pytest.approx(1.124)
    assert scale.sd == 0
    assert true_length(28.1, scale.value) == pytest.approx(25.0)
    assert scale.note == ""
    assert "smaller" in from_marker(25.0, 24.0).note


@pytest.mark.parametrize("kind", ["marker", "geometry"])
def test_first_order_uncertainty_against_simulation(kind):
    """JCGM 101: propagation of distributions by simulation, here 200 000 draws of small relative spread."""
    rng = np.random.default_rng(4)
    a, b = rng.normal(0, 1, (2, 200_000))
    if kind == "marker":
        scale = from_marker(25.0, 26.2, 0.05, 0.15)
        draws = (26.2 + 0.15 * a) / (25.0 + 0.05 * b)
    else:
        scale = from_geometry(1100.0, 35.0, 20.0, 8.0)
        sid, oid = 1100.0 + 20 * a, 35.0 + 8 * b
        draws = sid / (sid - oid)
    assert scale.value == pytest.approx(draws.mean(), rel=2e-4)
    assert scale.sd == pytest.approx(draws.std(), rel=0.02)
    assert scale.relative_sd == pytest.approx(scale.sd / scale.value)


def test_an_assumed_scale_says_so():
    scale = assumed(1.035, 0.009, "GEOM")
    assert (scale.origin, scale.source) == ("assumed", "GEOM")
    assert "assumed" in scale.note


@pytest.mark.parametrize(
    "call",
    [
        lambda: from_marker(0.0, 28.0),
        lambda: from_marker(25.0, -28.0),
        lambda: from_marker(25.0, 28.0, -0.1),
        lambda: from_marker(25.0, np.nan),
        lambda: from_geometry(1000.0, 1000.0),
        lambda: from_geometry(1000.0, -1.0),
        lambda: Magnification(-1.0, 0.0, "assumed", "GEOM"),
        lambda: Magnification(1.0, -0.1, "assumed", "GEOM"),
    ],
)
def test_impossible_scales_are_refused(call):
    with pytest.raises(ValueError, match="must be"):
        call()
