"""The comparison as a table for a terminal: 80 columns, plain words, no colour."""

from __future__ import annotations

import textwrap

from fixplan.plan.compare_types import Comparison
from fixplan.report.compare_html import cell_text, row_unit, verdict_words
from fixplan.report.text import WIDTH, plain, wrap
from fixplan.report.views import FIT_WORDS

LABEL = 22
"""Columns for the name of a row; the constructs share the rest."""
BELOW = ("fit", "trolley")
"""Rows whose cells are sentences: set below the table, one paragraph for each construct."""


def render_compare_text(c: Comparison) -> str:
    """The comparison: constructs, table, readings with bench evidence, cautions."""
    lines = wrap(f"{c.case.label}: {c.case.side} foot, metatarsal {c.case.ray}, {c.case.zone_label}", "")
    verdict = c.fit_for_planning.verdict
    lines += wrap(
        f"Usually a case for a construct? {FIT_WORDS.get(verdict, verdict)}. {c.fit_for_planning.sentence}", ""
    )
    lines += ["", "Constructs"]
    for k in c.constructs:
        verdict = f"{k.verdict}, {verdict_words(k)}" if k.cautions else k.verdict
        lines += wrap(f"{k.letter}  {k.label}, item {k.item}, {k.gap_state}: {verdict}", "  ", "     ")
        lines += wrap(k.under_load, "     ") if k.under_load else []
        for note in k.notes:
            lines += wrap(note, "     ")
    lines += ["", *_table(c), ""]
    lines += wrap("A bracket runs from the loose to the bonded end of the beams. " + c.note, "")
    lines += ["", "Which is higher, and what bench tests say"]
    for row in c.rows:
        if not row.reading:
            continue
        lines += wrap(f"- {row.label}: {row.reading} {row.note}".rstrip(), "  ", "    ")
        for b in row.bench:
            ids = ", ".join(dict.fromkeys(e.source for e in b.evidence))
            lines += wrap(f"bench, {b.verdict}: {b.text} [{ids}]", "    ", "      ")
    lines += ["", *_fit(c)]
    for row in c.rows:
        if row.name == "trolley":
            lines += ["", row.label]
            for k, cell in zip(c.constructs, row.cells):
                lines += wrap(f"{k.letter}  {cell.text}", "  ", "     ")
    if c.findings:
        lines += ["", "Cautions of the case, whatever the construct"]
        for f in c.findings:
            lines += wrap(f"- {f.label}: {f.why}", "  ", "    ")
    lines += ["", "How they differ"]
    for text in c.differences:
        lines += wrap(f"- {text}", "  ", "    ")
    lines += ["", "Trade-offs"]
    for t in c.tradeoffs:
        lines += wrap(f"- {t.title}: {t.reading}", "  ", "    ")
    lines += ["", "Cautions"]
    for caution in c.cautions:
        lines += wrap(f"- {caution}", "  ", "    ")
    return "\n".join(lines) + "\n"


def _fit(c: Comparison) -> list[str]:
    """The verdicts over the sizing rules, then each caution once with the constructs it holds for."""
    lines = ["Fit, and the cautions that go with it"]
    lines += [f"  {k.letter}  {k.verdict}{'' if k.cautions else ': every rule is met'}" for k in c.constructs]
    letters: dict[tuple[str, str, str], list[str]] = {}
    for k in c.constructs:
        for f in k.cautions:
            letters.setdefault((f.label, f.verdict, f.why), []).append(k.letter)
    for (label, verdict, why), of in letters.items():
        lines += wrap(f"- {', '.join(of)}, {label}, {verdict}: {why}", "  ", "    ")
    return lines


def _table(c: Comparison) -> list[str]:
    wide = (WIDTH - LABEL) // len(c.constructs)
    rule = "-" * (LABEL + wide * len(c.constructs))
    heads = [textwrap.shorten(plain(f"{k.letter}  {k.asked}"), wide - 1, placeholder="...") for k in c.constructs]
    lines = [" " * LABEL + "".join(head.ljust(wide) for head in heads).rstrip(), rule]
    for row in c.rows:
        if row.name in BELOW:
            continue
        unit = plain(row_unit(row.unit, row.name))
        label = textwrap.wrap(plain(row.label + (f", {unit}" if unit else "")), LABEL - 1)
        cells = [textwrap.wrap(plain(cell_text(x, row.unit, row.name)), wide - 1) or [""] for x in row.cells]
        for n in range(max(len(label), *(len(x) for x in cells))):
            parts = [(label[n] if n < len(label) else "").ljust(LABEL)]
            parts += [(x[n] if n < len(x) else "").ljust(wide) for x in cells]
            lines.append("".join(parts).rstrip())
    return [*lines, rule]
