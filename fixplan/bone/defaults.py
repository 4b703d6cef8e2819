"""Published population values of the metatarsals, for what a case does not give.

Only ray 5 has a published canal; for rays 1 to 4 the value is asked for. Outer widths come from one foot of one person
and say so. Every record names its source and how well it is known; the numbers lie in `population.toml`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from types import MappingProxyType
from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.sources import read_table, threshold

RAYS = (1, 2, 3, 4, 5)
ZONES = ("1", "2", "3")


@dataclass(frozen=True)
class Series:
    """One series on a quantity: mean, standard deviation and range as far as printed."""

    unit: str
    source: str
    grade: str
    note: str
    value: float | None = None
    sd: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Default:
    """A population value that may stand in for a measurement, in mm or as a plain ratio ("1").

    `sd` is the spread between persons (0: none known, not certainty); `sd_source` says where it comes from.
    `other` holds further series that disagree; `also` further source ids behind the value.
    """

    name: str
    ray: int
    value: float
    sd: float
    unit: str
    source: str
    grade: str
    population: str
    note: str
    sd_source: str
    low: float | None = None
    high: float | None = None
    other: tuple[Series, ...] = ()
    also: tuple[str, ...] = ()


@dataclass(frozen=True)
class Measurement:
    """How one measurement is taken: what it is, on which film, how, and the source of the advice."""

    name: str
    film: str
    what: str
    how: str
    source: str


class NotPublished(LookupError):
    """No population value is published: the message says what to measure and how."""


@cache
def _table() -> Mapping[str, Any]:
    return read_table("fixplan.bone", "population.toml")


@cache
def measurements() -> Mapping[str, Measurement]:
    """How each measurement is taken, by name."""
    return MappingProxyType({k: Measurement(k, **row) for k, row in _table()["measure"].items()})


def default(ray: int, name: str, *, zone: str | int | None = None) -> Default:
    """The population value of `name` for a ray.

    Names: length, canal_ap, canal_lateral, apex_fraction (of the length), ellipticity (canal_lateral over canal_ap),
    straight_fraction_cautious, straight_fraction_permissive, seat_depth, from_base (with `zone` 1, 2 or 3), extent,
    gap. Outer widths depend on the level: see `outer_default`.
    Raises NotPublished when nothing is published, ValueError for an unknown ray or zone.
    """
    _check_ray(ray)
    if name in ("extent", "gap"):
        return _record(ray, name, _table()["any"][name])
    rows: Mapping[str, Any] = _table().get(f"ray{ray}", {})
    if name == "from_base" and ray == 5 and zone is not None:
        if str(zone) not in ZONES:
            raise ValueError(f"zone: {zone!r} is not one of 1, 2, 3; give the zone of the fifth metatarsal")
        return _record(ray, name, rows[f"zone{zone}"])
    if name in ("straight_fraction_cautious", "straight_fraction_permissive", "seat_depth") and ray == 5:
        t = threshold(name)
        return Default(
            name, ray, t.value, t.sd, t.unit, t.source, t.grade, "see note", t.note, t.source, t.low, t.high, (), t.also
        )
    if name not in rows:
        raise NotPublished(_ask(ray, name))
    return _record(ray, name, rows[name])


def outer_default(ray: int, length: float, at: float) -> tuple[Default, Default]:
    """Outer width (AP film) and height (lateral film) at `at` mm from the proximal end of a bone `length` mm long.

    From one foot of one person, scaled with the length: a shape, not a population. Raises ValueError outside the
    middle 80 % of the length, where the shape was not kept.
    """
    ap, lateral = outer_widths(ray, length, at)
    row = _table()["outer"]
    sd = float(row["sd_fraction"])

    def one(name: str, value: float) -> Default:
        return Default(
            name,
            ray,
            value,
            value * sd,
            "mm",
            row["source"],
            row["grade"],
            row["population"],
            row["note"],
            row["sd_source"],
        )

    return one("outer_ap", float(ap)), one("outer_lateral", float(lateral))


def outer_widths(ray: int, length: float, at: npt.ArrayLike) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """Outer widths (AP, lateral) [mm] of the one measured foot at stations `at` [mm], scaled to `length` [mm].

    Linear between the kept stations (every tenth of the length). Raises ValueError outside 0.1 to 0.9 of the length.
    """
    _check_ray(ray)
    if not length > 0:
        raise ValueError(f"length: {length} mm is not above 0; give the length of the bone")
    row = _table()["outer"]
    fraction = np.asarray(row["fraction"], dtype=np.float64)
    u = np.asarray(at, dtype=np.float64) / length
    if not bool(np.all((u >= fraction[0]) & (u <= fraction[-1]))):
        raise ValueError(
            f"at: outside {fraction[0] * length:.1f} to {fraction[-1] * length:.1f} mm, the part of the bone whose "
            "outer shape is kept; measure the outer width there"
        )
    shape = row[f"ray{ray}"]
    ap, lateral = (np.interp(u, fraction, np.asarray(shape[k])) * length for k in ("ap", "lateral"))
    return ap, lateral


OUTER_RANGE = (0.1, 0.9)
"""Fractions of the length between which the outer shape of the one foot is kept."""


@dataclass(frozen=True)
class CanalShare:
    """Share of fifth metatarsals whose canal is wider than `above` mm on the AP film, by series."""

    above: float
    normal_des16: float
    men_och15: float
    women_och15: float
    text: str


def canal_share() -> CanalShare:
    """Share of canals above 4.5 mm in both series, and why they differ.

    DES16 prints mean and standard deviation; its share is the upper tail of a normal distribution with these
    (an approximation). OCH15 prints the shares.
    """
    row = default(5, "canal_ap")
    share = 1.0 - NormalDist(row.value, row.sd).cdf(4.5)
    text = (
        f"Canal wider than 4.5 mm on the AP film: about {100 * share:.0f} % by the mean and spread of DES16 (at the "
        "apex of the bow, 241 CT, taken as normally distributed), against 81 % of men and 74 % of women in OCH15 (at "
        "the isthmus of 119 three-dimensional models). The two series disagree. They read different levels by "
        "different methods; which one a patient resembles is not known. Measure the canal."
    )
    return CanalShare(4.5, share, 0.81, 0.74, text)


def _check_ray(ray: int) -> None:
    if ray not in RAYS:
        raise ValueError(f"ray: {ray!r} is not one of 1 to 5; give the number of the metatarsal")


def _record(ray: int, name: str, row: Mapping[str, Any]) -> Default:
    other = tuple(Series(**r) for r in row.get("other", ()))
    rest = {k: v for k, v in row.items() if k not in ("other", "also", "sd_source")}
    return Default(
        name,
        ray,
        sd_source=row.get("sd_source", row["source"]),
        other=other,
        also=tuple(row.get("also", ())),
        **rest,
    )


def _ask(ray: int, name: str) -> str:
    known = measurements().get(name)
    start = f"{name} of ray {ray}: no reliable population value is published"
    if known is None:
        return f"{start}; give the value"
    return f"{start}; measure it ({known.film}): {known.what}. {known.how}"
