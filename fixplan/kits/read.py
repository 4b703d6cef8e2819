"""Folders of kit files to a `KitSet`; every problem by file, table and key."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any

from fixplan.kits import build
from fixplan.kits.keys import KEYS
from fixplan.kits.model import CorticalScrew, ImScrew, Instrument, Kit, KitSet, Material, Plate
from fixplan.kits.tables import read_table
from fixplan.problems import InputError, Problem, nearest
from fixplan.resources import resource_dir
from fixplan.tomlfile import load_toml

MATERIALS_FILE = "materials.toml"


class KitError(InputError):
    """Kits were refused; `problems` name file, table and key."""


@dataclass
class _Shelf:
    kits: dict[str, Kit] = field(default_factory=dict)
    materials: dict[str, Material] = field(default_factory=dict)
    im_screw: list[ImScrew] = field(default_factory=list)
    cortical_screw: list[CorticalScrew] = field(default_factory=list)
    plate: list[Plate] = field(default_factory=list)
    instrument: list[Instrument] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    seen: dict[str, str] = field(default_factory=dict)


def load_kits(folders: Iterable[Path] | None = None) -> KitSet:
    """Every kit in the folders (None: the project's own implant_specs).

    The project's own materials.toml is always known, so that a kit may name a material by its id. Raises
    KitError with every problem of every file.
    """
    folders = tuple(folders) if folders is not None else (resource_dir("implant_specs"),)
    shelf = _read(folders)
    if shelf.problems:
        raise KitError(shelf.problems, ", ".join(dict.fromkeys(f.name or str(f) for f in folders)))
    return KitSet(
        kits=MappingProxyType(shelf.kits),
        materials=MappingProxyType(shelf.materials),
        im_screws=tuple(shelf.im_screw),
        cortical_screws=tuple(shelf.cortical_screw),
        plates=tuple(shelf.plate),
        instruments=tuple(shelf.instrument),
        folders=folders,
    )


def validate(folder: Path) -> list[Problem]:
    """What is wrong with the kits of a folder, by file, table and key; an empty list when nothing is."""
    return _read((Path(folder),)).problems


def select(stock: KitSet, ids: Iterable[str], where: str = "plan.kits") -> KitSet:
    """The stock of the named kits only (all when `ids` is empty); materials and instruments stay.

    A plate kit is of no use without screws: cortical screws all stay unless a kit of them is named. Raises
    KitError for an unknown id.
    """
    wanted = tuple(ids)
    problems = [Problem(where, f"'{i}' is not a kit", nearest(i, stock.kits)) for i in wanted if i not in stock.kits]
    if problems:
        raise KitError(problems)
    if not wanted:
        return stock
    return KitSet(
        kits=stock.kits,
        materials=stock.materials,
        im_screws=tuple(s for s in stock.im_screws if s.kit in wanted),
        cortical_screws=tuple(s for s in stock.cortical_screws if s.kit in wanted) or stock.cortical_screws,
        plates=tuple(p for p in stock.plates if p.kit in wanted),
        instruments=stock.instruments,
        folders=stock.folders,
    )


def _read(folders: tuple[Path, ...]) -> _Shelf:
    shelf = _Shelf()
    tables: list[tuple[str, str, dict[str, Any]]] = []
    files = [path for folder in folders for path in _files(folder, shelf.problems)]
    known = resource_dir("implant_specs") / MATERIALS_FILE
    if not any(_same(path, known) for path in files):
        files.insert(0, known)
    for path in files:
        try:
            table = load_toml(path, KitError)
        except KitError as error:
            shelf.problems.extend(error.problems)
            continue
        kit = _kit(path, table, shelf)
        if kit is not None:
            tables.append((path.name, kit.id, table))
    # materials of every file first: a kit may stand before the file of its materials
    for name in ("material", "im_screw", "cortical_screw", "plate", "instrument"):
        for file, kit_id, table in tables:
            _family(name, file, kit_id, table.get(name, []), shelf)
    return shelf


def _same(a: Path, b: Path) -> bool:
    try:
        return a.samefile(b)
    except OSError:
        return False


def _files(folder: Path, problems: list[Problem]) -> list[Path]:
    try:
        found = sorted(p for p in folder.iterdir() if p.suffix == ".toml" and not p.name.startswith("."))
    except (OSError, ValueError):
        problems.append(Problem(str(folder), "is not a folder that can be read", "name a folder that holds kit files"))
        return []
    if not found:
        problems.append(Problem(str(folder), "holds no kit file", "a kit is a file that ends in .toml"))
    return found


def _kit(path: Path, table: dict[str, Any], shelf: _Shelf) -> Kit | None:
    for name in table:
        if name not in KEYS:
            shelf.problems.append(Problem(f"{path.name}: {name}", "is not a table of a kit", nearest(name, KEYS)))
    if "kit" not in table:
        shelf.problems.append(Problem(f"{path.name}: [kit]", "is missing", "[kit] with id, title, status and source"))
        return None
    row = read_table("kit", table["kit"], f"{path.name}: [kit]", shelf.problems)
    if row is None:
        return None
    if not _new(row["id"], f"{path.name}: [kit]: id", shelf, "kit "):
        return None
    sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
    kit = Kit(row["id"], row["title"], row["status"], row["source"], row.get("note", ""), path.name, sha256)
    shelf.kits[kit.id] = kit
    return kit


def _family(name: str, file: str, kit_id: str, rows: Any, shelf: _Shelf) -> None:
    if not isinstance(rows, list):
        shelf.problems.append(Problem(f"{file}: {name}", "is a single table", f"write [[{name}]], in double brackets"))
        return
    for number, given in enumerate(rows, start=1):
        code = given.get("code", given.get("id", "")) if isinstance(given, dict) else ""
        where = f"{file}: [[{name}]] {number}" + (f" ({code})" if isinstance(code, str) and code else "")
        row = read_table(name, given, where, shelf.problems)
        if row is None:
            continue
        if name == "material":
            made = build.material(row, kit_id, where, shelf.problems)
            if made is not None and _new(made.id, f"{where}: id", shelf, "material "):
                shelf.materials[made.id] = made
        elif name == "instrument":
            _keep(build.instruments(row, kit_id, where, shelf.problems), shelf.instrument, where, shelf)
        elif row["material"] not in shelf.materials:
            known = nearest(row["material"], shelf.materials)
            shelf.problems.append(Problem(f"{where}: material", f"'{row['material']}' is not a known material", known))
        else:
            makers: dict[str, Callable[..., list[Any]]] = {
                "im_screw": build.im_screws,
                "cortical_screw": build.cortical_screws,
                "plate": build.plates,
            }
            made_of = shelf.materials[row["material"]]
            _keep(makers[name](row, made_of, kit_id, where, shelf.problems), getattr(shelf, name), where, shelf)


def _keep(items: list[Any], into: list[Any], where: str, shelf: _Shelf) -> None:
    for item in items:
        if _new(item.item, f"{where}: code", shelf, "item "):
            into.append(item)


def _new(code: str, where: str, shelf: _Shelf, kind: str) -> bool:
    if kind + code in shelf.seen:
        first = shelf.seen[kind + code]
        shelf.problems.append(Problem(where, f"{kind}'{code}' is there twice", f"first in {first}"))
        return False
    shelf.seen[kind + code] = where
    return True
