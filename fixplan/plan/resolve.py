"""From a case to the parameters of the numerical road: what was measured, and a named default for the rest.

Nothing is filled in silently. Where no reliable value is published (the canal of any ray, the straight segment of rays
1 to 4) the value is asked for; what cannot be planned without it is left out and said so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from fixplan.bone.defaults import OUTER_RANGE, NotPublished, default, measurements, outer_default
from fixplan.bone.dicom_scale import DicomScale, read_scale
from fixplan.case.model import Case
from fixplan.plan.inputs import AP, LATERAL, NONE, SCALE, SIDE, Book, Parameter
from fixplan.plan.measured import Measured, landmarks_of, stations_of
from fixplan.problems import InputError, Problem
from fixplan.sources import thresholds
from fixplan.values import Quantity

SCREW, PLATE = "screw", "plate"
FILMS = {AP: "AP film", LATERAL: "lateral film"}


@dataclass(frozen=True)
class Resolved:
    """Parameters by name, thresholds by name (case file first), and what is left out for want of a measurement.

    `measured` is the bone measured along its length, None where it is built from widths at one or two levels;
    `cautions` are texts about the images, each with the key it comes from.
    """

    parameters: dict[str, Parameter]
    thresholds: dict[str, Parameter]
    consider: tuple[str, ...]
    left_out: tuple[tuple[str, str, str], ...]
    measured: Measured | None = None
    cautions: tuple[tuple[str, str], ...] = ()

    def value(self, name: str) -> float:
        """Value of a parameter or threshold."""
        table = self.parameters if name in self.parameters else self.thresholds
        return table[name].value


def resolve(case: Case) -> Resolved:
    """Parameters and thresholds of a case. Raises InputError naming every value that has to be measured first."""
    limits = _thresholds(case)
    book = Book(limits)
    wanted = case.plan.consider or (SCREW, PLATE)
    left_out: list[tuple[str, str, str]] = []
    dicom = read_scale(case.imaging.dicom) if case.imaging.dicom is not None else None
    _scale(case, book, dicom)
    measured: Measured | None = None
    if case.bone.landmarks is not None:
        measured = landmarks_of(case, book, dicom)
    elif case.bone.stations is not None:
        measured = stations_of(case, book)
    _entry(case, book)
    _length(case, book)
    if measured is None:
        _widths(case, book)
    _fracture(case, book)
    if measured is None:
        _outer(case, book)
    if book.problems:
        raise InputError(book.problems)
    consider = list(wanted)
    if SCREW in consider:
        missing = _straight(case, book) + _seat(case, book, limits)
        if missing:
            consider.remove(SCREW)
            left_out.extend((SCREW, what, source) for what, source in missing)
            if case.plan.consider == (SCREW,):
                raise InputError(book.problems)
    _plate(case, book)
    _tissue(case, book, limits)
    book.parameters.update(book.readings)
    cautions = tuple((text, "imaging.dicom") for text in dicom.cautions) if dicom is not None else ()
    return Resolved(book.parameters, limits, tuple(consider), tuple(left_out), measured, cautions)


def _thresholds(case: Case) -> dict[str, Parameter]:
    found = {}
    for t in thresholds().values():
        given = case.plan.thresholds.get(t.name)
        if given is None:
            found[t.name] = Parameter(
                t.name,
                t.meaning,
                t.value,
                t.unit,
                t.sd,
                "assumed",
                t.source,
                NONE,
                t.low,
                t.high,
                t.note,
                grade=t.grade,
                sd_source=t.sd_source,
            )
        else:
            found[t.name] = Parameter(
                t.name,
                t.meaning,
                given.value,
                t.unit,
                given.sd,
                "measured",
                given.path,
                note=f"set in the case file; default {t.value:g} {t.unit} ({t.source})",
            )
    return found


def _scale(case: Case, book: Book, dicom: DicomScale | None) -> None:
    imaging = case.imaging
    if case.bone.landmarks is not None:
        for film, name in SCALE.items():
            label = f"magnification, {FILMS[film]}"
            note = "the scale in mm per pixel holds at the bone"
            book.parameters[name] = Parameter(name, label, 1.0, "1", 0.0, "derived", "bone.landmarks", note=note)
        return
    if dicom is not None and dicom.magnification is not None and imaging.marker_true is None:
        for film, name in SCALE.items():
            book.parameters[name] = Parameter(
                name,
                f"magnification, {FILMS[film]}",
                dicom.magnification,
                "1",
                0.0,
                "derived",
                "imaging.dicom",
                note=f"from the attributes {dicom.used}; lengths read at the detector's scale",
            )
        return
    if imaging.source == "ct":
        for film, name in SCALE.items():
            book.assumed(
                name,
                f"magnification, {FILMS[film]}",
                1.0,
                "1",
                "GEOM",
                note="CT is true to size",
                grade="D",
            )
        return
    pairs = {
        AP: imaging.marker_seen_ap or imaging.marker_seen,
        LATERAL: imaging.marker_seen_lateral or imaging.marker_seen,
    }
    for film, seen in pairs.items():
        name = SCALE[film]
        label = f"magnification, {FILMS[film]}"
        if seen is not None and imaging.marker_true is not None:
            true = imaging.marker_true
            ratio = seen.value / true.value
            sd = ratio * ((seen.sd / seen.value) ** 2 + (true.sd / true.value) ** 2) ** 0.5
            book.parameters[name] = Parameter(
                name,
                label,
                ratio,
                "1",
                sd,
                "derived",
                f"{seen.path} / {true.path}",
                note=f"marker {true.raw} seen as {seen.raw}",
            )
        elif imaging.source == "radiograph" or book.thresholds["magnification"].origin == "measured":
            t = book.thresholds["magnification"]
            book.parameters[name] = Parameter(
                name,
                label,
                t.value,
                "1",
                t.sd,
                t.origin,
                t.source,
                low=t.low,
                high=t.high,
                note=t.note,
                decides="every length of the film",
                even=t.low is not None,
                grade=t.grade,
            )
        else:
            t = book.thresholds["magnification"]
            book.assumed(
                name,
                label,
                1.0,
                "1",
                "PROJECT",
                sd=t.sd,
                note="no imaging given: lengths taken as already true to size",
                decides="every length",
                sd_source=t.source,
            )


def _entry(case: Case, book: Book) -> None:
    """Where the wire enters, as measured: it decides no size, and is held against the corridor's own entry."""
    for name, side, given, film in (
        ("entry_from_lateral", "lateral", case.bone.entry_from_lateral, AP),
        ("entry_from_dorsal", "dorsal", case.bone.entry_from_dorsal, LATERAL),
    ):
        if given is not None:
            book.measured(name, f"entry of the wire from the {side} surface", given, film)


