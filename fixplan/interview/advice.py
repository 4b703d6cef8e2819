"""What is told with each question: film, how to measure, usual range, and what is done without an answer."""

from __future__ import annotations

import re
from collections.abc import Iterable

from fixplan.bone.defaults import Default, Measurement, NotPublished, default, measurements, outer_default
from fixplan.interview.questions import Given, Question
from fixplan.sources import GRADES, all_sources, threshold

MEASURE = {
    "bone.length": "length",
    "bone.straight_segment": "straight_segment",
    "bone.isthmus.at": "isthmus_at",
    "bone.isthmus.canal": "canal_ap",
    "bone.isthmus.canal_ap": "canal_ap",
    "bone.isthmus.canal_lateral": "canal_lateral",
    "bone.isthmus.outer_ap": "outer_ap",
    "bone.isthmus.outer_lateral": "outer_lateral",
    "fracture.from_base": "from_base",
    "fracture.extent": "extent",
    "fracture.gap": "gap",
    "plan.thresholds.seat_depth": "seat_depth",
}
"""Names in the table of measurements, by key of the case file."""

FILM = {
    "bone.isthmus.canal": "the one on which the canal is narrower",
    "bone.at_fracture.canal": "the one on which the canal is narrower",
    "plate.room_proximal": "AP",
    "plate.room_distal": "AP",
    "plate.surface_width": "the one that looks at the side of the plate",
    "patient.metatarsus_adductus_angle": "AP, standing",
    "patient.calcaneal_pitch": "lateral, standing",
}

PUBLISHED = {
    "bone.length": "length",
    "bone.isthmus.canal": "canal_ap",
    "bone.isthmus.canal_ap": "canal_ap",
    "bone.isthmus.canal_lateral": "canal_lateral",
    "fracture.from_base": "from_base",
}
"""Names of published population values, by key of the case file."""

WITHOUT = {
    "case.planned_for": "stock is judged on the day the plan is made, and times after surgery carry no dates",
    "case.invented": "the case is not marked as invented",
    "plan.consider": "screw and plate are both planned",
    "imaging.marker_seen_lateral": "the magnification of the lateral film is assumed",
    "bone.length": "the landmarks give it",
    "ask.at_fracture": "what is known at the isthmus has to serve there too",
    "bone.at_fracture.canal": "the canal at the isthmus has to serve there too",
    "bone.at_fracture.canal_ap": "the canal at the isthmus has to serve there too",
    "fracture.pattern": "the plan says 'not said' and asks of a plate what a simple pattern asks",
    "fracture.healing": "the plan says 'not said'",
    "fracture.crosses_tmt": "the plate stays on the metatarsal",
    "fracture.compression": "the fracture is planned without lag compression",
    "fracture.callus_modulus": "the gap is planned as open: the implant alone carries the load there",
    "ask.previous": "no earlier screw is planned for",
    "ask.plate_room": "the room is taken to the ends of the bone; the width under the plate is not checked",
    "plate.room_proximal": "the room is taken to the end of the bone",
    "plate.room_distal": "the room is taken to the end of the bone",
    "plate.surface_width": "the width of the plate is not checked against the bone",
    "plate.standoff": "assumed: 0 mm, plate on the bone (PROJECT)",
    "ask.patient": "the plan says nothing of activity and risks",
    "patient.activity": "the plan says 'not said' and loads no activity beyond protected walking",
    "ask.energy": "the score cannot be computed from what is given",
    "plan.kits": "all kits are searched",
    "compare.constructs": "none are named; they can be named when the comparison is made",
}


def film(question: Question, given: Given) -> str:
    """The film on which the measurement is taken, or an empty text where there is none."""
    key = question.key
    found = FILM.get(key) or {"ap": "AP", "lateral": "lateral"}.get(key.rpartition("_")[2], "")
    if key in MEASURE and key not in FILM:
        found = measurements()[MEASURE[key]].film
    if found == "planned":
        return ""
    on_ct = found and given.get("imaging.source") == "ct" and "CT" not in found
    return f"{found} (on CT: the same view)" if on_ct else found


