"""Measurements that cannot all be true of one bone, and keys that need or exclude each other."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from fixplan.case.fields import limits
from fixplan.problems import Problem
from fixplan.values import Quantity

LEVELS = ("bone.isthmus", "bone.at_fracture")
TABLES = ("bone.stations", "bone.landmarks")
ENTRY = ("bone.entry_from_lateral", "bone.entry_from_dorsal")
# 1 nm: lengths written in different units must not differ by the rounding of a conversion
SAME = 1e-6


def geometry_problems(found: Mapping[str, Any], given: set[str]) -> list[Problem]:
    """Contradictions between values.

    `found` holds the values that could be read, by key path; `given` also the paths that were refused for
    themselves, so that one slip is not reported twice.
    """
    return [
        *_levels(found),
        *_enough(found, given),
        *_entry(found, given),
        *_along(found),
        *_fracture(found),
        *_plate(found),
        *_previous(found),
        *_marker(found, given),
    ]


def _mm(found: Mapping[str, Any], key: str) -> float | None:
    value = found.get(key)
    return value.value if isinstance(value, Quantity) else None


def _levels(found: Mapping[str, Any]) -> list[Problem]:
    problems = []
    for level in LEVELS:
        one, ap, lateral = (_mm(found, f"{level}.{key}") for key in ("canal", "canal_ap", "canal_lateral"))
        if one is not None and (ap is not None or lateral is not None):
            problems.append(
                Problem(
                    f"{level}.canal",
                    "is given beside canal_ap or canal_lateral",
                    "one diameter, or one per film: remove canal, or the other two",
                )
            )
        for film, canal in (
            ("ap", ap if ap is not None else one),
            ("lateral", lateral if lateral is not None else one),
        ):
            outer = _mm(found, f"{level}.outer_{film}")
            if canal is not None and outer is not None and canal > outer - SAME:
                problems.append(
                    Problem(
                        f"{level}.outer_{film}",
                        f"the bone ({outer:g} mm) is no wider than its canal ({canal:g} mm)",
                        "the canal lies inside the cortex: check which border was measured",
                    )
                )
    problems += _isthmus(found)
    if len([key for key in TABLES if key in found]) == 2:
        problems.append(Problem("bone.landmarks", "is given beside bone.stations", "keep one of the two tables"))
    for table in TABLES:
        beside = [level for level in LEVELS if any(key.startswith(f"{level}.") for key in found)]
        if table in found and beside:
            problems.append(Problem(table, f"is given beside [{beside[0]}]", "keep the table, or the single widths"))
    return problems


def _isthmus(found: Mapping[str, Any]) -> list[Problem]:
    excess = limits()["isthmus_excess_max"]
    for film in ("canal", "canal_ap", "canal_lateral"):
        narrow, here = _mm(found, f"bone.isthmus.{film}"), _mm(found, f"bone.at_fracture.{film}")
        if narrow is not None and here is not None and narrow - here > excess.value:
            return [
                Problem(
                    f"bone.at_fracture.{film}",
                    f"{here:g} mm is narrower than the isthmus ({narrow:g} mm)",
                    f"check whether the two are exchanged ({excess.why}; {excess.source})",
                )
            ]
    return []


def _previous(found: Mapping[str, Any]) -> list[Problem]:
    screw = _mm(found, "previous.screw_diameter")
    for level in LEVELS:
        for film in ("outer_ap", "outer_lateral"):
            outer = _mm(found, f"{level}.{film}")
            if screw is not None and outer is not None and screw > outer - SAME:
                return [
                    Problem(
                        "previous.screw_diameter",
                        f"the earlier screw ({screw:g} mm) is no thinner than the bone ({outer:g} mm, {level}.{film})",
                        "check both",
                    )
                ]
    return []


def _enough(found: Mapping[str, Any], given: set[str]) -> list[Problem]:
    problems = []
    if not given & {"bone", "bone.length", "bone.landmarks"}:
        problems.append(Problem("bone.length", "is missing", 'for instance length = "71.5 ± 0.8 mm"'))
    canals = {f"{level}.{key}" for level in LEVELS for key in ("canal", "canal_ap", "canal_lateral")}
    wants_screw = "screw" in found.get("plan.consider", ("screw",))
    if wants_screw and not given & {*canals, *TABLES} and not any(level in given for level in (*LEVELS, "bone")):
        problems.append(
            Problem(
                "bone.isthmus",
                "no canal width is given, and a length never stands in for one",
                'for instance [bone.isthmus] canal = "4.7 mm"',
            )
        )
    return problems


def _entry(found: Mapping[str, Any], given: set[str]) -> list[Problem]:
    """A measured entry needs both films, and a bone measured along its length to be held against."""
    have = [key for key in ENTRY if key in found]
    if not have:
        return []
    problems = []
    missing = next((key for key in ENTRY if key not in given), None)
    if missing is not None:
        problems.append(Problem(missing, f"is missing beside {have[0]}", "give both distances, or neither"))
    if not given & set(TABLES):
        right = "give bone.stations or bone.landmarks, or leave the entry out"
        problems.append(Problem(have[0], "tells a direction only in a bone measured along its length", right))
    return problems


def _along(found: Mapping[str, Any]) -> list[Problem]:
    problems = []
    length = _mm(found, "bone.length")
    if length is None:
        return []
    for key, text in (
        ("bone.straight_segment", "the straight segment"),
        ("bone.isthmus.at", "the isthmus"),
        ("fracture.from_base", "the fracture"),
    ):
        place = _mm(found, key)
        if place is not None and place > length + (SAME if key == "bone.straight_segment" else -SAME):
            problems.append(
                Problem(key, f"{text} ({place:g} mm) lies outside the bone ({length:g} mm)", "check both lengths")
            )
    return problems


def _fracture(found: Mapping[str, Any]) -> list[Problem]:
    problems = []
    length, place = _mm(found, "bone.length"), _mm(found, "fracture.from_base")
    extent, gap = _mm(found, "fracture.extent"), _mm(found, "fracture.gap")
    if extent is not None and length is not None and extent > length - SAME:
        problems.append(
            Problem("fracture.extent", f"{extent:g} mm is as long as the bone ({length:g} mm)", "check both lengths")
        )
    elif (
        extent is not None
        and length is not None
        and place is not None
        and place < length
        and not extent / 2 - SAME <= place <= length - extent / 2 + SAME
    ):
        problems.append(
            Problem(
                "fracture.extent",
                f"from_base {place:g} mm and extent {extent:g} mm reach beyond an end of the bone",
                "from_base is the centre of the fracture, extent its whole reach along the axis",
            )
        )
    if extent is not None and gap is not None and gap > extent + SAME:
        problems.append(
            Problem("fracture.gap", f"{gap:g} mm is wider than the extent ({extent:g} mm)", "extent counts the gap too")
        )
    ray, zone = found.get("bone.ray"), found.get("fracture.zone")
    if ray is not None and zone is not None and (ray == 5) != isinstance(zone, int):
        right = "on ray 5 the zone is 1, 2 or 3" if ray == 5 else 'on rays 1 to 4 it is "base", "shaft" or "neck"'
        problems.append(Problem("fracture.zone", f"{zone} is not a zone of ray {ray}", right))
    elif found.get("fracture.crosses_tmt") and zone is not None and zone != "base":
        problems.append(
            Problem(
                "fracture.crosses_tmt",
                f"a plate does not bridge the tarsometatarsal joint for zone {zone} of ray {ray}",
                'it is for zone "base" of rays 1 to 4; write false, or check the zone',
            )
        )
    return problems


def _plate(found: Mapping[str, Any]) -> list[Problem]:
    length, place = _mm(found, "bone.length"), _mm(found, "fracture.from_base")
    if length is None:
        return []
    problems = []
    half = (_mm(found, "fracture.extent") or 0.0) / 2
    proximal, distal = _mm(found, "plate.room_proximal"), _mm(found, "plate.room_distal")
    on_cuneiform = bool(found.get("fracture.crosses_tmt"))
    if place is not None and place < length:
        sides = [("plate.room_distal", distal, length - place - half)]
        if not on_cuneiform:
            sides.append(("plate.room_proximal", proximal, place - half))
    else:
        both = (distal or 0.0) + (0.0 if on_cuneiform else proximal or 0.0)
        sides = [("plate.room_distal", both, length - 2 * half)]
    for key, room, most in sides:
        if room is not None and room > most + SAME:
            problems.append(
                Problem(
                    key, f"{room:g} mm of room, where the bone has {max(most, 0.0):g} mm", "check it against the length"
                )
            )
    return problems


def _marker(found: Mapping[str, Any], given: set[str]) -> list[Problem]:
    seen_keys = ("imaging.marker_seen", "imaging.marker_seen_ap", "imaging.marker_seen_lateral")
    seen = [key for key in seen_keys if key in given]
    true_given = "imaging.marker_true" in given
    problems = []
    # in a table of landmarks the marker is clicked: its size is all that the case file has to say
    if true_given and not seen and "bone.landmarks" not in given:
        problems.append(
            Problem("imaging.marker_seen", "is missing beside marker_true", "give the size seen on the film")
        )
    if seen and not true_given:
        problems.append(
            Problem("imaging.marker_true", f"is missing beside {seen[0].rpartition('.')[2]}", "give the true size")
        )
    if seen_keys[0] in seen and len(seen) > 1:
        problems.append(
            Problem(
                seen_keys[0], "is given beside a marker per film", "one marker_seen for both films, or one per film"
            )
        )
    if found.get("imaging.source") == "ct" and (seen or true_given):
        problems.append(
            Problem(
                "imaging.source",
                "a CT has a scale of its own and no marker pair",
                'remove the marker, or write "radiograph"',
            )
        )
    true = _mm(found, "imaging.marker_true")
    low, high = limits()["marker_ratio_min"], limits()["marker_ratio_max"]
    for key in seen:
        size = _mm(found, key)
        if true and size is not None and not low.value <= size / true <= high.value:
            problems.append(
                Problem(
                    key,
                    f"{size:g} mm for {true:g} mm magnifies by {size / true:.2f}, outside {low.value} to {high.value}",
                    f"check whether the two are exchanged ({low.why}; {low.source})",
                )
            )
    return problems
