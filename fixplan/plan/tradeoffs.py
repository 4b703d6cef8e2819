"""Pictures of what a size trades for what: curves over stock sizes, the chosen size, published tests as marks.

Every curve is the plan's own road run over the sizes of one family; the reading under a picture is a sentence made from
the curve itself, so that it follows when the curve changes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fixplan.appraisal.evidence import statement
from fixplan.kits import ImScrew, KitSet, Plate
from fixplan.mechanics.gap import COUNTER_EVIDENCE
from fixplan.mechanics.responses import Bracket, EndResponse
from fixplan.plan.bench import BENCH
from fixplan.plan.constructs import metal
from fixplan.plan.context import evidence
from fixplan.plan.frame import Frame, native_wall
from fixplan.plan.inputs import Parameter
from fixplan.plan.plates import Bed, factor_range, over_working_length
from fixplan.plan.readings import read
from fixplan.plan.response import LABELS, PLATE_CASES, SCREW_CASES, Setting, screw_brackets
from fixplan.plan.screws import size
from fixplan.plan.types import Curve, Evidence, Mark, Picked, TradeOff
from fixplan.sizing.limits import wall_left
from fixplan.sizing.plate import Placement
from fixplan.sizing.rules import Floats
from fixplan.sizing.screw import thread_span

STEPS = 15
MOST_FAMILIES = 2
CASE = SCREW_CASES[0]


@dataclass(frozen=True)
class Ground:
    """The case's numerical road and its stock."""

    frame: Frame
    forces: Setting
    thresholds: dict[str, Parameter]
    kits: KitSet


@dataclass(frozen=True)
class Anchor:
    """A screw or plate that a picture is drawn around, with the word it is marked by."""

    word: str
    screw: ImScrew | None = None
    plate: Plate | None = None
    placed: Placement | None = None
    bed: Bed | None = None


def tradeoffs(ground: Ground, anchors: Sequence[Anchor]) -> tuple[TradeOff, ...]:
    """Every picture that the anchors allow, in reading order; at most two families of screws or plates in one."""
    found: list[TradeOff | None] = []
    screws = [(a.word, a.screw) for a in anchors if a.screw is not None]
    if screws:
        found += [*_diameter(ground, screws), _length(ground, screws)]
    plates = [a for a in anchors if a.plate is not None]
    if plates:
        found.append(_working_length(ground, plates))
    return tuple(t for t in found if t is not None)


def family(screws: Sequence[ImScrew], me: ImScrew, over: str) -> list[ImScrew]:
    """The stock that differs from `me` in one size only: "d_major" or "length"; rising."""
    other = "length" if over == "d_major" else "d_major"
    same = [
        s
        for s in screws
        if s.kit == me.kit and s.thread_length == me.thread_length and getattr(s, other) == getattr(me, other)
    ]
    return sorted(same, key=lambda s: (getattr(s, over), s.item))


def _families(ground: Ground, screws: Sequence[tuple[str, ImScrew]], over: str) -> list[tuple[str, list[ImScrew]]]:
    """Distinct families, named only where there are two."""
    found: dict[tuple[str, ...], list[ImScrew]] = {}
    for _, me in screws:
        rows = family(ground.kits.im_screws, me, over)
        found.setdefault(tuple(s.item for s in rows), rows)
    kept = list(found.values())[:MOST_FAMILIES]
    return [("" if len(kept) == 1 else f"{_name(rows[0], over)}, ", rows) for rows in kept]


def _name(s: ImScrew, over: str) -> str:
    what = f"{'solid' if s.solid else 'hollow'} {metal(s.material.name)}"
    if over == "d_major":
        return f"{what}, {s.length:g} mm"
    return f"{what}, {s.d_major:.1f} mm"


def _picked(screws: Sequence[tuple[str, ImScrew]], rows: Sequence[list[ImScrew]], over: str) -> tuple[Picked, ...]:
    drawn = {s.item for some in rows for s in some}
    at: dict[float, list[str]] = {}
    for word, s in screws:
        if s.item in drawn:
            at.setdefault(float(getattr(s, over)), []).append(word)
    return tuple(Picked(", ".join(words), x) for x, words in at.items())


def _curve(name: str, x: Sequence[float], y: Floats) -> Curve | None:
    kept = [(float(a), float(b)) for a, b in zip(x, y) if np.isfinite(b)]
    return Curve(name, tuple(a for a, _ in kept), tuple(b for _, b in kept)) if len(kept) > 1 else None


