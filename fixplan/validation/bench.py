"""Published bench tests beside our bracket: where each published mean falls, or why it cannot be compared.

Set-up of ours, common to all rows: a fifth metatarsal of population size (defaults of `fixplan.bone`), a fracture in
zone 2, the generic stock screw nearest to the one tested, a force at the head from plantar with the base held. The
papers print neither lever nor embedding, so a place inside the bracket is weak evidence: it is marked as a caution
throughout. A bracket is a range between two idealised ends; a test outside it is said to be outside it.
"""

from __future__ import annotations

import functools
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated

import numpy as np

from fixplan.case.read import parse_case
from fixplan.declare import DERIVED, RECORD, num
from fixplan.kits import ImScrew, load_kits
from fixplan.mechanics.construct import Bracket, screw_response
from fixplan.plan.frame import Reader, build
from fixplan.plan.resolve import resolve
from fixplan.plan.response import Setting, loads_for, screw_parts, setting
from fixplan.validation.rows import AGREES, DIFFERS, OPEN

CASE = "cantilever_plantar"
MOMENT = 400.0  # N mm; stiffness over an open gap does not depend on it
SOLID_STEEL, SOLID_TI = "im-screws-solid-steel", "im-screws-solid-ti"
CANNULATED_TI, HEADLESS_TI = "im-screws-cannulated-ti", "im-screws-variable-pitch-ti"


@dataclass(frozen=True)
class BenchRow:
    """One published result; `low` and `high` are the ends of our bracket (loose and bonded), None: not comparable."""

    study: str
    source: str
    setup: str
    unit: str
    published: Annotated[float | None, num("see unit", "published mean", RECORD, "source")]
    sd: Annotated[float | None, num("see unit", "published standard deviation", RECORD, "source")]
    n: Annotated[int | None, num("1", "specimens; None: not printed", RECORD, "source")]
    low: Annotated[float | None, num("see unit", "our loose end", DERIVED, "mechanics.screw")]
    high: Annotated[float | None, num("see unit", "our bonded end", DERIVED, "mechanics.screw")]
    verdict: str
    word: str
    why: str


@functools.cache
def population_setting() -> tuple[Setting, float]:
    """Bone and fracture of the population means, and the seat [mm]."""
    table = {
        "bone": {"ray": 5, "length": "71.4 mm", "isthmus": {"canal_ap": "4.1 mm", "canal_lateral": "5.3 mm"}},
        "fracture": {"zone": 2, "gap": "1 mm"},
    }
    resolved = resolve(parse_case(table, "population means", quick=True))
    frame, read = build(resolved), Reader(resolved)
    return setting(frame, read, 5, None), float(np.asarray(frame.site.seat))


def screw_of(kit: str, diameter: float, length: float) -> ImScrew:
    """The stock screw of a kit nearest to a diameter and length; the shorter thread in a tie."""
    stock = [s for s in load_kits().im_screws if s.kit == kit]
    return min(
        stock, key=lambda s: (abs(s.d_major - diameter), abs(s.length - length), s.thread_length or s.length, s.item)
    )


def bracket_of(screw: ImScrew, cases: tuple[str, ...] = (CASE,)) -> Bracket:
    """Both ends for one screw in the population bone.

    Raises ValueError where the screw does not bridge the fracture.
    """
    where, seat = population_setting()
    loads = loads_for(where.bone, where.fracture, MOMENT, plate=False)
    bracket = screw_response(where.bone, where.fracture, screw_parts([screw], np.asarray(seat)), loads, cases=cases)
    if not bool(bracket.valid[0]):
        raise ValueError(
            f"screw {screw.item} does not bridge the fracture of the population bone: choose another length"
        )
    return bracket


def stiffness_ends(screw: ImScrew) -> tuple[float, float]:
    """Loose and bonded stiffness [N/mm]."""
    bracket = bracket_of(screw)
    return tuple(float(end.bending[CASE].stiffness_N_per_mm[0]) for end in (bracket.loose, bracket.bonded))  # type: ignore[return-value]