def _length(case: Case, book: Book) -> None:
    if case.bone.length is not None:
        book.measured("length", "length of the metatarsal", case.bone.length, LATERAL, reading="length_reading_sd")
    elif "length" not in book.parameters:
        book.ask("bone.length", "the length of the bone is missing", _how("length"))


def _widths(case: Case, book: Book) -> None:
    bone = case.bone
    _canal(case, book, "isthmus", "")
    _canal(case, book, "at_fracture", "fracture_")
    if bone.isthmus.at is not None:
        book.measured("isthmus_at", "level of the isthmus", bone.isthmus.at, LATERAL, reading="length_reading_sd")


def _canal(case: Case, book: Book, table: str, prefix: str) -> None:
    level = case.bone.isthmus if table == "isthmus" else case.bone.at_fracture
    where = "isthmus" if table == "isthmus" else "fracture"
    narrow = level.canal or level.canal_ap
    if narrow is None and level.canal_lateral is None:
        if table == "isthmus":
            book.ask(
                "bone.isthmus.canal",
                "the width of the canal is missing, and a length never stands in for it (SYM23)",
                _how("canal_ap"),
            )
        return
    if narrow is None:
        book.ask(
            f"bone.{table}.canal_ap", "only the lateral film is given, and the AP film is narrower", _how("canal_ap")
        )
        return
    reading = "width_reading_sd"
    book.measured(f"{prefix}canal_ap", f"canal width at the {where}, AP film", narrow, AP, reading=reading)
    if level.canal_lateral is not None:
        label = f"canal height at the {where}, lateral film"
        book.measured(f"{prefix}canal_lateral", label, level.canal_lateral, LATERAL, reading=reading)
        return
    label = f"canal height over width at the {where}"
    try:
        ratio = default(case.bone.ray, "ellipticity")
    except NotPublished:
        # the one diameter asked for is the narrower one: a circle of that diameter lies inside the canal
        book.assumed(
            f"{prefix}ellipticity",
            label,
            1.0,
            "1",
            "PROJECT",
            note="no ratio is published for this ray: the one diameter given is used in both planes",
        )
        return
    book.assumed(
        f"{prefix}ellipticity",
        label,
        ratio.value,
        "1",
        ratio.source,
        sd=ratio.sd,
        note=ratio.note,
        shared=True,
        grade=ratio.grade,
        sd_source=ratio.sd_source,
    )


