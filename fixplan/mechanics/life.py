"""Cycles to the design amplitude, as a band, and the Miner sum of an activity mix.

The result is a number of loading cycles beside the steps of a day. It promises no weeks: how a patient loads the
foot, and how far healing takes load off the implant, is not known here. No endurance limit is assumed: the Basquin line
runs on, and the result says where it left the lives that define it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fixplan.mechanics.fatigue import block_damage, cycles_to_failure
from fixplan.mechanics.guard import at_most, below, positive, refuse_unless
from fixplan.mechanics.mean_stress import reversed_amplitude
from fixplan.mechanics.published import Published

Array = npt.NDArray[np.float64]
STATEMENT = (
    "Loading cycles, not weeks: an assumed design amplitude, an assumed notch factor and an assumed load. "
    "Nothing here says when bone heals or when an implant breaks in this patient."
)
REFERENCE_LIFE = Published(
    "cycles at which a design amplitude is meant", 1e6, None, None, "1", "F1264-web", "F",
    "bending fatigue strength of intramedullary devices is stated at 1 000 000 cycles",
)  # fmt: skip
SHORT_LIFE = Published(
    "short end of the Basquin line", 1e3, None, None, "1", "SHIG9", "F", "f S_ut at 10^3 cycles, sec. 6-8"
)
STRENGTH_FRACTION = Published(
    "fraction f of the tensile strength borne for 10^3 cycles", 0.9, None, None, "1", "SHIG9", "F",
    "steel below 70 kpsi; carried over to implant metals as an assumption",
)  # fmt: skip
_ASSUMED = "fully reversed, polished or rolled, before the notch factor; an assumption, not a citation"
DESIGN_AMPLITUDES: dict[str, Published] = {
    key: Published(f"design amplitude, {text}", value, None, None, "MPa", "PROJECT", "assumed", _ASSUMED)
    for key, text, value in (
        ("316L-cold-worked", "316L-type steel, cold worked", 300.0),
        ("316L-annealed", "316L-type steel, annealed", 180.0),
        ("Ti-6Al-4V-ELI", "Ti-6Al-4V ELI", 450.0),
        ("Ti-6Al-7Nb", "Ti-6Al-7Nb", 400.0),
        ("cp-Ti-4", "commercially pure titanium, grade 4", 200.0),
    )
}
THREAD_NOTCH_FACTORS: dict[str, Published] = {
    "rolled thread": Published(
        "notch factor of a rolled thread", 2.2, 2.2, 3.0, "1", "SHIG9", "M-h", "table 8-16, softer to harder steel"
    ),
    "cut thread": Published(
        "notch factor of a cut thread", 2.8, 2.8, 3.8, "1", "SHIG9", "M-h", "table 8-16, softer to harder steel"
    ),
    "fillet": Published("notch factor of the fillet under the head", 2.1, 2.1, 2.3, "1", "SHIG9", "M-h", "table 8-16"),
}


@dataclass(frozen=True)
class BasquinLine:
    """The line S = a N^b through two points, and the lives between which it was defined."""

    coefficient: Array
    exponent: Array
    life_lo: float
    life_hi: float


def line_through(strength_lo: npt.ArrayLike, life_lo: float, strength_hi: npt.ArrayLike, life_hi: float) -> BasquinLine:
    """The Basquin line through (life_lo, strength_lo) and (life_hi, strength_hi). Source: SHIG9 eq. 6-13.

    With lives of 10^3 and 10^6 it is that of `basquin_coefficient` and `basquin_exponent`; here the lives are free.

    Args:
        strength_lo: amplitude at the shorter life [MPa]. strength_hi: amplitude at the longer life [MPa], lower.
        life_lo, life_hi: cycles, increasing.

    Raises:
        ValueError: not positive, lives not increasing, strengths not falling.
    """
    high, low = (np.asarray(v, dtype=np.float64) for v in (strength_lo, strength_hi))
    positive("strength_hi", low)
    positive("life_lo", life_lo)
    below("life_lo", life_lo, "life_hi", life_hi, "give the shorter life first")
    below("strength_hi", low, "strength_lo", high, "the line must fall: check both strengths")
    exponent = np.log(low / high) / np.log(life_hi / life_lo)
    return BasquinLine(high / life_lo**exponent, np.asarray(exponent), life_lo, life_hi)


def design_line(design_amplitude: npt.ArrayLike, ultimate: npt.ArrayLike) -> BasquinLine:
    """The Basquin line of a metal from 0.9 S_ut at 10^3 cycles to its design amplitude at 10^6 cycles.

    The fraction 0.9 is that of steel (SHIG9), carried over; the design amplitude is assumed (DESIGN_AMPLITUDES).

    Args:
        design_amplitude: fully reversed [MPa], > 0, below 0.9 S_ut. ultimate: S_ut [MPa]. Both broadcast.

    Raises:
        ValueError: out of these bounds.
    """
    short = STRENGTH_FRACTION.mid * np.asarray(ultimate, dtype=np.float64)
    return line_through(short, SHORT_LIFE.mid, design_amplitude, REFERENCE_LIFE.mid)


@dataclass(frozen=True)
class LifeBand:
    """Cycles to the line, worst to best, beside the loading cycles of one foot in a day.

    The last axis of every array runs over the band: worst, middle, best.
    """

    amplitude: Array
    """Fully reversed local amplitude, notch factor and mean stress included [MPa]."""
    cycles: Array
    outside_line: npt.NDArray[np.bool_]
    """True where the life lies outside the lives that define the line: extrapolated."""
    cycles_per_day: Array
    """Loading cycles of one foot in a day for the same three ends: most, middle, fewest."""
    statement: str = STATEMENT


def life_band(
    amplitude: npt.ArrayLike,
    mean: npt.ArrayLike,
    notch: npt.ArrayLike,
    ultimate: npt.ArrayLike,
    line: BasquinLine,
    cycles_per_day: npt.ArrayLike,
) -> LifeBand:
    """Cycles to the design line for a band of load and notch factor.

    The notch factor multiplies the amplitude only, as for ductile metals (SHIG9 sec. 6-13 on mean stress).

    Args:
        amplitude: nominal amplitude [MPa], (..., 3), worst (largest) first, > 0.
        mean: nominal mean [MPa], broadcasts, >= 0 and below `ultimate`.
        notch: notch factor K_f, broadcasts with (..., 3); worst (largest) first where it has a band; >= 1.
        ultimate: S_ut [MPa], broadcasts.
        line: the Basquin line of the smooth material.
        cycles_per_day: loading cycles of one foot in a day, (..., 3), most first, > 0.

    Raises:
        ValueError: a last axis that is not 3, values out of bounds, a band that is not ordered worst to best.
    """
    a, k = np.asarray(amplitude, dtype=np.float64), np.asarray(notch, dtype=np.float64)
    per_day = np.asarray(cycles_per_day, dtype=np.float64)
    for name, value in (("amplitude", a), ("cycles_per_day", per_day)):
        if value.shape[-1:] != (3,):
            raise ValueError(f"{name} has shape {value.shape}: the last axis must be 3; give worst, middle, best")
        positive(name, value)
        refuse_unless(value[..., :-1] >= value[..., 1:], name, value[..., 1:], "must not rise", "worst first")
    at_most("1", 1.0, "notch", k, "a notch factor is at least 1")
    local = reversed_amplitude(k * a, np.asarray(mean, dtype=np.float64), np.asarray(ultimate, dtype=np.float64))
    cycles = cycles_to_failure(local, line.coefficient, line.exponent)
    # a life on the end of the line is not outside it for a rounding error
    outside = (cycles < line.life_lo * (1 - 1e-9)) | (cycles > line.life_hi * (1 + 1e-9))
    return LifeBand(local, cycles, outside, per_day)


@dataclass(frozen=True)
class MinerMix:
    """Miner sum over activities; the last axis of the first three arrays runs over them."""

    life: Array
    damage: Array
    share: Array
    """Part of the total damage that each activity does."""
    total: Array
    rounds_to_one: Array
    """How many repeats of the whole mix bring the sum to 1."""
    statement: str = STATEMENT


def miner_mix(amplitude: npt.ArrayLike, cycles: npt.ArrayLike, line: BasquinLine) -> MinerMix:
    """Miner sum over an activity mix. Source: SHIG9 eq. 6-57.

    Args:
        amplitude: fully reversed local amplitude of each activity [MPa], (..., k), > 0.
        cycles: cycles of each activity in one round of the mix (for instance a day), (..., k), >= 0, not all 0.
        line: the Basquin line of the material; broadcasts with (...).

    Raises:
        ValueError: out of bounds, or no cycles at all.
    """
    a, n = np.broadcast_arrays(np.asarray(amplitude, dtype=np.float64), np.asarray(cycles, dtype=np.float64))
    refuse_unless(n.sum(axis=-1) > 0, "cycles", n.sum(axis=-1), "must not all be 0", "give the mix at least one cycle")
    coefficient, exponent = np.asarray(line.coefficient)[..., None], np.asarray(line.exponent)[..., None]
    life = cycles_to_failure(a, coefficient, exponent)
    damage = block_damage(n, life)
    total = damage.sum(axis=-1)
    return MinerMix(life, damage, damage / total[..., None], total, 1 / total)