def _inside(value: float, low: float, high: float) -> tuple[str, str]:
    if low <= value <= high:
        return OPEN, "inside the bracket"
    return DIFFERS, "below the bracket" if value < low else "above the bracket"


def _row(
    study: str, source: str, setup: str, mean: float, sd: float | None, n: int | None, screws: list[ImScrew], why: str
) -> BenchRow:
    ends = [stiffness_ends(s) for s in screws]
    low, high = min(e[0] for e in ends), max(e[1] for e in ends)
    verdict, word = _inside(mean, low, high)
    return BenchRow(study, source, setup, "N/mm", mean, sd, n, low, high, verdict, word, why)


UNKNOWN = "bending, set-up not printed"
NOT_PRINTED = "Lever, span and embedding are not printed, so the place is an orientation, not an agreement."


def stiffness_rows() -> tuple[BenchRow, ...]:
    """Tests that print a stiffness."""
    four = [screw_of(SOLID_STEEL, 4.0, 40.0)]
    # the deep thread of ISO 5835 HB 4.0 has a 1.9 mm core; the standard's table at hand gives no shank
    thin = stiffness_ends(replace(four[0], d_core=1.9, d_shank=1.9))[0]
    deep = (
        f"The stock screw has a {four[0].d_core:g} mm core. The one tested was a cancellous screw; with the 1.9 mm "
        f"core of ISO 5835 HB 4.0 and a shank no thicker, the loose end falls to {thin:.1f} N/mm. "
    )
    solid = [screw_of(SOLID_TI, d, 46.0) for d in (4.5, 5.5)]
    hollow = [screw_of(HEADLESS_TI, d, 46.0) for d in (4.5, 5.5)]
    sizes = "Diameter not in the text read: bracket over 4.5 to 5.5 mm. "
    return (
        _row(
            "Intramedullary screw 4.0 mm, cadaver",
            "HUS02",
            UNKNOWN,
            9.0,
            6.0,
            4,
            four,
            deep + NOT_PRINTED,
        ),
        _row(
            "Intramedullary screw 4.0 mm, bone model",
            "HUS02",
            UNKNOWN,
            9.0,
            4.0,
            5,
            four,
            deep + NOT_PRINTED,
        ),
        BenchRow(
            "Bicortical screw 3.5 mm, cadaver",
            "HUS02",
            UNKNOWN,
            "N/mm",
            19.0,
            17.0,
            5,
            None,
            None,
            OPEN,
            "not comparable",
            "A screw across both cortices, not along the canal: not one of our constructs.",
        ),
        _row("Solid screw, cadaver", "WILL20", "tendon-line tension", 24.2, 10.4, None, solid, sizes + NOT_PRINTED),
        _row(
            "Cannulated headless screw, cadaver",
            "WILL20",
            "tendon-line tension",
            24.7,
            5.5,
            None,
            hollow,
            sizes + NOT_PRINTED,
        ),
    )


def _ratio(kit: str, a: tuple[float, float], b: tuple[float, float], torsion: bool = False) -> tuple[float, float]:
    """Stiffness of screw b over screw a (diameter, length), smallest and largest of both ends."""
    found = []
    brackets = [bracket_of(screw_of(kit, *s), (CASE, "torsion") if torsion else (CASE,)) for s in (a, b)]
    for end in ("loose", "bonded"):
        values = []
        for bracket in brackets:
            side = getattr(bracket, end)
            values.append(side.torsion.stiffness_N_mm_per_rad if torsion else side.bending[CASE].stiffness_N_per_mm)
        found.append(float(np.asarray(values[1]).ravel()[0] / np.asarray(values[0]).ravel()[0]))
    return min(found), max(found)