def _fracture(case: Case, book: Book) -> None:
    fracture, ray = case.fracture, case.bone.ray
    if fracture.from_base is not None:
        book.measured(
            "from_base", "fracture from the proximal end", fracture.from_base, LATERAL, reading="length_reading_sd"
        )
    elif "from_base" not in book.parameters:
        try:
            level = default(ray, "from_base", zone=fracture.zone if ray == 5 else None)
        except NotPublished:
            book.ask(
                "fracture.from_base", f"no level is published for the {fracture.zone} of ray {ray}", _how("from_base")
            )
        else:
            book.assumed(
                "from_base",
                "fracture from the proximal end",
                level.value,
                "mm",
                level.source,
                sd=level.sd,
                low=level.low,
                high=level.high,
                note=level.note,
                shared=True,
                even=True,
                grade=level.grade,
            )
    for name, label, given in (
        ("extent", "axial extent of the fracture", fracture.extent),
        ("gap", "gap of the fracture", fracture.gap),
    ):
        if given is not None:
            book.measured(name, label, given, LATERAL)
        elif name not in book.parameters:
            d = default(ray, name)
            book.assumed(name, label, d.value, d.unit, d.source, sd=d.sd, note=d.note, grade=d.grade)


def _outer(case: Case, book: Book) -> None:
    """Outer widths: measured, else the one measured foot scaled to this length, flagged as such."""
    bone = case.bone
    if not book.has(["length", "from_base"]):
        return
    true_length, fracture = book.true("length"), book.true("from_base")
    levels = {"": _isthmus_level(case, book, true_length), "fracture_": fracture}
    for prefix, level in levels.items():
        given = bone.isthmus if prefix == "" else bone.at_fracture
        where = "isthmus" if prefix == "" else "fracture"
        rows: tuple[tuple[str, str, Quantity | None, str], ...] = (
            ("outer_ap", "outer width", given.outer_ap, AP),
            ("outer_lateral", "outer height", given.outer_lateral, LATERAL),
        )
        for k, (name, what, quantity, film) in enumerate(rows):
            label = f"{what} at the {where}, {'AP' if film == AP else 'lateral'} film"
            if quantity is not None:
                book.measured(f"{prefix}{name}", label, quantity, film, reading="width_reading_sd")
                continue
            at_isthmus = book.parameters.get(name)
            if prefix and at_isthmus is not None and at_isthmus.origin == "measured":
                continue  # one measured level is used all along, before a default is mixed in
            low, high = (f * true_length for f in OUTER_RANGE)
            kept = min(max(level, low), high)
            d = outer_default(bone.ray, true_length, kept)[k]
            note = d.note
            if kept != level:
                note += (
                    f" The shape is kept from {low:.1f} to {high:.1f} mm alone: its width at {kept:.1f} mm stands for"
                )
                note += f" that at {level:.1f} mm."
            book.assumed(
                f"{prefix}{name}",
                label,
                round(d.value, 2),
                d.unit,
                d.source,
                sd=round(d.sd, 2),
                note=note,
                shared=True,
                grade=d.grade,
                sd_source=d.sd_source,
            )
            canal = book.parameters.get(f"{prefix}{name.replace('outer', 'canal')}") or book.parameters.get(
                name.replace("outer", "canal")
            )
            if canal is not None and canal.value >= d.value:
                book.ask(
                    f"bone.{'isthmus' if prefix == '' else 'at_fracture'}.{name}",
                    f"the canal measured ({canal.value:g} mm) is wider than the bone that would be assumed "
                    f"({d.value:.1f} mm, {d.source})",
                    _how(name),
                )


def _isthmus_level(case: Case, book: Book, true_length: float) -> float:
    if "isthmus_at" not in book.parameters:
        try:
            d = default(case.bone.ray, "apex_fraction")
        except NotPublished:
            book.assumed(
                "isthmus_fraction",
                "level of the isthmus over the length",
                0.5,
                "1",
                "PROJECT",
                note="no level is published for this ray: mid-length; it places the widths in the drawing and the beam",
            )
        else:
            book.assumed(
                "isthmus_fraction",
                "level of the isthmus over the length",
                d.value,
                "1",
                f"{d.source}, PROJECT",
                sd=d.sd,
                low=OUTER_RANGE[0],
                high=OUTER_RANGE[1],
                note=f"The apex of the bow stands in for the narrowest level, another landmark (PROJECT). {d.note}",
                shared=True,
                sd_source=d.sd_source,
            )
        return book.value("isthmus_fraction") * true_length
    return book.true("isthmus_at")


