"""Pictures of trade-offs: curves told apart by dash and dot, limits as lines, published tests as ticks on the axis."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from markupsafe import Markup

from fixplan.plan.compare_types import Compared, CompareRow
from fixplan.plan.types import Curve, Mark, TradeOff
from fixplan.report.charts import LEFT, RIGHT, ROW, WIDTH, Axis, axis_over, short
from fixplan.report.formats import number, percent, significant, unit_text
from fixplan.report.svg import Point, circle, figure, line, polyline, rect, text

PLOT_LEFT, PLOT_RIGHT, PLOT_HEIGHT = 13.0, 85.0, 40.0
LEGEND_ROW = 4.2
# a mark further above the curves than this is told in the table only: it would flatten the curves
HEADROOM = 1.6


def shown(value: float, unit: str) -> str:
    """A value of a picture as it is printed: strain in per cent, the rest to two digits or one decimal of mm."""
    if unit == "1":
        return percent(value)
    if unit == "mm":
        return number(value, 1)
    return significant(value)


def printed(value: float, unit: str) -> str:
    """A limit or a published value of a picture: with its own digits, which were given and not computed."""
    return shown(value, unit) if unit in ("1", "mm") else number(value, 0 if value == round(value) else 1)


def in_range(t: TradeOff) -> tuple[Mark, ...]:
    """The marks that the axis holds without flattening the curves."""
    top = max(max(c.y) for c in t.curves)
    return tuple(m for m in t.marks if m.at <= HEADROOM * max(top, 0.0) or m.at == 0.0)


def tradeoff_chart(t: TradeOff, id_: str) -> Markup:
    """One picture, with a title and a description that says what is drawn and how it reads."""
    marks = in_range(t)
    xs = [x for c in t.curves for x in c.x] + [p.at for p in t.picked]
    ys = [y for c in t.curves for y in c.y] + [m.at for m in marks]
    share = 100.0 if t.y_unit == "1" else 1.0
    across = axis_over(xs)
    up = axis_over([share * y for y in ys], from_zero=min(ys) >= 0.0)
    top = LEGEND_ROW * (len(t.curves) + (1 if any(m.kind == "published" for m in marks) else 0)) + 6.5
    bottom = top + PLOT_HEIGHT

    def place(x: float, y: float) -> Point:
        return (
            PLOT_LEFT + (PLOT_RIGHT - PLOT_LEFT) * (x - across.lo) / (across.hi - across.lo),
            bottom - PLOT_HEIGHT * (share * y - up.lo) / (up.hi - up.lo),
        )

    body = _frame(across, up, top, bottom, t)
    body += _marks(t, marks, place)
    for p in t.picked:
        x = place(p.at, 0.0)[0]
        body += [line((x, top), (x, bottom), "picked"), text(x, top - 0.8, p.label, "t small strong", "middle")]
    for k, c in enumerate(t.curves):
        body += _curve(c, k, [place(x, y) for x, y in zip(c.x, c.y)])
        body += _key(c.name, k, LEGEND_ROW * (k + 0.7))
    if any(m.kind == "published" for m in marks):
        y = LEGEND_ROW * (len(t.curves) + 0.7)
        body += [line((3.5, y - 0.9), (7.0, y - 0.9), "published"), text(10.0, y, "published mean", "t small")]
    words = f"{t.y_label} over {t.x_label}. {t.reading}"
    return figure(id_, WIDTH, bottom + 9.0, t.title, words, body)


def _frame(across: Axis, up: Axis, top: float, bottom: float, t: TradeOff) -> list[Markup]:
    parts = [
        line((PLOT_LEFT, top), (PLOT_LEFT, bottom), "axis"),
        line((PLOT_LEFT, bottom), (PLOT_RIGHT, bottom), "axis"),
    ]
    for axis, flat in ((across, True), (up, False)):
        decimals = max(0, -math.floor(math.log10(axis.step)))
        for v in axis.ticks():
            share = (v - axis.lo) / (axis.hi - axis.lo)
            if flat:
                x = PLOT_LEFT + (PLOT_RIGHT - PLOT_LEFT) * share
                parts += [line((x, bottom), (x, bottom + 1), "axis")]
                parts.append(text(x, bottom + 4, number(v, decimals), "t small", "middle"))
            else:
                y = bottom - PLOT_HEIGHT * share
                parts += [
                    line((PLOT_LEFT, y), (PLOT_RIGHT, y), "grid"),
                    line((PLOT_LEFT - 1, y), (PLOT_LEFT, y), "axis"),
                ]
                parts.append(text(PLOT_LEFT - 1.6, y + 0.9, number(v, decimals), "t small", "end"))
    unit = "%" if t.y_unit == "1" else unit_text(t.y_unit)
    parts.append(text(PLOT_LEFT - 1.6, top - 3.2, unit, "t small", "end"))
    parts.append(text(PLOT_RIGHT, bottom + 7.6, f"{short(t.x_label)}, {unit_text(t.x_unit)}", "t small", "end"))
    return parts


def _marks(t: TradeOff, marks: Sequence[Mark], place: Callable[[float, float], Point]) -> list[Markup]:
    parts = []
    for m in marks:
        y = place(0.0, m.at)[1]
        if m.kind == "published":
            parts.append(line((PLOT_LEFT - 1.2, y), (PLOT_LEFT + 3.5, y), "published"))
        else:
            parts.append(line((PLOT_LEFT, y), (PLOT_RIGHT, y), "bound"))
            words = short(m.label if m.at == 0 else f"{m.label} {printed(m.at, t.y_unit)}")
            # at the side where the curves leave more room
            room = [min(abs(c.y[end] - m.at) for c in t.curves) for end in (0, -1)]
            left = room[0] > room[1]
            x = PLOT_LEFT + 0.8 if left else PLOT_RIGHT
            parts.append(text(x, y - 0.7, words, "t small", "start" if left else "end"))
    return parts


def _curve(c: Curve, k: int, points: Sequence[Point]) -> list[Markup]:
    parts = [polyline(points, f"curve curve-{k}")]
    if len(points) <= 24:
        parts += [circle(x, y, 0.8, f"dot dot-{k % 2}") for x, y in points]
    return parts


def _key(name: str, k: int, y: float) -> list[Markup]:
    return [
        line((1.0, y - 0.9), (9.0, y - 0.9), f"curve curve-{k}"),
        circle(5.0, y - 0.9, 0.8, f"dot dot-{k % 2}"),
        text(10.5, y, short(name), "t small"),
    ]


def row_chart(row: CompareRow, constructs: Sequence[Compared], id_: str) -> Markup | None:
    """One quantity of all constructs as bars from end to end, the same ends as in the plan; None without numbers."""
    known = [(c, cell) for c, cell in zip(constructs, row.cells) if cell.low is not None and cell.high is not None]
    if len(known) < 2:
        return None
    share = 100.0 if row.unit == "1" and row.name.startswith("gap") else 1.0
    axis = axis_over([share * v for _, c in known for v in (c.low, c.high) if v is not None], from_zero=True)
    bottom = ROW * len(known) + 1
    decimals = max(0, -math.floor(math.log10(axis.step)))
    body = [line((LEFT, bottom), (RIGHT, bottom), "axis")]
    for v in axis.ticks():
        x = axis.x(v)
        body += [line((x, 1.0), (x, bottom), "grid"), line((x, bottom), (x, bottom + 1), "axis")]
        body.append(text(x, bottom + 4, number(v, decimals), "t small", "middle"))
    unit = "%" if share == 100.0 else unit_text(row.unit)
    if unit:
        body.append(text(RIGHT, bottom + 7.6, unit, "t small", "end"))
    words = []
    for n, (c, cell) in enumerate(known):
        assert cell.low is not None
        assert cell.high is not None
        y = ROW * n
        low, high = share * cell.low, share * cell.high
        a, b = axis.x(low), axis.x(high)
        span = f"{significant(low)} to {significant(high)}"
        body.append(text(LEFT, y + 3, short(f"{c.letter}  {c.label}"), "t"))
        body.append(text(RIGHT, y + 3, span, "t strong", "end"))
        body.append(rect(min(a, b), y + 4.4, abs(b - a), 1.8, "window"))
        body += [circle(a, y + 5.3, 1.2, "loose-end"), circle(b, y + 5.3, 1.2, "bonded-end")]
        words.append(f"{c.letter}: {row.ends[0]} end {significant(low)}, {row.ends[1]} end {significant(high)} {unit}")
    return figure(id_, WIDTH, bottom + 8.4, row.label, f"{'; '.join(words)}. {row.reading}", body)
