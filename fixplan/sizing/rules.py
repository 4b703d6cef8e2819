"""How a value is held against a limit, for one size or for many sizes and draws at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fixplan.sizing.limits import room_above, room_below

Floats = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int8]

PASS, CAUTION, FAIL = 0, 1, 2
VERDICTS = ("pass", "caution", "fail")

# Sizes are tenths of a millimetre held in binary floats: 0.1 + 0.2 misses 0.3 by 6e-17. A size that stands exactly on
# its limit meets it, so comparisons allow for rounding, a million times finer than any measurement.
ROUNDING_MM = 1e-9


@dataclass(frozen=True)
class Held:
    """One rule held against an array of sizes.

    value, limit: what was compared, in the rule's unit: the limit that fails where it is broken, else the stricter one;
    margin: how far on the good side of the stricter limit (negative: how far beyond); code: PASS, CAUTION or FAIL; NaN
    in value means that the rule does not apply, and its code is PASS.
    """

    value: Floats
    limit: Floats
    margin: Floats
    code: Codes


def at_least(value: npt.ArrayLike, fail_below: npt.ArrayLike, caution_below: npt.ArrayLike | None = None) -> Held:
    """Hold `value >= limit`: fail below `fail_below`, caution below `caution_below`; the margin is to the stricter."""
    v, low = np.asarray(value, float), np.asarray(fail_below, float)
    strict = low if caution_below is None else np.asarray(caution_below, float)
    return _held(v, strict, low, room_above(v, strict), room_above(v, low))


def at_most(value: npt.ArrayLike, fail_above: npt.ArrayLike, caution_above: npt.ArrayLike | None = None) -> Held:
    """Hold `value <= limit`: fail above `fail_above`, caution above `caution_above`."""
    v, high = np.asarray(value, float), np.asarray(fail_above, float)
    strict = high if caution_above is None else np.asarray(caution_above, float)
    return _held(v, strict, high, room_below(strict, v), room_below(high, v))


def _held(value: Floats, strict: Floats, last: Floats, to_caution: Floats, to_fail: Floats) -> Held:
    value, strict, last, to_caution, to_fail = np.broadcast_arrays(value, strict, last, to_caution, to_fail)
    code = np.zeros(value.shape, np.int8)
    code[to_caution < -ROUNDING_MM] = CAUTION
    code[to_fail < -ROUNDING_MM] = FAIL
    return Held(value, np.where(code == FAIL, last, strict), to_caution, code)


def applies(held: Held, where: npt.ArrayLike) -> Held:
    """Keep a rule only where it applies; elsewhere it passes with NaN for its numbers."""
    mask = np.broadcast_to(np.asarray(where, bool), held.code.shape)
    return Held(
        np.where(mask, held.value, np.nan),
        np.where(mask, held.limit, np.nan),
        np.where(mask, held.margin, np.nan),
        np.where(mask, held.code, PASS).astype(np.int8),
    )


def worst(held: Mapping[str, Held]) -> Codes:
    """The worst verdict over all rules, elementwise."""
    codes = np.broadcast_arrays(*(h.code for h in held.values()))
    return np.asarray(np.maximum.reduce(codes), np.int8)
