"""A trainee's questions, made from the case itself, each with an answer computed by the plan's own road.

Nothing here is a rule of thumb in words: every number is the plan's, or the same road run once more with one thing
changed (the bore filled, the other metal, the working length halved).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fixplan.digits import apart
from fixplan.kits import ImScrew, KitSet, Material
from fixplan.mechanics.parts import Contact
from fixplan.plan.constructs import metal
from fixplan.plan.readings import at, two_digits
from fixplan.plan.remarks import hardest
from fixplan.plan.response import LABELS, PROTECTED, SCREW_CASES, Setting, screw_brackets
from fixplan.plan.types import (
    FAIL,
    PASS,
    Change,
    Limit,
    LoadResponse,
    PlateCandidate,
    PlatePlan,
    Question,
    ScrewCandidate,
    ScrewPlan,
    TradeOff,
    Window,
)
from fixplan.plan.worksheet_load import Evaluate
from fixplan.sizing.rules import Floats

CASE = SCREW_CASES[0]
DIAMETER = ("window-bite", "window-wall", "margin-bite", "margin-wall")
MARGINS = ("margin-bite", "margin-wall", "margin-run-out", "margin-tip")
WINDOWS = ("window-bite", "window-wall", "length-low", "length-high")
STEP, SECANTS = 1.01, 4


@dataclass(frozen=True)
class Asked:
    """What the questions are made from."""

    screw: ScrewPlan | None
    plate: PlatePlan | None
    chosen: ImScrew | None
    forces: Setting
    seat: Floats
    kits: KitSet
    changes: tuple[Change, ...]
    tradeoffs: tuple[TradeOff, ...]
    runs: Mapping[str, tuple[Evaluate, float]]
    """Kind of construct -> the first choice under any moment, and the least yield of its metal [MPa]."""


def questions(asked: Asked) -> tuple[Question, ...]:
    """Every question this case can answer, in reading order."""
    found: list[Question | None] = []
    if asked.screw is not None:
        first = _candidate(asked.screw.candidates, asked.screw.first_choice)
        found += [_length(asked.screw, first), _diameter(asked.screw, first), _next_size(asked.screw, asked.changes)]
        if first is not None and asked.chosen is not None and first.response:
            found += [_bore(asked, asked.chosen), _metal(asked, asked.chosen), _wider(asked, asked.chosen)]
            found.append(_yield("screw", first, asked))
    if asked.plate is not None:
        plate = next((c for c in asked.plate.candidates if c.item == asked.plate.first_choice), None)
        found.append(_span(asked.plate, plate))
        found.append(_half(asked.tradeoffs))
        if plate is not None and plate.response:
            found.append(_yield("plate", plate, asked))
    return tuple(q for q in found if q is not None)


def _candidate(candidates: Sequence[ScrewCandidate], item: str | None) -> ScrewCandidate | None:
    return next((c for c in candidates if item is not None and c.item == item), None)


def _limit(limits: Sequence[Limit], name: str, of: str, thread: str) -> Limit | None:
    return next((m for m in limits if m.name == name and m.of == of and m.thread in ("", thread)), None)


def _window(window: Window, limits: Sequence[Limit], unit_of: str) -> list[str]:
    """Both ends of a window, each with the limit that sets it and how it comes about."""
    lines = []
    for end, name, value in (("Low", window.lo_by, window.lo_mm), ("High", window.hi_by, window.hi_mm)):
        limit = _limit(limits, name, window.of, window.thread)
        how = "" if limit is None else f", by {limit.label}: {limit.how}"
        source = "" if limit is None else f" [{limit.source}]"
        lines.append(f"{end} end of the {unit_of}: {value:.1f} mm{how}{source}.")
    if window.hi_permissive_mm is not None:
        lines.append(f"By the permissive published limit the high end is {window.hi_permissive_mm:.1f} mm.")
    if window.empty:
        lines.append(window.opens)
    return lines


def _sources(window: Window, limits: Sequence[Limit]) -> str:
    held = [_limit(limits, name, window.of, window.thread) for name in (window.lo_by, window.hi_by)]
    return ", ".join(dict.fromkeys(m.source for m in held if m is not None))


def _length(screw: ScrewPlan, first: ScrewCandidate | None) -> Question | None:
    windows = [w for w in screw.length_windows if first is None or w.thread == first.thread]
    if not windows:
        return None
    w = windows[0]
    lines = _window(w, screw.limits, f"length window, {w.thread} thread")
    if first is not None:
        pairs = (("run-out or purchase", first.margin_run_out_mm), ("tip", first.margin_tip_mm))
        name, least = min(pairs, key=lambda p: p[1])
        lines.append(f"At {first.length_mm:g} mm the tighter of the two is {name}: {_room(least)}.")
    return Question(
        "length",
        "What limits the length here?",
        tuple(lines),
        ("length-low", "length-high", "margin-run-out", "margin-tip"),
        _sources(w, screw.limits),
    )


def _diameter(screw: ScrewPlan, first: ScrewCandidate | None) -> Question:
    w = screw.diameter_window
    lines = _window(w, screw.limits, "diameter window")
    if first is not None and first.margin_bite_mm is not None and first.margin_wall_mm is not None:
        lines.append(
            f"Over its own thread the {first.diameter_mm:.1f} mm screw stands so: above the least that bites, "
            f"{_room(first.margin_bite_mm)}; below the widest that leaves the wall, by the stricter limit, "
            f"{_room(first.margin_wall_mm)}."
        )
    return Question("diameter", "What limits the diameter here?", tuple(lines), DIAMETER, _sources(w, screw.limits))


def _next_size(screw: ScrewPlan, changes: Sequence[Change]) -> Question:
    lines = []
    for word, item in (
        ("One up", screw.one_up),
        ("One down", screw.one_down),
        ("Longer", screw.one_longer),
        ("Shorter", screw.one_shorter),
    ):
        c = _candidate(screw.candidates, item)
        if c is None:
            continue
        unmet = [f for f in c.findings if f.verdict != PASS]
        why = "; ".join(f"{f.label} {_beyond(f.value, f.limit, f.unit)}({f.verdict})" for f in unmet)
        lines.append(f"{word}, {c.diameter_mm:.1f} x {c.length_mm:g} mm: {why or 'meets every rule'}.")
    lines += [c.text[:1].upper() + c.text[1:] for c in changes]
    if not changes:
        lines.append("No single input changes the answer within its own uncertainty.")
    sources = [f.source for c in screw.candidates for f in c.findings if f.verdict == FAIL]
    return Question(
        "next-size",
        "Which input would move the answer to the next size?",
        tuple(lines),
        WINDOWS if screw.first_choice is None else MARGINS,
        ", ".join(dict.fromkeys(sources)) or "PROJECT",
    )


def _room(margin: float) -> str:
    return f"{margin:.1f} mm to spare" if margin >= 0 else f"{-margin:.1f} mm beyond the limit"


def _beyond(value: float | None, limit: float | None, unit: str) -> str:
    if unit != "mm" or value is None or limit is None:
        return ""
    return f"by {abs(value - limit):.{apart(value, limit)}f} mm "


@dataclass(frozen=True)
class Both:
    """For two screws, the one chosen first: stiffness [N/mm] and peak stress [MPa] of each, loose and bonded."""

    stiffness: tuple[tuple[float, float], ...]
    stress: tuple[tuple[float, float], ...]
    hardest: str


def _numbers(asked: Asked, screws: Sequence[ImScrew]) -> Both:
    """Stiffness under the force from plantar; stress in the load case that is hardest on the first of the screws."""
    b = screw_brackets(asked.forces, screws, asked.seat, asked.forces.protected.mid)

    def pairs(case: str, field: str) -> tuple[tuple[float, float], ...]:
        ends = [np.asarray(getattr(end.bending[case], field), float) for end in (b.loose, b.bonded)]
        return tuple((float(loose), float(bonded)) for loose, bonded in zip(*ends))

    hard = max(SCREW_CASES, key=lambda case: np.nan_to_num(pairs(case, "peak_stress_MPa")[0][0]))
    return Both(pairs(CASE, "stiffness_N_per_mm"), pairs(hard, "peak_stress_MPa"), hard)


def _change(asked: Asked, words: tuple[str, str], found: Both) -> list[str]:
    """What changes from the first screw to the second, with the load case of each number named."""
    (k, k_), (s, s_) = found.stiffness, found.stress
    if not np.all(np.isfinite([*k, *k_, *s, *s_])):
        return [f"Not computed: {words[1]} cannot be built in this bone."]
    told = [two_digits(v) for pair in (zip(k, k_), zip(s, s_)) for ends in pair for v in ends]
    now = asked.forces.protected.activity
    return [
        "From {} to {}: stiffness {} to {} N/mm at the loose end, {} to {} at the bonded end ({}).".format(
            *words, *told[:4], LABELS[CASE]
        ),
        "Peak stress {} to {} MPa at the loose end, {} to {} at the bonded end ({}, {} moment).".format(
            *told[4:], LABELS[found.hardest], now
        ),
    ]


def _bore(asked: Asked, me: ImScrew) -> Question | None:
    if me.solid:
        like = [s for s in asked.kits.im_screws if not s.solid and s.d_major == me.d_major]
        if not like:
            return None
        other = replace(me, d_cannula=min(like, key=lambda s: s.item).d_cannula)
        words = ("solid", f"hollow with a bore of {other.d_cannula:g} mm")
        bore = other.d_cannula
    else:
        other, bore = replace(me, d_cannula=0.0), me.d_cannula
        words = (f"hollow with a bore of {bore:g} mm", "solid")
    share = (bore / me.d_bridge) ** 4
    lines = [
        f"The bore takes (bore / diameter)^4 = ({bore:g} / {me.d_bridge:g})^4 = {100 * share:.1f} % of the "
        "second moment where the screw crosses the fracture.",
        *_change(asked, words, _numbers(asked, [me, other])),
        "One paired bench test found the stiffness of solid and cannulated screws alike, and early failures only among "
        "the cannulated headless ones (WILL20).",
    ]
    return Question("bore", "Solid or hollow, otherwise the same screw: what changes?", tuple(lines),
                    ("screw-I", "stress", "stiffness"), "WILL20")  # fmt: skip


def _metal(asked: Asked, me: ImScrew) -> Question | None:
    mine = metal(me.material.name)
    found: dict[str, Material] = {}
    for s in asked.kits.im_screws:
        if metal(s.material.name) != mine:
            found.setdefault(s.material.id, s.material)
    if not found:
        return None
    other = found[min(found)]
    lines = [
        f"Modulus {me.material.E_MPa / 1000:g} and {other.E_MPa / 1000:g} GPa: ratio "
        f"{other.E_MPa / me.material.E_MPa:.2f}.",
        *_change(asked, (mine, metal(other.name)), _numbers(asked, [me, replace(me, material=other)])),
        f"Least yield {me.material.yield_MPa:g} and {other.yield_MPa:g} MPa. No bench test of one intramedullary screw "
        "in two metals was found.",
    ]
    ids = dict.fromkeys((me.material.sources.get("E_MPa", "PROJECT"), other.sources.get("E_MPa", "PROJECT")))
    return Question("metal", "Steel or titanium, otherwise the same screw: what changes?", tuple(lines),
                    ("composite", "stress", "yield", "stiffness"), ", ".join(ids))  # fmt: skip


def _wider(asked: Asked, me: ImScrew) -> Question | None:
    kin = [
        s
        for s in asked.kits.im_screws
        if s.kit == me.kit and s.length == me.length and s.thread_length == me.thread_length and s.d_major != me.d_major
    ]
    if not kin:
        return None
    # the next wider one, or the next narrower where the widest was chosen
    other = min(kin, key=lambda s: (s.d_major < me.d_major, abs(s.d_major - me.d_major), s.item))
    word = "wider" if other.d_major > me.d_major else "narrower"
    lines = [
        f"Where it crosses the fracture {me.d_bridge:g} mm becomes {other.d_bridge:g} mm; the fourth power of the "
        f"ratio is {(other.d_bridge / me.d_bridge) ** 4:.2f}.",
        *_change(asked, (f"{me.d_major:.1f} mm", f"{other.d_major:.1f} mm"), _numbers(asked, [me, other])),
        "Bench tests showed no difference of bending stiffness between 5.0 and 6.5 mm (KEL01), of failure load between "
        "4.5 and 5.5 mm (SHA01), or in torsion (HOR04); the wider pulled out later (KEL01).",
    ]
    return Question("diameter-step", f"What would the next {word} screw do to stiffness and stress? Is it borne out?",
                    tuple(lines), ("screw-I", "stress", "stiffness"), "KEL01, SHA01, HOR04")  # fmt: skip


def _yield_moment(run: Evaluate, strength: float, r: LoadResponse, *, linear: bool) -> float | None:
    """The moment at the fracture [N*mm] at which the loose end just yields in a load case; None: before any load.

    Stress is linear in the moment up to the separation of a compressed fracture and beyond it, so that a secant that
    stands on one side of it is exact; a further step brings it there from the other side.
    """
    if linear:
        return r.moment_N_mm * r.loose.yield_factor

    def stress(moment: float) -> float:
        return float(np.asarray(run(moment).loose.bending[r.load_case].peak_stress_MPa)[0])

    at = r.moment_N_mm
    for _ in range(SECANTS):
        low, high = stress(at), stress(at * STEP)
        if np.isclose(low, strength, rtol=1e-9):
            return at
        if not high > low:
            return None
        at += (strength - low) * (STEP - 1) * at / (high - low)
        if at <= 0:
            return None
    return at if np.isclose(stress(at), strength, rtol=1e-6) else None


def _yield(kind: str, first: ScrewCandidate | PlateCandidate, asked: Asked) -> Question:
    lines = []
    prefix = "" if kind == "screw" else "plate-"
    links = []
    for activity in dict.fromkeys(r.activity for r in first.response):
        r = hardest([x for x in first.response if x.activity == activity])
        line = (
            f"{activity[:1].upper()}{activity[1:]}, {r.moment_N_mm / 1000:.1f} N m assumed "
            f"({r.moment_lo_N_mm / 1000:.1f} to {r.moment_hi_N_mm / 1000:.1f}): the hardest load case is {r.label}; at "
            f"the loose end the least yield is {two_digits(r.loose.yield_factor)} times the stress, at "
            f"{r.loose.critical_section}"
        )
        moment = _yield_moment(*asked.runs[kind], r, linear=asked.forces.fracture.state is not Contact.CLOSED)
        if moment is not None:
            line += f", and it is reached at {two_digits(moment / 1000)} N m in that case"
        lines.append(line + ".")
        links.append(f"{prefix}yield" if activity == PROTECTED else f"{prefix}yield-{activity}")
    if asked.forces.fracture.state is Contact.CLOSED:
        lines.append(
            "The fracture is closed under compression: stress does not grow in proportion to the load, faster once the "
            "fracture has opened, so factor times moment is not the moment at yield."
        )
        links += [f"{prefix}separation", f"{prefix}separation-lateral"]
    lines.append("Yielding once is not fatigue, which asks for a smaller moment many times.")
    title = f"At which moment would the {kind} bend for good?"
    return Question(f"yield-{kind}", title, tuple(lines), tuple(links), first.response[0].source)


def _span(plate: PlatePlan, first: PlateCandidate | None) -> Question:
    lines = _window(plate.span_window, plate.limits, "plate length")
    if first is not None and first.working_length_mm is not None:
        lines.append(
            f"The {first.holes}-hole plate spans {first.length_mm:g} mm; between its innermost screws lie "
            f"{first.working_length_mm:.1f} mm."
        )
    worked = ("span-low", "span-high", "span-ratio", "working-length")
    sources = _sources(plate.span_window, plate.limits)
    return Question("span", "What limits the length of the plate here?", tuple(lines), worked, sources)


def _half(tradeoffs: Sequence[TradeOff]) -> Question | None:
    t = next((t for t in tradeoffs if t.name == "strain-working-length"), None)
    if t is None or not t.picked:
        return None
    x = t.picked[0].at
    lines = [t.reading, t.how]
    for c in t.curves[1:2]:
        here, half = at(c, x), at(c, x / 2)
        if here is not None and half is not None:
            told = [two_digits(100 * v) for v in (here, half)]
            if told[0] == told[1]:
                lines.append(
                    f"At the bonded end it stays at {told[0]} %: there bone and plate move as one up to the gap, and "
                    "the innermost screws hardly matter."
                )
            else:
                lines.append(f"At the bonded end it goes from {told[0]} to {told[1]} %.")
    lines.append(
        "In bench tests on long bones a shorter working length was stiffer: in axial load and torsion (STO03), in a "
        "femur that moved mostly in shear (BRIDGE17) and in compression bending; in tension bending the far cortex met "
        "and shared the load (THI24). Plated sheep bones healed at a mean strain of 51 % (BJRgap)."
    )
    return Question("half", "What does halving the working length do to gap strain?", tuple(lines), ("plate-strain",),
                    "STO03, BRIDGE17, THI24, BJRgap, PER02")  # fmt: skip
