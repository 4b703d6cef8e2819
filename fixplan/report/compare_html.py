"""The comparison as one self-contained HTML page: no script, no request, the same bytes for the same comparison."""

from __future__ import annotations

from typing import Any

from fixplan.cautions import CAUTION_SHORT
from fixplan.plan.compare_types import CompareCell, Compared, Comparison
from fixplan.plan.types import PASS, Finding
from fixplan.report.around import AROUND_FILTERS, charts_of
from fixplan.report.formats import NARROW, margin, mm, percent, significant, unit_text
from fixplan.report.style import content_policy, environment, stylesheet
from fixplan.report.svg import mark
from fixplan.report.tradeoff_charts import row_chart
from fixplan.report.views import FIT_WORDS, bends_first, source_ids

THOUSANDTH = 0.001
PICTURED = ("stiffness-0", "stress", "gap-strain")
"""Rows that are drawn as well as tabled."""


def value_text(value: float | None, unit: str, name: str) -> str:
    """One end of a bracket without its unit."""
    if value is None:
        return "not known"
    if unit == "mm":
        return margin(value) if name == "tightest" else fine(value) if name.startswith("gap") else mm(value)
    if unit == "1" and name.startswith("gap"):
        return percent(value).removesuffix(f"{NARROW}%")
    return significant(value)


def cell_text(cell: CompareCell, unit: str, name: str) -> str:
    """A cell as words: one number, or both ends of a bracket, with what is said beside it."""
    if cell.low is None and cell.high is None:
        return cell.text
    low, high = value_text(cell.low, unit, name), value_text(cell.high, unit, name)
    text = low if low == high else f"{low} to {high}"
    return f"{text} ({cell.text})" if cell.text else text


def fine(value: float) -> str:
    """A motion in mm, to two digits, and no finer than thousandths."""
    return significant(value) if value == 0 or abs(value) >= THOUSANDTH else f"below {THOUSANDTH:g}"


def held_findings(k: Compared) -> list[Finding]:
    """The rules a construct is held against, then the cautions of its mechanics that are not among them."""
    held = k.screw or k.plate
    own = list(held.findings) if held else []
    return own + [f for f in k.cautions if f not in own]


def verdict_words(k: Compared) -> str:
    """What stands behind the verdict over the sizing rules: that cautions go with it, and their rules."""
    rules = ", ".join(f.label.removeprefix(f"{k.kind}: ") for f in k.cautions)
    if not rules:
        return ""
    return f"with cautions: {rules}" if k.verdict == PASS else f"not met: {rules}"


def row_unit(unit: str, name: str) -> str:
    """The unit as a row prints it; strain in per cent."""
    return "%" if unit == "1" and name.startswith("gap") else unit_text(unit) if unit else ""


def render_compare_html(comparison: Comparison) -> str:
    """The comparison as one HTML document."""
    css = stylesheet("plan.css.j2", "context.css.j2", "compare.css.j2", "print.css.j2")
    charts = [
        (row, svg)
        for row in comparison.rows
        if row.name in PICTURED
        for svg in (row_chart(row, comparison.constructs, f"row-{row.name}"),)
        if svg is not None
    ]
    given: dict[str, Any] = {
        "c": comparison,
        "css": css,
        "policy": content_policy(css),
        "caution_short": CAUTION_SHORT,
        "known": frozenset(s.id for s in comparison.sources),
        "fit_word": FIT_WORDS.get(comparison.fit_for_planning.verdict, comparison.fit_for_planning.verdict),
        "assumed": [g for g in comparison.given if g.origin == "assumed"],
        "trolley": [cell.text for row in comparison.rows if row.name == "trolley" for cell in row.cells],
        "row_charts": charts,
        "tradeoff_charts": charts_of(comparison.tradeoffs),
        "mark": mark,
    }
    env = environment()
    env.filters.update(AROUND_FILTERS)
    env.filters.update(source_ids=source_ids, cell_text=cell_text, row_unit=row_unit)
    env.filters.update(bends_first=bends_first, held_findings=held_findings, verdict_words=verdict_words)
    return env.get_template("compare.html.j2").render(given)
