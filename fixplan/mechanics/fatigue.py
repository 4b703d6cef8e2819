"""Fatigue: the Basquin line, the notch factor and the damage of a block.

Core units: MPa, cycles. Amplitudes are magnitudes. Nothing here promises weeks or predicts healing; cycles are counts
of loading. Mean stress is in `mean_stress`; lives, activity mixes and the assumed design amplitudes are in `life`.
"""

from __future__ import annotations

from typing import Any

from fixplan.formula import formula, log10
from fixplan.mechanics.guard import at_most, below, not_negative, positive

ENDURANCE = ("S_e", "MPa", "fully reversed strength at the reference life")
ULTIMATE = ("S_ut", "MPa", "tensile strength")
FRACTION = ("f", "1", "fraction of S_ut borne for 10^3 cycles")
COEFFICIENT = ("a", "MPa", "Basquin coefficient")
EXPONENT = ("b", "1", "Basquin exponent, negative")


def _line(fraction: Any, ultimate: Any, endurance: Any) -> None:
    positive("fraction", fraction)
    at_most("fraction", fraction, "1", 1, "it is a fraction of the tensile strength, usually 0.76 to 0.90")
    positive("ultimate", ultimate)
    positive("endurance", endurance)
    below("endurance", endurance, "f * S_ut", fraction * ultimate, "the line must fall: check both strengths")


@formula(
    symbol="a",
    unit="MPa",
    text="Basquin coefficient",
    args={"fraction": FRACTION, "ultimate": ULTIMATE, "endurance": ENDURANCE},
    source="SHIG9",
    where="eq. 6-14",
    valid="line through f S_ut at 10^3 and S_e at 10^6 cycles",
)
def basquin_coefficient(fraction: Any, ultimate: Any, endurance: Any) -> Any:
    """Coefficient a = (f S_ut)^2 / S_e [MPa] of S_f = a N^b. Source: SHIG9 eq. 6-14. Arguments broadcast.

    Args:
        fraction: f [-], 0 < f <= 1. ultimate: S_ut [MPa]. endurance: S_e [MPa], < f S_ut.

    Raises:
        ValueError: out of these bounds.
    """
    _line(fraction, ultimate, endurance)
    return (fraction * ultimate) ** 2 / endurance


@formula(
    symbol="b",
    unit="1",
    text="Basquin exponent",
    args={"fraction": FRACTION, "ultimate": ULTIMATE, "endurance": ENDURANCE},
    source="SHIG9",
    where="eq. 6-15",
    valid="line through f S_ut at 10^3 and S_e at 10^6 cycles",
)
def basquin_exponent(fraction: Any, ultimate: Any, endurance: Any) -> Any:
    """Exponent b = -log10(f S_ut / S_e) / 3 [-], negative. Source: SHIG9 eq. 6-15. Arguments broadcast.

    Args:
        fraction: f [-], 0 < f <= 1. ultimate: S_ut [MPa]. endurance: S_e [MPa], < f S_ut.

    Raises:
        ValueError: out of these bounds.
    """
    _line(fraction, ultimate, endurance)
    return -log10(fraction * ultimate / endurance) / 3


@formula(
    symbol="S_f",
    unit="MPa",
    text="fatigue strength at a life",
    args={"cycles": ("N", "1", "cycles"), "coefficient": COEFFICIENT, "exponent": EXPONENT},
    source="SHIG9",
    where="eq. 6-13",
    valid="between the two lives that define the line",
)
def fatigue_strength(cycles: Any, coefficient: Any, exponent: Any) -> Any:
    """Fully reversed amplitude S_f = a N^b [MPa] borne for N cycles. Source: SHIG9 eq. 6-13. Arguments broadcast.

    Args:
        cycles: N [-], > 0. coefficient: a [MPa], > 0. exponent: b [-], negative.

    Raises:
        ValueError: N or a not positive.
    """
    positive("cycles", cycles)
    positive("coefficient", coefficient)
    return coefficient * cycles**exponent


@formula(
    symbol="N",
    unit="1",
    text="cycles to failure at an amplitude",
    args={
        "amplitude": ("sigma_rev", "MPa", "fully reversed amplitude"),
        "coefficient": COEFFICIENT,
        "exponent": EXPONENT,
    },
    source="SHIG9",
    where="eq. 6-16",
    valid="between the two lives that define the line",
)
def cycles_to_failure(amplitude: Any, coefficient: Any, exponent: Any) -> Any:
    """Cycles N = (sigma_rev / a)^(1/b) [-]. Source: SHIG9 eq. 6-16. Arguments broadcast.

    Args:
        amplitude: fully reversed amplitude [MPa], > 0. coefficient: a [MPa], > 0. exponent: b [-], negative.

    Raises:
        ValueError: amplitude or a not positive.
    """
    positive("amplitude", amplitude, "at no amplitude there is no failure to count")
    positive("coefficient", coefficient)
    return (amplitude / coefficient) ** (1 / exponent)


@formula(
    symbol="K_f",
    unit="1",
    text="fatigue notch factor",
    args={
        "sensitivity": ("q", "1", "notch sensitivity, 0 to 1"),
        "concentration": ("K_t", "1", "elastic stress concentration factor"),
    },
    source="SHIG9",
    where="eq. 6-32",
    valid="K_t >= 1",
)
def notch_factor(sensitivity: Any, concentration: Any) -> Any:
    """Notch factor K_f = 1 + q (K_t - 1) [-]. Source: SHIG9 eq. 6-32. Arguments broadcast.

    Args:
        sensitivity: q [-], 0 to 1. concentration: K_t [-], >= 1.

    Raises:
        ValueError: out of these bounds.
    """
    not_negative("sensitivity", sensitivity)
    at_most("sensitivity", sensitivity, "1", 1, "q runs from 0 (blind to notches) to 1")
    at_most("1", 1, "concentration", concentration, "a notch cannot lower the stress: K_t >= 1")
    return 1 + sensitivity * (concentration - 1)


@formula(
    symbol="D",
    unit="1",
    text="Miner damage of one block",
    args={"cycles": ("n", "1", "cycles applied"), "life": ("N", "1", "cycles to failure at that amplitude")},
    source="SHIG9",
    where="eq. 6-57 and 6-58",
    valid="linear damage, no sequence effect",
)
def block_damage(cycles: Any, life: Any) -> Any:
    """Damage D = n / N [-] of one block; failure is expected when the sum reaches 1. Source: SHIG9 eq. 6-57.

    Args:
        cycles: n, >= 0. life: N, > 0. Arguments broadcast.

    Raises:
        ValueError: out of these bounds.
    """
    not_negative("cycles", cycles)
    positive("life", life)
    return cycles / life
