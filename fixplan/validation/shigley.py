"""Worked examples of Budynas & Nisbett, Shigley's Mechanical Engineering Design, 9th edition (SHIG9), and of its
solutions manual (SHIG-SM).

Values as printed, in the book's units (kpsi, kip, in; MPa in the manual): the forms are homogeneous.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from fixplan.mechanics.beam import cantilever
from fixplan.mechanics.fatigue import basquin_coefficient, basquin_exponent, cycles_to_failure, fatigue_strength
from fixplan.mechanics.joint import (
    joint_yield_factor,
    load_factor,
    screw_stiffness,
    separation_factor,
    stiffness_constant,
)
from fixplan.mechanics.life import line_through, miner_mix
from fixplan.mechanics.mean_stress import elliptic_factor, first_cycle_factor, gerber_factor, goodman_factor
from fixplan.mechanics.preload import preloaded_gerber, preloaded_goodman, preloaded_yield, proof_preload
from fixplan.mechanics.section import area_circle, second_moment_circle
from fixplan.validation.rows import MEMORY, READ, Example


def _row(
    where: str,
    what: str,
    published: float,
    half_unit: float,
    unit: str,
    ours: Callable[[], Any],
    known: str = READ,
    remark: str = "",
    source: str = "SHIG9",
) -> Example:
    return Example(what, published, half_unit, unit, source, where, ours, known, remark)


# 4-9: steel cantilever 1 in thick, 10 in long, 100 lbf, E 30, G 11.5 Mpsi, shear deflection 1.11 F L/(A G)
_BAR_EI = 30e6 * second_moment_circle(1.0)
_BAR_GA = 11.5e6 * area_circle(1.0) / 1.11


def _tip(shear: bool) -> float:
    ga = [_BAR_GA] if shear else None
    return float(cantilever([0.0, 10.0], [_BAR_EI], [100.0], [10.0], GA=ga).deflection[-1])


# 8-4: 5/8 in-11 UNC grade 5, A_t 0.226 in2, A_d 0.3068 in2, grip halves 0.75 in, E 30, k_m 8.95 Mlbf/in, 36 kip
_AREA, _SHANK, _KM = 0.226, 0.3068, 8.95


def _remaining() -> float:
    used = miner_mix([60.0, 40.0], [3000.0, 0.0], line_through(0.9 * 80.0, 1e3, 40.0, 1e6))
    return float((1 - used.total) * used.life[1])


def _shifted() -> float:
    # the book's own 5520 (8520 less 3000) and exponent
    return float(60.0 / fatigue_strength(5520.0, 1.0, -0.085091))


BEAMS: tuple[Example, ...] = (
    _row("ex. 4-9, p. 165", "Cantilever, bending part of the deflection", 0.02263, 0.000006, "in", lambda: _tip(False)),
    _row(
        "ex. 4-9, p. 165",
        "Cantilever, shear part of the deflection",
        0.00012,
        0.000005,
        "in",
        lambda: _tip(True) - _tip(False),
    ),
    _row(
        "ex. 4-9, p. 165",
        "Cantilever, deflection with shear",
        0.02275,
        0.00001,
        "in",
        lambda: _tip(True),
        remark="The book adds two rounded parts: a whole unit of the last digit is allowed.",
    ),
)

FATIGUE: tuple[Example, ...] = (
    _row(
        "ex. 6-2, p. 286", "Basquin coefficient a", 133.1, 0.05, "kpsi", lambda: basquin_coefficient(0.86, 90.0, 45.0)
    ),
    _row("ex. 6-2, p. 286", "Basquin exponent b", -0.0785, 5e-5, "1", lambda: basquin_exponent(0.86, 90.0, 45.0)),
    _row(
        "ex. 6-2, p. 286",
        "Basquin, strength at 10⁴ cycles",
        64.6,
        0.05,
        "kpsi",
        lambda: fatigue_strength(1e4, basquin_coefficient(0.86, 90.0, 45.0), basquin_exponent(0.86, 90.0, 45.0)),
    ),
    _row(
        "ex. 6-2, p. 286",
        "Basquin, life at 55 kpsi",
        77500,
        50,
        "cycles",
        lambda: cycles_to_failure(55.0, 133.1, -0.0785),
        remark="With a and b as printed.",
    ),
    _row(
        "ex. 6-10, p. 309",
        "Local amplitude with K_f 1.85",
        8.38,
        0.005,
        "kpsi",
        lambda: 1.85 * 8.0 / (math.pi * 1.5**2 / 4),
        remark="Arithmetic of the example; no function of ours.",
    ),
    _row("ex. 6-10, p. 309", "Gerber factor", 3.66, 0.005, "1", lambda: gerber_factor(8.38, 8.38, 33.9, 100.0)),
    _row(
        "ex. 6-10, p. 309", "Yield in the first cycle", 5.01, 0.005, "1", lambda: first_cycle_factor(8.38, 8.38, 84.0)
    ),
    _row(
        "ex. 6-10, p. 309",
        "Gerber strength amplitude",
        30.7,
        0.05,
        "kpsi",
        lambda: gerber_factor(8.38, 8.38, 33.9, 100.0) * 8.38,
    ),
    _row(
        "ex. 6-10 b, p. 309",
        "ASME-elliptic factor",
        3.75,
        0.005,
        "1",
        lambda: elliptic_factor(8.38, 8.38, 33.9, 84.0),
        MEMORY,
    ),
    _row("Miner, p. 324", "Basquin coefficient a", 129.6, 0.05, "kpsi", lambda: basquin_coefficient(0.9, 80.0, 40.0)),
    _row("Miner, p. 324", "Basquin exponent b", -0.085091, 5e-7, "1", lambda: basquin_exponent(0.9, 80.0, 40.0)),
    _row(
        "Miner, p. 324",
        "Life at 60 kpsi",
        8520,
        5,
        "cycles",
        lambda: cycles_to_failure(60.0, basquin_coefficient(0.9, 80.0, 40.0), basquin_exponent(0.9, 80.0, 40.0)),
    ),
    _row("Miner, p. 324", "Cycles left at 40 kpsi after 3000 at 60", 0.648e6, 500, "cycles", _remaining),
    _row(
        "Miner, p. 325",
        "Coefficient of the shifted line",
        124.898,
        0.01,
        "kpsi",
        _shifted,
        remark="The book carries rounded lives; 0.01 kpsi is allowed.",
    ),
    _row(
        "Miner, p. 325",
        "New endurance limit",
        38.6,
        0.06,
        "kpsi",
        lambda: fatigue_strength(1e6, _shifted(), -0.085091),
        remark="The book rounds 38.55 up; 0.06 kpsi is allowed.",
    ),
    _row(
        "problem 6-15",
        "Basquin coefficient a",
        891.0,
        0.05,
        "MPa",
        lambda: basquin_coefficient(0.9, 551.0, 276.0),
        source="SHIG-SM",
    ),
    _row(
        "problem 6-15",
        "Basquin exponent b",
        -0.084828,
        5e-7,
        "1",
        lambda: basquin_exponent(0.9, 551.0, 276.0),
        source="SHIG-SM",
    ),
    _row(
        "problem 6-15",
        "Life at 358.5 MPa",
        45800,
        50,
        "cycles",
        lambda: cycles_to_failure(358.5, 891.0, -0.084828),
        source="SHIG-SM",
    ),
    _row(
        "problem 6-15",
        "Goodman factor",
        0.77,
        0.005,
        "1",
        lambda: goodman_factor(358.5, 0.0, 276.0, 551.0),
        source="SHIG-SM",
    ),
)

JOINTS: tuple[Example, ...] = (
    _row(
        "ex. 8-4, p. 442",
        "Stiffness of the screw",
        5.21,
        0.005,
        "Mlbf/in",
        lambda: screw_stiffness(_SHANK, _AREA, 0.75, 0.75, 30.0),
        MEMORY,
    ),
    _row(
        "ex. 8-4, p. 442",
        "Share C of the screw",
        0.368,
        0.0005,
        "1",
        lambda: stiffness_constant(screw_stiffness(_SHANK, _AREA, 0.75, 0.75, 30.0), _KM),
        MEMORY,
    ),
    _row("ex. 8-4, p. 442", "Preload 0.75 A S_p", 14.4, 0.05, "kip", lambda: proof_preload(0.75, _AREA, 85.0), MEMORY),
    _row(
        "ex. 8-4, p. 442",
        "Screws needed for n_L = 2",
        5.52,
        0.005,
        "1",
        lambda: 2 / load_factor(0.368, 36.0, proof_preload(0.75, _AREA, 85.0), _AREA, 85.0),
        MEMORY,
    ),
    _row(
        "ex. 8-4, p. 442",
        "Load factor n_L",
        2.18,
        0.005,
        "1",
        lambda: load_factor(0.368, 6.0, 14.4, _AREA, 85.0),
        MEMORY,
    ),
    _row(
        "ex. 8-4, p. 442",
        "Yield factor n_p",
        1.16,
        0.005,
        "1",
        lambda: joint_yield_factor(0.368, 6.0, 14.4, _AREA, 85.0),
        MEMORY,
    ),
    _row(
        "ex. 8-4, p. 442",
        "Joint separation n_0",
        3.80,
        0.005,
        "1",
        lambda: separation_factor(0.368, 6.0, 14.4),
        MEMORY,
    ),
    _row(
        "ex. 8-5, p. 449",
        "Yield factor n_p",
        1.22,
        0.005,
        "1",
        lambda: joint_yield_factor(0.280, 5.0, 14.4, _AREA, 85.0),
    ),
    _row("ex. 8-5, p. 449", "Load factor n_L", 3.44, 0.005, "1", lambda: load_factor(0.280, 5.0, 14.4, _AREA, 85.0)),
    _row("ex. 8-5, p. 449", "Joint separation n_0", 4.00, 0.005, "1", lambda: separation_factor(0.280, 5.0, 14.4)),
    _row(
        "ex. 8-5, p. 449",
        "Goodman strength amplitude",
        7.55,
        0.005,
        "kpsi",
        lambda: preloaded_goodman(63.72, 18.6, 120.0),
    ),
    _row(
        "ex. 8-5, p. 449",
        "Goodman factor",
        2.44,
        0.005,
        "1",
        lambda: preloaded_goodman(63.72, 18.6, 120.0) / 3.10,
        MEMORY,
    ),
    _row(
        "ex. 8-5, p. 449",
        "Gerber strength amplitude",
        11.32,
        0.01,
        "kpsi",
        lambda: preloaded_gerber(63.72, 18.6, 120.0),
        remark="The book subtracts rounded squares: a whole unit of the last digit is allowed.",
    ),
    _row("ex. 8-5, p. 449", "Yield strength amplitude", 10.64, 0.005, "kpsi", lambda: preloaded_yield(63.72, 85.0)),
    _row(
        "ex. 8-5, p. 449",
        "The printed amplitude lies on the plain Goodman line",
        1.0,
        0.001,
        "1",
        lambda: goodman_factor(7.55, 63.72 + 7.55, 18.6, 120.0),
    ),
)

EXAMPLES = BEAMS + FATIGUE + JOINTS
