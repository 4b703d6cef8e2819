"""The beam engine's parts, each against a hand calculation."""

import numpy as np
import pytest

from fixplan.mechanics.beam import (
    accumulate,
    cantilever,
    finite,
    first_integral,
    integral,
    merge,
    moment_of_forces,
    not_negative,
    positive,
    sample,
    simply_supported,
    value_at,
    with_reactions,
)


def test_merge_sorts_points_into_the_edges_over_leading_dimensions():
    s = merge([0.0, 10.0, 20.0], np.array([[4.0], [12.0]]), np.array([15.0, 5.0, 1.0]))
    assert s.shape == (2, 3, 5)
    assert s[1, 0].tolist() == [0, 10, 12, 15, 20]
    assert s[0, 2].tolist() == [0, 1, 4, 10, 20]


def test_sample_takes_the_piece_and_at_an_inner_edge_the_one_beyond():
    values = sample([0.0, 10.0, 20.0, 30.0], [1.0, 2.0, 3.0], [0.0, 9.9, 10.0, 19.0, 20.0, 30.0])
    assert values.tolist() == [1, 1, 2, 2, 3, 3]


def test_value_at_reads_the_named_station():
    s = np.array([0.0, 2.0, 5.0, 5.0, 9.0])
    assert value_at(s, [10.0, 11.0, 12.0, 13.0, 14.0], 5.0) == 12
    assert value_at(s, [10.0, 11.0, 12.0, 13.0, 14.0], [0.0, 9.0]).tolist() == [10, 14]


def test_moment_of_forces_counts_only_what_lies_beyond():
    # at s = 4: 3 N at 10 mm gives 18, 5 N at 6 mm gives 10, 7 N at 4 mm gives nothing
    assert moment_of_forces([4.0], [3.0, 5.0, 7.0], [10.0, 6.0, 4.0]).tolist() == [28.0]


def test_accumulate_is_exact_for_linear_curvature():
    # k = 2 + 3 s: rotation 2 s + 1.5 s^2, deflection s^2 + s^3/2
    s = np.array([0.0, 1.0, 1.0, 4.0])
    k = 2 + 3 * s
    rotation, deflection = accumulate(np.diff(s), k[:-1], k[1:])
    assert rotation == pytest.approx(2 * s + 1.5 * s**2)
    assert deflection == pytest.approx(s**2 + s**3 / 2)


def test_integrals_are_exact_for_linear_functions():
    s = np.array([1.0, 2.0, 5.0])
    f = 4 - 2 * s
    # integral of 4 - 2s from 1 to 5 = 16 - 24; times (s - 3): integral of -2s^2 + 10 s - 12
    assert integral(np.diff(s), f[:-1], f[1:]) == pytest.approx(-8)
    assert first_integral(s, 3.0, f[:-1], f[1:]) == pytest.approx(-2 / 3 * 124 + 5 * 24 - 48)


def test_a_cantilever_of_two_forces_by_superposition():
    beam = cantilever([0.0, 30.0], [2e6], [6.0, -2.0], [30.0, 12.0])
    # F a^2 (3x - a)/(6EI) beyond the force
    tip = 6 * 30**3 / (3 * 2e6) - 2 * 12**2 * (90 - 12) / (6 * 2e6)
    assert beam.deflection[-1] == pytest.approx(tip)
    assert beam.moment[0] == pytest.approx(6 * 30 - 2 * 12)
    assert beam.reactions.tolist() == [-4.0]
    assert beam.shear_force[:2].tolist() == [4.0, 6.0]


def test_the_shear_force_is_minus_the_slope_of_the_moment():
    beam = simply_supported([0.0, 20.0, 50.0], [1e6, 3e6], [10.0, 4.0], [15.0, 33.0], (5.0, 45.0))
    length = np.diff(beam.s)
    slope = np.diff(beam.moment)[length > 0] / length[length > 0]
    assert beam.shear_force[length > 0] == pytest.approx(-slope)


