"""Screws: stock as arrays, every size held against every rule, the windows, and the answer with its neighbours."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Protocol

import numpy as np
import numpy.typing as npt

from fixplan.digits import told
from fixplan.kits import ImScrew
from fixplan.plan.frame import Bores, Frame, bores, native_wall
from fixplan.plan.inputs import Parameter
from fixplan.plan.remarks import under_load, yield_finding
from fixplan.plan.types import Chance, Finding, Limit, LoadResponse, ScrewCandidate, ScrewPlan, Window
from fixplan.plan.words import RULES, finding
from fixplan.sizing.choose import CRITERIA, first_choice, neighbour
from fixplan.sizing.limits import wall_left
from fixplan.sizing.rules import FAIL, PASS, ROUNDING_MM, VERDICTS, Codes, Floats, Held, worst
from fixplan.sizing.screw import (
    StockScrews,
    diameter_window,
    hold,
    least_length_margin,
    length_window,
    thread_span,
)

FULL = "full-length"


@dataclass(frozen=True)
class Sized:
    """Stock held against the rules; arrays are (..., m), m the number of stock sizes."""

    screws: tuple[ImScrew, ...]
    stock: StockScrews
    held: dict[str, Held]
    codes: Codes
    margin: Floats
    bores: Bores
    order: npt.NDArray[np.intp]

    @property
    def diameter(self) -> Floats:
        return self.stock.diameter


def stock_arrays(screws: Sequence[ImScrew]) -> StockScrews:
    """Stock sizes as arrays of shape (m,); a thread that runs all along is as long as the screw."""

    def column(values: list[float]) -> Floats:
        return np.array(values, float)

    return StockScrews(
        diameter=column([s.d_major for s in screws]),
        core=column([s.d_core for s in screws]),
        drill=column([s.drill for s in screws]),
        length=column([s.length for s in screws]),
        thread=column([s.length if s.thread_length is None else s.thread_length for s in screws]),
        full=np.array([s.thread_length is None for s in screws], bool),
    )


def preference(screws: Sequence[ImScrew]) -> npt.NDArray[np.intp]:
    """Rank of each screw in a tie: larger bending yield moment of the section that crosses the fracture, then item."""

    def strength(s: ImScrew) -> float:
        return s.material.yield_MPa * np.pi * (s.d_bridge**4 - s.d_cannula**4) / (32.0 * s.d_bridge)

    ranked = sorted(range(len(screws)), key=lambda k: (-strength(screws[k]), screws[k].item))
    order = np.empty(len(screws), np.intp)
    order[ranked] = np.arange(len(screws))
    return order


def size(frame: Frame, screws: Sequence[ImScrew]) -> Sized:
    """Hold every screw against every rule, for one frame or for draws; stretches that sizes share are solved once."""
    stock = stock_arrays(screws)
    wide = column_frame(frame)
    pairs, back = np.unique(np.stack([stock.length, stock.thread]), axis=1, return_inverse=True)
    first, tip = thread_span(wide.site, pairs[0], pairs[1])
    shared = bores(frame, first, tip, _worth_a_look(wide, stock, pairs) if np.ndim(tip) > 1 else True)
    start, end = permitted(wide)
    deepest = bores(frame, start, end, surfaces=("outer",)).ream - np.asarray(frame.outer_doubt)
    back = np.asarray(back).reshape(-1)
    own = Bores(shared.corridor[..., back], shared.ream[..., back])
    held = hold(wide.site, wide.limits, stock, own.corridor, own.ream, deepest, frame.canal_doubt)
    return Sized(tuple(screws), stock, held, worst(held), least_length_margin(held), own, preference(screws))


def by_length(frame: Frame, screws: Sequence[ImScrew]) -> tuple[npt.NDArray[np.bool_], Floats]:
    """Which sizes pass the length rules in any draw, (m,), and each size's least length margin, (..., m) [mm].

    A size left out here fails in every draw whatever the bone is like: nothing else of it has to be looked at.
    """
    stock = stock_arrays(screws)
    wide = column_frame(frame)
    pairs, back = np.unique(np.stack([stock.length, stock.thread]), axis=1, return_inverse=True)
    back = np.asarray(back).reshape(-1)
    held = _length_rules(wide, stock, pairs)
    codes = worst({rule: held[rule] for rule in LENGTH_RULES})
    some = np.any(codes < FAIL, axis=tuple(range(codes.ndim - 1)))
    return np.asarray(some[back]), least_length_margin(held)[..., back]


LENGTH_RULES = ("run_out", "purchase", "tip")


def _length_rules(wide: Frame, stock: StockScrews, pairs: Floats) -> dict[str, Held]:
    """The rules that depend on length and thread alone, for each (length, thread) pair of the stock."""
    full = np.array([bool(stock.full[(stock.length == n) & (stock.thread == t)].all()) for n, t in pairs.T])
    nothing = np.zeros(pairs.shape[1])
    return hold(
        wide.site, wide.limits, StockScrews(nothing, nothing, nothing, pairs[0], pairs[1], full), np.nan, np.nan
    )


def _worth_a_look(wide: Frame, stock: StockScrews, pairs: Floats) -> npt.NDArray[np.bool_]:
    """Of the (length, thread) pairs of the stock, those whose length rules do not fail, (..., pairs).

    In draws the corridor is solved for these alone: a size that fails by its length fails whatever its diameter.
    """
    held = _length_rules(wide, stock, pairs)
    codes = worst({rule: held[rule] for rule in LENGTH_RULES})
    return np.asarray(codes < FAIL)


def permitted(frame: Frame) -> tuple[Floats, Floats]:
    """The stretch that thread may occupy, (..., 1): from the run-out limit to the deepest tip allowed.

    The cautious end of the straight segment, or the permissive one where the cautious leaves no room for thread.
    """
    site, limits = frame.site, frame.limits
    start = np.asarray(site.fracture) + np.asarray(site.extent) / 2 + np.asarray(limits.run_out_margin)
    clearance = np.asarray(limits.tip_clearance)
    cautious, permissive = np.asarray(site.straight_cautious), np.asarray(site.straight_permissive)
    end = np.where(cautious - clearance > start, cautious, permissive) - clearance
    # where neither leaves room the stretch is a point, so that the diameter window still has a value
    start, end = np.broadcast_arrays(start, np.maximum(end, start + 1e-3))
    return np.atleast_1d(start), np.atleast_1d(end)


def column_frame(frame: Frame) -> Frame:
    """Site and limits with a last axis of one, so that draws (n, 1) meet sizes (m,)."""

    def widen(part: object) -> dict[str, Floats]:
        return {
            f.name: np.asarray(getattr(part, f.name))[..., None]
            for f in fields(part)  # type: ignore[arg-type]
            if np.ndim(getattr(part, f.name))
        }

    return replace(
        frame, site=replace(frame.site, **widen(frame.site)), limits=replace(frame.limits, **widen(frame.limits))
    )


def chosen(sized: Sized) -> npt.NDArray[np.intp]:
    """Index of the first choice, shape (...); -1 where every size fails."""
    return first_choice(sized.codes, ~sized.stock.full, sized.diameter, sized.margin, sized.order)


class ByChance(Protocol):
    """What draws say: the first choice, the sizes to have in the room, and the chances of each size."""

    @property
    def best(self) -> int: ...
    @property
    def room(self) -> tuple[int, ...]: ...
    @property
    def room_share(self) -> float: ...
    @property
    def criteria(self) -> tuple[tuple[str, str, str], ...]: ...
    def of(self, k: int) -> Chance: ...


CAUTION_WORD = VERDICTS[1]

Respond = Callable[[Sequence[ImScrew]], list[tuple[LoadResponse, ...]]]


def screw_plan(
    frame: Frame,
    sized: Sized,
    thresholds: dict[str, Parameter],
    respond: Respond,
    instruments: Callable[[ImScrew], tuple[str, ...]],
    drawn: ByChance | None = None,
) -> ScrewPlan:
    """The screw part of a plan from a single (not drawn) frame; with draws the first choice is the one by chance."""
    first = int(chosen(sized)) if drawn is None else drawn.best
    around = _neighbours(sized, first)
    room = () if drawn is None else drawn.room
    shown = [k for k in range(len(sized.screws)) if sized.codes[k] < FAIL or k in around.values() or k in room]
    shown.sort(
        key=lambda k: (
            k != first,
            int(sized.codes[k]),
            bool(sized.stock.full[k]),
            -sized.diameter[k],
            -round(float(sized.margin[k]), 1),
            sized.order[k],
        )
    )
    responses = respond([sized.screws[k] for k in shown])
    candidates = tuple(
        _candidate(
            frame,
            sized,
            k,
            thresholds,
            responses[n],
            instruments(sized.screws[k]),
            None if drawn is None else drawn.of(k),
        )
        for n, k in enumerate(shown)
    )
    windows, limits = _length_windows(frame, sized, thresholds)
    across, across_limits = diameter_limits(frame, thresholds)
    item = {name: (sized.screws[k].item if k is not None else None) for name, k in around.items()}
    return ScrewPlan(
        diameter_window=across,
        length_windows=windows,
        limits=(*across_limits, *limits),
        candidates=candidates,
        considered=len(sized.screws),
        first_choice=sized.screws[first].item if first >= 0 else None,
        one_up=item.get("one_up"),
        one_down=item.get("one_down"),
        one_longer=item.get("one_longer"),
        one_shorter=item.get("one_shorter"),
        answer=_answer(sized, first, windows, across, candidates[0] if first >= 0 else None),
        chosen_by=tuple(f"{text} ({source})" for _, text, source in (CRITERIA if drawn is None else drawn.criteria)),
        have_in_room=tuple(sized.screws[k].item for k in room)
        if drawn is not None
        else tuple(dict.fromkeys(i for i in item.values() if i)),
        room_chance=None if drawn is None or first < 0 else drawn.room_share,
        under_load=under_load(candidates[0].response) if first >= 0 else "",
    )


def one_screw(
    frame: Frame,
    screw: ImScrew,
    thresholds: dict[str, Parameter],
    respond: Respond,
    instruments: tuple[str, ...],
) -> ScrewCandidate:
    """One screw held against every rule, whether it fits or not, as the plan itself holds it."""
    return _candidate(frame, size(frame, [screw]), 0, thresholds, respond([screw])[0], instruments, None)


def _neighbours(sized: Sized, first: int) -> dict[str, int | None]:
    if first < 0:
        return {}
    screws = sized.screws
    me = screws[first]
    family = np.array([s.kit == me.kit and (s.thread_length is None) == (me.thread_length is None) for s in screws])
    twins = np.array(
        [s.kit == me.kit and s.d_major == me.d_major and s.thread_length == me.thread_length for s in screws]
    )
    if me.thread_length is None:
        twins = np.array([s.kit == me.kit and s.d_major == me.d_major and s.thread_length is None for s in screws])
    pick = sized.codes, sized.margin
    return {
        "first": first,
        "one_up": neighbour(*pick, sized.diameter, family, first, 1),
        "one_down": neighbour(*pick, sized.diameter, family, first, -1),
        "one_longer": neighbour(*pick, sized.stock.length, twins, first, 1),
        "one_shorter": neighbour(*pick, sized.stock.length, twins, first, -1),
    }


def thread_text(screw: ImScrew) -> str:
    """The thread of a screw in words."""
    return FULL if screw.thread_length is None else f"{screw.thread_length:g} mm"


def label(screw: ImScrew) -> str:
    """A screw in words: size, thread, solid or hollow, material."""
    return (
        f"{screw.d_major:.1f} x {screw.length:g} mm, {thread_text(screw)} thread, "
        f"{'solid' if screw.solid else 'cannulated'}, {screw.material.name.split(',')[0]}"
    )


# rule -> what its limit rests on beside its threshold, by the names of `Frame.by`
RESTS = {
    "run_out": "level",
    "purchase": "level",
    "tip": "cautious",
    "tip_permissive": "permissive",
    "bite": "canal",
    "wall": "outer",
    "ream": "canal",
}


def _source(rule: str, thresholds: dict[str, Parameter], frame: Frame, code: int = PASS) -> str:
    """Sources of the limit that a finding prints: its threshold's, then those of what was assumed of the bone."""
    if rule == "across":
        return "ORR12, SID06"
    name = RULES["tip" if rule == "tip_permissive" else rule].threshold
    if code == FAIL:
        # the limit broken is the last one: the least diameter of any series, the permissive end of the straight part
        name = {"diameter_caution": "diameter_min"}.get(name, name)
        rule = {"tip": "tip_permissive"}.get(rule, rule)
    first = thresholds[name].source if name in thresholds else "COMMON"
    return ", ".join(dict.fromkeys([first, *frame.by.get(RESTS.get(rule, ""), ())]))


