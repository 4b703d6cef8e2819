"""The rows of a comparison: one quantity of all constructs, which is higher, and what bench tests say of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from fixplan.mechanics.purchase import STATEMENT
from fixplan.plan.compare_bench import alike, bench_says
from fixplan.plan.compare_types import CompareCell, Compared, CompareRow
from fixplan.plan.purchase_view import MEASURED
from fixplan.plan.remarks import hardest, opens_most, widest
from fixplan.plan.strength_types import PurchasePart
from fixplan.plan.types import EndResponse, LoadResponse, PlateCandidate, ScrewCandidate

BRACKET = ("loose", "bonded")
PULL = ("low", "high")
PLAIN = ("", "")


def rows(found: Sequence[Compared], held: Mapping[str, PurchasePart]) -> tuple[CompareRow, ...]:
    """Every row, in reading order; `held` is the purchase of each screw by letter."""
    made = [_words("fit", "Fit", found, _fit)]
    tightest = _numbers("tightest", "Tightest margin", "mm", found, _tightest, PLAIN, "")
    if len({c.kind for c in found}) > 1:
        # millimetres of thread and of plate end answer different questions
        tightest = replace(tightest, reading="The margins of a screw and of a plate are not of one kind: no order.")
    made.append(tightest)
    for index, label in ((0, "force from plantar"), (1, "force from lateral")):
        made.append(
            _ends(
                f"stiffness-{index}", f"Stiffness at the head, {label}", "N/mm", found, _nth(index),
                lambda e: e.stiffness_N_per_mm, "stiffness",
            )
        )  # fmt: skip
    now, later = _activities(found)
    hard, wide = _of(now, hardest), _of(now, widest)
    made.append(_ends("stress", f"Peak stress ({now})", "MPa", found, hard, _stress, ""))
    made.append(_ends("yield", f"Factor against yield ({now})", "1", found, hard, _yield, "strength"))
    if later:
        label = f"Factor against yield ({later}, not united)"
        made.append(_ends("yield-activity", label, "1", found, _of(later, hardest), _yield, "strength"))
    made.append(_ends("gap-strain", f"Strain in the gap ({now})", "1", found, wide, lambda e: e.gap_strain, "gap"))
    label = f"Gap opens at the far cortex ({now})"
    made.append(_ends("gap-opening", label, "mm", found, _of(now, opens_most), lambda e: e.gap_opening_mm, "gap"))
    if any(c.screw for c in found):
        made.append(_purchase(found, held))
        made.append(_numbers("wall", "Wall left round the thread", "mm", found, _wall, PLAIN, ""))
    if any(c.plate for c in found):
        made.append(_numbers("working-length", "Working length of the plate", "mm", found, _working, PLAIN, ""))
    made.append(_words("trolley", "On the trolley", found, _trolley))
    return tuple(made)


Pick = Callable[[Compared], LoadResponse | None]


def _nth(index: int) -> Pick:
    def one(c: Compared) -> LoadResponse | None:
        response = _response(c)
        return response[index] if len(response) > index else None

    return one


def _of(activity: str, most: Callable[[Sequence[LoadResponse]], LoadResponse]) -> Pick:
    """The load case of an activity that `most` picks out, as the plan's own finding does."""

    def one(c: Compared) -> LoadResponse | None:
        same = [r for r in _response(c) if r.activity == activity]
        return most(same) if same else None

    return one


def _activities(found: Sequence[Compared]) -> tuple[str, str]:
    """The activity looked at first, and the later one; "" where there is none."""
    named = [*dict.fromkeys(r.activity for c in found for r in _response(c)), "", ""]
    return named[0], named[1]


def _stress(e: EndResponse) -> float:
    return e.peak_stress_MPa


def _yield(e: EndResponse) -> float:
    return e.yield_factor


def _response(c: Compared) -> tuple[LoadResponse, ...]:
    held = c.screw or c.plate
    return held.response if held else ()


def _fit(c: Compared) -> str:
    """The verdict over the rules that size it, then every caution a plan would carry, by its rule."""
    said = " ".join(f"{f.label[:1].upper()}{f.label[1:]}, {f.verdict}: {f.why}" for f in c.cautions)
    return f"{c.verdict}. {said or 'Every rule is met.'}"


def _trolley(c: Compared) -> str:
    if c.screw is not None:
        parts = [c.screw.item]
    else:
        assert c.plate is not None
        used = [s.screw or "a screw to measure in theatre" for s in c.plate.screws if s.filled]
        parts = [c.plate.item] + [f"{used.count(x)} x {x}" for x in dict.fromkeys(used)]
    held = c.screw or c.plate
    assert held is not None
    return "; ".join([*parts, *(held.instruments or ("no instruments listed for this kit",))])


def margins_of(c: ScrewCandidate | PlateCandidate) -> list[tuple[str, float]]:
    """Margins in mm by name, the tightest first; those not known are left out."""
    if isinstance(c, ScrewCandidate):
        pairs: list[tuple[str, float | None]] = [
            ("run-out", c.margin_run_out_mm),
            ("tip", c.margin_tip_mm),
            ("bite", c.margin_bite_mm),
            ("wall", c.margin_wall_mm),
        ]
    else:
        pairs = [(f.label, f.value) for f in c.findings if f.rule == "room"]
        pairs += [
            (f.label, None if f.value is None or f.limit is None else f.limit - f.value)
            for f in c.findings
            if f.rule == "plate_width"
        ]
    return sorted(((n, v) for n, v in pairs if v is not None), key=lambda p: p[1])