def _diameter(ground: Ground, screws: Sequence[tuple[str, ImScrew]]) -> list[TradeOff | None]:
    families = _families(ground, screws, "d_major")
    rows = [some for _, some in families]
    picked = _picked(screws, rows, "d_major")
    stiff: list[Curve | None] = []
    stress: list[Curve | None] = []
    wall: list[Curve | None] = []
    seat = np.asarray(ground.frame.site.seat)
    ran = [screw_brackets(ground.forces, some, seat, ground.forces.protected.mid) for some in rows]
    hard = _hardest_of(screws, rows, ran)
    for (name, some), bracket in zip(families, ran):
        x = [s.d_major for s in some]
        ends: tuple[tuple[str, EndResponse], ...] = (("loose end", bracket.loose), ("bonded end", bracket.bonded))
        for word, end in ends:
            stiff.append(_curve(name + word, x, end.bending[CASE].stiffness_N_per_mm))
            stress.append(_curve(name + word, x, end.bending[hard].peak_stress_MPa))
        ream = size(ground.frame, some).bores.ream
        left = wall_left(ream, np.asarray(ground.frame.limits.wall_min), np.array(x))
        thread = some[0].length if some[0].thread_length is None else some[0].thread_length
        span = thread_span(ground.frame.site, some[0].length, thread)
        own = native_wall(ground.frame.profile, float(span[0]), float(span[1]))
        if own is not None:
            # where the canal is wider than the screw the wall is the bone's own
            left = np.minimum(left, own)
        wall.append(_curve(f"{name}wall left", x, np.asarray(left)))
    activity = ground.forces.protected.activity
    materials = {s.material.id: s.material for s in (some[0] for some in rows)}
    yields = tuple(
        Mark(f"least yield, {m.name.split(',')[0]}", m.yield_MPa, None, "limit", m.sources.get("yield_MPa", "PROJECT"))
        for m in materials.values()
    )
    least = ground.thresholds["wall_min"]
    size_words = "major diameter of stock otherwise alike"
    bench = tuple(
        Mark(t.label, t.mean_N_per_mm, t.sd_N_per_mm, "published", t.source) for t in BENCH if t.construct == "screw"
    )
    return [
        _made(
            "stiffness-diameter", "Stiffness against diameter", size_words, "mm",
            "stiffness at the head, force from plantar", "N/mm", stiff, picked, bench,
            "Loose to bonded end of the bracket; ticks are published means, from other set-ups and levers.",
            ("bench-diameter-50-65",),
        ),
        _made(
            "stress-diameter", "Peak stress against diameter", size_words, "mm", f"peak stress ({activity})", "MPa",
            stress, picked, yields, f"{_named(hard, activity)}, the hardest on the size chosen.",
            ("bench-diameter-45-55",),
        ),
        _made(
            "wall-diameter", "Wall left against diameter", size_words, "mm", "wall left round the thread", "mm", wall,
            picked, (Mark("least wall", least.value, None, "limit", least.source),),
            "Thinnest wall over each screw's own thread after drilling and tapping to the major diameter.", (),
        ),
    ]  # fmt: skip


def _named(case: str, activity: str) -> str:
    return f"Load case: {LABELS[case]}, {activity}, at the middle of the assumed band of moments"


def _hardest_of(
    screws: Sequence[tuple[str, ImScrew]], rows: Sequence[Sequence[ImScrew]], ran: Sequence[Bracket]
) -> str:
    """The load case with the greatest stress, at the loose end, over the screws that a picture is drawn around."""
    stress = dict.fromkeys(SCREW_CASES, 0.0)
    for some, bracket in zip(rows, ran):
        for k in (k for k, s in enumerate(some) if any(s.item == me.item for _, me in screws)):
            for case in SCREW_CASES:
                found = float(np.asarray(bracket.loose.bending[case].peak_stress_MPa)[k])
                stress[case] = max(stress[case], found if np.isfinite(found) else 0.0)
    return max(SCREW_CASES, key=lambda case: stress[case])


