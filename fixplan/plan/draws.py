"""The same road with draws: how often each size fits, what the answer hangs on, and bands on the responses.

Every uncertain parameter is drawn from its own stream, so that a further parameter does not change the draws of the
others. Readings are normal about the value read (JCGM 101, 6.4.7), cut off at zero and at a published band (an
assumed value keeps its printed mean); a parameter
of which only a band is known is spread evenly over it (JCGM 101, 6.4.2). Draws that are no bone (a canal wider than
the bone, a fracture beyond its end) are drawn again, and their share is told.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from fixplan.kits import ImScrew
from fixplan.plan import measured
from fixplan.plan.frame import Reader, build
from fixplan.plan.inputs import Parameter
from fixplan.plan.resolve import Resolved
from fixplan.plan.screws import Sized, by_length, preference, size, stock_arrays
from fixplan.sizing.choose import MARGIN_TIE_MM, first_choice
from fixplan.sizing.rules import FAIL, PASS, Floats

CHUNK = 1000
MAX_ROUNDS = 50
LEAST_BATCH = 256
Progress = Callable[[int, int], None]
Values = dict[str, Floats]


@dataclass(frozen=True)
class Drawn:
    """Parameter draws, each (n,), that make a bone; `rejected` is the share that did not and was drawn again."""

    values: Values
    n: int
    rejected: float


@dataclass(frozen=True)
class Tally:
    """What the draws say of m stock sizes.

    passes, no_fail, first: shares of draws, (m,); accept: (n, m), True where no rule fails; choice: (n,), index of the
    first choice of each draw, -1 where no size is left; margin: (m,), mean least length margin.
    """

    drawn: Drawn
    passes: Floats
    no_fail: Floats
    first: Floats
    accept: npt.NDArray[np.bool_]
    choice: npt.NDArray[np.intp]
    margin: Floats


def uncertain(resolved: Resolved) -> list[Parameter]:
    """The parameters that are drawn: those with a standard uncertainty or an even band."""
    return [p for p in resolved.parameters.values() if p.sd > 0 or (p.even and p.low is not None)]


def draw(resolved: Resolved, n: int, seed: int) -> Drawn:
    """n draws of every uncertain parameter. Raises ValueError when hardly any draw makes a bone."""
    wanted = uncertain(resolved)
    kept: list[Values] = []
    have = tried = 0
    # a handful of draws is taken from a fuller hand, so that bones which are seldom possible are still found
    m = max(n, LEAST_BATCH)
    for round_ in range(MAX_ROUNDS):
        batch = {p.name: one(p, m, np.random.default_rng([seed, zlib.crc32(p.name.encode()), round_])) for p in wanted}
        if resolved.measured is not None:
            batch |= resolved.measured.noise(m, np.random.default_rng([seed, 0, round_]))
        good = possible(resolved, batch, m)
        tried += m
        have += int(good.sum())
        kept.append({name: v[good] for name, v in batch.items()})
        if have >= n:
            values = {name: np.concatenate([k[name] for k in kept])[:n] for name in kept[0]}
            return Drawn(values, n, 1.0 - have / tried)
    raise ValueError(f"draws: {have} of {tried} make a bone; the uncertainties are too wide for the values given")


def one(p: Parameter, n: int, rng: np.random.Generator) -> Floats:
    """n draws of one parameter."""
    u = rng.random(n)
    if p.even and p.low is not None and p.high is not None:
        return p.low + (p.high - p.low) * u
    if p.value <= 0:
        return np.asarray(p.value + p.sd * ndtri(u), float)  # an error about zero, not a size: no end to cut off at
    lo = 0.0 if p.low is None or p.origin != "assumed" or p.shared is False else p.low
    hi = np.inf if p.high is None or p.origin != "assumed" or p.shared is False else p.high
    middle = centre(p.value, p.sd, lo, hi) if p.origin == "assumed" else p.value
    a, b = ndtr((lo - middle) / p.sd), ndtr((hi - middle) / p.sd)
    return np.asarray(middle + p.sd * ndtri(a + (b - a) * u), float)


def centre(mean: float, sd: float, low: float, high: float) -> float:
    """Location of the normal distribution whose part between `low` and `high` has this mean: cutting moves no mean.

    Mean of a normal distribution cut at both ends: mu + sd (phi(a) - phi(b)) / (Phi(b) - Phi(a)), a and b the ends in
    standard deviations from mu (from memory). Where no location within four standard deviations does it, the mean.
    """

    def density(x: float) -> float:
        return float(np.exp(-x * x / 2) / np.sqrt(2 * np.pi))

    def off(mu: float) -> float:
        a, b = (low - mu) / sd, (high - mu) / sd
        return float(mu + sd * (density(a) - density(b)) / (ndtr(b) - ndtr(a)) - mean)

    start, end = mean - 4 * sd, mean + 4 * sd
    if not low < mean < high or off(start) >= 0 or off(end) <= 0:
        return mean
    return float(brentq(off, start, end))


def possible(resolved: Resolved, values: Values, n: int) -> npt.NDArray[np.bool_]:
    """Which draws make a bone: canal inside the bone, and every level on it."""
    read = Reader(resolved, values)
    length, fracture = read.true("length"), read.true("from_base")
    half = np.maximum(read.true("extent"), read.true("gap")) / 2
    ok = np.broadcast_to((fracture - half > 0) & (fracture + half < length), (n,)).copy()
    for level in ("straight", "isthmus_at"):
        if read.has(level):
            ok &= read.true(level) < length
    if read.has("seat"):
        ok &= read.raw("seat") < fracture - half
    if resolved.measured is not None:
        return ok & measured.possible(
            resolved.measured, read, read.true("old_hole") if read.has("old_hole") else None, n
        )
    hole = read.true("old_hole") if read.has("old_hole") else np.zeros(())
    for prefix in ("", "fracture_"):
        if not read.has(f"{prefix}canal_ap"):
            continue
        width = read.true(f"{prefix}canal_ap")
        lateral = f"{prefix}canal_lateral"
        height = read.true(lateral) if read.has(lateral) else width * read.raw(f"{prefix}ellipticity")
        for canal, name in ((width, "outer_ap"), (height, "outer_lateral")):
            outer = f"{prefix}{name}" if read.has(f"{prefix}{name}") else name
            ok &= np.maximum(canal, hole) < read.true(outer)
    if read.has("fracture_outer_ap") and not read.has("fracture_canal_ap"):
        # one canal width all along must also fit inside the bone at the fracture
        width = read.true("canal_ap")
        height = read.true("canal_lateral") if read.has("canal_lateral") else width * read.raw("ellipticity")
        for canal, name in ((width, "fracture_outer_ap"), (height, "fracture_outer_lateral")):
            if read.has(name):
                ok &= np.maximum(canal, hole) < read.true(name)
    return ok


def tally(
    resolved: Resolved,
    screws: Sequence[ImScrew],
    drawn: Drawn,
    progress: Progress = lambda done, total: None,
) -> Tally:
    """Hold every stock size against every rule in every draw, a chunk of draws at a time.

    Memory: a chunk takes some 100 MB at most whatever n is; of each draw one byte a size is kept, and its values.
    """
    m = len(screws)
    passes, no_fail, margin = np.zeros(m), np.zeros(m), np.zeros(m)
    accept, choice = [], []
    alike, back = distinct(screws)
    stock, order = stock_arrays(screws), preference(screws)
    lag, diameter = ~stock.full, stock.diameter
    for start in range(0, drawn.n, CHUNK):
        part = {k: v[start : start + CHUNK] for k, v in drawn.values.items()}
        frame = build(resolved, part)
        rows = min(CHUNK, drawn.n - start)
        some, room = by_length(frame, alike)
        margin += np.broadcast_to(np.nan_to_num(room), (rows, len(alike))).sum(axis=0)[back]
        accepted, picked = np.zeros((rows, m), bool), np.full(rows, -1, np.intp)
        columns = np.flatnonzero(some[back])
        if columns.size:
            # the sizes left: their place among those held against the rules
            place = (np.cumsum(some) - 1)[back[columns]]
            held = size(frame, [s for s, wanted in zip(alike, some) if wanted])
            codes = np.broadcast_to(held.codes, (rows, held.diameter.size))[:, place]
            left = np.broadcast_to(held.margin, (rows, held.diameter.size))[:, place]
            passes[columns] += (codes == PASS).sum(axis=0)
            accepted[:, columns] = codes < FAIL
            no_fail[columns] += accepted[:, columns].sum(axis=0)
            best = first_choice(codes, lag[columns], diameter[columns], left, order[columns])
            picked = np.where(best >= 0, columns[np.maximum(best, 0)], -1)
        accept.append(accepted)
        choice.append(picked)
        progress(start + rows, drawn.n)
    every = np.concatenate(choice)
    first = np.bincount(every[every >= 0], minlength=m) / drawn.n
    return Tally(drawn, passes / drawn.n, no_fail / drawn.n, first, np.concatenate(accept), every, margin / drawn.n)


def distinct(screws: Sequence[ImScrew]) -> tuple[list[ImScrew], npt.NDArray[np.intp]]:
    """One screw for each set of dimensions that the rules read, and for each screw the index of its like."""
    keys = [(s.d_major, s.d_core, s.drill, s.length, s.thread_length) for s in screws]
    places = {key: k for k, key in enumerate(dict.fromkeys(keys))}
    firsts = dict(zip(reversed(keys), reversed(screws)))
    return [firsts[key] for key in places], np.array([places[key] for key in keys], np.intp)


# Chances closer than this many standard errors of the best are a tie: the draws cannot tell them apart.
TIE_ERRORS = 2.0

# A size that meets every rule in fewer draws than this carries a caution whatever the measurements turn out to be.
SOME = 0.01

CHANCE_CRITERIA = (
    ("some", "sizes that can meet every rule before those that carry a caution in 99 % of draws", "PROJECT"),
    ("chance", "the best chance that no rule fails; two standard errors count as a tie", "PROJECT"),
    (
        "passes",
        "the best chance that every rule is met without a caution; two standard errors count as a tie",
        "PROJECT",
    ),
    ("lag", "thread wholly beyond the fracture before thread across it, for compression", "ORR12"),
    (
        "diameter",
        "the larger diameter, for contact with dense cortex; a bench test saw no gain and warns",
        "SCO15, SHA01",
    ),
    (
        "margin",
        f"the length that sits best between its two limits, on average; {MARGIN_TIE_MM:g} mm counts as a tie",
        "PROJECT",
    ),
    ("order", "the larger bending yield moment of the shank, then the item code", "PROJECT"),
)


def best_by_chance(sized: Sized, found: Tally) -> int:
    """Index of the size with the best chance of meeting all rules; -1 where none does.

    A size that fails by the values as they were read is never the first choice, whatever the draws say: the surgeon
    plans on the readings, and the draws rank what they leave. Ties within two standard errors of the best share are
    broken by the criteria of CHANCE_CRITERIA, in order.
    """
    standing = (sized.codes < FAIL) & (found.no_fail > 0)
    if not standing.any():
        return -1
    alive = standing & (found.passes >= SOME)
    if not alive.any():
        alive = standing
    for share in (found.no_fail, found.passes):
        top = float(np.max(np.where(alive, share, -1.0)))
        error = TIE_ERRORS * np.sqrt(max(top * (1.0 - top), 1.0 / found.drawn.n) / found.drawn.n)
        alive &= share >= top - error
    for value, tie in ((~sized.stock.full, 0.0), (sized.diameter, 0.0), (found.margin, MARGIN_TIE_MM)):
        held = np.where(alive, value.astype(float), -np.inf)
        alive &= held >= held.max() - tie - 1e-9
    return int(np.argmin(np.where(alive, sized.order, np.iinfo(np.intp).max)))


@dataclass(frozen=True)
class Influence:
    """How much of the spread in the answer one input explains alone, and what it decides between."""

    name: str
    label: str
    share: float
    low_answer: str
    high_answer: str
    origin: str


BINS = 10
NO_SIZE = "no size"


def influences(resolved: Resolved, screws: Sequence[ImScrew], found: Tally) -> list[Influence]:
    """Inputs by the share of the spread in the first choice's diameter that each explains alone, largest first.

    First-order index for an answer that is a size: the Gini impurity of the answers, less its mean within tenths of the
    input, over itself (Saltelli and others' first-order index with the Gini impurity in the place of the variance).
    """
    diameter = np.array([s.d_major for s in screws])
    answer = np.where(found.choice >= 0, diameter[np.maximum(found.choice, 0)], 0.0)
    kinds, coded = np.unique(answer, return_inverse=True)
    coded = np.asarray(coded).reshape(-1)

    def impurity(some: npt.NDArray[np.intp]) -> float:
        shares = np.bincount(some, minlength=kinds.size) / some.size
        return 1.0 - float((shares**2).sum())

    whole = impurity(coded)
    rows = []
    for p in uncertain(resolved):
        order = np.argsort(found.drawn.values[p.name], kind="stable")
        tenths = np.array_split(coded[order], BINS)
        inner = sum(impurity(t) * t.size for t in tenths) / coded.size
        share = 0.0 if whole <= 0 else max(0.0, 1.0 - inner / whole)
        rows.append(Influence(p.name, p.label, share, _mode(kinds, tenths[0]), _mode(kinds, tenths[-1]), p.origin))
    return sorted(rows, key=lambda r: -r.share)


def _mode(kinds: Floats, coded: npt.NDArray[np.intp]) -> str:
    value = kinds[np.bincount(coded, minlength=kinds.size).argmax()]
    return NO_SIZE if value == 0 else f"{value:.1f} mm"


def only(drawn: Drawn, some: slice) -> Drawn:
    """Some of the draws."""
    return replace(drawn, values={k: v[some] for k, v in drawn.values.items()}, n=len(range(drawn.n)[some]))