def options(question: Question, given: Given) -> str:
    """The answers there are to choose from, or an empty text where the answer is free."""
    if question.field.kind == "flag":
        return "yes or no"
    choices = ", ".join(str(choice) for choice in question.options(given))
    if not choices:
        return ""
    return ("one or more of: " if question.field.kind == "choices" else "one of: ") + choices


def how(question: Question) -> tuple[str, ...]:
    """How it is taken: the advice with the best known source first."""
    field, found = question.field, []
    if question.key in MEASURE:
        row: Measurement = measurements()[MEASURE[question.key]]
        found.append(row.how if f"({row.source})" in row.how else f"{row.how} [{row.source}]")
    if field.how:
        found.append(field.how + (f" [{field.how_source}]" if field.how_source else ""))
    return tuple(found)


def usual(question: Question, given: Given) -> str:
    """The usual range with its source, "not published", or an empty text where there is nothing to range over."""
    field, ray = question.field, given.get("bone.ray")
    if options(question, given):
        return ""
    if field.usual and (ray == 5 or not field.usual.startswith("ray 5")):
        return f"{field.usual} [{field.usual_source}]"
    accepted = ""
    if field.low is not None:
        accepted = f"{field.low:g}" if isinstance(field.low, (int, float)) else str(field.low)
        accepted += f" to {field.high:g}" if isinstance(field.high, (int, float)) else f" to {field.high}"
        accepted = f"; accepted: {accepted} {field.unit}".rstrip() + f" [{field.source}]"
    if field.kind not in ("quantity", "thresholds"):
        return accepted.removeprefix("; ")
    if row := _default(question.key, given):
        band = "" if row.low is None or row.high is None else f", {row.low:g} to {row.high:g} {row.unit}"
        return f"about {row.value:g} {row.unit}{band} [{row.source}: {GRADES.get(row.grade, row.grade)}]{accepted}"
    if field.usual or question.key in PUBLISHED:
        return f"no reliable range is published for ray {ray}{accepted}"
    return f"no published range is known here{accepted}"


def without(question: Question, given: Given) -> str:
    """What is done when the question is skipped: what is assumed from which source, or that it will be asked for."""
    key, ray = question.key, given.get("bone.ray", 5)
    if question.required(given):
        return "cannot be skipped"
    magnification = threshold("magnification")
    match key:
        case "imaging.source":
            return (
                "lengths are taken as true to size (PROJECT), with the scale error of a film "
                f"({100 * magnification.sd:.1f} %, {magnification.source})"
            )
        case "ask.marker":
            return (
                f"assumed: a magnification of {magnification.value:g}, {magnification.low:g} to "
                f"{magnification.high:g} [{magnification.source}]"
            )
        case "bone.straight_segment":
            return _straight(ray)
        case "bone.isthmus.at":
            return _assumed(ray, "apex_fraction", "of the length", "half the length [PROJECT]")
        case "bone.isthmus.canal_lateral" | "bone.at_fracture.canal_lateral":
            return _assumed(ray, "ellipticity", "times the width on the AP film", "the same width [PROJECT]")
        case "fracture.from_base" | "fracture.extent" | "fracture.gap":
            row = _default(key, given)
            if row is None:
                return f"nothing is published for ray {ray}: the plan will ask for it"
            return f"assumed: {row.value:g} {row.unit} [{row.source}: {GRADES.get(row.grade, row.grade)}]"
        case "plan.thresholds.seat_depth":
            return f"nothing is published for ray {ray}: no screw can be planned"
    if ".outer_" in key:
        return _outer(key, given)
    if key.startswith("patient.energy."):
        return WITHOUT["ask.energy"]
    return WITHOUT.get(key, "the plan leaves out what needs it")


