"""What the draws add to a plan: the first choice by chance, the sizes to have in the room, bands, what decides."""

from __future__ import annotations

import zlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fixplan.kits import ImScrew
from fixplan.plan import types
from fixplan.plan.draws import (
    CHANCE_CRITERIA,
    NO_SIZE,
    Drawn,
    Progress,
    Tally,
    best_by_chance,
    draw,
    influences,
    only,
    tally,
)
from fixplan.plan.frame import Reader, build
from fixplan.plan.resolve import Resolved
from fixplan.plan.response import screw_brackets, setting
from fixplan.plan.screws import Sized
from fixplan.sizing.rules import Floats
from fixplan.stock.coverage import coverage, smallest_set

# An input that explains less than this of the spread is not worth a line on the page.
LEAST_SHARE = 0.01


@dataclass(frozen=True)
class Chances:
    """The draws of a case and what follows from them; `best` is the first choice by chance, -1 for none."""

    found: Tally
    best: int
    room: tuple[int, ...]
    room_share: float
    summary: types.Draws

    @property
    def criteria(self) -> tuple[tuple[str, str, str], ...]:
        """By what the first choice was chosen: name, words, source."""
        return CHANCE_CRITERIA

    def of(self, k: int) -> types.Chance:
        """The chances of one stock size."""
        f = self.found
        return types.Chance(float(f.passes[k]), float(f.no_fail[k]), float(f.first[k]))


def chances(
    resolved: Resolved,
    sized: Sized,
    ray: int,
    n: int,
    seed: int,
    progress: Progress = lambda done, total: None,
) -> Chances:
    """Draw n times and sum up."""
    drawn = draw(resolved, n, seed)
    found = tally(resolved, sized.screws, drawn, progress)
    best = best_by_chance(sized, found)
    room, share, words = _room(resolved, sized.screws, found, best)
    summary = types.Draws(
        n=n,
        seed=seed,
        rejected=drawn.rejected,
        no_size=float((found.choice < 0).mean()),
        bands=_bands(resolved, drawn, sized.screws[best], ray, seed) if best >= 0 else (),
        influences=tuple(
            types.Influence(i.name, i.label, i.share, _decides(i.label, i.low_answer, i.high_answer, i.origin))
            for i in influences(resolved, sized.screws, found)
            if i.share >= LEAST_SHARE
        ),
        room=words,
        bands_n=min(n, BAND_DRAWS) if best >= 0 else 0,
        error=2.0 * (0.25 / n) ** 0.5,
    )
    return Chances(found, best, room, share, summary)


def _room(resolved: Resolved, screws: Sequence[ImScrew], found: Tally, best: int) -> tuple[tuple[int, ...], float, str]:
    """The smallest set of sizes of the first choice's kit and kind of thread that serves the wanted share of draws."""
    if best < 0:
        return (), 0.0, "No stock size meets the rules in any draw."
    wanted = resolved.value("room_coverage")
    me = screws[best]
    kin = [
        k for k, s in enumerate(screws) if s.kit == me.kit and (s.thread_length is None) == (me.thread_length is None)
    ]
    accept = found.accept[:, kin]
    most = coverage(accept, np.ones(len(kin), bool)).attainable / found.drawn.n
    # where the wanted share is out of reach, the same part of what can be served: the last draws cost most sizes
    target = wanted if most >= wanted else wanted * most
    chosen = smallest_set(accept, target, keep=[kin.index(best)])
    served = chosen.share.share
    sizes = len(chosen.sizes)
    words = f"{sizes} size{'s' if sizes > 1 else ''} of kit {me.kit} serve {100 * served:.0f} % of the draws"
    words += " (at least one of them fails no rule)"
    if most < wanted:
        words += f"; {100 * wanted:.0f} % cannot be reached, all sizes of this kit together serve {100 * most:.0f} %"
    return tuple(kin[j] for j in chosen.sizes), served, words + "."


def _decides(label: str, low: str, high: str, origin: str) -> str:
    """The reading of one influence: what to measure, and what that decides between."""
    what = label
    for film in ("AP film", "lateral film"):
        what = what.replace(f", {film}", f" on the {film}")
    if what.startswith("reading error of "):
        what, origin = what.removeprefix("reading error of "), "read"
    start = f"Measure the {what.removeprefix('the ')}{'' if origin == 'assumed' else ' again'}: "
    if low == high:
        return f"{start}it moves the answer, though {low} is most often first at both ends of its spread."
    if NO_SIZE in (low, high):
        fits, end = (high, "low") if low == NO_SIZE else (low, "high")
        return f"{start}it decides whether a size fits at all: at the {end} end of its spread mostly none, else {fits}."
    return f"{start}it decides between {low} (low end of its spread) and {high} (high end)."


# Bands are read from the first of the draws: with this many a 5 % quantile is one of between 4 and 6 % (two standard
# errors), finer than the uncertainties that were put in.
BAND_DRAWS = 2000

BANDED = (
    ("stiffness_N_per_mm", "stiffness", "N/mm"),
    ("yield_factor", "factor against yield", "1"),
    ("gap_strain", "strain in the gap", "1"),
)


def quantiles(values: Floats) -> tuple[float, float, float]:
    """What 5, 50 and 95 % of the values do not exceed, between neighbours in a straight line."""
    lo, mid, hi = (float(q) for q in np.quantile(values, (0.05, 0.5, 0.95)))
    return lo, mid, hi


def drawn_moments(low: float, high: float, n: int, seed: int) -> Floats:
    """n moments spread evenly over a band, shape (n,), from a stream of their own under the seed of the draws."""
    # the name keeps the stream apart from those of the parameters, which are named in the same way
    key = zlib.crc32(b"design moment")
    return low + (high - low) * np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(key,))).random(n)


def _bands(resolved: Resolved, every: Drawn, screw: ImScrew, ray: int, seed: int) -> tuple[types.Band, ...]:
    drawn = only(every, slice(0, BAND_DRAWS))
    read = Reader(resolved, drawn.values)
    frame = build(resolved, drawn.values)
    where = setting(frame, read, ray, None)
    moment: float | Floats = where.protected.mid
    # the moment is drawn evenly over its assumed band, from a stream of its own
    row = where.protected
    if row.lo is not None and row.hi is not None:
        moment = drawn_moments(row.lo, row.hi, drawn.n, seed)
    bracket = screw_brackets(where, [screw], np.asarray(frame.site.seat), moment, ("cantilever_plantar",))
    found = []
    for name, label, unit in BANDED:
        for end, part in (("loose", bracket.loose), ("bonded", bracket.bonded)):
            response = part.bending["cantilever_plantar"]
            if name == "yield_factor":
                values = screw.material.yield_MPa / np.asarray(response.peak_stress_MPa)
            else:
                values = np.asarray(getattr(response, name))
            values = values[np.isfinite(values)]
            if values.size:
                found.append(types.Band(f"{name}_{end}", f"{label}, {end} end", unit, *quantiles(values)))
    return tuple(found)
