"""Properties that hold for any input in the domain: order, scaling, monotony, inverses."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fixplan.mechanics.fatigue import cycles_to_failure, fatigue_strength
from fixplan.mechanics.gap import gap_motion
from fixplan.mechanics.joint import load_factor, separation_factor, separation_moment, stiffness_constant
from fixplan.mechanics.life import line_through, miner_mix
from fixplan.mechanics.mean_stress import elliptic_factor, gerber_factor, goodman_factor, soderberg_factor
from fixplan.mechanics.purchase import length_needed, pullout_force
from fixplan.mechanics.straightening import bow_radius, straighten, tangent_offset
from fixplan.mechanics.strength import elastic_moment, plastic_moment, von_mises, yield_factor
from fixplan.mechanics.torsion import plastic_torque, yield_torque

few = settings(max_examples=60, deadline=None)


def between(lo, hi):
    return st.floats(lo, hi, allow_nan=False, allow_infinity=False)


stress = between(1.0, 500.0)


@few
@given(between(1.0, 8.0), between(0.0, 0.9), between(1.01, 2.0), between(100.0, 1200.0))
def test_a_thicker_core_is_stronger_and_a_cannulation_weakens_it(d, part, more, strength):
    for moment in (elastic_moment, plastic_moment, yield_torque, plastic_torque):
        assert moment(d * more, part * d, strength) > moment(d, part * d, strength)
        assert moment(d, part * d, strength) <= moment(d, 0.0, strength)
        assert moment(d * more, part * d * more, strength) == pytest.approx(moment(d, part * d, strength) * more**3)


@few
@given(between(1.0, 8.0), between(0.0, 0.95), between(100.0, 1200.0))
def test_plastic_exceeds_elastic(d, part, strength):
    assert plastic_moment(d, part * d, strength) > elastic_moment(d, part * d, strength)
    assert plastic_torque(d, part * d, strength) > yield_torque(d, part * d, strength)


@few
@given(stress, between(100.0, 1200.0), between(0.1, 10.0))
def test_the_yield_factor_is_the_load_that_may_still_come(sigma, strength, scale):
    assert yield_factor(sigma * yield_factor(sigma, strength), strength) == pytest.approx(1.0)
    assert yield_factor(sigma * scale, strength * scale) == pytest.approx(yield_factor(sigma, strength))


@few
@given(between(-500.0, 500.0), between(-500.0, 500.0))
def test_von_mises_is_blind_to_sign_and_never_below_either_stress(sigma, tau):
    value = von_mises(sigma, tau)
    assert value == von_mises(-sigma, tau) == von_mises(sigma, -tau)
    assert value >= max(abs(sigma), abs(tau)) * (1 - 1e-12) - 1e-9


@few
@given(stress, stress, between(100.0, 400.0), between(500.0, 900.0), between(1.0, 1.5))
def test_order_of_the_criteria(amplitude, mean, endurance, yields, ratio):
    """SHIG9 fig. 6-27: Soderberg is the most cautious, then Goodman, then Gerber; elliptic lies above Soderberg."""
    ultimate = yields * ratio
    soderberg = soderberg_factor(amplitude, mean, endurance, yields)
    goodman = goodman_factor(amplitude, mean, endurance, ultimate)
    assert soderberg <= goodman * (1 + 1e-12)
    assert soderberg <= elliptic_factor(amplitude, mean, endurance, yields)
    n = gerber_factor(amplitude, mean, endurance, ultimate)
    assert n * amplitude / endurance + (n * mean / ultimate) ** 2 == pytest.approx(1.0)
    if goodman >= 1:
        assert n >= goodman * (1 - 1e-12)


@few
@given(stress, stress, between(100.0, 400.0), between(500.0, 900.0), between(1.001, 3.0))
def test_every_criterion_falls_with_amplitude_and_with_mean(amplitude, mean, endurance, strength, more):
    for factor in (goodman_factor, soderberg_factor, gerber_factor, elliptic_factor):
        here = factor(amplitude, mean, endurance, strength)
        assert factor(amplitude * more, mean, endurance, strength) < here
        assert factor(amplitude, mean * more, endurance, strength) < here


@few
@given(between(400.0, 900.0), between(0.2, 0.95), between(3.0, 8.0))
def test_life_and_strength_invert_each_other(high, part, decades):
    line = line_through(high, 1e3, high * part, 10.0**decades * 10)
    cycles = 10.0**decades
    strength = fatigue_strength(cycles, line.coefficient, line.exponent)
    assert cycles_to_failure(strength, line.coefficient, line.exponent) == pytest.approx(cycles, rel=1e-6)
    assert fatigue_strength(1e3, line.coefficient, line.exponent) == pytest.approx(high)


@few
@given(st.lists(st.tuples(between(50.0, 600.0), between(1.0, 1e5)), min_size=1, max_size=5))
def test_the_miner_sum_adds_and_its_shares_make_one(blocks):
    line = line_through(700.0, 1e3, 300.0, 1e6)
    amplitude, cycles = (np.array(v) for v in zip(*blocks, strict=True))
    mix = miner_mix(amplitude, cycles, line)
    assert mix.share.sum() == pytest.approx(1.0)
    assert miner_mix(amplitude, 2 * cycles, line).total == pytest.approx(2 * mix.total)
    assert mix.total * mix.rounds_to_one == pytest.approx(1.0)
    assert mix.total == pytest.approx(sum(float(miner_mix([a], [n], line).total) for a, n in blocks))


@few
@given(between(10.0, 1e5), between(10.0, 1e5), between(1.0, 500.0), between(1.0, 500.0))
def test_the_shares_of_a_joint(k_screw, k_bone, load, preload):
    share = stiffness_constant(k_screw, k_bone)
    assert share + stiffness_constant(k_bone, k_screw) == pytest.approx(1.0)
    assert separation_factor(share, load, preload) >= preload / load * (1 - 1e-12)
    assert load_factor(share, load, preload, 7.0, 700.0) == pytest.approx((4900 - preload) / (share * load))


@few
@given(between(0.0, 500.0), between(1.0, 200.0), between(1.0, 100.0), between(-0.9, 3.0))
def test_the_separation_moment_is_linear_in_force(force, modulus, area, part):
    offset = part * modulus / area
    one = separation_moment(1.0, modulus, area, offset)
    assert separation_moment(force, modulus, area, offset) == pytest.approx(force * one)
    assert one == pytest.approx((1 + part) * modulus / area)


@few
@given(between(1.0, 70.0), between(0.5, 30.0), between(2.0, 7.0), between(0.3, 0.95), between(0.4, 3.0))
def test_pullout_grows_with_all_but_core_and_pitch(shear, length, major, part, pitch):
    core = part * major
    force = pullout_force(shear, length, major, core, pitch)
    assert pullout_force(shear, length, 1.1 * major, core, pitch) > 1.1 * force
    assert pullout_force(shear, length, major, core * 1.02, pitch) < force
    assert pullout_force(shear, length, major, core, pitch * 1.1) < force
    assert length_needed(force, shear, major, core, pitch) == pytest.approx(length)


@few
@given(between(5.0, 60.0), between(0.01, 0.5), between(0.0, 0.95))
def test_the_sagitta_of_half_a_chord_is_the_offset_from_the_tangent(chord, part, beyond):
    """The bow's own height is the offset of its ends from the tangent at its apex."""
    radius = bow_radius(chord, part * chord)
    if part < 0.499:
        assert tangent_offset(chord / 2, radius) == pytest.approx(part * chord, rel=1e-6)
    assert tangent_offset(beyond * radius, radius) <= radius