def more(question: Question, given: Given) -> list[str]:
    """Everything behind a question, for those who ask: notation, bounds, other series, sources."""
    field = question.field
    found = [f"{field.key}: {field.text}.", *how(question)[1:]]
    if field.kind in ("quantity", "thresholds"):
        found.append(
            f"Type the value with its unit, for instance {field.example}. An uncertainty (standard uncertainty) may "
            "follow: 71.5 ± 0.8 mm, or +/- for ±. Repeated readings are averaged: 4.6 mm, 4.9 mm, 4.7 mm."
        )
    if field.low is not None:
        found.append(
            f"Accepted: {field.low} to {field.high} {field.unit}".rstrip() + f" ({field.why}) [{field.source}]."
        )
    if field.kind in ("choices", "texts"):
        found.append("Several are separated by commas.")
    if question.key == "plan.kits":
        found.append("Kits of the project: " + ", ".join(kit_ids()) + ".")
    if row := _default(question.key, given):
        found.append(f"Published: {row.value:g} {row.unit}, {row.population} [{row.source}]. {row.note}")
        found += [
            f"Also: {_series(s.value, s.low, s.high)} {s.unit} [{s.source}]; {s.note}."
            for s in row.other
            if s.value is not None or s.low is not None
        ]
    found += [f"{id}: {all_sources()[id].text}" for id in _ids([*found, *how(question), usual(question, given)])]
    found += [f"{id}: {all_sources()[id].text}" for id in _ids([without(question, given)]) if not _told(id, found)]
    return found


def kit_ids() -> tuple[str, ...]:
    """Ids of the project's own kits."""
    from fixplan.kits import load_kits

    return tuple(load_kits().kits)


def _told(id: str, lines: Iterable[str]) -> bool:
    return any(line.startswith(f"{id}: ") for line in lines)


def _ids(texts: Iterable[str]) -> list[str]:
    found = re.findall(r"\b[A-Z][A-Z0-9]+\b", " ".join(texts))
    return [id for id in dict.fromkeys(found) if id in all_sources()]


def _series(value: float | None, low: float | None, high: float | None) -> str:
    band = "" if low is None or high is None else f"{low:g} to {high:g}"
    return band if value is None else f"{value:g}" + (f" ({band})" if band else "")


def _default(key: str, given: Given) -> Default | None:
    name = PUBLISHED.get(key, {"fracture.extent": "extent", "fracture.gap": "gap"}.get(key, ""))
    ray = given.get("bone.ray")
    if not name or ray is None:
        return None
    try:
        return default(ray, name, zone=given.get("fracture.zone") if ray == 5 else None)
    except NotPublished:
        return None


def _assumed(ray: int, name: str, unit: str, otherwise: str) -> str:
    try:
        row = default(ray, name)
    except NotPublished:
        return f"nothing is published for ray {ray}; assumed: {otherwise}"
    return f"assumed: {row.value:g} {unit} [{row.source}]"


def _straight(ray: int) -> str:
    try:
        low, high = (default(ray, f"straight_fraction_{end}") for end in ("cautious", "permissive"))
    except NotPublished:
        return f"nothing is published for ray {ray}: no screw can be planned"
    return (
        f"assumed: {100 * low.value:.0f} % of the length [{low.source}] as the cautious end, {100 * high.value:.0f} % "
        f"[{high.source}] as the permissive end; the series disagree"
    )


def _outer(key: str, given: Given) -> str:
    level, _, name = key.rpartition(".")
    if level == "bone.at_fracture" and given.get(f"bone.isthmus.{name}") is not None:
        return "the width measured at the isthmus is used all along"
    # only the words are used here: they are the same at every level of every length
    row = outer_default(given.get("bone.ray", 5), 100.0, 50.0)[0]
    return f"assumed from {row.population}, scaled with the length [{row.source}]"