def ratio_rows() -> tuple[BenchRow, ...]:
    """What the tests say of size: a thicker screw was not found stiffer, a longer one was softer."""
    thick = _ratio(CANNULATED_TI, (5.0, 46.0), (6.5, 46.0))
    twist = _ratio(CANNULATED_TI, (5.0, 46.0), (6.5, 46.0), torsion=True)
    three = _ratio(CANNULATED_TI, (4.5, 46.0), (5.5, 46.0))
    longer = _ratio(CANNULATED_TI, (4.5, 40.0), (4.5, 50.0))
    over = (
        "The model says stiffer, the test found no significant difference: stiffness in the test hangs on contact "
        "at the fracture and fit in the canal, which a beam of given section does not hold. The benefit of diameter is "
        "over-predicted; the plan says so where it shows stiffness."
    )
    return (
        BenchRow(
            "6.5 against 5.0 mm, bending, 23 pairs",
            "KEL01",
            "ratio of stiffness",
            "1",
            None,
            None,
            23,
            *thick,
            DIFFERS,
            "does not agree",
            "Published: not significant, numbers not at hand. " + over,
        ),
        BenchRow(
            "6.5 against 5.0 mm, torsion, 9 pairs",
            "HOR04",
            "ratio of torsional stiffness",
            "1",
            None,
            None,
            9,
            *twist,
            DIFFERS,
            "does not agree",
            "Published: not significant. " + over,
        ),
        BenchRow(
            "5.5 against 4.5 mm, three-point bending",
            "SHA01",
            "initial failure 335.2 against 332.4 N",
            "1",
            335.2 / 332.4,
            None,
            None,
            None,
            None,
            OPEN,
            "not comparable",
            "Theirs is a ratio of loads at initial failure, of the stiffness no number is at hand and the span is not "
            f"printed; ours is a ratio of stiffness, {three[0]:.2f} to {three[1]:.2f}. One says nothing of the other.",
        ),
        BenchRow(
            "30 against 40 mm, plain cannulated 4.5 mm, artificial bone",
            "SU24",
            "cantilever, 0.49 against 0.43 N/mm",
            "1",
            round(0.49 / 0.43, 2),
            None,
            None,
            None,
            None,
            OPEN,
            "ratio only",
            "Absolute values are implausibly low against cadaver tests, so only the ratio is read: the shorter "
            "screw 1.14 times as stiff. A 30 mm screw does not reach beyond a zone 2 fracture of our bone; for 40 "
            f"against 50 mm with the same thread the model gives {1 / longer[1]:.2f} to {1 / longer[0]:.2f}.",
        ),
    )


def yield_force(screw: ImScrew) -> float:
    """Force at the head [N] at which the implant's worst section reaches its least yield strength, in our bone."""
    bracket = bracket_of(screw)
    r = bracket.loose.bending[CASE]
    return float(np.asarray(r.load_N).ravel()[0]) * screw.material.yield_MPa / float(r.peak_stress_MPa[0])


def _strength(
    study: str, source: str, setup: str, mean: float, sd: float | None, n: int | None, screws: list[ImScrew]
) -> BenchRow:
    """Failure of a construct against first yield of the implant over the diameters that may have been tested."""
    ours = sorted(yield_force(s) for s in screws)
    low, high = ours[0], ours[-1]
    verdict, word = OPEN, "below the implant's yield"
    if mean > low:
        word = "within the implant's yield over the diameters"
    if mean > high:
        verdict, word = DIFFERS, "above the implant's yield"
    why = "Ours is first yield of the implant; in the test bone, purchase or plastic bending gave way. "
    if len(screws) > 1:
        why += f"Diameter not in the text read: {screws[0].d_major:g} to {screws[-1].d_major:g} mm taken. "
    return BenchRow(study, source, setup, "N", mean, sd, n, low, high, verdict, word, why + NOT_PRINTED)


