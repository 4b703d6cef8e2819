"""The validation page: what the program was held against, row by row, with those that do not agree."""

from __future__ import annotations

import re
from itertools import groupby

from fixplan import __version__
from fixplan.cautions import CAUTION_SHORT, CAUTIONS
from fixplan.report.formats import MINUS, unit_text
from fixplan.report.style import content_policy, environment, stylesheet
from fixplan.report.svg import mark
from fixplan.sources import CITATION_NOTE, all_sources
from fixplan.validation.collect import Validation

RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def figures(value: float | None, digits: int = 6) -> str:
    """A number to at most `digits` significant digits; a dash where there is none."""
    if value is None:
        return "–"
    text = f"{value:.{digits}g}"
    if "e" in text:
        mantissa, exponent = text.split("e")
        return f"{mantissa.replace('-', MINUS)} × 10{str(int(exponent)).translate(RAISED)}"
    return text.replace("-", MINUS)


def short(value: float | None) -> str:
    """A difference to two digits."""
    return figures(value, 2)


def percent(share: float | None) -> str:
    """A share to a whole percent; a dash where there is none."""
    return "–" if share is None else f"{100 * share:.0f} %"


def _used(found: Validation) -> set[str]:
    """Ids of every source the page names, in a column or in a sentence."""
    texts = [t for b in found.bench for t in (b.source, b.why)]
    texts += [found.population, *found.series, *(s.source for s in found.shares)]
    return {c.source for g in found.groups for c in g.checks} | {
        name for text in texts for name in re.findall(r"[A-Z][A-Za-z0-9-]+", text)
    }


def render_validation(found: Validation) -> str:
    """The page as one HTML document: no script, no request, the same bytes for the same rows."""
    css = stylesheet("validation.css.j2")
    used = _used(found)
    env = environment()
    env.filters.update(figures=figures, short=short, percent=percent, unit_text=unit_text)
    return env.get_template("validation.html.j2").render(
        css=css,
        policy=content_policy(css),
        version=__version__,
        caution_short=CAUTION_SHORT,
        cautions=CAUTIONS,
        mark=mark,
        found=found,
        chapters=[(name, list(groups)) for name, groups in groupby(found.groups, key=lambda g: g.chapter)],
        differing=[c for g in found.groups for c in g.checks if c.verdict != "pass"],
        sources=[s for s in all_sources().values() if s.id in used],
        citation_note=CITATION_NOTE,
    )
