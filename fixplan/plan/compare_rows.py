"""The rows of a comparison: one quantity of all constructs, which is higher, and what bench tests say of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from fixplan.kits import ImScrew
from fixplan.mechanics.purchase import STATEMENT, cortical_band, pullout_force
from fixplan.plan.compare_bench import alike, bench_says
from fixplan.plan.compare_types import CompareCell, Compared, CompareRow
from fixplan.plan.types import EndResponse, LoadResponse, PlateCandidate, ScrewCandidate

BRACKET = ("loose", "bonded")
PULL = ("low", "high")
PLAIN = ("", "")


def rows(
    found: Sequence[Compared], stock: Mapping[str, ImScrew], bites: Mapping[str, Bite], wanted: Mapping[str, float]
) -> tuple[CompareRow, ...]:
    """Every row, in reading order; screws of the stock by item code, bites and compression wanted [N] by letter."""
    made = [_words("fit", "Fit", found, _fit)]
    tightest = _numbers("tightest", "Tightest margin", "mm", found, _tightest, PLAIN, "")
    if len({c.kind for c in found}) > 1:
        # millimetres of thread and of plate end answer different questions
        tightest = replace(tightest, reading="The margins of a screw and of a plate are not of one kind: no order.")
    made.append(tightest)
    for index, label in ((0, "force from plantar"), (1, "force from lateral")):
        made.append(
            _ends(
                f"stiffness-{index}", f"Stiffness at the head, {label}", "N/mm", found, index,
                lambda e: e.stiffness_N_per_mm, "stiffness",
            )
        )  # fmt: skip
    activity = next((r.activity for c in found for r in _response(c)[:1]), "")
    made.append(_ends("stress", f"Peak stress ({activity})", "MPa", found, 0, lambda e: e.peak_stress_MPa, ""))
    made.append(
        _ends("yield", f"Factor against yield ({activity})", "1", found, 0, lambda e: e.yield_factor, "strength")
    )
    later = next((r.activity for c in found for r in _response(c)[3:4]), "")
    if later:
        made.append(
            _ends("yield-activity", f"Factor against yield ({later}, not united)", "1", found, 3,
                  lambda e: e.yield_factor, "strength")
        )  # fmt: skip
    made.append(_ends("gap-strain", f"Strain in the gap ({activity})", "1", found, 0, lambda e: e.gap_strain, "gap"))
    made.append(
        _ends(
            "gap-opening",
            f"Gap opens at the far cortex ({activity})",
            "mm",
            found,
            0,
            lambda e: e.gap_opening_mm,
            "gap",
        )
    )
    made.append(_purchase(found, stock, bites, wanted))
    if any(c.screw for c in found):
        made.append(_numbers("wall", "Wall left round the thread", "mm", found, _wall, PLAIN, ""))
    if any(c.plate for c in found):
        made.append(_numbers("working-length", "Working length of the plate", "mm", found, _working, PLAIN, ""))
    made.append(_words("trolley", "On the trolley", found, _trolley))
    return tuple(made)


def _response(c: Compared) -> tuple[LoadResponse, ...]:
    held = c.screw or c.plate
    return held.response if held else ()


def _fit(c: Compared) -> str:
    held = c.screw or c.plate
    assert held is not None
    unmet = [f.why for f in held.findings if f.verdict != "pass"]
    return f"{held.verdict}. " + (" ".join(unmet) or "Every rule is met.")


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
    index: int,
    value: Callable[[EndResponse], float | None],
    topic: str,
) -> CompareRow:
    cells = []
    for c in found:
        response = _response(c)
        if len(response) <= index:
            cells.append(CompareCell(None, None, "not computed"))
            continue
        loose, bonded = value(response[index].loose), value(response[index].bonded)
        text = "no gap" if loose is None and bonded is None else ""
        cells.append(CompareCell(loose, bonded, text))
    made = tuple(cells)
    return CompareRow(
        name, label, unit, BRACKET, made, _reading(found, made, BRACKET), "", bench_says(topic, found, made)
    )


@dataclass(frozen=True)
class Bite:
    """Thread beyond the fracture [mm] that is wider than the canal all round, and in at least one plane."""

    all_round: float
    one_plane: float


def _purchase(
    found: Sequence[Compared], stock: Mapping[str, ImScrew], bites: Mapping[str, Bite], wanted: Mapping[str, float]
) -> CompareRow:
    """Predicted pull-out of the thread beyond the fracture that bites in the wall of the canal."""
    cells = []
    for c in found:
        if c.screw is None:
            cells.append(CompareCell(None, None, "plate: pull-out of its screws is not computed"))
        else:
            cells.append(_pullout(stock[c.item], bites[c.letter], wanted[c.letter]))
    made = tuple(cells)
    note = (
        "Low end: thread that bites all round, least published shear strength of cortical bone; high end: thread that "
        f"bites in one plane at least, greatest strength. {STATEMENT} The bench tests "
        "of metatarsal screws read here print which pulled out later, not the force: read no capacity from this row."
    )
    return CompareRow(
        "purchase",
        "Predicted pull-out beyond the fracture",
        "N",
        PULL,
        made,
        _reading(found, made, PULL),
        note,
        bench_says("purchase", found, made),
    )


def _pullout(stock: ImScrew, bite: Bite, wanted: float) -> CompareCell:
    thread = (stock.d_major, stock.d_core, stock.pitch)
    weak, _, strong = (float(s) for s in cortical_band())
    low = float(pullout_force(weak, bite.all_round, *thread))
    high = float(pullout_force(strong, bite.one_plane, *thread))
    text = f"{bite.all_round:.1f} to {bite.one_plane:.1f} mm of thread bite"
    if wanted > 0:
        where = "at both ends" if low >= wanted else "at the high end only" if high >= wanted else "at neither end"
        text += f"; the {wanted:g} N wanted reached {where}"
    return CompareCell(low, high, text)


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