def strength_rows() -> tuple[BenchRow, ...]:
    """Tests that print a load at failure."""
    solid = [screw_of(SOLID_TI, d, 44.0) for d in (4.5, 5.5)]
    headless = [screw_of(HEADLESS_TI, d, 44.0) for d in (4.5, 5.5)]
    hollow = [screw_of(CANNULATED_TI, d, 44.0) for d in (4.5, 5.5)]
    four, tendon = [screw_of(SOLID_STEEL, 4.0, 40.0)], "tendon-line tension, 1000 cycles"
    return (
        _strength(
            "Solid screw 5.5 mm, cadaver", "DUP-NEWS", "cantilever, +22 N every 10 cycles", 96.5, None, 12, solid[1:]
        ),
        _strength("Solid screw, cadaver", "WILL20", tendon, 123.8, 91.4, None, solid),
        _strength("Cannulated headless screw, cadaver", "WILL20", tendon, 91.5, 62.2, None, headless),
        _strength("Intramedullary screw 4.0 mm, cadaver", "HUS02", UNKNOWN, 29.0, 20.0, 4, four),
        _strength("Cannulated screw, cadaver", "TBW23", "cyclic bending", 70.0, 66.5, 8, hollow),
    )


def unusable_rows() -> tuple[BenchRow, ...]:
    """Tests without numbers at hand, or of other constructs and joints."""

    def row(study: str, source: str, setup: str, why: str, published: float | None = None, unit: str = "1") -> BenchRow:
        return BenchRow(study, source, setup, unit, published, None, None, None, None, OPEN, "not comparable", why)

    return (
        row(
            "Screw against hook plate, 8 pairs",
            "HUH16",
            "bending and torsion",
            "Screw stiffer in bending; no stiffness at hand. In DUP18 the plate was stronger: the two "
            "disagree, and neither construct is ranked above the other here.",
        ),
        row(
            "Plate, 12 pairs",
            "DUP-NEWS",
            "cantilever, +22 N every 10 cycles",
            "Plantar-lateral plate 3.0 mm: failure of the construct under a growing load; lever not printed.",
            159.2,
            "N",
        ),
        row(
            "Part-threaded against tapered screw, 23 pairs",
            "ORR12",
            "1000 cycles",
            "Compression and angulation without numbers at hand.",
        ),
        row(
            "Lag screw 6.5 mm against headless tapered",
            "SID06",
            "bending and pull-out",
            "Bending not different, pull-out higher with 6.5 mm (p 0.001); numbers not at hand. "
            "The thread model agrees in direction.",
        ),
        row("Six constructs, synthetic", "SHI", "cantilever, force at 1 mm", "Numbers not at hand."),
        row(
            "Crossed screws, plate with lag screw; first joint",
            "CAMP17",
            "stiffness 152.4 and 122.1 N/mm",
            "Fusion of a joint with crossed screws: not one of our constructs.",
        ),
        row(
            "Plantar plate against intramedullary device, first joint",
            "TMT14",
            "four-point, 131 and 43.3 N/mm",
            "Spans not at hand; another joint.",
        ),
        row(
            "Medial against dorsal plates, osteotomy",
            "UANDES13",
            "158 and 228 % greater",
            "Another site; foam. The model agrees in direction: a plate on edge is stiffer than one on the flat.",
        ),
        row(
            "Two empty holes at the fracture, long-bone plate",
            "BRIDGE17",
            "stiffness -45 %",
            "Another bone; motion mostly shear, as in the model of unlocked ends.",
        ),
    )


def bench_rows() -> tuple[BenchRow, ...]:
    """Every bench test of the fact sheet that could be read, usable or not."""
    return stiffness_rows() + ratio_rows() + strength_rows() + unusable_rows()


@dataclass(frozen=True)
class WordCount:
    """How many rows bear one verdict word."""

    verdict: str
    word: str
    rows: Annotated[int, num("1", "rows with this word", DERIVED, "bench rows")]


def word_counts(rows: Sequence[BenchRow]) -> tuple[WordCount, ...]:
    """One count per verdict word, in the order in which the words first appear; they add up to the rows."""
    counts = Counter((row.verdict, row.word) for row in rows)
    return tuple(WordCount(verdict, word, n) for (verdict, word), n in counts.items())


__all__ = ["AGREES", "BenchRow", "WordCount", "bench_rows", "word_counts"]
