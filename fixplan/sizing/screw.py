"""Intramedullary screw: windows of length and diameter, then stock sizes held against the same limits.

Lengths run along the bone from its proximal end. The seat of the head lies at `seat`, so a screw of length l ends at
seat + l and its first thread is at seat + l - t, t being its thread length. All quantities are mm and broadcast:
a bone is shape (...,) or (..., 1), a list of stock sizes (m,), so draws x sizes come out as (..., m).

The rules (sources of the limits are in the threshold table):
run-out     first thread >= fracture + extent/2 + run_out_margin          (partial thread)
purchase    tip - (fracture + extent/2) >= purchase_min                   (thread over the whole length)
across      the same as run-out, but never worse than a caution             (thread over the whole length)
tip         tip <= end of the straight segment - tip_clearance
bite        major diameter >= corridor over the thread + 2 bite; within the doubt of the canal reading a caution
least       major diameter >= diameter_min
wall        major diameter <= widest hole that leaves wall_min over the thread
ream        major diameter - corridor <= ream_max
core        core diameter <= drilled hole
known       canal and outer widths are known over the whole thread: nothing passes on what was not measured
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fixplan.sizing import limits as forms
from fixplan.sizing.rules import Floats, Held, applies, at_least, at_most

A = npt.ArrayLike


@dataclass(frozen=True)
class ScrewThresholds:
    """Planning thresholds of a screw, mm. `diameter_caution` is the stricter published least diameter."""

    run_out_margin: A
    purchase_min: A
    bite: A
    wall_min: A
    tip_clearance: A
    diameter_min: A
    diameter_caution: A
    ream_max: A


@dataclass(frozen=True)
class Site:
    """Where things lie along the bone, mm from the proximal end.

    `fracture_distal` is the most distal place the fracture centre may be when its level is assumed from a band; with a
    measured level it equals `fracture`. `straight_cautious` <= `straight_permissive` are the two published ends of the
    straight segment, equal when it was measured.
    """

    seat: A
    fracture: A
    fracture_distal: A
    extent: A
    straight_cautious: A
    straight_permissive: A


@dataclass(frozen=True)
class StockScrews:
    """Stock sizes as arrays of one shape (m,): mm, and `full` true where the thread runs over the whole length."""

    diameter: Floats
    core: Floats
    drill: Floats
    length: Floats
    thread: Floats
    full: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class LengthWindow:
    """Screw lengths that meet run-out (or purchase) and tip limits; empty where lo > hi."""

    lo: Floats
    hi_cautious: Floats
    hi_permissive: Floats


@dataclass(frozen=True)
class DiameterWindow:
    """Major diameters that bite, reach the least diameter, and leave the wall; empty where lo > hi."""

    lo_bite: Floats
    lo_least: Floats
    hi_wall: Floats
    hi_ream: Floats

    @property
    def lo(self) -> Floats:
        return np.asarray(np.maximum(self.lo_bite, self.lo_least))

    @property
    def hi(self) -> Floats:
        return np.asarray(np.minimum(self.hi_wall, self.hi_ream))


def thread_span(site: Site, length: A, thread: A) -> tuple[Floats, Floats]:
    """First thread and tip, mm from the proximal end."""
    seat, long, held = (np.asarray(v, float) for v in (site.seat, length, thread))
    return np.asarray(forms.first_thread(seat, long, held)), np.asarray(forms.tip(seat, long))


def length_window(site: Site, limits: ScrewThresholds, thread: A, full: A = False) -> LengthWindow:
    """Window of screw length for a thread length, before any stock.

    Where the thread runs over the whole length, the low end comes from the purchase wanted beyond the fracture.
    """
    fracture, extent, seat = (np.asarray(v, float) for v in (site.fracture, site.extent, site.seat))
    clearance = np.asarray(limits.tip_clearance, float)
    run_out, purchase = np.asarray(limits.run_out_margin, float), np.asarray(limits.purchase_min, float)
    low = np.where(
        np.asarray(full, bool),
        forms.shortest_full(fracture, extent, purchase, seat),
        forms.shortest_partial(fracture, extent, run_out, np.asarray(thread, float), seat),
    )
    lo, cautious, permissive = np.broadcast_arrays(
        low,
        forms.longest(np.asarray(site.straight_cautious, float), clearance, seat),
        forms.longest(np.asarray(site.straight_permissive, float), clearance, seat),
    )
    return LengthWindow(lo, cautious, permissive)


def diameter_window(limits: ScrewThresholds, corridor: A, ream_limit: A) -> DiameterWindow:
    """Window of major diameter from the corridor over the thread and the widest hole that leaves the wall, mm."""
    free = np.asarray(corridor, float)
    parts = np.broadcast_arrays(
        forms.least_biting(free, np.asarray(limits.bite, float)),
        np.asarray(limits.diameter_min, float),
        np.asarray(ream_limit, float),
        forms.widest_reamed(free, np.asarray(limits.ream_max, float)),
    )
    return DiameterWindow(*parts)


def hold(
    site: Site,
    limits: ScrewThresholds,
    stock: StockScrews,
    corridor: A,
    ream_limit: A,
    ream_cautious: A | None = None,
    bite_doubt: A = 0.0,
) -> dict[str, Held]:
    """Hold every stock size against every rule.

    corridor, ream_limit: diameters over each size's own thread, shape (..., m). ream_cautious: the stricter of the wall
    limits, above which a size is a caution: the limit over all of the stretch that thread may occupy, less the doubt in
    an assumed outer width; a size between the two fits only by ending short, or only if the assumption holds.
    bite_doubt: how far the corridor may be narrower than read; a size short of its bite by less is a caution.
    Returns rule name -> `Held`, each of shape (..., m).
    """
    first_thread, tip = thread_span(site, stock.length, stock.thread)
    extent = np.asarray(site.extent, float)
    near, far = np.asarray(site.fracture, float), np.asarray(site.fracture_distal, float)
    clearance = np.asarray(limits.tip_clearance, float)
    free, widest = np.asarray(corridor, float), np.asarray(ream_limit, float)
    run_out = np.asarray(limits.run_out_margin, float)
    purchase = np.asarray(limits.purchase_min, float)
    biting = forms.least_biting(free, np.asarray(limits.bite, float))

    def clear(level: Floats, margin: Floats) -> Floats:
        return np.asarray(forms.beyond_fracture(level, extent, margin))

    return {
        "run_out": applies(at_least(first_thread, clear(near, run_out), clear(far, run_out)), ~stock.full),
        "purchase": applies(at_least(tip, clear(near, purchase), clear(far, purchase)), stock.full),
        "across": applies(at_least(first_thread, np.float64(-np.inf), clear(far, run_out)), stock.full),
        "tip": at_most(
            tip,
            forms.tip_limit(np.asarray(site.straight_permissive, float), clearance),
            forms.tip_limit(np.asarray(site.straight_cautious, float), clearance),
        ),
        "bite": at_least(stock.diameter, biting - np.asarray(bite_doubt, float), biting),
        "diameter_min": at_least(stock.diameter, limits.diameter_min, limits.diameter_caution),
        "wall": at_most(
            stock.diameter, widest, None if ream_cautious is None else forms.strict_wall(widest, ream_cautious)
        ),
        "ream": at_most(forms.widened(stock.diameter, free), limits.ream_max),
        "core": at_most(stock.core, stock.drill),
        "known": at_least(np.where(np.isnan(free) | np.isnan(widest), 0.0, 1.0), 1.0),
    }


def least_length_margin(held: dict[str, Held]) -> Floats:
    """The smaller of the margins at the two ends of the screw, mm: how well the length sits in its window."""
    low = np.where(np.isnan(held["run_out"].margin), held["purchase"].margin, held["run_out"].margin)
    low, tip = np.broadcast_arrays(low, held["tip"].margin)
    least: Floats = np.minimum(low, tip)
    return least
