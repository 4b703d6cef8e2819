"""The HTML plan: one self-contained file, no script, no request, the same bytes for the same plan."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from fixplan.cautions import CAUTION_SHORT
from fixplan.plan.types import Plan, PlateCandidate, ScrewCandidate, Window
from fixplan.report.around import AROUND_FILTERS, around_views
from fixplan.report.charts import bracket_chart, window_chart
from fixplan.report.corridor_views import corridor_views
from fixplan.report.drawing import construct_drawing
from fixplan.report.style import content_policy, environment, stylesheet
from fixplan.report.svg import mark
from fixplan.report.views import (
    FIT_WORDS,
    bends_first,
    by_item,
    fails_here,
    in_the_room,
    margins,
    not_met,
    screw_size,
    source_ids,
)

SHOWN = 12
"""Stock sizes in the printed table; the others stand in the page on screen and in the JSON."""

MANY = 8
"""More assumed values than this, and they stand below the two columns, and the first page is set in smaller type."""

PACKED = 10
"""More assumed values than this beside two constructs, and the first page is set in its smallest type."""


def _chart(window: Window, title: str, svg: Markup) -> dict[str, Any]:
    return {"title": title, "svg": svg, "opens": window.opens}


def _screw_view(plan: Plan) -> dict[str, Any]:
    screw = plan.screw
    if screw is None:
        return {"first": None}
    first = by_item(screw.candidates, screw.first_choice)
    near = (("One up", screw.one_up), ("One down", screw.one_down))
    far = (("Longer", screw.one_longer), ("Shorter", screw.one_shorter))
    charts = []
    window = screw.diameter_window
    limits = [x for x in screw.limits if x.of == "diameter"]
    sizes = [(c.diameter_mm, c.verdict) for c in screw.candidates]
    title = "Diameter in mm"
    svg = window_chart(window, limits, sizes, title, first.diameter_mm if first else None, "window-diameter")
    charts.append(_chart(window, title, svg))
    for k, window in enumerate(screw.length_windows):
        limits = [x for x in screw.limits if x.of == "length" and x.thread in ("", window.thread)]
        sizes = [(c.length_mm, c.verdict) for c in screw.candidates if c.thread == window.thread]
        title = f"Length in mm, {window.thread} thread" if window.thread else "Length in mm"
        chosen = first.length_mm if first and first.thread == window.thread else None
        charts.append(_chart(window, title, window_chart(window, limits, sizes, title, chosen, f"window-length-{k}")))
    windows = (screw.diameter_window, *screw.length_windows)
    return {
        "first": first,
        "neighbours": [(label, by_item(screw.candidates, item)) for label, item in (*near, *far)],
        "margins": margins(first) if first else [],
        "room": in_the_room(screw),
        "clashes": [] if first else [w.opens for w in windows if w.empty and w.opens],
        "charts": charts,
        "shown": screw.candidates[:SHOWN],
        "rest": screw.candidates[SHOWN:],
        "has_chance": any(c.chance is not None for c in screw.candidates),
    }


def _plate_view(plan: Plan, drawn_already: bool) -> dict[str, Any]:
    plate = plan.plate
    if plate is None:
        return {"first": None}
    first = by_item(plate.candidates, plate.first_choice)
    sizes = [(c.length_mm, c.verdict) for c in plate.candidates]
    title = "Plate length in mm"
    svg = window_chart(plate.span_window, plate.limits, sizes, title, first.length_mm if first else None, "window-span")
    drawing = None
    if first and not drawn_already:
        drawing = construct_drawing(plan.bone, first, plan.case.side, f"Plate, {first.label}", "drawing-plate")
    near = (("One up", plate.one_up), ("One down", plate.one_down))
    return {
        "first": first,
        "neighbours": [(label, by_item(plate.candidates, item)) for label, item in near],
        "charts": [_chart(plate.span_window, title, svg)],
        "drawing": drawing,
        "drawing_note": _plate_note(first) if first else "",
        "shown": plate.candidates[:SHOWN],
        "rest": plate.candidates[SHOWN:],
    }


SCREW_NOTE = "The head (dashed) and the pitch of the thread are symbols; all else is to scale."


def _plate_note(plate: PlateCandidate) -> str:
    return (
        f"Drawn on the {plate.surface} surface, for which the mechanics are computed; the surgeon chooses the surface. "
        "Screw heads are not drawn."
    )


def _drawing(plan: Plan, first: ScrewCandidate | PlateCandidate | None) -> tuple[Markup, str]:
    if isinstance(first, ScrewCandidate):
        title, note = f"Bone and screw, {first.label}", SCREW_NOTE
    elif isinstance(first, PlateCandidate):
        title, note = f"Bone and plate, {first.label}", _plate_note(first)
    else:
        title, note = "Bone without a construct", "No construct is drawn: none was chosen."
    return construct_drawing(plan.bone, first, plan.case.side, title, "drawing"), note


def context(plan: Plan) -> dict[str, Any]:
    """What the template is given: the plan itself, and the pictures and selections made from it."""
    screw = _screw_view(plan)
    drawing_first = screw["first"]
    plate = _plate_view(plan, drawn_already=drawing_first is None)
    drawing, note = _drawing(plan, drawing_first or plate["first"])
    constructs = []
    for word, first in (("Screw", screw["first"]), ("Plate", plate["first"])):
        if first is not None:
            bench = tuple(t for t in plan.bench if t.construct == word.lower())
            title = f"{word}, {first.label}"
            chart = None
            at_head = [r for r in first.response if r.load_case.startswith("cantilever")]
            if at_head:
                chart = bracket_chart(at_head, bench, f"Stiffness bracket, {title}", f"bracket-{word.lower()}")
            constructs.append({"title": title, "response": first.response, "chart": chart, "bench": bench})
    assumed = [g for g in plan.given if g.origin == "assumed"]
    # what fills the left column: two constructs, sized or explained
    both = plan.screw is not None and plan.plate is not None
    grounds = plan.fit_for_planning.reasons
    if len(grounds) > 3:  # the first page names the first two and what was not known; the rest stands with the findings
        grounds = (*grounds[:2], grounds[-1])
    css = stylesheet("plan.css.j2", "context.css.j2", "print.css.j2")
    return {
        "plan": plan,
        "css": css,
        "policy": content_policy(css),
        "caution_short": CAUTION_SHORT,
        "known": frozenset(s.id for s in plan.sources),
        "fit_word": FIT_WORDS.get(plan.fit_for_planning.verdict, plan.fit_for_planning.verdict),
        "outside": plan.fit_for_planning.verdict == "outside scope",
        "grounds": grounds,
        "assumed": assumed,
        "changes_right": both,
        "many": len(assumed) > MANY,
        "dense": both or len(assumed) > MANY,
        "packed": both and len(assumed) > PACKED,
        "drawing": drawing,
        "drawing_note": note,
        "screw": screw,
        "plate": plate,
        "constructs": constructs,
        **around_views(plan),
        **corridor_views(plan),
        "mark": mark,
    }


def render_html(plan: Plan) -> str:
    """The plan as one HTML document: UTF-8 text, no script, no outside request, the same bytes for the same plan.

    Raises ValueError where the plan cannot be drawn (a side that is neither left nor right).
    """
    env = environment()
    env.filters.update(
        source_ids=source_ids,
        not_met=not_met,
        screw_size=screw_size,
        fails_here=fails_here,
        bends_first=bends_first,
        trusted=lambda mathml: Markup(mathml),
    )
    env.filters.update(AROUND_FILTERS)
    return env.get_template("plan.html.j2").render(context(plan))
