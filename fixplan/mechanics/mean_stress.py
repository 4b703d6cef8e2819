"""Mean-stress criteria of fatigue: Goodman, Soderberg, Gerber, ASME-elliptic, Langer.

Core units: MPa. Amplitudes and means are magnitudes (>= 0). A compressive mean earns nothing in these criteria: pass it
as 0. A factor at no stress is infinite, its true limit.
"""

from __future__ import annotations

from typing import Any

from fixplan.formula import formula, sqrt
from fixplan.mechanics.guard import below, not_negative, positive, ratio

AMPLITUDE = ("sigma_a", "MPa", "stress amplitude, notch factor included")
MEAN = ("sigma_m", "MPa", "mean stress")
ENDURANCE = ("S_e", "MPa", "fully reversed strength at the reference life")
ULTIMATE = ("S_ut", "MPa", "tensile strength")
YIELD = ("S_y", "MPa", "yield strength")
MEAN_REMEDY = "a compressive mean earns nothing: pass 0"


def _loads(amplitude: Any, mean: Any, *strengths: Any) -> None:
    not_negative("amplitude", amplitude, "give the magnitude of the amplitude")
    not_negative("mean", mean, MEAN_REMEDY)
    for name, value in zip(("endurance", "strength"), strengths, strict=False):
        positive(name, value)


@formula(
    symbol="n_f",
    unit="1",
    text="fatigue factor, Goodman",
    args={"amplitude": AMPLITUDE, "mean": MEAN, "endurance": ENDURANCE, "strength": ULTIMATE},
    source="SHIG9",
    where="eq. 6-46",
    valid="tensile mean",
)
def goodman_factor(amplitude: Any, mean: Any, endurance: Any, strength: Any) -> Any:
    """Goodman factor n = 1 / (sigma_a/S_e + sigma_m/S_ut) [-]. Source: SHIG9 eq. 6-46. Arguments broadcast.

    Args:
        amplitude, mean: [MPa], >= 0. endurance: S_e [MPa], > 0. strength: S_ut [MPa], > 0.

    Raises:
        ValueError: out of these bounds. At no stress the factor is infinite.
    """
    _loads(amplitude, mean, endurance, strength)
    return ratio(1, amplitude / endurance + mean / strength)


@formula(
    symbol="n_f",
    unit="1",
    text="fatigue factor, Soderberg",
    args={"amplitude": AMPLITUDE, "mean": MEAN, "endurance": ENDURANCE, "strength": YIELD},
    source="SHIG9",
    where="eq. 6-45",
    valid="tensile mean",
)
def soderberg_factor(amplitude: Any, mean: Any, endurance: Any, strength: Any) -> Any:
    """Soderberg factor n = 1 / (sigma_a/S_e + sigma_m/S_y) [-]. Source: SHIG9 eq. 6-45. Arguments broadcast.

    Args:
        amplitude, mean: [MPa], >= 0. endurance: S_e [MPa], > 0. strength: S_y [MPa], > 0.

    Raises:
        ValueError: out of these bounds. At no stress the factor is infinite.
    """
    _loads(amplitude, mean, endurance, strength)
    return ratio(1, amplitude / endurance + mean / strength)


@formula(
    symbol="n_f",
    unit="1",
    text="fatigue factor, Gerber",
    args={"amplitude": AMPLITUDE, "mean": MEAN, "endurance": ENDURANCE, "strength": ULTIMATE},
    source="SHIG9",
    where="eq. 6-47",
    valid="tensile mean",
)
def gerber_factor(amplitude: Any, mean: Any, endurance: Any, strength: Any) -> Any:
    """Gerber factor: the root n of n sigma_a/S_e + (n sigma_m/S_ut)^2 = 1 [-]. Source: SHIG9 eq. 6-47.

    Written as n = 2 / (A + sqrt(A^2 + 4 B^2)), A = sigma_a/S_e, B = sigma_m/S_ut; table 6-7 prints the same root in
    a form that divides by the mean and so fails at a zero mean. Arguments broadcast.

    Args:
        amplitude, mean: [MPa], >= 0. endurance: S_e [MPa], > 0. strength: S_ut [MPa], > 0.

    Raises:
        ValueError: out of these bounds. At no stress the factor is infinite.
    """
    _loads(amplitude, mean, endurance, strength)
    alternating = amplitude / endurance
    return ratio(2, alternating + sqrt(alternating**2 + 4 * (mean / strength) ** 2))


@formula(
    symbol="n_f",
    unit="1",
    text="fatigue factor, ASME-elliptic",
    args={"amplitude": AMPLITUDE, "mean": MEAN, "endurance": ENDURANCE, "strength": YIELD},
    source="SHIG9",
    where="eq. 6-48",
    valid="tensile mean",
)
def elliptic_factor(amplitude: Any, mean: Any, endurance: Any, strength: Any) -> Any:
    """ASME-elliptic factor n = 1 / sqrt((sigma_a/S_e)^2 + (sigma_m/S_y)^2) [-]. Source: SHIG9 eq. 6-48.

    Args:
        amplitude, mean: [MPa], >= 0. endurance: S_e [MPa], > 0. strength: S_y [MPa], > 0. Arguments broadcast.

    Raises:
        ValueError: out of these bounds. At no stress the factor is infinite.
    """
    _loads(amplitude, mean, endurance, strength)
    return ratio(1, sqrt((amplitude / endurance) ** 2 + (mean / strength) ** 2))


@formula(
    symbol="n_y",
    unit="1",
    text="factor against yield in the first cycle",
    args={"amplitude": AMPLITUDE, "mean": MEAN, "strength": YIELD},
    source="SHIG9",
    where="eq. 6-49, Langer",
    valid="tensile mean",
)
def first_cycle_factor(amplitude: Any, mean: Any, strength: Any) -> Any:
    """Langer factor n = S_y / (sigma_a + sigma_m) [-]. Source: SHIG9 eq. 6-49. Arguments broadcast.

    Args:
        amplitude, mean: [MPa], >= 0. strength: S_y [MPa], > 0.

    Raises:
        ValueError: out of these bounds. At no stress the factor is infinite.
    """
    _loads(amplitude, mean)
    positive("strength", strength)
    return ratio(strength, amplitude + mean)


@formula(
    symbol="sigma_rev",
    unit="MPa",
    text="fully reversed amplitude of equal damage, Goodman",
    args={"amplitude": AMPLITUDE, "mean": MEAN, "strength": ULTIMATE},
    source="SHIG9",
    where="Goodman line with S_f for S_e (sec. 6-14)",
    valid="tensile mean below S_ut",
)
def reversed_amplitude(amplitude: Any, mean: Any, strength: Any) -> Any:
    """Equivalent fully reversed amplitude sigma_rev = sigma_a / (1 - sigma_m/S_ut) [MPa].

    Source: SHIG9 sec. 6-14, the Goodman line solved for the amplitude at zero mean. Arguments broadcast.

    Args:
        amplitude: [MPa], >= 0. mean: [MPa], 0 <= mean < S_ut. strength: S_ut [MPa], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    _loads(amplitude, mean)
    positive("strength", strength)
    below("mean", mean, "strength", strength, "a mean at the tensile strength breaks in the first cycle")
    return amplitude / (1 - mean / strength)
