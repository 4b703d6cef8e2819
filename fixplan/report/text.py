"""The plan as a short summary for a terminal: 80 columns, plain words, no colour."""

from __future__ import annotations

import textwrap
from typing import Any

from fixplan.plan.types import Plan, PlatePlan, ScrewPlan
from fixplan.report.formats import chance, given_value, margin, significant, size, stock, visible
from fixplan.report.views import FIT_WORDS, by_item, fails_here, in_the_room, margins

WIDTH = 80
_PLAIN = str.maketrans({"\u00d7": "x", "\u2212": "-", "\u00a0": " ", "\u00b7": ".", "\u2026": "...", "\u2013": "-"})


def plain(text: str) -> str:
    """The text with the signs a narrow terminal may lack spelt in ASCII, and no character that acts on the terminal."""
    return visible(text).translate(_PLAIN).replace("\u00b1", "+/-")


def wrap(text: str, indent: str = "  ", hang: str | None = None) -> list[str]:
    """Lines of at most 80 characters, the first after `indent`, the others after `hang`."""
    return textwrap.wrap(plain(text), WIDTH, initial_indent=indent, subsequent_indent=indent if hang is None else hang)


def _screw(screw: ScrewPlan) -> list[str]:
    lines = ["Screw, have in the room"]
    for word, item in (
        ("first choice", screw.first_choice),
        ("one up", screw.one_up),
        ("one down", screw.one_down),
        ("longer", screw.one_longer),
        ("shorter", screw.one_shorter),
    ):
        c = by_item(screw.candidates, item)
        if c is not None:
            what = f"{size(c.diameter_mm, c.length_mm)} mm"
            lines += wrap(f"{word:<13}{what:<13}{c.verdict:<8}thread {stock(c.thread_mm)} mm, {c.item}", "  ", " " * 15)
    lines += wrap(screw.answer)
    first = by_item(screw.candidates, screw.first_choice)
    if first is not None:
        label, value = margins(first)[0]
        lines += wrap(f"Tightest margin: {label}, {margin(value)} mm.")
    else:
        for window in (screw.diameter_window, *screw.length_windows):
            if window.empty and window.opens:
                lines += wrap(window.opens)
    if first is not None and first.chance is not None and screw.room_chance is not None:
        room = in_the_room(screw)
        sizes = ", ".join(f"{c.item} {size(c.diameter_mm, c.length_mm)} ({c.verdict})" for c in room)
        lines += wrap(
            f"In the draws no sizing rule fails for the first choice in {chance(first.chance.no_fail)}, none even "
            f"cautions in {chance(first.chance.passes)}; in {chance(screw.room_chance)} none fails for at "
            f"least one of {sizes}. {fails_here(room)} Loads are not in these shares."
        )
    return [*lines, *_bracket(first), *wrap(screw.under_load)]


def _plate(plate: PlatePlan) -> list[str]:
    lines = ["Plate, have in the room"]
    for word, item in (("first choice", plate.first_choice), ("one up", plate.one_up), ("one down", plate.one_down)):
        c = by_item(plate.candidates, item)
        if c is not None:
            what = f"{c.holes} holes, {stock(c.length_mm)} mm"
            lines += wrap(f"{word:<13}{what:<18}{c.verdict:<8}{c.item}", "  ", " " * 15)
    lines += wrap(plate.answer)
    return [*lines, *_bracket(by_item(plate.candidates, plate.first_choice)), *wrap(plate.under_load)]


def _bracket(candidate: Any) -> list[str]:
    """The first load case in one line, as a bracket."""
    if candidate is None or not candidate.response:
        return []
    r = candidate.response[0]
    stiff = f"{significant(r.loose.stiffness_N_per_mm)} to {significant(r.bonded.stiffness_N_per_mm)} N/mm"
    return wrap(f"Stiffness, {r.label}: {stiff} (loose to bonded end). A bracket, not a prediction.")


def render_text(plan: Plan) -> str:
    """The summary: case, scope, sizes, what is tight, what would change it, what was assumed, cautions."""
    case = plan.case
    side = "side not said" if case.side == "not said" else f"{case.side} foot"
    lines = wrap(
        f"{case.label}: {side}, metatarsal {case.ray}, {case.zone_label}, pattern {case.pattern}, "
        f"healing {case.healing}" + (f", {case.previous}" if case.previous else ""),
        "",
    )
    verdict = plan.fit_for_planning.verdict
    lines += wrap(
        f"Usually a case for a construct? {FIT_WORDS.get(verdict, verdict)}. {plan.fit_for_planning.sentence}", ""
    )
    for r in plan.fit_for_planning.reasons:
        lines += wrap(f"{r.text} [{r.source}]")
    if verdict == "outside scope" and (plan.screw or plan.plate):
        lines += wrap("The sizes below are geometry only.", "")
    for f in plan.findings:
        if f.rule == "planned_for":
            lines += wrap(f.why, "")
    lines += ["", *wrap("Planning support only: the surgeon decides. The cautions stand below.", "")]
    for part in (_screw(plan.screw) if plan.screw else [], _plate(plan.plate) if plan.plate else []):
        if part:
            lines += ["", *part]
    if plan.screw is None and plan.plate is None:
        lines += ["", "No sizes: no construct was sized for this case."]
    if plan.changes:
        lines += ["", "What would change this answer"]
        for change in plan.changes:
            lines += wrap(f"- {change.text}", "  ", "    ")
    assumed = [g for g in plan.given if g.origin == "assumed"]
    lines += ["", "Assumed, measure it if it matters"]
    for g in assumed:
        lines += wrap(f"- {g.label} {given_value(g)} [{g.source}]", "  ", "    ")
    if not assumed:
        lines.append("  nothing")
    lines += ["", "Cautions"]
    for caution in plan.cautions:
        lines += wrap(f"- {caution}", "  ", "    ")
    return "\n".join(lines) + "\n"
