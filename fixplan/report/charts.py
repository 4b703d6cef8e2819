"""Pictures of windows and brackets: limits as lines, windows as bars, stock as marks, published tests as ticks."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from fixplan.plan.types import CAUTION, FAIL, PASS, BenchTick, Limit, LoadResponse, Window
from fixplan.report.formats import limit_mm, number, significant
from fixplan.report.svg import circle, figure, line, mark, polygon, rect, text

WIDTH, LEFT, RIGHT, ROW = 88.0, 2.0, 86.0, 8.0
LABEL_CHARACTERS = 52


@dataclass(frozen=True)
class Axis:
    """Where a value falls between LEFT and RIGHT, and where the ticks are."""

    lo: float
    hi: float
    step: float

    def x(self, value: float) -> float:
        return LEFT + (RIGHT - LEFT) * (value - self.lo) / (self.hi - self.lo)

    def ticks(self) -> list[float]:
        count = round((self.hi - self.lo) / self.step)
        return [self.lo + k * self.step for k in range(count + 1)]


def axis_over(values: Iterable[float], from_zero: bool = False) -> Axis:
    """A round axis that holds all values; steps of 1, 2 or 5 times a power of ten, four to eight of them."""
    found = [v for v in values if math.isfinite(v)]
    lo, hi = (0.0 if from_zero else min(found)), max(found)
    spread = hi - lo or 1.0
    power = 10.0 ** math.floor(math.log10(spread / 4))
    step = next(m * power for m in (1, 2, 5, 10) if spread / (m * power) <= 7)
    return Axis(math.floor(lo / step - 0.05) * step if not from_zero else 0.0, math.ceil(hi / step + 0.05) * step, step)


def short(label: str, ending: str = "") -> str:
    """A label cut to the width of the picture, its ending kept whole; the table or the description holds the rest."""
    room = LABEL_CHARACTERS - len(ending)
    return (label if len(label) <= room else label[: room - 1].rstrip() + "…") + ending


def _ruler(axis: Axis, y: float, top: float, unit: str) -> list[Markup]:
    decimals = max(0, -math.floor(math.log10(axis.step)))
    parts = [line((LEFT, y), (RIGHT, y), "axis")]
    for v in axis.ticks():
        parts.append(line((axis.x(v), top), (axis.x(v), y), "grid"))
        parts.append(line((axis.x(v), y), (axis.x(v), y + 1), "axis"))
        parts.append(text(axis.x(v), y + 4, number(v, decimals), "t small", "middle"))
    if unit:
        parts.append(text(RIGHT, y + 7.6, unit, "t small", "end"))
    return parts


def _arrow(x: float, y: float, direction: int) -> Markup:
    return polygon(((x, y), (x - 1.6 * direction, y - 0.8), (x - 1.6 * direction, y + 0.8)), "arrow")


def best_verdicts(sizes: Iterable[tuple[float, str]]) -> dict[float, str]:
    """For each size the best verdict among the stock items that have it."""
    order = {PASS: 0, CAUTION: 1, FAIL: 2}
    best: dict[float, str] = {}
    for size, verdict in sizes:
        if size not in best or order[verdict] < order[best[size]]:
            best[size] = verdict
    return dict(sorted(best.items()))


def window_text(window: Window) -> str:
    """The window in words."""
    if window.empty:
        return f"no window: low end {limit_mm(window.lo_mm)} mm is above high end {limit_mm(window.hi_mm)} mm"
    words = f"{limit_mm(window.lo_mm)} to {limit_mm(window.hi_mm)} mm"
    if window.hi_permissive_mm is not None:
        words += f" (permissive to {limit_mm(window.hi_permissive_mm)} mm)"
    return words


def _window_words(window: Window, limits: Sequence[Limit], best: dict[float, str]) -> str:
    words = [f"Window: {window_text(window)}"]
    words += [f"{m.label}: {'at least' if m.end == 'low' else 'at most'} {limit_mm(m.value_mm)} mm" for m in limits]
    listed = "; ".join(f"{number(size, 1)} mm {verdict}" for size, verdict in best.items())
    words.append(f"Stock sizes: {listed}" if listed else "No stock size with this thread")
    return ". ".join(words) + "."


def window_chart(
    window: Window,
    limits: Sequence[Limit],
    sizes: Iterable[tuple[float, str]],
    title: str,
    chosen: float | None,
    id_: str,
) -> Markup:
    """One window: each limit as a line towards the side it allows, the window below them, stock sizes as marks."""
    best = best_verdicts(sizes)
    ends = [window.lo_mm, window.hi_mm] + ([window.hi_permissive_mm] if window.hi_permissive_mm is not None else [])
    axis = axis_over([*(m.value_mm for m in limits), *best, *ends])
    body: list[Markup] = []
    bottom = ROW * (len(limits) + 2) + 1
    body += _ruler(axis, bottom, 1.0, "")
    y = 0.0
    for limit in limits:
        low = limit.end == "low"
        x, edge = axis.x(limit.value_mm), RIGHT if low else LEFT
        body.append(text(LEFT, y + 3, short(limit.label), "t"))
        body.append(text(RIGHT, y + 3, f"{'≥' if low else '≤'} {limit_mm(limit.value_mm)}", "t strong", "end"))
        body.append(line((x, y + 5.3), (edge, y + 5.3), "allowed"))
        body.append(_arrow(edge, y + 5.3, 1 if low else -1))
        body.append(line((x, y + 3.9), (x, y + 6.7), "limit"))
        y += ROW
    lo, hi = axis.x(window.lo_mm), axis.x(window.hi_mm)
    body.append(text(LEFT, y + 3, "Window", "t strong"))
    body.append(
        text(
            RIGHT,
            y + 3,
            f"{limit_mm(window.lo_mm)} to {limit_mm(window.hi_mm)} mm" if not window.empty else "none",
            "t strong",
            "end",
        )
    )
    if window.empty:
        body.append(rect(hi, y + 4.1, max(lo - hi, 0.1), 2.4, "clash"))
    else:
        body.append(rect(lo, y + 4.1, hi - lo, 2.4, "window"))
        if window.hi_permissive_mm is not None and window.hi_permissive_mm > window.hi_mm:
            body.append(rect(hi, y + 4.1, axis.x(window.hi_permissive_mm) - hi, 2.4, "window-permissive"))
    y += ROW
    body.append(text(LEFT, y + 3, "Stock sizes", "t strong"))
    if not best:
        body.append(text(RIGHT, y + 3, "none with this thread", "t", "end"))
    for size, verdict in best.items():
        body.append(mark(verdict, axis.x(size), y + 5.6, 1.1))
    if chosen is not None:
        body.append(circle(axis.x(chosen), y + 5.6, 2.0, "chosen"))
    return figure(id_, WIDTH, bottom + 5.0, title, _window_words(window, limits, best), body)


def bracket_chart(responses: Sequence[LoadResponse], bench: Sequence[BenchTick], title: str, id_: str) -> Markup:
    """Stiffness at the head from the loose to the bonded end, with published bench tests as ticks (mean, one SD)."""
    ends = [e.stiffness_N_per_mm for r in responses for e in (r.loose, r.bonded)]
    published = [t.mean_N_per_mm + (t.sd_N_per_mm or 0.0) for t in bench]
    axis = axis_over([*ends, *published], from_zero=True)
    body: list[Markup] = []
    bottom = ROW * (len(responses) + len(bench)) + (4.5 if bench else 0) + 1
    body += _ruler(axis, bottom, 1.0, "N/mm at the head")
    words, y = [], 0.0
    for r in responses:
        loose, bonded = r.loose.stiffness_N_per_mm, r.bonded.stiffness_N_per_mm
        a, b = axis.x(loose), axis.x(bonded)
        span = f"{significant(loose)} to {significant(bonded)}"
        body.append(text(LEFT, y + 3, short(r.label), "t"))
        body.append(text(RIGHT, y + 3, span, "t strong", "end"))
        body.append(rect(min(a, b), y + 4.4, abs(b - a), 1.8, "window"))
        body.append(circle(a, y + 5.3, 1.2, "loose-end"))
        body.append(circle(b, y + 5.3, 1.2, "bonded-end"))
        words.append(f"{r.label}: loose end {significant(loose)}, bonded end {significant(bonded)} N/mm")
        y += ROW
    if bench:
        body.append(line((LEFT, y + 1.2), (RIGHT, y + 1.2), "thin"))
        body.append(text(LEFT, y + 4.4, "Published bench tests: mean and one standard deviation", "t small"))
        y += 4.5
    for t in bench:
        x = axis.x(t.mean_N_per_mm)
        value = significant(t.mean_N_per_mm)
        body.append(text(LEFT, y + 3, short(t.label, f"{f', n {t.n}' if t.n else ''} [{t.source}]"), "t"))
        if t.sd_N_per_mm:
            sd = t.sd_N_per_mm
            lo = axis.x(max(t.mean_N_per_mm - sd, 0.0))
            body.append(line((lo, y + 5.3), (axis.x(t.mean_N_per_mm + sd), y + 5.3), "spread"))
            value += f" ± {significant(sd)}"
        body.append(text(RIGHT, y + 3, value, "t strong", "end"))
        body.append(line((x, y + 3.9), (x, y + 6.7), "limit"))
        words.append(f"published, {t.label}: {value} N/mm")
        y += ROW
    return figure(id_, WIDTH, bottom + 8.4, title, f"{'. '.join(words)}.", body)