def _straight(case: Case, book: Book) -> list[tuple[str, str]]:
    bone = case.bone
    if bone.straight_segment is not None:
        label = "end of the straight segment"
        book.measured("straight", label, bone.straight_segment, LATERAL, reading="length_reading_sd")
        return []
    if "straight" in book.parameters:
        return []
    try:
        for name, label in (
            ("straight_fraction_cautious", "end of the straight segment over the length, cautious"),
            ("straight_fraction_permissive", "end of the straight segment over the length, permissive"),
        ):
            limit = book.thresholds[name]
            if limit.origin == "assumed":
                default(bone.ray, name)  # published for the fifth ray alone
            if not 0 < limit.value <= 1:
                what = f"'{limit.value:g}' of the length is no place on the bone"
                raise InputError(
                    [Problem(f"plan.thresholds.{name}", what, "a fraction of the length, above 0 and at most 1")]
                )
            note = f"{book.unseen}. {limit.note}" if book.unseen else limit.note
            book.parameters[name] = replace(limit, label=label, note=note)
    except NotPublished:
        why = f"{book.unseen}, and nothing" if book.unseen else "nothing"
        book.ask("bone.straight_segment", f"{why} is published for ray {bone.ray}", _how("straight_segment"))
        return [("No end of the straight segment is published for this ray; measure bone.straight_segment.", "DES16")]
    return []


def _seat(case: Case, book: Book, limits: dict[str, Parameter]) -> list[tuple[str, str]]:
    t = limits["seat_depth"]
    if t.origin == "assumed" and case.bone.ray != 5:
        book.ask(
            "plan.thresholds.seat_depth",
            "no seat depth is published for this ray",
            "give it under [plan.thresholds], for instance seat_depth = '2 mm'",
        )
        return [("No depth of the seat is published for this ray; give seat_depth under [plan.thresholds].", t.source)]
    book.parameters["seat"] = Parameter(
        "seat",
        "seat of the head below the proximal end",
        t.value,
        "mm",
        t.sd,
        t.origin,
        t.source,
        note=t.note,
        grade=t.grade,
    )
    return []


def _plate(case: Case, book: Book) -> None:
    plate = case.plate
    # the film that looks at the surface of the plate shows the width of the bone under it
    seen = LATERAL if SIDE[case.bone.ray] in ("lateral", "medial") else AP
    on = "on the cuneiform, from the joint" if case.fracture.crosses_tmt else "proximal to the fracture"
    for name, label, given, film in (
        ("room_proximal", f"bone free for the plate, {on}", plate.room_proximal, LATERAL),
        ("room_distal", "bone free for the plate, distal to the fracture", plate.room_distal, LATERAL),
        ("surface_width", "width of the bone under the plate", plate.surface_width, seen),
        ("standoff", "distance from plate to bone", plate.standoff, NONE),
    ):
        if given is not None:
            book.measured(name, label, given, film)
    if "standoff" not in book.parameters:
        book.assumed("standoff", "distance from plate to bone", 0.0, "mm", "PROJECT", note="plate on the bone")


def _tissue(case: Case, book: Book, limits: dict[str, Parameter]) -> None:
    t = limits["cortical_modulus"]
    book.parameters["cortical_modulus"] = Parameter(
        "cortical_modulus",
        "modulus of cortical bone along its axis",
        t.value,
        "MPa",
        t.sd,
        t.origin,
        t.source,
        low=t.low,
        high=t.high,
        note=t.note,
        decides="stiffness of the bone and the bonded end of the bracket",
        shared=True,
        grade=t.grade,
        sd_source=t.sd_source,
    )
    if case.fracture.compression is not None:
        book.measured("compression", "lag compression wanted", case.fracture.compression, NONE)
    if case.fracture.callus_modulus is not None:
        book.measured("callus_modulus", "modulus of the callus", case.fracture.callus_modulus, NONE)
    if case.previous is not None:
        book.measured("old_hole", "hole of the earlier screw", case.previous.screw_diameter, NONE)
    if case.patient.body_mass is not None:
        book.measured("body_mass", "body mass", case.patient.body_mass, NONE)


def _how(name: str) -> str:
    m = measurements()[name]
    return f"measure the {m.what} ({m.film} film). {m.how}" if m.film not in ("planned",) else f"{m.what}. {m.how}"
