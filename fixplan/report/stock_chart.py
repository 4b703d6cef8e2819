"""The trade-off as a picture: share served over the number of sizes held."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from fixplan.report.charts import axis_over
from fixplan.report.svg import circle, figure, line, polyline, text
from fixplan.stock.coverage import SizeSet

WIDTH, HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 120.0, 62.0, 14.0, 118.0, 4.0, 50.0
TENTHS = (0, 20, 40, 60, 80, 100)


def trade_off_chart(curve: Sequence[SizeSet], attainable: float, chosen: int | None) -> Markup:
    """One dot for each number of sizes; a line at what all sizes together serve; `chosen` sizes stand out."""
    axis = axis_over([float(len(s.sizes)) for s in curve] + [1.0], from_zero=True)

    def x(count: float) -> float:
        return LEFT + (RIGHT - LEFT) * count / axis.hi

    def y(share: float) -> float:
        return BOTTOM - (BOTTOM - TOP) * share

    parts: list[Markup] = []
    for tenth in TENTHS:
        parts.append(line((LEFT, y(tenth / 100)), (RIGHT, y(tenth / 100)), "axis" if tenth == 0 else "grid"))
        parts.append(text(LEFT - 1.2, y(tenth / 100) + 1, f"{tenth} %", "t small", "end"))
    for tick in axis.ticks():
        if tick == round(tick):
            parts.append(line((x(tick), BOTTOM), (x(tick), BOTTOM + 1), "axis"))
            parts.append(text(x(tick), BOTTOM + 4.4, f"{tick:g}", "t small", "middle"))
    parts.append(text(RIGHT, BOTTOM + 9, "number of sizes held", "t small", "end"))
    parts.append(line((LEFT, y(attainable)), (RIGHT, y(attainable)), "attainable"))
    parts.append(text(RIGHT, y(attainable) - 1.2, f"all sizes together: {100 * attainable:.1f} %", "t small", "end"))
    parts.append(polyline([(x(len(s.sizes)), y(s.share.share)) for s in curve], "curve"))
    for s in curve:
        here = len(s.sizes) == chosen
        parts.append(circle(x(len(s.sizes)), y(s.share.share), 1.3 if here else 0.6, "m-pass"))
        if here:
            words = f"smallest set: {chosen} sizes, {100 * s.share.share:.1f} %"
            parts.append(text(x(len(s.sizes)), y(s.share.share) + 5, words, "t small", "start"))
    told = ", ".join(f"{len(s.sizes)}: {100 * s.share.share:.1f} %" for s in curve)
    return figure(
        "trade-off", WIDTH, HEIGHT, "Share served by number of sizes", f"The same as the table: {told}.", parts
    )