def _length(ground: Ground, screws: Sequence[tuple[str, ImScrew]]) -> TradeOff | None:
    # one family only: two margins are two curves already
    some = _families(ground, screws[:1], "length")[0][1]
    sized = size(ground.frame, some)
    x = [s.length for s in some]
    low = "purchase" if sized.stock.full[0] else "run_out"
    words = "purchase beyond the fracture" if low == "purchase" else "run-out: thread beyond the fracture"
    curves = [
        _curve(words, x, np.broadcast_to(sized.held[low].margin, (len(x),))),
        _curve("tip inside the straight segment", x, np.broadcast_to(sized.held["tip"].margin, (len(x),))),
    ]
    same = [(w, s) for w, s in screws if s in some]
    return _made(
        "length-margins", f"Length against both margins, {_name(some[0], 'length')}", "length of stock otherwise alike",
        "mm", "margin", "mm", curves, _picked(same, [some], "length"),
        (Mark("nothing to spare", 0.0, None, "limit", "GEOM"),),
        "Above zero the rule is met; the margin is to the stricter of its limits.", ("bench-length",),
    )  # fmt: skip


def _working_length(ground: Ground, anchors: Sequence[Anchor]) -> TradeOff | None:
    curves: list[Curve | None] = []
    picked: list[Picked] = []
    gap = float(ground.forces.fracture.gap)
    if gap <= 0 or ground.forces.fracture.state.name == "CLOSED":
        return None
    laid = [(a, span) for a in anchors if (span := _reach(a, gap)) is not None]
    if not laid:
        return None
    hard = max(PLATE_CASES, key=lambda case: max(_strain_now(ground, a, case) for a, _ in laid))
    seen: set[tuple[str, ...]] = set()
    for a, span in laid:
        assert a.plate is not None
        assert a.placed is not None
        assert a.bed is not None
        factors = np.unique(np.concatenate([np.linspace(*span, STEPS), [1.0]]))
        working, bracket = over_working_length(ground.forces, a.bed, a.plate, a.placed, ground.kits, factors, hard)
        at = float(working[np.searchsorted(factors, 1.0)])
        picked.append(Picked(a.word, at))
        key = (a.plate.item,)
        if key in seen or len(seen) == MOST_FAMILIES:
            continue
        seen.add(key)
        name = "" if len(anchors) == 1 else f"{a.plate.item}, "
        for word, end in (("loose end", bracket.loose), ("bonded end", bracket.bonded)):
            curves.append(_curve(name + word, [float(w) for w in working], end.bending[hard].gap_strain))
    limits = tuple(
        Mark(f"{tissue}, by strain theory", ground.thresholds[f"strain_limit_{key}"].value, None, "theory",
             ground.thresholds[f"strain_limit_{key}"].source)
        for key, tissue in (("bone", "bone"), ("cartilage", "cartilage"), ("granulation", "granulation tissue"))
    )  # fmt: skip
    printed = COUNTER_EVIDENCE[0]
    healed = Mark("mean at which plated sheep bones healed", printed.mid, None, "published", printed.source)
    activity = ground.forces.protected.activity
    return _made(
        "strain-working-length", "Gap strain against working length", "working length of the plate", "mm",
        f"strain in the gap ({activity})", "1", curves, tuple(picked), (*limits, healed),
        f"{_named(hard, activity)}, the one that strains the gap most. The innermost screws of the plate moved as if "
        "holes could lie anywhere.",
        ("bench-working-length", "bench-working-length-tension", "gap-strain-counter"),
    )  # fmt: skip


def _reach(a: Anchor, gap: float) -> tuple[float, float] | None:
    """How far the innermost screws of a plate may be moved."""
    return None if a.bed is None or a.placed is None else factor_range(a.bed, a.placed, gap)


def _strain_now(ground: Ground, a: Anchor, case: str) -> float:
    """Gap strain at the loose end of a plate as it is laid; 0 where it has none."""
    if a.plate is None or a.placed is None or a.bed is None:
        return 0.0
    _, bracket = over_working_length(ground.forces, a.bed, a.plate, a.placed, ground.kits, np.ones(1), case)
    strain = float(np.asarray(bracket.loose.bending[case].gap_strain)[0])
    return strain if np.isfinite(strain) else 0.0


def _made(
    name: str,
    title: str,
    x_label: str,
    x_unit: str,
    y_label: str,
    y_unit: str,
    curves: Sequence[Curve | None],
    picked: tuple[Picked, ...],
    marks: tuple[Mark, ...],
    how: str,
    ids: tuple[str, ...],
) -> TradeOff | None:
    kept = tuple(c for c in curves if c is not None)
    if not kept:
        return None
    told: tuple[Evidence, ...] = tuple(evidence(statement(i)) for i in ids)
    made = TradeOff(name, title, x_label, x_unit, y_label, y_unit, kept, picked, marks, "", how, told)
    return replace(made, reading=read(made))
