"""Everything the validation page shows, collected once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from fixplan.declare import DERIVED, num
from fixplan.kits import load_kits
from fixplan.mechanics.correction_data import ORIGIN_TEXT
from fixplan.plan.population import DRAWS, SERIES, ShareRow, explanation, share_rows
from fixplan.validation import books, shigley, tables
from fixplan.validation.bench import BenchRow, WordCount, bench_rows, word_counts
from fixplan.validation.libraries import frame_checks, section_checks, stepped_checks
from fixplan.validation.rows import AGREES, DIFFERS, OPEN, Check, Example, check
from fixplan.validation.solids import solid_checks

_EXAMPLES: tuple[tuple[str, str, Sequence[Example]], ...] = (
    ("Fatigue: Basquin, Goodman, Gerber, Miner", "printed", shigley.FATIGUE),
    ("Joints: sharing, separation, preload", "printed", shigley.JOINTS),
    ("Composite beams", "printed", books.COMPOSITE),
    ("Beams: stepped, with shear", "printed", (*shigley.BEAMS, *books.STEPPED)),
    ("Torsion of circles, ellipses, thin tubes, rectangles", "printed", books.TORSION),
    ("Stress areas of threads", "printed", tables.STRESS_AREAS),
    ("Geometry of the bow", "printed", tables.GEOMETRY),
    ("Pull-out of threads", "by hand", tables.PULLOUT),
    ("Breaking torque of screws", "by hand", tables.TORQUES),
    ("Sections of implants and bone", "by hand", tables.SECTIONS),
    ("Bone: strength and strain", "by hand", tables.BONE),
)


@dataclass(frozen=True)
class Group:
    """Rows of one kind, with their count and worst row; `share` is the largest difference over its tolerance."""

    id: str
    title: str
    chapter: str
    note: str
    checks: tuple[Check, ...]
    agree: Annotated[int, num("1", "rows that agree", DERIVED, "checks")]
    share: Annotated[float | None, num("1", "largest difference over what is allowed", DERIVED, "checks")]
    verdict: str


@dataclass(frozen=True)
class Validation:
    """The whole page: groups of numeric checks, bench tests, and populations.

    `words`: one count per verdict word of the bench tests. `shares`: of two published series, the bones that take each
    diameter; `series` says what was drawn, `population` why the series and our rules disagree.
    """

    groups: tuple[Group, ...]
    bench: tuple[BenchRow, ...]
    words: tuple[WordCount, ...]
    shares: tuple[ShareRow, ...]
    series: tuple[str, ...]
    population: str
    total: Annotated[int, num("1", "numeric rows", DERIVED, "groups")]
    agree: Annotated[int, num("1", "numeric rows that agree", DERIVED, "groups")]


BOOKS, LIBRARIES, SOLIDS = "Published examples", "Reference libraries", "Three-dimensional solids"
NOTES = {
    "printed": "Expected values as printed; tolerance: half a unit of the last printed digit unless the row says more.",
    "by hand": "No worked example is printed: the published formula or table was worked by hand.",
    LIBRARIES: "General-purpose libraries; their answers are stored with version and mesh error, ours are made now.",
    SOLIDS: ORIGIN_TEXT + " The same rows show the beam without its correction.",
}


def _group(number: int, title: str, chapter: str, note: str, checks: Sequence[Check]) -> Group:
    shares = [abs(c.difference) / c.tolerance for c in checks if c.difference is not None and c.tolerance]
    agree = sum(c.verdict == AGREES for c in checks)
    verdict = AGREES if agree == len(checks) else DIFFERS if any(c.verdict == DIFFERS for c in checks) else OPEN
    return Group(f"group-{number}", title, chapter, note, tuple(checks), agree, max(shares, default=None), verdict)


def _split(checks: Sequence[Check]) -> list[tuple[str, list[Check]]]:
    named: dict[str, list[Check]] = {}
    for c in checks:
        named.setdefault(c.group, []).append(c)
    return list(named.items())


SEED = 0


def _series() -> tuple[str, ...]:
    """What was drawn of each series, in words."""
    made = [series() for series in SERIES.values()]
    said = [
        f"{s.source}: length {s.length:.1f} ± {s.length_sd:.1f} mm, canal {s.canal:.1f} ± {s.canal_sd:.2f} mm wide; "
        f"{s.note}."
        for s in made
    ]
    drawn = (
        f"{DRAWS} made-up bones each, fracture in zone 2, seed {SEED}; a share is sure to 1 percentage point (two "
        "standard errors). The height of the canal, outer widths and seat as a plan with the least input assumes "
        "them; a bone that cannot be is left out."
    )
    return (*said, drawn)


def validation() -> Validation:
    """Compute every check."""
    parts: list[tuple[str, str, str, Sequence[Check]]] = [
        (title, BOOKS, NOTES[kind], [check(title, e) for e in examples]) for title, kind, examples in _EXAMPLES
    ]
    for checks in (section_checks(), frame_checks(), stepped_checks()):
        parts += [(title, LIBRARIES, NOTES[LIBRARIES], rows) for title, rows in _split(list(checks))]
    parts += [(title, SOLIDS, NOTES[SOLIDS], rows) for title, rows in _split(list(solid_checks()))]
    groups = tuple(_group(k, *part) for k, part in enumerate(parts))
    total, agree = sum(len(g.checks) for g in groups), sum(g.agree for g in groups)
    bench, shares = bench_rows(), share_rows(load_kits().im_screws, DRAWS, SEED)
    return Validation(groups, bench, word_counts(bench), shares, _series(), explanation(), total, agree)


__all__ = ["BOOKS", "LIBRARIES", "SOLIDS", "Group", "Validation", "validation"]
