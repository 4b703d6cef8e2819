"""The quantities a plan rests on, each with its origin: measured, assumed from a named source, or asked for.

A parameter is one number that the numerical road reads: `value` with standard uncertainty `sd`, or, when only a band is
published, an even spread between `low` and `high`. A length read on a film is kept as read and divided by the film's
magnification further on, so that one scale error moves all lengths of that film together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from fixplan.problems import Problem
from fixplan.values import Quantity

AP, LATERAL, NONE = "ap", "lateral", ""
SCALE: Mapping[str, str] = {AP: "magnification_ap", LATERAL: "magnification_lateral"}
"""Name of the magnification that lengths read on a film carry; a true length has none."""
SIDE = {1: "dorsal", 2: "dorsal", 3: "dorsal", 4: "dorsal", 5: "lateral"}
"""The surface a plate is laid on, by ray: dorsal on rays 1 to 4 (AOMb), lateral on the fifth (plantar-lateral in DUP18;
the beam bends about one axis at a time, so the lateral surface stands for it)."""
READINGS = {
    "length_reading_sd": "error of a length read",
    "width_reading_sd": "error of a width read",
    "click_sd": "error of a click",
}
"""Thresholds that stand in for an uncertainty not given, in words."""


@dataclass(frozen=True)
class Parameter:
    """One input of the numerical road.

    `film` is the film it was read on ("" : a true length, or not a length). `shared` is true where `sd` is the spread
    between persons of a population value, not the error of a reading; `even` where only the band from `low` to `high`
    is known and draws spread evenly over it. `grade` says how well an assumed value is known, by the codes of
    `fixplan.sources.GRADES`, "" for a measured one; `sd_source` is where `sd` comes from, "" where that is `source` or
    the case file.
    """

    name: str
    label: str
    value: float
    unit: str
    sd: float
    origin: str
    source: str
    film: str = NONE
    low: float | None = None
    high: float | None = None
    note: str = ""
    decides: str = ""
    shared: bool = False
    even: bool = False
    grade: str = ""
    sd_source: str = ""


@dataclass
class Book:
    """Collects parameters in reading order, and the problems met on the way.

    `readings` are the errors of reading that stood in for uncertainties not given; `unseen` says why the bone measured
    along its length does not tell where its bow begins.

    `thresholds` are those of the case: its own value where the case file sets one, else the default.
    """

    thresholds: dict[str, Parameter]
    parameters: dict[str, Parameter] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    readings: dict[str, Parameter] = field(default_factory=dict)
    unseen: str = ""

    def measured(
        self, name: str, label: str, quantity: Quantity, film: str, *, reading: str = "", decides: str = ""
    ) -> None:
        """Enter a measured quantity; `reading` names the threshold that stands in for an uncertainty not given."""
        sd, note, sd_source = quantity.sd, f"as written: {quantity.raw}", ""
        if quantity.sd_origin == "readings":
            note += f"; mean of {quantity.n_readings} readings"
        elif quantity.sd_origin == "none" and reading:
            stand_in = self.thresholds[reading]
            sd, sd_source = stand_in.value, stand_in.source
            self.stand_in(reading)
            note += f"; uncertainty not given, {sd:g} {stand_in.unit} assumed ({stand_in.source})"
        self.parameters[name] = Parameter(
            name,
            label,
            quantity.value,
            quantity.unit,
            sd,
            "measured",
            quantity.path,
            film,
            note=note,
            decides=decides,
            sd_source=sd_source,
        )

    def stand_in(self, reading: str) -> float:
        """The standard uncertainty that stands in for one not given; enters it among what the plan rests on."""
        t = self.thresholds[reading]
        self.readings[reading] = replace(t, label=READINGS[reading])
        return t.value

    def assumed(
        self,
        name: str,
        label: str,
        value: float,
        unit: str,
        source: str,
        *,
        sd: float = 0.0,
        low: float | None = None,
        high: float | None = None,
        note: str = "",
        decides: str = "",
        shared: bool = False,
        even: bool = False,
        grade: str = "P",
        sd_source: str = "",
    ) -> None:
        """Enter a default with its source; it is never scaled by a film's magnification."""
        self.parameters[name] = Parameter(
            name,
            label,
            value,
            unit,
            sd,
            "assumed",
            source,
            NONE,
            low,
            high,
            note,
            decides,
            shared,
            even,
            grade,
            sd_source,
        )

    def ask(self, where: str, what: str, right: str) -> None:
        """Enter a problem: a value that cannot be assumed and has to be measured."""
        self.problems.append(Problem(where, what, right))

    def value(self, name: str) -> float:
        return self.parameters[name].value

    def true(self, name: str) -> float:
        """A length without the magnification of the film it was read on."""
        scale = SCALE.get(self.parameters[name].film)
        return self.value(name) / (1.0 if scale is None else self.value(scale))

    def has(self, names: Iterable[str]) -> bool:
        return all(n in self.parameters for n in names)
