"""From a checked table to items: expansion of families, and sense between the numbers of one item."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from fixplan.kits.model import CorticalScrew, ImScrew, Instrument, Material, Plate
from fixplan.problems import Problem


def material(row: Mapping[str, Any], kit: str, where: str, problems: list[Problem]) -> Material | None:
    """The material of a table [[material]]."""
    named = {"E": "E_MPa", "nu": "nu", "yield": "yield_MPa", "ultimate": "ultimate_MPa", "fatigue": "fatigue_MPa"}
    named["elongation"] = "elongation_percent"
    given = {field: row[key] for key, field in named.items() if key in row}
    numbers: dict[str, Any] = {"fatigue_MPa": None, "elongation_percent": None}
    numbers |= {field: value[0] * (100 if field == "elongation_percent" else 1) for field, value in given.items()}
    if numbers["yield_MPa"] > numbers["ultimate_MPa"]:
        problems.append(Problem(f"{where}: yield", "is above the tensile strength", "check both"))
        return None
    return Material(
        id=row["id"],
        name=row["name"],
        standard=row["standard"],
        sources=MappingProxyType({field: value[1] for field, value in given.items()}),
        statuses=MappingProxyType({field: value[2] for field, value in given.items()}),
        kit=kit,
        note=row.get("note", ""),
        **numbers,
    )


def im_screws(
    row: Mapping[str, Any], made_of: Material, kit: str, where: str, problems: list[Problem]
) -> list[ImScrew]:
    """Every length (and thread length) of a table [[im_screw]]."""
    before = len(problems)
    _thread(row, where, problems)
    partial = row["thread_form"] == "partial"
    must = ("d_shank", "thread_lengths") if partial else ("pitch_head",)
    must_not = ("pitch_head",) if partial else ("d_shank", "thread_lengths")
    for key in must:
        if key not in row:
            problems.append(Problem(f"{where}: {key}", f"is missing for thread form '{row['thread_form']}'", ""))
    for key in must_not:
        if key in row:
            problems.append(
                Problem(f"{where}: {key}", f"does not belong to thread form '{row['thread_form']}'", "remove it")
            )
    bore, core = row["d_cannula"], row["d_core"]
    if bore >= core:
        _unfit(where, "d_cannula", bore, "d_core", core, "the cannulation lies inside the core", problems)
    if "d_shank" in row:
        shank = row["d_shank"]
        if bore >= shank:
            _unfit(where, "d_cannula", bore, "d_shank", shank, "the cannulation lies inside the shank", problems)
        if shank > row["d_major"]:
            _unfit(
                where, "d_shank", shank, "d_major", row["d_major"], "the shank passes where the thread passed", problems
            )
    wire = row.get("guide_wire")
    if bore == 0 and wire is not None:
        problems.append(Problem(f"{where}: guide_wire", "a solid screw runs over no wire", "remove it"))
    if bore > 0 and wire is None:
        problems.append(Problem(f"{where}: guide_wire", "is missing for a cannulated screw", ""))
    if bore > 0 and wire is not None and wire >= bore:
        _unfit(where, "guide_wire", wire, "d_cannula", bore, "the wire passes through the cannulation", problems)
    threads = row.get("thread_lengths", [None]) if partial else [None]
    for thread in threads:
        if thread is not None and thread >= min(row["lengths"]):
            _unfit(
                where,
                "thread_lengths",
                thread,
                "lengths",
                min(row["lengths"]),
                "thread is shorter than screw",
                problems,
            )
    if len(problems) > before:
        return []
    shared = _shared(
        row, ("d_major", "d_core", "d_cannula", "pitch", "thread_form", "head_diameter", "drill", "driver")
    )
    for key in ("d_shank", "pitch_head", "tap", "guide_wire", "countersink"):
        shared[key] = row.get(key)
    return [
        ImScrew(
            kit=kit,
            item=f"{row['code']}-{length:g}" + (f"-T{thread:g}" if thread is not None else ""),
            material=made_of,
            length=length,
            thread_length=thread,
            **shared,
        )
        for thread in threads
        for length in row["lengths"]
    ]


def cortical_screws(
    row: Mapping[str, Any], made_of: Material, kit: str, where: str, problems: list[Problem]
) -> list[CorticalScrew]:
    """Every length of a table [[cortical_screw]]."""
    before = len(problems)
    _thread(row, where, problems)
    if len(problems) > before:
        return []
    shared = _shared(row, ("d_major", "d_core", "pitch", "thread", "head", "head_diameter", "drill", "driver"))
    shared["tap"] = row.get("tap")
    return [
        CorticalScrew(kit=kit, item=f"{row['code']}-{length:g}", material=made_of, length=length, **shared)
        for length in row["lengths"]
    ]


def plates(row: Mapping[str, Any], made_of: Material, kit: str, where: str, problems: list[Problem]) -> list[Plate]:
    """Every hole count of a table [[plate]]."""
    before = len(problems)
    hole, width, spacing, end = row["hole_diameter"], row["width"], row["hole_spacing"], row["end"]
    if hole >= width:
        _unfit(where, "hole_diameter", hole, "width", width, "metal is left beside a hole", problems)
    if hole >= spacing:
        _unfit(where, "hole_diameter", hole, "hole_spacing", spacing, "metal is left between two holes", problems)
    if end <= hole / 2:
        problems.append(Problem(f"{where}: end", f"{end:g} mm leaves no metal beyond a hole of {hole:g} mm", ""))
    if row["screw_system"] >= hole:
        _unfit(where, "screw_system", row["screw_system"], "hole_diameter", hole, "the screw passes through", problems)
    if len(problems) > before:
        return []
    shared = _shared(row, ("hole_spacing", "width", "thickness", "hole_diameter", "screw_system", "locking"))
    return [
        Plate(
            kit=kit,
            item=f"{row['code']}-{holes}H",
            material=made_of,
            holes=holes,
            length=round((holes - 1) * spacing + 2 * end, 7),
            **shared,
        )
        for holes in row["holes"]
    ]


def instruments(row: Mapping[str, Any], kit: str, where: str, problems: list[Problem]) -> list[Instrument]:
    """Every size of a table [[instrument]]."""
    driver = row["kind"] == "driver"
    key, other = ("forms", "sizes") if driver else ("sizes", "forms")
    if key not in row:
        problems.append(Problem(f"{where}: {key}", f"is missing for a {row['kind']}", ""))
        return []
    if other in row:
        problems.append(Problem(f"{where}: {other}", f"does not belong to a {row['kind']}", "remove it"))
        return []
    shared = {"kit": kit, **_shared(row, ("kind",))}
    if driver:
        return [
            Instrument(item=f"{row['code']}-{form.upper().replace(' ', '-')}", size=None, form=form, **shared)
            for form in row["forms"]
        ]
    return [Instrument(item=f"{row['code']}-{size:g}", size=size, form="", **shared) for size in row["sizes"]]


def _shared(row: Mapping[str, Any], keys: tuple[str, ...]) -> dict[str, Any]:
    return {key: row[key] for key in (*keys, "status", "source")}


def _thread(row: Mapping[str, Any], where: str, problems: list[Problem]) -> None:
    core, major, drill, tap = row["d_core"], row["d_major"], row["drill"], row.get("tap")
    if core >= major:
        _unfit(where, "d_core", core, "d_major", major, "the core is thinner than the thread", problems)
    elif not core <= drill < major:
        problems.append(
            Problem(f"{where}: drill", f"{drill:g} mm is not between core {core:g} mm and thread {major:g} mm", "")
        )
    if tap is not None and not drill < tap <= major:
        problems.append(
            Problem(f"{where}: tap", f"{tap:g} mm is not between drill and thread", f"at most {major:g} mm")
        )
    if row["head_diameter"] < major:
        _unfit(where, "d_major", major, "head_diameter", row["head_diameter"], "the head stops the screw", problems)


def _unfit(where: str, key: str, a: float, other: str, b: float, right: str, problems: list[Problem]) -> None:
    problems.append(Problem(f"{where}: {key}", f"{a:g} mm does not go with {other} {b:g} mm", right))
