"""Bones measured along their length: a table of stations, or landmark points of two films, as profiles with draws.

Readings carry errors in two ways. A table of stations has one reading error for each film and surface, common to all
its stations (one reader, one film, one habit: the cautious reading of an error that nobody splits up). Landmarks carry
the error of every click. The scale is common to all lengths of a film in both.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
import numpy.typing as npt

from fixplan.bone.bow import CHI2, LEAST_STATIONS, LEVEL, Bow, bow_of, fit_bow
from fixplan.bone.dicom_scale import DicomScale
from fixplan.bone.landmarks import FilmClicks, FilmStations, film_stations, marker_scale, to_profile
from fixplan.bone.profile import Floats, Profile
from fixplan.bone.readings import Points, read_points, read_stations
from fixplan.case.model import Case
from fixplan.plan.inputs import AP, LATERAL, NONE, Book, Parameter
from fixplan.problems import InputError, Problem

FILMS = {"ap": "AP film", "lateral": "lateral film"}
SURFACES = ("canal", "outer")


class Read(Protocol):
    """What a profile is made from: parameters as read (draws first), and further arrays of the draws."""

    values: Mapping[str, npt.ArrayLike]

    def raw(self, name: str) -> Floats: ...


class Measured(Protocol):
    """A bone measured along its length."""

    @property
    def stations(self) -> int: ...

    def noise(self, n: int, rng: np.random.Generator) -> dict[str, Floats]:
        """Further draws that are no parameters, each with leading dimension n."""

    def widths(self, read: Read) -> tuple[Floats, ...]:
        """s, canal AP, canal lateral, outer AP, outer lateral, offset AP, offset lateral, unchecked."""


@dataclass(frozen=True)
class Stations:
    """A table of stations as read, lengths not yet true to size."""

    table: Profile

    @property
    def stations(self) -> int:
        return int(self.table.s.size)

    def noise(self, n: int, rng: np.random.Generator) -> dict[str, Floats]:
        return {}

    def widths(self, read: Read) -> tuple[Floats, ...]:
        t = self.table
        m = {film: read.raw(f"magnification_{film}")[..., None] for film in FILMS}
        error = {(s, f): read.raw(f"{s}_error_{f}")[..., None] for s in SURFACES for f in FILMS}
        return (
            t.s / m[LATERAL],
            (t.canal_ap + error["canal", AP]) / m[AP],
            (t.canal_lateral + error["canal", LATERAL]) / m[LATERAL],
            (t.outer_ap + error["outer", AP]) / m[AP],
            (t.outer_lateral + error["outer", LATERAL]) / m[LATERAL],
            t.offset_ap / m[AP],
            t.offset_lateral / m[LATERAL],
        )


@dataclass(frozen=True)
class Landmarks:
    """Points of two films; `click_sd_px` by film."""

    films: Mapping[str, FilmClicks]
    click_sd_px: Mapping[str, float]

    @property
    def stations(self) -> int:
        return int(self.films[AP].canal.shape[-3])

    def noise(self, n: int, rng: np.random.Generator) -> dict[str, Floats]:
        return {
            f"clicks_{film}_{part}": rng.normal(0.0, self.click_sd_px[film], (n, *getattr(clicks, part).shape))
            for film, clicks in self.films.items()
            for part in ("canal", "outer", "tip")
        }

    def widths(self, read: Read) -> tuple[Floats, ...]:
        p = to_profile(self.film(AP, read), self.film(LATERAL, read))
        return (p.s, p.canal_ap, p.canal_lateral, p.outer_ap, p.outer_lateral, p.offset_ap, p.offset_lateral)

    def film(self, name: str, read: Read) -> FilmStations:
        """The stations of one film, its clicks shifted by the draws."""
        clicks = self.films[name]
        moved = {
            part: getattr(clicks, part) + np.asarray(read.values[f"clicks_{name}_{part}"])
            for part in ("canal", "outer", "tip")
            if f"clicks_{name}_{part}" in read.values
        }
        return film_stations(
            replace(clicks, **moved), read.raw(f"scale_{name}"), click_sd_px=self.click_sd_px[name], scale_rel_sd=0.0
        )


def profile_of(measured: Measured, read: Read, hole: Floats | None = None) -> Profile:
    """The profile of a measured bone; where the hole of an earlier screw is wider, it is the canal."""
    s, canal_ap, canal_lateral, *rest = measured.widths(read)
    if hole is not None:
        canal_ap, canal_lateral = (np.maximum(c, hole[..., None]) for c in (canal_ap, canal_lateral))
    return Profile(s, canal_ap, canal_lateral, *rest)


def possible(measured: Measured, read: Read, hole: Floats | None, n: int) -> npt.NDArray[np.bool_]:
    """Which draws make a bone: stations in order, canal inside the outer surface everywhere, (n,)."""
    s, canal_ap, canal_lateral, outer_ap, outer_lateral, *_ = measured.widths(read)
    wide = np.zeros(()) if hole is None else hole[..., None]
    ok = np.all(np.diff(s, axis=-1) > 0, axis=-1)
    for canal, outer in ((canal_ap, outer_ap), (canal_lateral, outer_lateral)):
        ok = ok & np.all((np.maximum(canal, wide) < outer) & (canal > 0), axis=-1)
    return np.broadcast_to(ok, (n,))


def stations_of(case: Case, book: Book) -> Stations:
    """Read a table of stations; enters its reading errors and the end of its straight segment into the book."""
    assert case.bone.stations is not None
    table = read_stations(case.bone.stations)
    t, sd = book.thresholds["width_reading_sd"], book.stand_in("width_reading_sd")
    for surface in SURFACES:
        for film, words in FILMS.items():
            book.assumed(
                f"{surface}_error_{film}",
                f"reading error of the {surface} widths, {words}",
                0.0,
                "mm",
                t.source,
                sd=sd,
                note="common to all stations of the film",
                grade=t.grade,
            )
    if case.bone.straight_segment is None:
        # a point of the centre line is the mean of two edges: half the uncertainty of a width, which is two edges apart
        bow = _fit(lambda: bow_of(table, sd / 2), len(table.s))
        _straight(book, bow, LATERAL, "bone.stations")
    return Stations(table)


def landmarks_of(case: Case, book: Book, dicom: DicomScale | None) -> Landmarks:
    """Read landmark points; enters scale, length, fracture and straight segment into the book."""
    assert case.bone.landmarks is not None
    points = read_points(case.bone.landmarks)
    click = book.stand_in("click_sd")
    scales = {film: _scale(case, film, points, dicom, click) for film in FILMS}
    for film, (value, sd, source) in scales.items():
        book.parameters[f"scale_{film}"] = Parameter(
            f"scale_{film}", f"scale of the {FILMS[film]}", value, "mm/px", sd, "derived", source
        )
    found = Landmarks(points.films, {film: click / scale[0] for film, scale in scales.items()})  # type: ignore[arg-type]
    films = {
        film: film_stations(
            points.films[film],  # type: ignore[index]
            scales[film][0],
            click_sd_px=click / scales[film][0],
            scale_rel_sd=scales[film][1] / scales[film][0],
        )
        for film in FILMS
    }
    _lengths(case, book, films, scales)
    if case.bone.straight_segment is None:
        ap, lateral = films[AP], films[LATERAL]
        bow = _fit(lambda: fit_bow(ap, lateral), found.stations)
        _straight(book, bow, NONE, "bone.landmarks")
    return found


def _scale(case: Case, film: str, points: Points, dicom: DicomScale | None, click: float) -> tuple[float, float, str]:
    """True mm per pixel of a film, its standard uncertainty, and where it comes from."""
    marker = points.markers.get(film)  # type: ignore[call-overload]
    true = case.imaging.marker_true
    if marker is not None and true is not None:
        value, _ = marker_scale(marker, true.value)
        scale = float(value)
        _, relative = marker_scale(marker, true.value, click_sd_px=click / scale, marker_sd=true.sd)
        return scale, scale * relative, "imaging.marker_true / bone.landmarks"
    if dicom is not None and dicom.magnification is not None:
        # columns and rows of one detector: their mean where they differ by rounding
        return sum(dicom.mm_per_px) / 2, 0.0, "imaging.dicom"
    where = "imaging.marker_true" if marker is not None else "bone.landmarks"
    raise InputError(
        [
            Problem(
                where,
                f"nothing gives the scale of the {FILMS[film]}",
                "click the two ends of a marker (landmark marker, index 1 and 2) and give its size in "
                "imaging.marker_true, or name a DICOM file whose attributes tell the magnification",
            )
        ]
    )


def _lengths(
    case: Case, book: Book, films: Mapping[str, FilmStations], scales: Mapping[str, tuple[float, float, str]]
) -> None:
    lateral = films[LATERAL]
    relative = scales[LATERAL][1] / scales[LATERAL][0]

    def enter(name: str, label: str, value: float, clicks: float) -> None:
        sd = float(np.hypot(clicks, value * relative))
        book.parameters[name] = Parameter(name, label, value, "mm", sd, "derived", "bone.landmarks", NONE)

    one = float(lateral.click_sd)
    if case.bone.length is None:
        enter("length", "length of the metatarsal", float(lateral.length), one * 2**0.5)
    if case.fracture.from_base is None and lateral.fracture is not None:
        near, far = (float(x) for x in lateral.fracture)
        enter("from_base", "fracture from the proximal end", (near + far) / 2, one * 1.5**0.5)
        if case.fracture.extent is None:
            enter("extent", "axial extent of the fracture", far - near, one * 2**0.5)


def _fit(fit: Callable[[], Bow], stations: int) -> Bow | None:
    # with fewer stations than the fit needs the straight segment has to be measured or assumed
    return fit() if stations >= LEAST_STATIONS else None


def _straight(book: Book, bow: Bow | None, film: str, source: str) -> None:
    # a bow that is not seen may begin anywhere beyond the low end: the published limits stand, as without stations
    if bow is None:
        book.unseen = f"fewer than {LEAST_STATIONS} stations: the bow cannot be fitted"
        return
    if not bool(bow.seen):
        low = float(bow.straight.low)
        book.unseen = (
            f"no bow is told from a straight canal; straight to {low:.1f} mm at least, as read ({100 * LEVEL:g} %)"
        )
        return
    label = "end of the straight segment"
    value, low, high = (float(x) for x in (bow.straight.value, bow.straight.low, bow.straight.high))
    note = f"fitted to the centre line of both films; {100 * LEVEL:g} % interval {low:.1f} to {high:.1f} mm"
    sd = (high - low) / (2 * CHI2[LEVEL] ** 0.5)
    book.parameters["straight"] = Parameter("straight", label, value, "mm", sd, "derived", source, film, note=note)
