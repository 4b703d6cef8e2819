"""How constructs differ, and what bench tests say of each difference on each row of a comparison."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fixplan.appraisal.evidence import statement
from fixplan.plan.compare_types import BenchSays, CompareCell, Compared
from fixplan.plan.constructs import PLATE, metal
from fixplan.plan.context import evidence

DIAMETER, SOLID = "smaller against larger diameter", "solid against hollow"
METAL, LENGTH = "steel against titanium", "longer against shorter"
THREAD, KIND = "partly threaded against variable pitch", "screw against plate"
SPAN, GAP = "plate screws and working length", "gap strain"
CLOSED, COUNT = "gap open against closed", "number of plate screws"


# a plate's working length, length and screws change together: these count as one difference
TIED = frozenset({LENGTH, COUNT})

# tested on screws alone: these statements say nothing of two plates that differ so
OF_SCREWS = frozenset({METAL, LENGTH})

# the stiffness rows are bending at the head: what was tested under these loads does not judge them
TORSION, AXIAL = "torsion", "axial load and torsion"
ONE_WAY = "bending, and the finding turns on its direction"


@dataclass(frozen=True)
class BenchTest:
    """A bench statement on one row: of the two compared it put `higher` first, or neither ("").

    `load` names the load tested where it is not that of the row: such a test stands beside and decides nothing.
    """

    row: str
    comparison: str
    statement: str
    higher: str
    load: str = ""


# which statement of evidence.toml speaks of which row, and which side it found higher; "" means no difference was found
TESTS: tuple[BenchTest, ...] = (
    BenchTest("stiffness", DIAMETER, "bench-diameter-50-65", ""),
    BenchTest("stiffness", DIAMETER, "bench-diameter-torsion", "", TORSION),
    BenchTest("strength", DIAMETER, "bench-diameter-45-55", ""),
    BenchTest("purchase", DIAMETER, "bench-diameter-50-65", "larger"),
    BenchTest("stiffness", SOLID, "bench-solid-cannulated", ""),
    BenchTest("strength", SOLID, "bench-solid-cannulated", "solid"),
    BenchTest("stiffness", THREAD, "bench-thread-type-bending", ""),
    BenchTest("purchase", THREAD, "bench-thread-type-bending", "partly threaded"),
    BenchTest("gap", THREAD, "bench-thread-type", "variable pitch"),
    BenchTest("stiffness", LENGTH, "bench-length", "shorter"),
    BenchTest("stiffness", METAL, "bench-material", "untested"),
    BenchTest("stiffness", KIND, "bench-screw-better", "screw"),
    BenchTest("stiffness", KIND, "bench-plate-synthetic", "plate"),
    BenchTest("strength", KIND, "bench-plate-better", "plate"),
    BenchTest("gap", KIND, "bench-plate-better", "screw"),
    BenchTest("gap", KIND, "bench-screw-better", "plate"),
    BenchTest("stiffness", SPAN, "bench-working-length", "shorter working length", AXIAL),
    BenchTest("stiffness", SPAN, "bench-working-length-tension", "shorter working length", ONE_WAY),
    BenchTest("stiffness", SPAN, "bench-working-length-femur", "shorter working length"),
    BenchTest("gap", SPAN, "bench-working-length-femur", "longer working length"),
)


def _features(c: Compared) -> dict[str, str | float]:
    """What may differ, by comparison; the value is compared between two constructs of one kind."""
    if c.screw is not None:
        return {
            DIAMETER: c.screw.diameter_mm,
            SOLID: "solid" if c.screw.cannula_mm == 0 else "hollow",
            METAL: metal(c.screw.material),
            LENGTH: c.screw.length_mm,
            THREAD: "variable pitch" if c.screw.thread == "full-length" else "partly threaded",
        }
    assert c.plate is not None
    taken = [sum(s.filled and s.side == side for s in c.plate.screws) for side in ("proximal", "distal")]
    return {
        METAL: metal(c.plate.material),
        SPAN: c.plate.working_length_mm or 0.0,
        LENGTH: c.plate.length_mm,
        COUNT: f"{taken[0]} + {taken[1]}",
    }


def _sides(a: Compared, b: Compared) -> dict[str, tuple[str, str]]:
    """For each comparison in which two constructs differ, the word for either side."""
    if a.kind != b.kind:
        return {KIND: (a.kind, b.kind)}
    found: dict[str, tuple[str, str]] = {}
    mine, other = _features(a), _features(b)
    words = {
        DIAMETER: ("smaller", "larger"),
        LENGTH: ("shorter", "longer"),
        SPAN: ("shorter working length", "longer working length"),
    }
    for name, x in mine.items():
        y = other[name]
        if x == y:
            continue
        if isinstance(x, str):
            found[name] = (x, str(y))
        else:
            low, high = words[name]
            found[name] = (low, high) if x < float(y) else (high, low)
    if a.gap_state != b.gap_state:
        found[CLOSED] = (a.gap_state, b.gap_state)
    return found


def differences(found: Sequence[Compared]) -> tuple[str, ...]:
    """In words, how each pair differs."""
    lines = []
    for a, b in pairs_of(found):
        sides = _sides(a, b)
        text = "; ".join(f"{name} ({x} and {y})" for name, (x, y) in sides.items()) or "nothing that is tested"
        line = f"{a.letter} and {b.letter} differ in {text}."
        if len(sides) > 1:
            line += " A bench test of one difference says little where several differ."
        lines.append(line)
    return tuple(lines)


def pairs_of(found: Sequence[Compared]) -> list[tuple[Compared, Compared]]:
    return [(a, b) for k, a in enumerate(found) for b in found[k + 1 :]]


def alike(a: float, b: float) -> bool:
    """Whether two numbers are the same to the two digits that are shown."""
    return f"{a:.1e}" == f"{b:.1e}"


def _order(a: CompareCell, b: CompareCell) -> tuple[int, int] | None:
    """For the loose and the bonded end: 1 where a is higher, -1 where b is, 0 where alike; None where not known."""
    signs = []
    for x, y in ((a.low, b.low), (a.high, b.high)):
        if x is None or y is None:
            return None
        signs.append(0 if alike(x, y) else 1 if x > y else -1)
    return signs[0], signs[1]


def bench_says(topic: str, found: Sequence[Compared], cells: Sequence[CompareCell]) -> tuple[BenchSays, ...]:
    """What bench tests say, for pairs that differ in one way only; pairs of which the same is said stand together."""
    if not topic:
        return ()
    by_letter = {c.letter: cell for c, cell in zip(found, cells)}
    pairs: dict[tuple[str, str, str, tuple[str, ...]], list[str]] = {}
    for a, b in pairs_of(found):
        sides = _sides(a, b)
        tied = TIED if a.kind == b.kind == PLATE else frozenset()
        if len([name for name in sides if name not in tied]) > 1:
            continue
        for comparison, words in sides.items():
            if a.kind == b.kind == PLATE and comparison in OF_SCREWS:
                continue
            tests = [t for t in TESTS if t.row == topic and t.comparison == comparison]
            tests.sort(key=lambda t: bool(t.load))
            order = _order(by_letter[a.letter], by_letter[b.letter])
            if tests and order is not None:
                key = (comparison, *verdict_of(words, tests, order), tuple(t.statement for t in tests))
                pairs.setdefault(key, []).append(f"{a.letter} and {b.letter}")
    return tuple(
        BenchSays(
            "; ".join(names),
            comparison,
            verdict,
            f"{'; '.join(names)}, {comparison}: {text}.",
            tuple(evidence(statement(i)) for i in ids),
        )
        for (comparison, verdict, text, ids), names in pairs.items()
    )


def verdict_of(sides: tuple[str, str], tests: Sequence[BenchTest], order: tuple[int, int]) -> tuple[str, str]:
    """Verdict and words on a pair, `order` its signs at loose and bonded end; tests of another load are only named."""
    model = "" if sum(order) == 0 else sides[0] if sum(order) > 0 else sides[1]
    tested = {t.higher for t in tests if not t.load} or {"untested"}
    aside = [f"{t.load} ({', '.join(statement(t.statement).sources)})" for t in tests if t.load]
    computed = (
        f"the beams put the {model} higher"
        if model
        else "the beams set the two alike"
        if order == (0, 0)
        else "the beams put one higher at one end and the other at the other end"
    )
    if tested == {"untested"}:
        verdict = "not tested"
        found = f"no bench test of this difference{' under this load' if aside else ''} was found"
    elif len(tested) > 1:
        verdict, found = "disagrees", "the bench tests disagree with each other"
    else:
        side = next(iter(tested))
        found = f"bench tests found the {side} higher" if side else "bench tests showed no difference"
        verdict = "agrees" if side == model else "denies"
    if aside:
        found += f". Beside it, of another load and without a say: {'; '.join(aside)}"
    return verdict, f"{computed}; {found}"