@few
@given(between(-10.0, 20.0), between(30.0, 300.0), between(0.0, 1.0), between(5.0, 40.0), between(2.0, 12.0))
def test_straightening_grows_with_reach_and_shrinks_with_room(beyond, radius, room, lever, height):
    here = straighten(beyond, radius, room, lever, height)
    assert straighten(beyond + 1, radius, room, lever, height).angle >= here.angle
    assert straighten(beyond, radius, room + 0.1, lever, height).angle <= here.angle
    assert here.gap == pytest.approx(here.angle * height)
    assert bool(here.contact) == bool(here.angle > 0)


@few
@given(between(-0.05, 0.05), between(-0.005, 0.005), between(1.0, 6.0), between(-6.0, -1.0), between(0.25, 5.0))
def test_gap_motion_superposes(axial, turn, near, far, gap):
    whole = gap_motion(axial, turn, near, far, gap)
    parts = gap_motion(axial, 0.0, near, far, gap), gap_motion(0.0, turn, near, far, gap)
    for name in ("opening_near", "opening_far", "strain_near", "strain_far"):
        assert getattr(whole, name) == pytest.approx(sum(float(getattr(p, name)) for p in parts), abs=1e-12)
    mirrored = gap_motion(axial, -turn, -near, -far, gap)
    assert mirrored.opening_near == pytest.approx(float(whole.opening_near), abs=1e-12)
