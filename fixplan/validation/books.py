"""Worked examples of Gere (GERE7), Beer & Johnston (BEERJ), AISC, a course (COURSE), Roark's and Timoshenko's tables.

GERE7 and BEERJ are recalled with high confidence and were recomputed by hand, not read for this project. Units are
the books' own where a form is homogeneous.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import cantilever, simply_supported, value_at
from fixplan.mechanics.torsion import yield_torque
from fixplan.validation.rows import HAND, MEMORY, READ, Example

# Gere 6-1: wood 4 x 6 in (1500 ksi) with a 4 x 0.5 in steel plate (30 000 ksi) below it, 60 kip-in.
# EI about the part's own centroid, EA, height of the centroid above the bottom
WOOD = (1500.0 * 4 * 6**3 / 12, 1500.0 * 24.0, 3.5)
STEEL = (30000.0 * 4 * 0.5**3 / 12, 30000.0 * 2.0, 0.25)
_AXIS = sec.composite_centroid(*WOOD[1:], *STEEL[1:])
_EI = sec.composite_EI(*WOOD, *STEEL)


def _gere_6_1(E: float, y: float) -> float:
    return float(sec.composite_stress(60.0, E, y, _AXIS, _EI)) * 1000


# Beer & Johnston 4.03: steel 0.75 in between brass 2 x 0.4 in, all 3 in high, 15 and 29 Msi, 40 kip-in
_SANDWICH = sec.unbonded_EI(
    15.0e3 * sec.second_moment_rectangle(0.8, 3.0), 29.0e3 * sec.second_moment_rectangle(0.75, 3.0)
)

# course: timber 140 x 400 mm (12.5 GPa) with a steel plate 200 x 8 mm (200 GPa) on top, 30 kN m
E_TIMBER, E_PLATE = 12.5e3, 200e3
_EA = (E_TIMBER * 140 * 400, E_PLATE * 200 * 8)
#: the plate lies on the beam: no standoff
PLATE_OFFSET = float(sec.plate_offset(400.0, 0.0, 8.0))
_TOP = sec.composite_centroid(_EA[0], 0.0, _EA[1], PLATE_OFFSET)
_BOTH = sec.composite_EI(
    E_TIMBER * sec.second_moment_rectangle(140.0, 400.0),
    _EA[0],
    0.0,
    E_PLATE * sec.second_moment_rectangle(200.0, 8.0),
    _EA[1],
    PLATE_OFFSET,
)


def _course(E: float, y: float) -> float:
    return float(sec.composite_stress(30e6, E, y, _TOP, _BOTH))


def _stepped_simple() -> Any:
    return simply_supported([0, 0.25, 0.75, 1.0], [1.0, 2.0, 1.0], [-1.0], [0.5], (0.0, 1.0))


def _third_points() -> float:
    beam = simply_supported([0.0, 0.5, 1.0], [1.0, 1.0], [1.0, 1.0], [1 / 3, 2 / 3], (0.0, 1.0))
    return 1 / float(value_at(beam.s, beam.deflection, 0.5))


COMPOSITE: tuple[Example, ...] = (
    Example("Neutral axis below the top", 5.031, 5e-4, "in", "GERE7", "ex. 6-1", lambda: 6.5 - _AXIS, MEMORY),
    Example(
        "Rigidity from the printed second moments",
        1500 * 171.0 + 30000 * 3.01,
        1500 * 0.05 + 30000 * 0.005,
        "kip·in²",
        "GERE7",
        "ex. 6-1, I 171.0 and 3.01 in⁴",
        lambda: _EI,
        MEMORY,
    ),
    *(
        Example(
            f"Stress at the {name}", printed, half, "psi", "GERE7", "ex. 6-1", partial(_gere_6_1, E, y), MEMORY, note
        )
        for name, E, y, printed, half, note in (
            ("top of the wood", 1.5e3, 6.5, -1310, 10, "Three figures printed."),
            ("bottom of the wood", 1.5e3, 0.5, 251, 0.5, ""),
            ("top of the steel", 30e3, 0.5, 5030, 10, "Three figures printed."),
            ("bottom of the steel", 30e3, 0.0, 7620, 10, "Three figures printed."),
        )
    ),
    Example(
        "Stress in the steel over that in the brass at the same height: ratio of moduli",
        1.933,
        5e-4,
        "1",
        "BEERJ",
        "ex. 4.03",
        lambda: (
            sec.composite_stress(40.0, 29.0e3, 1.5, 0.0, _SANDWICH)
            / sec.composite_stress(40.0, 15.0e3, 1.5, 0.0, _SANDWICH)
        ),
        MEMORY,
    ),
    Example(
        "Stress in the brass",
        11.85,
        0.005,
        "ksi",
        "BEERJ",
        "ex. 4.03",
        lambda: abs(sec.composite_stress(40.0, 15.0e3, 1.5, 0.0, _SANDWICH)),
        MEMORY,
    ),
    Example(
        "Stress in the steel",
        22.9,
        0.05,
        "ksi",
        "BEERJ",
        "ex. 4.03",
        lambda: abs(sec.composite_stress(40.0, 29.0e3, 1.5, 0.0, _SANDWICH)),
        MEMORY,
    ),
    *(
        Example(
            f"Stress at the {name}",
            printed,
            half,
            "MPa",
            "COURSE",
            "eccentric plate on a beam",
            partial(_course, E, y),
            READ,
            "A coursework answer, not a textbook's.",
        )
        for name, E, y, printed, half in (
            ("top of the timber", E_TIMBER, 200.0, -2.76, 0.005),
            ("bottom of the timber", E_TIMBER, -200.0, 5.36, 0.005),
            ("top of the plate", E_PLATE, 208.0, -46.8, 0.05),
        )
    ),
)

# symbolic results: unit length, force and rigidity; exact, so the tolerance is that of the arithmetic
STEPPED: tuple[Example, ...] = (
    Example(
        "Simple beam, middle half 2 EI: deflection over P L³/EI",
        -3 / 256,
        1e-12,
        "1",
        "GERE7",
        "ch. 9, 3 P L³/(256 EI)",
        lambda: value_at(_stepped_simple().s, _stepped_simple().deflection, 0.5),
        MEMORY,
    ),
    Example(
        "Simple beam, middle half 2 EI: end rotation over P L²/EI",
        -5 / 128,
        1e-12,
        "1",
        "GERE7",
        "ch. 9, 5 P L²/(128 EI)",
        lambda: _stepped_simple().rotation[0],
        MEMORY,
    ),
    Example(
        "Cantilever, inner half 2 EI: tip deflection over P L³/EI",
        3 / 16,
        1e-12,
        "1",
        "GERE7",
        "ch. 9, 3 P L³/(16 EI)",
        lambda: cantilever([0, 0.5, 1.0], [2.0, 1.0], [1.0], [1.0]).deflection[-1],
        MEMORY,
    ),
    Example(
        "Simple beam, third points: P L³/EI over deflection",
        28.17,
        0.005,
        "1",
        "AISC",
        "two equal loads",
        _third_points,
        MEMORY,
    ),
)


def _rate(d: float, bore: float) -> float:
    """Twist in degrees per metre under 1200 N m, G 78 GPa."""
    return math.degrees(float(sec.twist(1.2e6, 1000.0, 78e3, sec.polar_annulus(d, bore))))


def _diameter(value: Callable[[float], float], wanted: float) -> float:
    """The diameter between 40 and 80 mm at which a falling or rising function reaches a value, by bisection."""
    low, high = 40.0, 80.0
    rising = value(high) > value(low)
    for _ in range(60):
        middle = (low + high) / 2
        if (value(middle) < wanted) == rising:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _rectangle(ratio: float) -> float:
    return float(sec.torsion_rectangle(ratio * 1.3, 1.3)) / (ratio * 1.3**4)


def _rectangle_stress(ratio: float) -> float:
    return 1 / (float(sec.torsion_stress_rectangle(1.0, ratio * 1.3, 1.3)) * ratio * 1.3**3)


TORSION: tuple[Example, ...] = (
    Example("Polar moment", 0.4970, 5e-5, "in⁴", "GERE7", "ex. 3-1", lambda: sec.polar_circle(1.5), MEMORY),
    Example(
        "Shear stress",
        4530,
        5,
        "psi",
        "GERE7",
        "ex. 3-1",
        lambda: sec.torsion_stress_annulus(250.0 * 12, 1.5, 0.0),
        MEMORY,
        "Three figures printed.",
    ),
    Example(
        "Angle of twist",
        0.02834,
        5e-6,
        "rad",
        "GERE7",
        "ex. 3-1",
        lambda: sec.twist(250.0 * 12, 54.0, 11.5e6, sec.polar_circle(1.5)),
        MEMORY,
    ),
    Example(
        "Torque allowed by 6000 psi",
        331,
        0.5,
        "lb·ft",
        "GERE7",
        "ex. 3-1",
        lambda: yield_torque(1.5, 0.0, 6000.0) / 12,
        MEMORY,
    ),
    Example(
        "Torque allowed by 2.5 degrees",
        385,
        0.5,
        "lb·ft",
        "GERE7",
        "ex. 3-1",
        lambda: math.radians(2.5) / sec.twist(1.0, 54.0, 11.5e6, sec.polar_circle(1.5)) / 12,
        MEMORY,
    ),
    Example(
        "Solid shaft, diameter by rate of twist",
        58.8,
        0.05,
        "mm",
        "GERE7",
        "ex. 3-2",
        lambda: _diameter(lambda d: _rate(d, 0.0), 0.75),
        MEMORY,
    ),
    Example(
        "Solid shaft, diameter by stress",
        53.5,
        0.05,
        "mm",
        "GERE7",
        "ex. 3-2",
        lambda: _diameter(lambda d: float(yield_torque(d, 0.0, 40.0)), 1.2e6),
        MEMORY,
    ),
    Example(
        "Hollow shaft, diameter by rate of twist",
        67.1,
        0.05,
        "mm",
        "GERE7",
        "ex. 3-2",
        lambda: _diameter(lambda d: _rate(d, 0.8 * d), 0.75),
        MEMORY,
    ),
    Example(
        "Hollow shaft, diameter by stress",
        63.7,
        0.05,
        "mm",
        "GERE7",
        "ex. 3-2",
        lambda: _diameter(lambda d: float(yield_torque(d, 0.8 * d, 40.0)), 1.2e6),
        MEMORY,
    ),
    *(
        Example(
            f"Thin tube, wall {wall:.3f} in",
            stress,
            0.005,
            "ksi",
            "BEERJ",
            "ex. 3.10",
            # the mean area is that of the 0.160 in wall in all three, as in the book
            partial(sec.torsion_stress_thin_tube, 24.0, wall, 3.84 * 2.34),
            MEMORY,
        )
        for wall, stress in ((0.160, 8.35), (0.120, 11.13), (0.200, 6.68))
    ),
    Example(
        "Hollow ellipse 10 × 8 mm, q 0.5: torsion constant",
        574.682,
        5e-4,
        "mm⁴",
        "ROARK-a",
        "table 10.1",
        lambda: sec.torsion_hollow_ellipse(10.0, 8.0, 0.5),
        HAND,
    ),
    Example(
        "Hollow ellipse 10 × 8 mm, q 0.5: stress per N·m",
        8.4883,
        5e-5,
        "MPa",
        "ROARK-a",
        "table 10.1",
        lambda: sec.torsion_stress_hollow_ellipse(1000.0, 10.0, 8.0, 0.5),
        HAND,
    ),
    Example(
        "Hollow circle as the limit of the hollow ellipse",
        920.388,
        5e-4,
        "mm⁴",
        "ROARK-a",
        "table 10.1, a = b",
        lambda: sec.torsion_hollow_ellipse(10.0, 10.0, 0.5),
        HAND,
    ),
    *(
        Example(
            f"Rectangle {ratio:g} : 1, J/(w t³)",
            beta,
            0.006 * beta,
            "1",
            "TIMO",
            "torsion of rectangles",
            partial(_rectangle, ratio),
            MEMORY,
            "The closed form of Roark is an approximation; 0.6 % is allowed.",
        )
        for ratio, beta in ((1.0, 0.141), (1.5, 0.196), (2.0, 0.229), (3.0, 0.263), (4.0, 0.281), (10.0, 0.312))
    ),
    *(
        Example(
            f"Rectangle {ratio:g} : 1, T/(τ w t²)",
            alpha,
            0.04 * alpha,
            "1",
            "TIMO",
            "torsion of rectangles",
            partial(_rectangle_stress, ratio),
            MEMORY,
            "The closed form of Roark is an approximation; 4 % is allowed.",
        )
        for ratio, alpha in ((1.0, 0.208), (1.5, 0.231), (2.0, 0.246), (3.0, 0.267), (4.0, 0.282), (10.0, 0.312))
    ),
)

EXAMPLES = COMPOSITE + STEPPED + TORSION
