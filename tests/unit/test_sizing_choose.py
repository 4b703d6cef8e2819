"""First choice and its neighbours, from lists short enough to read off."""

import numpy as np

from fixplan.sizing.choose import first_choice, neighbour

DIAMETER = np.array([4.5, 5.0, 5.0, 5.5])
ORDER = np.array([1, 3, 0, 2])
LAG = np.ones(4, bool)


def choose(codes: list[int], margin: list[float]) -> int:
    return int(first_choice(np.array(codes, np.int8), LAG, DIAMETER, np.array(margin), ORDER))


def test_the_mildest_verdict_comes_before_the_larger_diameter() -> None:
    assert choose([0, 2, 2, 1], [1.0, 1.0, 1.0, 9.0]) == 0


def test_thread_beyond_the_fracture_comes_before_a_larger_thread_across_it() -> None:
    lag = np.array([True, True, False, False])
    codes = np.zeros(4, np.int8)
    assert int(first_choice(codes, lag, DIAMETER, np.ones(4), ORDER)) == 1


def test_among_equals_the_larger_diameter() -> None:
    assert choose([0, 0, 2, 0], [9.0, 1.0, 1.0, 0.1]) == 3


def test_among_equal_diameters_the_better_margin_then_the_order() -> None:
    assert choose([0, 0, 0, 2], [9.0, 3.0, 1.0, 0.0]) == 1
    assert choose([0, 0, 0, 2], [9.0, 3.0, 2.95, 0.0]) == 2  # within a tenth of a millimetre: a tie


def test_nothing_is_chosen_when_everything_fails() -> None:
    assert choose([2, 2, 2, 2], [1.0, 1.0, 1.0, 1.0]) == -1


def test_draws_are_chosen_row_by_row() -> None:
    codes = np.array([[0, 2, 2, 2], [0, 0, 2, 2], [2, 2, 2, 2]], np.int8)
    assert first_choice(codes, LAG, DIAMETER, np.ones((3, 4)), ORDER).tolist() == [0, 1, -1]


def test_a_size_without_numbers_never_wins_on_margin() -> None:
    assert choose([0, 0, 0, 2], [9.0, np.nan, 1.0, 0.0]) == 2


def test_neighbours_take_the_next_size_and_its_best_item() -> None:
    codes = np.array([0, 2, 0, 2], np.int8)
    margin = np.array([1.0, 5.0, 1.0, 0.0])
    every = np.ones(4, bool)
    assert neighbour(codes, margin, DIAMETER, every, 0, 1) == 2
    assert neighbour(codes, margin, DIAMETER, every, 0, -1) is None
    assert neighbour(codes, margin, DIAMETER, every, 3, -1) == 2
    assert neighbour(codes, margin, DIAMETER, np.array([True, False, False, True]), 0, 1) == 3
