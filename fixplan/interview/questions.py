"""Which questions are asked, in which order, and on what they depend.

A question is a key of the case file, or a question about the questions ("ask.canal": how is the canal known?) that
opens or closes a block and is not written to the file.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fixplan.case.fields import Field, fields
from fixplan.sources import threshold

Given = Mapping[str, Any]
"""Answers by key, in the order in which they were given; None where a question was skipped."""

ASK = "ask."
SEAT = "plan.thresholds.seat_depth"
BOTH = ("screw", "plate")


@dataclass(frozen=True)
class Question:
    """One question. `when` says whether it matters, `required` whether it can be left out, given the answers so far.

    `options` narrows the choices of the field.
    """

    field: Field
    section: str
    when: Callable[[Given], bool]
    required: Callable[[Given], bool]
    options: Callable[[Given], tuple[Any, ...]]

    @property
    def key(self) -> str:
        """Key path in the case file, or "ask." and a name."""
        return self.field.key


def spoken(key: str) -> str:
    """A key as it is shown: a question about the questions stands under its own name, which is no key of the file."""
    return key.removeprefix(ASK)


def written(key: str) -> bool:
    """True for a key of the case file."""
    return not key.startswith(ASK)


def wants(given: Given, kind: str) -> bool:
    """True when a construct of this kind is considered; without an answer both are."""
    return kind in (given.get("plan.consider") or BOTH)


def _asks_screw(given: Given) -> bool:
    # on rays 1 to 4 nearly nothing is published for a screw: its questions are asked when it was named
    return wants(given, "screw") and (given.get("bone.ray") == 5 or given.get("plan.consider") is not None)


def _always(_: Given) -> bool:
    return True


def _never(_: Given) -> bool:
    return False


def _is(key: str, *values: Any) -> Callable[[Given], bool]:
    return lambda given: given.get(key) in values


def _zones(given: Given) -> tuple[Any, ...]:
    return (1, 2, 3) if given.get("bone.ray") == 5 else ("base", "shaft", "neck")


def _canal_ways(given: Given) -> tuple[Any, ...]:
    # a length never stands in for a canal width, so a screw cannot be planned without one
    return ("films", "one", "table", "landmarks") + (() if wants(given, "screw") else ("no",))


def _marker_ways(given: Given) -> tuple[Any, ...]:
    return ("one", "dicom", "no") if given.get("ask.canal") == "landmarks" else ("one", "each", "dicom", "no")


def _widths(level: str, known: Callable[[Given], bool]) -> list[Question]:
    def films(given: Given) -> bool:
        return known(given) and given.get("ask.canal") == "films"

    def one(given: Given) -> bool:
        return known(given) and given.get("ask.canal") == "one"

    def both(given: Given) -> bool:
        # a plan cannot use the lateral height without the AP width, which is the narrower one
        return films(given) and given.get(f"{level}.canal_ap") is not None

    isthmus = level == "bone.isthmus"
    title = "The narrowest place of the canal" if isthmus else "At the level of the fracture"
    required = _always if isthmus else _never
    return [
        _ask(f"{level}.canal", title, one, required),
        _ask(f"{level}.canal_ap", title, films, required),
        _ask(f"{level}.canal_lateral", title, both),
        _ask(f"{level}.outer_ap", title, known),
        _ask(f"{level}.outer_lateral", title, known),
    ]


def _ask(
    key: str,
    section: str,
    when: Callable[[Given], bool] = _always,
    required: Callable[[Given], bool] | None = None,
    options: Callable[[Given], tuple[Any, ...]] | None = None,
) -> Question:
    field = OWN.get(key) or fields()[key]
    needed = (_always if field.required else _never) if required is None else required
    return Question(field, section, when, needed, options or (lambda _: field.choices))


def _block(key: str, text: str, how: str = "", choices: tuple[str, ...] = (), example: str = "yes") -> Field:
    return Field(f"{ASK}{key}", "choice" if choices else "flag", text, example, how=how, choices=choices)


def _own() -> dict[str, Field]:
    seat = threshold("seat_depth")
    found = [
        _block(
            "canal",
            "how the width of the canal is known",
            "films: width on the AP and height on the lateral film; one: a single diameter; table: a CSV table of "
            "stations beside the case file; landmarks: a CSV table of points read off calibrated images; no: not "
            "measured, for a plate alone",
            ("films", "one", "table", "landmarks", "no"),
            "films",
        ),
        _block(
            "marker",
            "calibration on the film",
            "one: a marker of known size, seen alike on both films; each: its size seen on each film; dicom: the "
            "image file gives its spacing; no: none of these",
            ("one", "each", "dicom", "no"),
            "one",
        ),
        _block("at_fracture", "are the widths at the level of the fracture measured as well?"),
        _block("plate_room", "is the bone that is free for a plate measured?"),
        _block("previous", "was there an earlier screw in this bone?"),
        _block("patient", "is there anything to say of the patient: body mass, activity, risks?"),
        _block("energy", "are items of the energy deficiency score known?"),
        Field(
            SEAT,
            "thresholds",
            "depth of the screw's seat below the proximal end, along the axis",
            "2 mm",
            dimension="length",
            unit=seat.unit,
        ),
    ]
    return {field.key: field for field in found}


OWN: Mapping[str, Field] = _own()
"""Questions that are no field of their own in the case file."""


def _questions() -> tuple[Question, ...]:
    films = _is("imaging.source", "radiograph")
    plate, patient = _is("ask.plate_room", True), _is("ask.patient", True)
    single = _is("ask.canal", "films", "one")
    earlier = _is("ask.previous", True)

    def energy(given: Given) -> bool:
        return patient(given) and given.get("ask.energy") is True

    def marker(*ways: str) -> Callable[[Given], bool]:
        return lambda given: films(given) and given.get("ask.marker") in ways

    def at_fracture(given: Given) -> bool:
        return single(given) and given.get("ask.at_fracture") is True

    def crosses(given: Given) -> bool:
        return wants(given, "plate") and given.get("fracture.zone") == "base"

    case, bone, film, site = "The case", "The bone", "The images", "The fracture"

    def clicked(given: Given) -> bool:
        return given.get("ask.canal") == "landmarks"

    def along(given: Given) -> bool:
        return _asks_screw(given) and given.get("ask.canal") in ("table", "landmarks")

    def seen(*ways: str) -> Callable[[Given], bool]:
        # in a table of landmarks the marker is clicked: only its true size has to be said
        return lambda given: marker(*ways)(given) and not clicked(given)

    rows = [
        *(_ask(f"case.{name}", case) for name in ("label", "side", "planned_for", "invented")),
        _ask("bone.ray", case),
        _ask("fracture.zone", case, options=_zones),
        _ask("plan.consider", case),
        _ask("ask.canal", "What is measured", required=_always, options=_canal_ways),
        _ask("imaging.source", film),
        _ask("ask.marker", film, films, options=_marker_ways),
        _ask("imaging.marker_true", film, marker("one", "each"), _always),
        _ask("imaging.marker_seen", film, seen("one"), _always),
        _ask("imaging.marker_seen_ap", film, seen("each"), _always),
        _ask("imaging.marker_seen_lateral", film, seen("each")),
        _ask("imaging.dicom", film, marker("dicom"), _always),
        _ask("bone.length", bone, required=lambda given: not clicked(given)),
        _ask("bone.stations", bone, _is("ask.canal", "table"), _always),
        _ask("bone.landmarks", bone, _is("ask.canal", "landmarks"), _always),
        _ask("bone.straight_segment", bone, _asks_screw),
        *(_ask(f"bone.entry_from_{side}", bone, along) for side in ("lateral", "dorsal")),
        _ask("bone.isthmus.at", "The narrowest place of the canal", single),
        *_widths("bone.isthmus", single),
        *(_ask(f"fracture.{name}", site) for name in ("from_base", "extent", "gap", "pattern", "healing")),
        _ask("fracture.crosses_tmt", site, crosses),
        _ask("fracture.compression", site),
        _ask("fracture.callus_modulus", site, _is("fracture.compression", None)),
        _ask("ask.at_fracture", "At the level of the fracture", single),
        *_widths("bone.at_fracture", at_fracture),
        _ask(SEAT, "The screw", lambda given: _asks_screw(given) and given.get("bone.ray") != 5),
        _ask("ask.previous", "Earlier surgery"),
        _ask("previous.screw_diameter", "Earlier surgery", earlier),
        _ask("previous.state", "Earlier surgery", earlier),
        _ask("ask.plate_room", "Room for a plate", lambda given: wants(given, "plate")),
        *(_ask(key, "Room for a plate", plate) for key in fields() if key.startswith("plate.")),
        _ask("ask.patient", "The patient"),
        *(_ask(k, "The patient", patient) for k in fields() if k.startswith("patient.") and k.count(".") == 1),
        _ask("ask.energy", "The patient", patient),
        *(_ask(key, "The patient", energy) for key in fields() if key.startswith("patient.energy.")),
        _ask("plan.kits", "The plan"),
        _ask("compare.constructs", "The plan"),
    ]
    return tuple(rows)


QUESTIONS = _questions()
"""All questions, in the order in which they are asked."""


def applicable(given: Given) -> Iterator[Question]:
    """The questions that matter, as far as the answers so far tell."""
    return (question for question in QUESTIONS if question.when(given))


def upcoming(given: Given) -> Question | None:
    """The first question that matters and has no answer, or None when all are answered."""
    return next((question for question in applicable(given) if question.key not in given), None)