def _candidate(
    frame: Frame,
    sized: Sized,
    k: int,
    thresholds: dict[str, Parameter],
    response: tuple[LoadResponse, ...],
    instruments: tuple[str, ...],
    chance: Chance | None,
) -> ScrewCandidate:
    s, stock = sized.screws[k], sized.stock
    first, tip = (float(x) for x in thread_span(frame.site, s.length, stock.thread[k]))
    face = float(np.asarray(frame.site.fracture) + np.asarray(frame.site.extent) / 2)
    ream = _known(sized.bores.ream[k])
    low = "purchase" if stock.full[k] else "run_out"
    found: list[Finding] = []
    for rule, held in sized.held.items():
        one = finding(rule, held, k, _source(rule, thresholds, frame, int(held.code[k])))
        if one is not None:
            found.append(one)
    if response:
        found.append(yield_finding("screw", response, thresholds))
    wall = None if ream is None else float(wall_left(ream, np.asarray(frame.limits.wall_min), s.d_major))
    native = native_wall(frame.profile, first, tip)
    least = float(np.asarray(frame.limits.wall_min))
    if native is not None and native < least - ROUNDING_MM:
        why = (
            f"The bone's own wall is {native:.2f} mm over this thread, below the least of {least:g} mm before any "
            "drilling: no size can leave it. Measure canal and outer width on both films."
        )
        source = thresholds["wall_min"].source
        found.append(Finding("own_wall", "the bone's own wall", CAUTION_WORD, native, least, "mm", why, source))
    return ScrewCandidate(
        kit=s.kit,
        item=s.item,
        label=label(s),
        family=s.kit,
        material=s.material.name,
        thread=thread_text(s),
        diameter_mm=s.d_major,
        length_mm=s.length,
        thread_mm=float(stock.thread[k]),
        core_mm=s.d_core,
        shank_mm=s.d_bridge,
        cannula_mm=s.d_cannula,
        first_thread_mm=first,
        tip_mm=tip,
        corridor_mm=_known(sized.bores.corridor[k]),
        ream_limit_mm=ream,
        # where the canal is wider than the screw the wall is the bone's own, and no screw leaves more of it
        wall_left_mm=wall if wall is None or native is None else min(wall, native),
        tip_to_straight_end_mm=float(np.asarray(frame.site.straight_cautious)) - tip,
        first_thread_to_fracture_mm=first - face,
        margin_run_out_mm=float(sized.held[low].margin[k]),
        margin_tip_mm=float(sized.held["tip"].margin[k]),
        margin_bite_mm=_known(sized.held["bite"].margin[k]),
        margin_wall_mm=_known(sized.held["wall"].margin[k]),
        verdict=max((f.verdict for f in found), key=VERDICTS.index),
        findings=tuple(found),
        response=response,
        instruments=instruments,
        chance=chance,
    )