def _tightest(c: Compared) -> tuple[float | None, str]:
    held = c.screw or c.plate
    assert held is not None
    found = margins_of(held)
    return (found[0][1], found[0][0]) if found else (None, "not known")


def _wall(c: Compared) -> tuple[float | None, str]:
    return (c.screw.wall_left_mm, "") if c.screw else (None, "no thread in the canal")


def _working(c: Compared) -> tuple[float | None, str]:
    return (c.plate.working_length_mm, "") if c.plate else (None, "no plate")


def _words(name: str, label: str, found: Sequence[Compared], words: Callable[[Compared], str]) -> CompareRow:
    return CompareRow(name, label, "", PLAIN, tuple(CompareCell(None, None, words(c)) for c in found), "", "", ())


def _numbers(
    name: str,
    label: str,
    unit: str,
    found: Sequence[Compared],
    value: Callable[[Compared], tuple[float | None, str]],
    ends: tuple[str, str],
    topic: str,
) -> CompareRow:
    cells = tuple(CompareCell(v, v, text) for v, text in map(value, found))
    return CompareRow(name, label, unit, ends, cells, _reading(found, cells, ends), "", bench_says(topic, found, cells))


def _ends(
    name: str,
    label: str,
    unit: str,
    found: Sequence[Compared],
    pick: Pick,
    value: Callable[[EndResponse], float | None],
    topic: str,
) -> CompareRow:
    cells, of = [], {}
    for c in found:
        r = pick(c)
        if r is None:
            cells.append(CompareCell(None, None, "not computed"))
            continue
        of[c.letter] = r.label.removesuffix(f", {r.activity}")
        loose, bonded = value(r.loose), value(r.bonded)
        text = "no gap" if loose is None and bonded is None else ""
        cells.append(CompareCell(loose, bonded, text))
    made = tuple(cells)
    note = _load_note(of) if not name.startswith("stiffness") else ""
    return CompareRow(
        name, label, unit, BRACKET, made, _reading(found, made, BRACKET), note, bench_says(topic, found, made)
    )


def _load_note(of: Mapping[str, str]) -> str:
    """The load case that a row was read under, by construct."""
    by: dict[str, list[str]] = {}
    for letter, load in of.items():
        by.setdefault(load, []).append(letter)
    return f"Under {'; '.join(f'{load} ({_and(letters)})' for load, letters in by.items())}." if by else ""


def _purchase(found: Sequence[Compared], held: Mapping[str, PurchasePart]) -> CompareRow:
    """Predicted pull-out of the thread beyond the fracture, as the plan has it: an upper bound."""
    cells = tuple(_pullout(held.get(c.letter)) for c in found)
    return CompareRow(
        "purchase",
        "Predicted pull-out beyond the fracture, an upper bound",
        "N",
        PULL,
        cells,
        _reading(found, cells, PULL),
        f"{STATEMENT} {MEASURED} Read no capacity from this row.",
        bench_says("purchase", found, cells),
    )


def _pullout(held: PurchasePart | None) -> CompareCell:
    if held is None:
        return CompareCell(None, None, "plate: pull-out of its screws is not computed")
    if not held.pullout_N:
        return CompareCell(None, None, held.text)
    text = f"{held.engaged_mm:.1f} mm of thread"
    if held.depth_share is not None:
        text += f", {100 * held.depth_share:.0f} % of its depth outside the straight corridor"
    if held.wanted_N:
        text += f"; against {held.wanted_N:g} N wanted: {held.verdict}"
    return CompareCell(held.pullout_N[0], held.pullout_N[-1], text)


def _top(found: Sequence[Compared], values: Sequence[float | None]) -> tuple[list[str], list[str]]:
    known = [(c.letter, v) for c, v in zip(found, values) if v is not None]
    best = max(v for _, v in known)
    top = [letter for letter, v in known if alike(v, best)]
    return top, [letter for letter, _ in known]


def _and(letters: Sequence[str]) -> str:
    return " and ".join(letters) if len(letters) < 3 else ", ".join(letters[:-1]) + f" and {letters[-1]}"


def _reading(found: Sequence[Compared], cells: Sequence[CompareCell], ends: tuple[str, str]) -> str:
    """Which is higher, in a sentence computed from the cells."""
    known = [c for c in cells if c.low is not None and c.high is not None]
    if len(known) < 2:
        return "Nothing to set side by side."
    tops = [_top(found, [getattr(c, end) for c in cells]) for end in ("low", "high")]
    if all(set(top) == set(every) for top, every in tops):
        return "Alike to the digits shown."

    def said(top: list[str], every: list[str]) -> str:
        return "alike" if set(top) == set(every) else f"{_and(top)} {'is' if len(top) == 1 else 'are'} highest"

    if ends == PLAIN or tops[0] == tops[1]:
        text = f"{_and(tops[0][0])} {'is' if len(tops[0][0]) == 1 else 'are'} higher"
        if len(known) > 2:
            text = text.replace("higher", "highest")
        text += "" if ends == PLAIN else f", at the {ends[0]} and at the {ends[1]} end"
    else:
        text = f"At the {ends[0]} end {said(*tops[0])}, at the {ends[1]} end {said(*tops[1])}"
    spans = [(min(c.low, c.high), max(c.low, c.high)) for c in known if c.low is not None and c.high is not None]
    if ends != PLAIN and max(lo for lo, _ in spans) <= min(hi for _, hi in spans):
        text += "; the brackets overlap, so the order is not certain"
    return text + "."
