"""The one sentence under each picture, made from its curves and nothing else: change the curve and it follows."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from fixplan.plan.types import Curve, Picked, TradeOff

FLAT_MM = 1e-9
"""Walls that differ by less than this are one wall: the rounding of binary floats, not a measure."""


def read(t: TradeOff) -> str:
    """The reading of a picture. Raises KeyError for a picture that has none."""
    return READINGS[t.name](t)


def at(curve: Curve, x: float) -> float | None:
    """The curve at x, straight between its points; None outside them."""
    if not curve.x[0] <= x <= curve.x[-1]:
        return None
    return float(np.interp(x, curve.x, curve.y))


def crossing(curve: Curve, level: float) -> float | None:
    """The first x at which the curve passes a level, straight between its points; None where it never does."""
    y = np.asarray(curve.y) - level
    for k in range(len(y) - 1):
        if y[k] == 0:
            return curve.x[k]
        if y[k] * y[k + 1] < 0:
            return curve.x[k] - float(y[k]) * (curve.x[k + 1] - curve.x[k]) / float(y[k + 1] - y[k])
    return curve.x[-1] if y[-1] == 0 else None


def two_digits(value: float) -> str:
    """Two significant digits, written out."""
    rounded = float(f"{value:.1e}")
    if rounded == 0:
        return "0"
    digits = max(0, 1 - int(np.floor(np.log10(abs(rounded)))))
    return f"{rounded:.{digits}f}"


def _shift(a: float, b: float) -> str:
    return "rises" if b > a else "falls" if b < a else "stays"


def _ends(curve: Curve, share: float = 1.0, unit: str = "") -> str:
    a, b = share * curve.y[0], share * curve.y[-1]
    if two_digits(a) == two_digits(b):
        return f"stays at {two_digits(a)}{unit}"
    return f"{_shift(a, b)} from {two_digits(a)} to {two_digits(b)}{unit}"


def _end_name(curve: Curve) -> str:
    return f"at the {curve.name.rsplit(', ', 1)[-1]}" + (
        f" ({curve.name.rsplit(', ', 1)[0]})" if ", " in curve.name else ""
    )


def _first(t: TradeOff) -> Picked | None:
    return t.picked[0] if t.picked else None


def _stiffness(t: TradeOff) -> str:
    parts = [f"{_ends(c)} N/mm {_end_name(c)}" for c in t.curves]
    span = f"From {t.curves[0].x[0]:g} to {t.curves[0].x[-1]:g} mm the computed stiffness {'; it '.join(parts)}"
    published = [m.at for m in t.marks if m.kind == "published"]
    pick = _first(t)
    if published and pick is not None:
        here = [v for v in (at(c, pick.at) for c in t.curves[:2]) if v is not None]
        lo, hi = min(published), max(published)
        if len(here) == 2:
            soft, stiff = min(here), max(here)
            where = (
                "below the bracket" if hi < soft
                else "above the bracket" if lo > stiff
                else "within the bracket" if soft <= lo and hi <= stiff
                else "partly within the bracket"
            )  # fmt: skip
            span += f"; the published means of {lo:g} to {hi:g} N/mm lie {where} at {pick.at:g} mm"
    return span + "; bench tests did not show that a larger diameter is stiffer."


def _stress(t: TradeOff) -> str:
    parts = [f"{_ends(c)} MPa {_end_name(c)}" for c in t.curves]
    text = f"From {t.curves[0].x[0]:g} to {t.curves[0].x[-1]:g} mm the peak stress {'; it '.join(parts)}"
    worst, limits = t.curves[0], [m.at for m in t.marks if m.kind == "limit"]
    if limits:
        level = min(limits)
        x = crossing(worst, level)
        if x is not None:
            text += f"; {_end_name(worst)} it passes the least yield of {level:g} MPa at about {x:.1f} mm"
        elif max(worst.y) < level:
            text += f"; {_end_name(worst)} it stays below the least yield of {level:g} MPa at every size drawn"
        else:
            text += f"; {_end_name(worst)} it is above the least yield of {level:g} MPa at every size drawn"
    return text + "."


def _wall(t: TradeOff) -> str:
    c = t.curves[0]
    level = next((m.at for m in t.marks if m.kind == "limit"), None)

    def mm(y: float) -> str:
        # a second decimal only where one would read as the limit itself
        same = level is not None and f"{y:.1f}" == f"{level:.1f}" and abs(y - level) > FLAT_MM
        return f"{y:.2f} mm" if same else f"{y:.1f} mm"

    flat = next((k for k, y in enumerate(c.y) if abs(y - c.y[0]) > FLAT_MM), len(c.y)) - 1
    if flat == len(c.y) - 1:
        text = f"At every size drawn the wall is the bone's own, {mm(c.y[0])}"
    else:
        slope = (c.y[-1] - c.y[flat]) / (c.x[-1] - c.x[flat])
        word = "costs" if slope < 0 else "adds"
        text = f"Each millimetre of diameter {word} {abs(slope):.1f} mm of wall"
        if flat > 0:
            text = f"Up to {c.x[flat]:g} mm the wall is the bone's own, {mm(c.y[0])}; above it each millimetre of "
            # from the next size on, whose wall is set by the screw alone
            slope = (c.y[-1] - c.y[flat + 1]) / (c.x[-1] - c.x[flat + 1]) if flat + 2 < len(c.y) else slope
            text += f"diameter {word} {abs(slope):.1f} mm"
    pick = _first(t)
    here = None if pick is None else at(c, pick.at)
    if pick is not None and here is not None:
        text += f"; {mm(here)} is left at {pick.at:g} mm"
    if level is not None:
        x = crossing(c, level)
        if x is not None:
            text += f", and the least wall of {level:g} mm is reached at {x:.1f} mm"
        elif min(c.y) > level:
            text += f", and no size drawn reaches the least wall of {level:g} mm"
        else:
            text += f", and every size drawn leaves less than the least wall of {level:g} mm"
    return text + "."


def _margins(t: TradeOff) -> str:
    low, tip = t.curves[0], t.curves[-1]
    good = [x for x, a, b in zip(low.x, low.y, tip.y) if a >= -1e-9 and b >= -1e-9]
    if good:
        span = f"{good[0]:g} mm alone" if len(good) == 1 else f"{good[0]:g} to {good[-1]:g} mm"
        text = f"Both margins are met by {span}"
    else:
        text = "No length meets both margins"
    pick = _first(t)
    if pick is not None:
        a, b = at(low, pick.at), at(tip, pick.at)
        if a is not None and b is not None:
            name, least = (low.name, a) if a < b else (tip.name, b)
            text += f"; at {pick.at:g} mm the smaller is {least:.1f} mm ({name})"
    if len(low.x) > 1:
        per = (low.y[-1] - low.y[0]) / (low.x[-1] - low.x[0])
        text += f", and each millimetre of length moves {abs(per):.1f} mm from the tip's margin to the other"
    return text + "."


def _strain(t: TradeOff) -> str:
    loose = t.curves[0]
    pick = _first(t)
    if pick is None:
        span = f"{loose.x[0]:.1f} to {loose.x[-1]:.1f} mm"
        return f"From {span} the gap strain {_ends(loose, 100.0, ' %')} {_end_name(loose)}."
    here, half = at(loose, pick.at), at(loose, pick.at / 2)
    if here is None:
        return f"The working length of {pick.at:.1f} mm lies outside the curve."
    if half is not None:
        return (
            f"Halving the working length from {pick.at:.1f} to {pick.at / 2:.1f} mm takes the gap strain from "
            f"{two_digits(100 * here)} to {two_digits(100 * half)} % {_end_name(loose)}."
        )
    return (
        f"The working length of {pick.at:.1f} mm cannot be halved here; at the shortest drawn, {loose.x[0]:.1f} mm, "
        f"the gap strain is {two_digits(100 * loose.y[0])} % against {two_digits(100 * here)} % {_end_name(loose)}."
    )


READINGS: dict[str, Callable[[TradeOff], str]] = {
    "stiffness-diameter": _stiffness,
    "stress-diameter": _stress,
    "wall-diameter": _wall,
    "length-margins": _margins,
    "strain-working-length": _strain,
}