def test_reactions_of_an_uneven_load():
    # 12 N at 10 mm of a 30 mm span from 5 to 35: far 12*5/30, near the rest, both downwards
    forces, at, reactions = with_reactions(np.array([12.0]), np.array([10.0]), np.array(5.0), np.array(35.0))
    assert reactions.tolist() == [-10.0, -2.0]
    assert forces.tolist() == [12.0, -10.0, -2.0]
    assert at.tolist() == [10.0, 5.0, 35.0]


def test_supports_stay_at_rest_and_shear_adds_pa_over_ga():
    args = ([0.0, 25.0, 60.0], [2e6, 3e6], [8.0], [30.0], (10.0, 50.0))
    bent, sheared = simply_supported(*args), simply_supported(*args, GA=[5e4, 5e4])
    for beam in (bent, sheared):
        assert value_at(beam.s, beam.deflection, 10.0) == pytest.approx(0)
        assert value_at(beam.s, beam.deflection, 50.0) == pytest.approx(0, abs=1e-12)
    # F L/(4 GA) under a central load
    added = value_at(sheared.s, sheared.deflection, 30.0) - value_at(bent.s, bent.deflection, 30.0)
    assert added == pytest.approx(8 * 40 / (4 * 5e4))


def test_beams_broadcast_over_sizes_and_draws():
    E = np.array([1.0, 2.0, 3.0])[:, None] * 1e6
    force = np.array([[[4.0]], [[9.0]]])
    beam = cantilever([0.0, 20.0, 50.0], np.stack([E[:, 0], 2 * E[:, 0]], -1), force, [50.0])
    assert beam.deflection.shape == (2, 3, 4)
    one = cantilever([0.0, 20.0, 50.0], [3e6, 6e6], [9.0], [50.0])
    assert beam.deflection[1, 2] == pytest.approx(one.deflection)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: cantilever([0.0, 5.0, 5.0], [1.0, 1.0], [1.0], [5.0]), "edges = 5: edges must ascend"),
        (lambda: cantilever([0.0, 5.0], [0.0], [1.0], [5.0]), "EI = 0"),
        (lambda: cantilever([0.0, np.nan], [1.0], [1.0], [5.0]), "edges = nan"),
        (lambda: cantilever([0.0, 5.0], [1.0, 2.0], [1.0], [5.0]), "EI has 2 pieces for 2 edges"),
        (lambda: cantilever([0.0, 5.0], [1.0], [1.0], [5.1]), "at = 5.1: at must lie on the beam"),
        (lambda: cantilever([1.0, 5.0], [1.0], [1.0], [0.9]), "at = 0.9: at must lie on the beam"),
        (lambda: cantilever([0.0, 5.0], [1.0], [np.inf], [5.0]), "forces = inf"),
        (lambda: cantilever([0.0, 5.0], [1.0], [1.0], [5.0], GA=[-1.0]), "GA = -1"),
        (lambda: simply_supported([0.0, 5.0], [1.0], [1.0], [2.0], (4.0, 1.0)), "supports = 4"),
        (lambda: simply_supported([0.0, 5.0], [1.0], [1.0], [2.0], (0.0, 6.0)), "at = 6"),
        (lambda: simply_supported([0.0, 5.0], [1.0], [1.0], [2.0], (-1.0, 5.0)), "at = -1"),
    ],
)
def test_refusals_name_the_input_and_the_bound(call, message):
    with pytest.raises(ValueError, match=message):
        call()


def test_numbers_are_refused_not_repaired():
    assert finite("x", [1, -2]).tolist() == [1.0, -2.0]
    assert positive("x", 3).tolist() == 3.0
    assert not_negative("x", [0, 1]).tolist() == [0.0, 1.0]
    for check, bad in ((finite, np.nan), (positive, 0.0), (not_negative, -1e-9)):
        with pytest.raises(ValueError, match="x = "):
            check("x", [1.0, bad])
