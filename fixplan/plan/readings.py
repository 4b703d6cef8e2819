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
    """Where a curve starts and ends; what lies between where it turns on the way."""
    a, b = share * curve.y[0], share * curve.y[-1]
    between = _turn(curve)
    if between is not None:
        x, y = between
        words = f"goes from {two_digits(a)} by way of {two_digits(share * y)} at {x:g} mm to {two_digits(b)}"
    elif two_digits(a) == two_digits(b):
        words = f"stays at {two_digits(a)}"
    else:
        words = f"{_shift(a, b)} from {two_digits(a)} to {two_digits(b)}"
    return words + unit


def _turn(curve: Curve) -> tuple[float, float] | None:
    """The point furthest outside the two ends of a curve; None where it does not leave them, as printed."""
    low, high = sorted((curve.y[0], curve.y[-1]))
    x, y = max(zip(curve.x, curve.y), key=lambda p: max(low - p[1], p[1] - high))
    outside = max(low - y, y - high) > FLAT_MM and two_digits(y) not in (two_digits(low), two_digits(high))
    return (x, y) if outside else None


def _range(curve: Curve) -> str:
    return f"{curve.x[0]:g} to {curve.x[-1]:g} mm"


def _trends(t: TradeOff, unit: str) -> str:
    """Each curve from end to end; its own range where it is not that of the first."""
    parts = []
    for c in t.curves:
        own = "" if _range(c) == _range(t.curves[0]) else f" from {_range(c)}"
        parts.append(f"{_ends(c)} {unit} {_end_name(c)}{own}")
    return "; it ".join(parts)


def _end_name(curve: Curve) -> str:
    return f"at the {curve.name.rsplit(', ', 1)[-1]}" + (
        f" ({curve.name.rsplit(', ', 1)[0]})" if ", " in curve.name else ""
    )


def _first(t: TradeOff) -> Picked | None:
    return t.picked[0] if t.picked else None


def _stiffness(t: TradeOff) -> str:
    span = f"From {_range(t.curves[0])} the computed stiffness {_trends(t, 'N/mm')}"
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
    text = f"From {_range(t.curves[0])} the peak stress {_trends(t, 'MPa')}"
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
        text = f"From {_range(c)} the wall is the bone's own, {mm(c.y[0])}"
    elif flat == 0:
        text = f"From {_range(c)} {_per_millimetre(c, 0)} of wall"
    elif flat + 2 < len(c.y):
        # from the next size on, whose wall is set by the screw alone
        text = (
            f"Up to {c.x[flat]:g} mm the wall is the bone's own, {mm(c.y[0])}; "
            f"from {c.x[flat + 1]:g} to {c.x[-1]:g} mm {_per_millimetre(c, flat + 1)}"
        )
    else:
        text = f"Up to {c.x[flat]:g} mm the wall is the bone's own, {mm(c.y[0])}; at {c.x[-1]:g} mm it is {mm(c.y[-1])}"
    pick = _first(t)
    here = None if pick is None else at(c, pick.at)
    told = flat + 2 == len(c.y) and pick is not None and pick.at == c.x[-1]
    if pick is not None and here is not None and not told:
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


def _per_millimetre(c: Curve, start: int) -> str:
    """What a millimetre of diameter costs from a point of the curve on; on average where it varies."""
    steps = [(b - a) / (q - p) for p, q, a, b in zip(c.x[start:], c.x[start + 1 :], c.y[start:], c.y[start + 1 :])]
    slope = (c.y[-1] - c.y[start]) / (c.x[-1] - c.x[start])
    even = all(f"{step:.1f}" == f"{slope:.1f}" for step in steps)
    word = "costs" if slope < 0 else "adds"
    return f"each millimetre of diameter {word} {'' if even else 'on average '}{abs(slope):.1f} mm"


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
        text += (
            f", and from {_range(low)} each millimetre of length moves {abs(per):.1f} mm from the tip's margin to the "
            "other"
        )
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
