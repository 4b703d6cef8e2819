"""What is told with each question: film, how to measure, usual range, and what is done without an answer."""

from __future__ import annotations

import re
from collections.abc import Iterable

from fixplan.bone.defaults import Default, Measurement, NotPublished, default, measurements, outer_default
from fixplan.interview.questions import Given, Question, spoken
from fixplan.interview.wording import FILM, MEASURE, PUBLISHED, TABLES, WITHOUT
from fixplan.plan.inputs import SIDE
from fixplan.sources import GRADES, all_sources, threshold


def film(question: Question, given: Given) -> str:
    """The film on which the measurement is taken, or an empty text where there is none."""
    key = question.key
    if key == "plate.surface_width":
        return _film_of_plate(given)
    found = FILM.get(key) or {"ap": "AP", "lateral": "lateral"}.get(key.rpartition("_")[2], "")
    if key in MEASURE and key not in FILM:
        found = measurements()[MEASURE[key]].film
    if found == "planned":
        return ""
    on_ct = found and given.get("imaging.source") == "ct" and "CT" not in found
    return f"{found} (on CT: the same view)" if on_ct else found


def _film_of_plate(given: Given) -> str:
    """The film that looks at the surface on which the plate lies."""
    ray = given.get("bone.ray")
    return "" if ray is None else "lateral" if SIDE[ray] in ("lateral", "medial") else "AP"


def options(question: Question, given: Given) -> str:
    """The answers there are to choose from, or an empty text where the answer is free."""
    if question.field.kind == "flag":
        return "yes or no"
    choices = ", ".join(str(choice) for choice in question.options(given))
    if not choices:
        return ""
    return ("one or more of: " if question.field.kind == "choices" else "one of: ") + choices


def how(question: Question, given: Given) -> tuple[str, ...]:
    """How it is taken: the advice with the best known source first."""
    field, found = question.field, []
    if question.key == "fracture.zone" and given.get("bone.ray") != 5:
        return ()
    if question.key in MEASURE:
        row: Measurement = measurements()[MEASURE[question.key]]
        found.append(row.how if f"({row.source})" in row.how else f"{row.how} [{row.source}]")
    if field.how:
        found.append(field.how + (f" [{field.how_source}]" if field.how_source else ""))
    return tuple(found)


def usual(question: Question, given: Given) -> str:
    """The usual range with its source, that none is known, or an empty text where there is nothing to range over."""
    field, ray = question.field, given.get("bone.ray")
    if field.kind not in ("quantity", "thresholds"):
        return ""
    if field.usual and (ray == 5 or not field.usual.startswith("ray 5")):
        return f"{field.usual} [{field.usual_source}]"
    row = _default(question.key, given)
    # a project default is no finding: it is told where it is assumed
    if row and row.grade != "P":
        band = "" if row.low is None or row.high is None else f", {row.low:g} to {row.high:g} {row.unit}"
        return f"about {row.value:g} {row.unit}{band} [{row.source}: {GRADES.get(row.grade, row.grade)}]"
    if field.usual or question.key in PUBLISHED:
        return f"nothing reliable is published for ray {ray}"
    return "no published range is kept here"


def accepted(question: Question) -> str:
    """The bounds beyond which an answer is refused, with their source; empty where there are none."""
    field = question.field
    return f"{field.low} to {field.high} {field.unit}".rstrip() + f" [{field.source}]" if field.source else ""


def without(question: Question, given: Given) -> str:
    """What is done when the question is skipped: what is assumed from which source, or that it will be asked for."""
    key = question.key
    if question.required(given):
        return "cannot be skipped"
    if given.get("ask.canal") in TABLES and key in TABLES[given["ask.canal"]]:
        apart = _without(key, given)
        return f"taken from the {given['ask.canal']} where it can be read there; if not, {apart}"
    return _without(key, given)


def _without(key: str, given: Given) -> str:
    ray = given.get("bone.ray", 5)
    magnification = threshold("magnification")
    match key:
        case "imaging.source":
            return (
                "lengths are taken as true to size (PROJECT), with the scale error of a film "
                f"({100 * magnification.sd:.1f} %, {magnification.source})"
            )
        case "ask.marker" if given.get("ask.canal") == "landmarks":
            return "nothing gives the scale of the clicked points: the plan will ask for it"
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
    return WITHOUT[key]


def more(question: Question, given: Given) -> list[str]:
    """Everything behind a question, for those who ask: notation, bounds, other series, sources."""
    field = question.field
    found = [f"{spoken(field.key)}: {sentence(field.text)}", *map(sentence, how(question, given)[1:])]
    if field.kind in ("quantity", "thresholds"):
        found.append(f"Type the value with its unit, for instance {field.example}. {_notation(field.example)}")
    if field.low is not None:
        found.append(
            f"Accepted: {field.low} to {field.high} {field.unit}".rstrip() + f" ({field.why}) [{field.source}]."
        )
    if field.kind in ("choices", "texts"):
        found.append("Several are separated by commas.")
    if question.key == "plan.kits":
        found.append("Kits of the project: " + ", ".join(kit_ids()) + ".")
    if row := _default(question.key, given):
        whose = "Assumed" if row.grade == "P" else f"Published, {row.population}"
        found.append(f"{whose}: {row.value:g} {row.unit} [{row.source}]. {row.note}")
        found += [
            f"Also: {_series(s.value, s.low, s.high)} {s.unit} [{s.source}]; {s.note}."
            for s in row.other
            if s.value is not None or s.low is not None
        ]
    found += [f"{id}: {all_sources()[id].text}" for id in _ids([*found, *how(question, given), usual(question, given)])]
    found += [f"{id}: {all_sources()[id].text}" for id in _ids([without(question, given)]) if not _told(id, found)]
    return found


def sentence(text: str) -> str:
    """The text with a capital and a full stop, where it has no end of its own."""
    return text[:1].upper() + text[1:] + ("" if text.endswith(("?", ".", "]")) else ".")


def _notation(example: str) -> str:
    """How an uncertainty and repeated readings are written, in the unit of the question itself."""
    value, _, rest = example.partition(" ")
    unit = rest.rpartition(" ")[2]
    step = 10.0 ** (len(value.partition(".")[0].lstrip("-")) - 2)
    other = f"{float(value) + step:.10g}"
    return (
        f"An uncertainty (standard uncertainty) may follow: {value} ± {step:g} {unit}, or +/- for ±. Repeated readings "
        f"are averaged: {value} {unit}, {other} {unit}."
    )


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