def _known(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None


def _length_windows(
    frame: Frame, sized: Sized, thresholds: dict[str, Parameter]
) -> tuple[tuple[Window, ...], tuple[Limit, ...]]:
    partial = sorted({float(t) for t, full in zip(sized.stock.thread, sized.stock.full) if not full})
    kinds: list[tuple[float, bool]] = [(t, False) for t in partial]
    if sized.stock.full.any():
        kinds.append((0.0, True))
    windows, limits = [], []
    site = frame.site
    face = float(np.asarray(site.fracture) + np.asarray(site.extent) / 2)
    seat = float(np.asarray(site.seat))
    for thread, full in kinds:
        name = FULL if full else f"{thread:g} mm"
        w = length_window(site, frame.limits, thread, full)
        lo, cautious, permissive = float(w.lo), float(w.hi_cautious), float(w.hi_permissive)
        rule = "purchase" if full else "run_out"
        margin = float(np.asarray(frame.limits.purchase_min if full else frame.limits.run_out_margin))
        band = permissive - cautious > 1e-9
        low_how = (
            f"fracture edge {face:.1f} + {'purchase' if full else 'run-out'} {told(margin)}"
            f"{'' if full else f' + thread {thread:g}'} - seat {told(seat)}"
        )
        clearance = float(np.asarray(frame.limits.tip_clearance))
        limits.append(
            Limit(rule, RULES[rule].label, lo, "low", "length", name, low_how, _source(rule, thresholds, frame))
        )
        ends = [("tip", "tip in the straight segment" + (", cautious" if band else ""), cautious)]
        if band:
            ends.append(("tip_permissive", "tip in the straight segment, permissive", permissive))
        for end_name, text, value in ends:
            straight = value + clearance + seat
            how = f"end of the straight segment {straight:.1f} - clearance {told(clearance)} - seat {told(seat)}"
            source = _source(end_name, thresholds, frame)
            limits.append(Limit(end_name, text, value, "high", "length", name, how, source))
        empty = lo > permissive + 1e-9
        windows.append(
            Window(
                of="length",
                thread=name,
                lo_mm=lo,
                hi_mm=cautious,
                hi_permissive_mm=permissive if band else None,
                lo_by=rule,
                hi_by="tip",
                empty=empty,
                opens=_opens(name, lo, permissive, thread, full) if empty else "",
            )
        )
    return tuple(windows), tuple(limits)


def _opens(name: str, lo: float, hi: float, thread: float, full: bool) -> str:
    """Which limits of an empty length window clash, by how much, and what would open it."""
    short = lo - hi
    text = f"{name} thread: {lo:.1f} mm at least to clear the fracture, {hi:.1f} mm at most before the bow: "
    text += f"{short:.1f} mm short."
    # a thread shorter than half of this one is no thread that stock has
    shorter = f"a thread of {thread - short:.1f} mm or less, or " if not full and thread - short > thread / 2 else ""
    return (
        text[:1].upper() + text[1:] + f" Would open it: {shorter}a straight segment {short:.1f} mm longer; or a plate."
    )


def diameter_limits(frame: Frame, thresholds: dict[str, Parameter]) -> tuple[Window, tuple[Limit, ...]]:
    """Diameter window and its limits over the stretch that thread may occupy, for a single (not drawn) frame."""
    limits = frame.limits
    starts, ends = permitted(frame)
    start, end = float(starts[0]), float(ends[0])
    across = bores(frame, starts, ends)
    corridor, ream = float(across.corridor[0]), float(across.ream[0])
    w = diameter_window(limits, corridor, ream)
    stretch = f"over {start:.1f} to {end:.1f} mm"
    bite, wall, widen = (float(np.asarray(getattr(limits, n))) for n in ("bite", "wall_min", "ream_max"))
    rows = (
        ("bite", float(w.lo_bite), "low", f"corridor {corridor:.1f} {stretch} + 2 x bite {told(bite)}"),
        ("diameter_min", float(w.lo_least), "low", "least diameter of the published series"),
        ("diameter_caution", float(np.asarray(limits.diameter_caution)), "low", "caution below this"),
        ("wall", float(w.hi_wall), "high", f"outer bone {ream + 2 * wall:.1f} {stretch} - 2 x wall {told(wall)}"),
        ("ream", float(w.hi_ream), "high", f"corridor {corridor:.1f} + widening {told(widen)}"),
    )
    listed = tuple(
        Limit(
            name,
            RULES[name].label if name in RULES else "narrowest that held in one series",
            value,
            end_,
            "diameter",
            "",
            how,
            thresholds[name].source if name in thresholds else _source(name, thresholds, frame),
        )
        for name, value, end_, how in rows
    )
    lo, hi = float(w.lo), float(w.hi)
    lo_by = "bite" if w.lo_bite >= w.lo_least else "diameter_min"
    hi_by = "wall" if w.hi_wall <= w.hi_ream else "ream"
    empty = lo > hi + 1e-9
    opens = ""
    if empty:
        opens = (
            f"{RULES[lo_by].label} asks for {lo:.1f} mm, {RULES[hi_by].label} allows {hi:.1f} mm. "
            "Measure canal and outer widths on both films; a plate does not need the canal."
        )
        opens = opens[:1].upper() + opens[1:]
    return Window("diameter", "", lo, hi, None, lo_by, hi_by, empty, opens), listed


def _answer(
    sized: Sized, first: int, windows: Sequence[Window], across: Window, candidate: ScrewCandidate | None
) -> str:
    if candidate is not None:
        text = f"First choice {label(sized.screws[first])}."
        if candidate.corridor_mm is not None:
            wider = candidate.diameter_mm - candidate.corridor_mm
            text += (
                f" {abs(wider):.1f} mm {'wider' if wider >= 0 else 'narrower'} than the straight corridor; in a bench"
            )
            text += " test a larger screw was not stiffer and may raise the risk of fracture (SHA01)."
        return text if candidate.verdict == "pass" else text + " It carries a caution: see what is not met."
    closed = ["diameter"] if across.empty else []
    if windows and all(w.empty for w in windows):
        closed.append("length")
    if closed:
        return f"No stock size meets the rules: no window of {' or '.join(closed)} is open."
    return (
        "No stock size of the kits considered lies in the windows. The windows stand: "
        f"diameter {across.lo_mm:.1f} to {across.hi_mm:.1f} mm."
    )
