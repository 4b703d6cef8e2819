"""Edges of the beam rooms that small changes of the code showed to be untested (see tests/mutation)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from fixplan.mechanics.chunks import in_chunks
from fixplan.mechanics.construct import Bone, Fracture, Loads, intact_response

LOADS = Loads(*(np.asarray(v) for v in (20.0, 15.0, 80.0, 50.0, 400.0)))


def bone(outer: list[float], canal: list[float], edges: list[float]) -> Bone:
    o, c = np.array(outer), np.array(canal)
    return Bone(np.array(edges), o, o, c, c, np.asarray(17e3), np.asarray(3.3e3))


@pytest.mark.parametrize("centre", [0.5, 69.5])
def test_a_gap_that_touches_an_end_of_the_bone_is_refused(centre):
    uniform = bone([10.0], [5.0], [0.0, 70.0])
    with pytest.raises(ValueError, match=r"fracture\.centre"):
        Fracture(np.asarray(centre), np.asarray(1.0)).check(uniform)
    Fracture(np.asarray(30.0), np.asarray(1.0)).check(uniform)


@pytest.mark.parametrize("order", [(8.0, 10.0), (10.0, 8.0)])
def test_torsion_of_the_intact_bone_is_worst_in_its_thinnest_piece(order):
    """Torsion formula of a round tube, tau = T r / J with J = pi (d^4 - d_i^4) / 32 (GERE7 ch. 3)."""
    uneven = bone(list(order), [5.0, 5.0], [0.0, 30.0, 70.0])
    found = intact_response(uneven, Fracture(np.asarray(35.0), np.asarray(1.0)), LOADS, cases=("torsion",))
    assert found.torsion is not None
    expected = 400.0 * 4.0 / (np.pi * (8.0**4 - 5.0**4) / 32)
    assert float(found.torsion.shear_stress_MPa) == pytest.approx(expected, rel=1e-9)


@dataclass(frozen=True)
class Part:
    value: np.ndarray


def test_chunks_cut_a_leading_axis_of_two_too():
    seen = []

    def run(part: Part) -> np.ndarray:
        seen.append(part.value.shape)
        return part.value * 2

    values = np.arange(6.0).reshape(2, 3)
    assert in_chunks(run, Part(values), at_once=3).tolist() == (values * 2).tolist()
    assert seen == [(1, 3), (1, 3)]


def test_chunks_are_no_larger_than_asked_and_cover_every_row():
    seen = []

    def run(part: Part) -> np.ndarray:
        seen.append(part.value.shape[0])
        return part.value + 1

    values = np.arange(10.0)
    assert in_chunks(run, Part(values), at_once=4).tolist() == (values + 1).tolist()
    assert seen == [4, 4, 2]
    seen.clear()
    in_chunks(run, Part(values), at_once=10)
    assert seen == [10]
