"""Published series of fifth metatarsals drawn as populations, and the sizes they take under the planning rules.

A series is taken as normal about its printed mean, cut off at zero. What it does not print is borrowed and said so:
the height of the canal from its ratio to the width (DES16), outer widths from one foot scaled with the length, the seat
from CUB22, everything else as a plan with the least input assumes it. How they vary together is not printed.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Annotated, Any

import numpy as np
import numpy.typing as npt

from fixplan.bone.defaults import canal_share, default
from fixplan.case.read import parse_case
from fixplan.declare import ASSUMED, DERIVED, RECORD, num
from fixplan.kits import ImScrew
from fixplan.plan.draws import CHUNK, Drawn, Progress, one, possible, tally, uncertain
from fixplan.plan.frame import bores, build
from fixplan.plan.resolve import Resolved, resolve
from fixplan.plan.screws import column_frame, permitted
from fixplan.sizing.rules import FAIL, Floats, at_least, at_most
from fixplan.sizing.screw import diameter_window

DIAMETERS = (4.0, 4.5, 5.0, 5.5)
DRAWS = 10_000


@dataclass(frozen=True)
class Series:
    """A published series as a population: mean and standard deviation of length and canal width [mm]."""

    source: str
    length: Annotated[float, num("mm", "mean length", RECORD, "source")]
    length_sd: Annotated[float, num("mm", "standard deviation of the length", RECORD, "note")]
    canal: Annotated[float, num("mm", "mean canal width on the AP film", RECORD, "source")]
    canal_sd: Annotated[float, num("mm", "standard deviation of the canal width", RECORD, "note")]
    straight: Annotated[float | None, num("1", "end of the straight segment over the length", RECORD, "source")]
    note: str


@dataclass(frozen=True)
class Population:
    """n drawn bones held against m stock sizes.

    acceptable: (n, m), True where no rule fails; choice: (n,), index of the first choice, -1 where no size is left;
    values: the draws by parameter name, each (n,); words: what was drawn and from where.
    """

    series: Series
    acceptable: npt.NDArray[np.bool_]
    choice: npt.NDArray[np.intp]
    values: Mapping[str, Floats]
    words: str


@dataclass(frozen=True)
class ShareRow:
    """Shares of one series for one diameter."""

    series: str
    diameter_mm: Annotated[float, num("mm", "major diameter", ASSUMED, "DIAMETERS")]
    uncut: Annotated[float, num("1", "share whose straight corridor is wider than this", DERIVED, "plan.population")]
    held: Annotated[
        float, num("1", "share in which it bites and widens the canal by no more than allowed", DERIVED, "plan")
    ]
    walled: Annotated[float, num("1", "share that keeps the least wall too", DERIVED, "plan.population")]
    stocked: Annotated[
        float | None, num("1", "share that takes a stock size of this diameter by every rule", DERIVED, "plan")
    ]
    published: str
    source: str


def des16() -> Series:
    """DES16: 241 CT, canal at the apex of the bow, mean and standard deviation as printed."""
    length, canal = default(5, "length"), default(5, "canal_ap")
    note = "means and standard deviations as printed; canal read at the apex of the bow"
    return Series("DES16", length.value, length.sd, canal.value, canal.sd, None, note)


def och15() -> Series:
    """OCH15: 119 models, canal at the isthmus; the spread follows from the shares printed above 4.5 mm.

    Mean 5.0 mm, above 4.5 mm in 81 % of men and 74 % of women: with the plain mean of the two shares (the numbers of
    men and women are not known here) sd = (5.0 - 4.5) / z(share). Length 76.5 mm, as 52 mm of straight segment over
    68 %; its relative spread is borrowed from DES16.
    """
    row = canal_share()
    mean = next(o.value for o in default(5, "canal_ap").other if o.source == "OCH15")
    long = next(o.value for o in default(5, "length").other if o.source == "OCH15")
    assert mean is not None
    assert long is not None
    share = (row.men_och15 + row.women_och15) / 2
    sd = (mean - row.above) / NormalDist().inv_cdf(share)
    length = default(5, "length")
    note = (
        "mean as printed, spread derived from the shares printed above 4.5 mm; length implied by the straight segment "
        "and its fraction, its relative spread borrowed from DES16; canal read at the isthmus"
    )
    fraction = default(5, "straight_fraction_permissive").value
    return Series("OCH15", long, long * length.sd / length.value, mean, sd, fraction, note)


SERIES = {"DES16": des16, "OCH15": och15}


def population(
    screws: Sequence[ImScrew],
    n: int,
    seed: int,
    *,
    series: str = "DES16",
    zone: int = 2,
    progress: Progress = lambda done, total: None,
) -> Population:
    """n bones of a series held against every rule for every size (fewer where some cannot be; see `words`).

    Raises KeyError for an unknown series.
    """
    made = SERIES[series]()
    resolved, drawn = _drawn(made, n, seed, zone)
    found = tally(resolved, screws, drawn, progress)
    words = (
        f"{drawn.n} made-up fifth metatarsals, zone {zone}, after {made.source} ({made.note}): "
        f"length {made.length:.1f} ± {made.length_sd:.1f} mm, "
        f"canal {made.canal:.1f} ± {made.canal_sd:.2f} mm on the AP film. The height of the canal, outer widths, seat "
        f"and fracture as a plan with the least input assumes them. Seed {seed}."
    )
    return Population(made, found.accept, found.choice, drawn.values, words)


def _drawn(series: Series, n: int, seed: int, zone: int) -> tuple[Resolved, Drawn]:
    # CT: the lengths are true to size, and no magnification spreads them
    table: dict[str, Any] = {
        "bone": {
            "ray": 5,
            "length": f"{series.length:.4f} ± {series.length_sd:.4f} mm",
            "isthmus": {"canal_ap": f"{series.canal:.4f} ± {series.canal_sd:.4f} mm"},
        },
        "imaging": {"source": "ct"},
        "fracture": {"zone": zone},
    }
    if series.straight is not None:
        ends = ("straight_fraction_cautious", "straight_fraction_permissive")
        table["plan"] = {"thresholds": dict.fromkeys(ends, series.straight)}
    resolved = resolve(parse_case(table, "population", quick=True))
    return resolved, _fill(resolved, n, seed)


PRINTED = ("length", "canal_ap")
ROUNDS = 40


def _fill(resolved: Resolved, n: int, seed: int) -> Drawn:
    """Draws that keep what the series prints: where canal and borrowed values make no bone, the borrowed are redrawn.

    Drawing the whole bone again would leave out wide canals because one foot's outer widths are too narrow for them.
    Outer widths are redrawn first, then all that is borrowed; a bone that stays impossible is left out and counted.
    """
    wanted = uncertain(resolved)

    def batch(round_: int) -> dict[str, Floats]:
        return {p.name: one(p, n, np.random.default_rng([seed, zlib.crc32(p.name.encode()), round_])) for p in wanted}

    values = batch(0)
    good = possible(resolved, values, n)
    for round_ in range(1, ROUNDS):
        if good.all():
            break
        again = batch(round_)
        for name, new in again.items():
            if name not in PRINTED and (round_ > ROUNDS // 2 or "outer" in name):
                values[name] = np.where(good, values[name], new)
        good = possible(resolved, values, n)
    return Drawn({k: v[good] for k, v in values.items()}, int(good.sum()), 1.0 - float(good.mean()))


def share_rows(screws: Sequence[ImScrew] = (), n: int = DRAWS, seed: int = 0) -> tuple[ShareRow, ...]:
    """For each series and diameter the share of bones that take it, step by step, beside what the papers say.

    With `screws` the last step asks for a stock size of that diameter by every rule, length included.
    """
    rows = []
    for name, series in SERIES.items():
        resolved, drawn = _drawn(series(), n, seed, 2)
        steps = _steps(resolved, drawn)
        accept = tally(resolved, screws, drawn).accept if screws else None
        for k, d in enumerate(DIAMETERS):
            own = [j for j, s in enumerate(screws) if abs(s.d_major - d) < 1e-9]
            stocked = None if accept is None else float(accept[:, own].any(axis=1).mean())
            said, source = PUBLISHED.get((name, d), ("", ""))
            uncut, held, walled = (float(s[k]) for s in steps)
            rows.append(ShareRow(name, d, uncut, held, walled, stocked, said, source))
    return tuple(rows)


def _steps(resolved: Resolved, drawn: Drawn) -> tuple[Floats, Floats, Floats]:
    """Shares by diameter: corridor wider than it; bites and is not widened too far; keeps the wall as well."""
    d = np.array(DIAMETERS)
    counts = np.zeros((3, d.size))
    for start in range(0, drawn.n, CHUNK):
        frame = column_frame(build(resolved, {k: v[start : start + CHUNK] for k, v in drawn.values.items()}))
        across = bores(frame, *permitted(frame))
        w = diameter_window(frame.limits, across.corridor, across.ream)
        fits = (at_least(d, w.lo).code < FAIL) & (at_most(d, w.hi_ream).code < FAIL)
        kept = fits & (at_most(d, w.hi_wall).code < FAIL)
        rows = min(CHUNK, drawn.n - start)
        for k, some in enumerate((across.corridor >= d, fits, kept)):
            counts[k] += np.broadcast_to(some, (rows, d.size)).sum(axis=0)
    uncut, held, walled = counts / drawn.n
    return uncut, held, walled


# what the papers say of a diameter, by series and diameter
PUBLISHED: Mapping[tuple[str, float], tuple[str, str]] = {
    ("DES16", 4.0): ("most canals accommodate a 4.0 or 4.5 mm screw; larger if measured", "DES16"),
    ("DES16", 4.5): (
        "most canals accommodate a 4.0 or 4.5 mm screw; the narrowest that holds, in another",
        "DES16, SCO15",
    ),
    ("OCH15", 4.5): ("canal above 4.5 mm in 81 % of men, 74 % of women: wider screws might be needed", "OCH15"),
    ("OCH15", 5.5): ("5.5 mm thread with a 4.0 mm shank suits the majority, in a third series", "ISE15"),
}


def explanation() -> str:
    """Why the series disagree, and where our rules part from both, in a paragraph for the validation page."""
    return (
        canal_share().text + " That moves every answer by about one size: a screw that meets the wall in one series "
        "is loose in the other. Our rules ask for more than room: the thread has to bite on both sides, may widen the "
        "canal only so far, and has to leave the least wall. So a canal of 4.5 mm, which by the words of DES16 "
        "accommodates a 4.5 mm screw, takes one of 5.0 mm or more here; and 'accommodates' and 'holds' go opposite "
        "ways as the diameter rises. The wall rests on the outer widths of one foot, the weakest number of the "
        "table; measured outer widths replace it. The last step can exceed the one before it: it counts the thread's "
        "own stretch, the others all of the stretch that thread may occupy."
    )
