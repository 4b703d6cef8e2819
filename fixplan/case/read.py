"""From a TOML file, or a table of the same shape, to a `Case`; every problem in one answer."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from fixplan.case import model
from fixplan.case.fields import fields, sections
from fixplan.case.geometry import geometry_problems
from fixplan.case.identify import REMEDY, identifying
from fixplan.case.kinds import read_value
from fixplan.problems import InputError, Problem, nearest
from fixplan.tomlfile import load_toml


class CaseError(InputError):
    """A case was refused; `problems` holds all that is wrong with it, `subject` its file name."""


def read_case(path: str | Path) -> model.Case:
    """Read a case file. Raises CaseError with every problem of the file."""
    path = Path(path)
    return _case(load_toml(path, CaseError), path.name, path.parent, path, quick=False)


def parse_case(
    table: Mapping[str, Any], where: str, base_dir: Path | None = None, *, quick: bool = False
) -> model.Case:
    """A case from a table in the shape of a case file.

    `where` names it in messages; `base_dir` is the folder against which its file names are read (None: none may
    be named). With `quick`, label and side may be left out. Raises CaseError.
    """
    return _case(table, where, base_dir, None, quick=quick)


def _case(table: Mapping[str, Any], where: str, base_dir: Path | None, path: Path | None, *, quick: bool) -> model.Case:
    found: dict[str, Any] = {}
    problems: list[Problem] = []
    _walk(table, "", found, problems, base_dir)
    given = {*found, *(p.where for p in problems)}
    for key, field in fields().items():
        optional = (quick and key.startswith("case.")) or (key.startswith("previous.") and "previous" not in table)
        if field.required and not optional and not _covered(key, given):
            example = field.example if field.kind in ("integer", "zone") else f'"{field.example}"'
            problems.append(Problem(key, "is missing", f"for instance {key.rpartition('.')[2]} = {example}"))
    problems += geometry_problems(found, given)
    if problems:
        raise CaseError(problems, where)
    return _build(found, table, path)


def _covered(key: str, given: set[str]) -> bool:
    parents = [key.rsplit(".", depth)[0] for depth in range(1, key.count(".") + 1)]
    return key in given or any(parent in given for parent in parents)


def _walk(
    table: Mapping[str, Any], at: str, found: dict[str, Any], problems: list[Problem], base_dir: Path | None
) -> None:
    known = sections()[at]
    for key, given in table.items():
        shown = key if key.strip() else f'"{key}"'
        path = f"{at}.{shown}" if at else shown
        # a quoted key may hold dots of its own: only keys of this very table count
        if key in known and path in fields():
            wants_table = fields()[path].kind == "thresholds"
            if wants_table and not isinstance(given, Mapping):
                problems.append(Problem(path, "is not a table", f"write [{path}] and its keys below"))
                continue
            problems += _identifying(given, path)
            try:
                found[path] = read_value(fields()[path], given, base_dir)
            except InputError as error:
                problems.extend(error.problems)
        elif key in known:
            if isinstance(given, Mapping):
                _walk(given, path, found, problems, base_dir)
            else:
                problems.append(Problem(path, "is not a table", f"write [{path}] and its keys below"))
        elif identifying(key):
            problems.append(Problem(path, "this key could identify a person", REMEDY))
        else:
            problems.append(Problem(path, "is not a key of a case file", _where_else(key, at)))
            problems += _identifying(given, path)


def _identifying(given: Any, path: str) -> list[Problem]:
    """Identifying keys at any depth below a key that is not walked."""
    found: list[Problem] = []
    stack = [(path, given)]
    while stack:
        at, item = stack.pop()
        if isinstance(item, Mapping):
            for key, below in item.items():
                if identifying(str(key)):
                    found.append(Problem(f"{at}.{key}", "this key could identify a person", REMEDY))
                stack.append((f"{at}.{key}", below))
        elif isinstance(item, list):
            stack.extend((at, below) for below in item)
    return found


def _where_else(key: str, at: str) -> str:
    known = sections()
    elsewhere = [table for table, keys in known.items() if key in keys and table != at]
    if elsewhere:
        return f"it belongs in [{elsewhere[0]}]" if elsewhere[0] else f"write it as a table of its own: [{key}]"
    return nearest(key, known[at])


def _build(found: dict[str, Any], table: Mapping[str, Any], path: Path | None) -> model.Case:
    def part(at: str) -> dict[str, Any]:
        return {k.rpartition(".")[2]: v for k, v in found.items() if k.rpartition(".")[0] == at}

    bone, fracture, plan = part("bone"), part("fracture"), part("plan")
    files = [v for v in (*found.values(),) if isinstance(v, Path)]
    return model.Case(
        label=found.get("case.label", "quick answer"),
        side=found.get("case.side"),
        planned_for=found.get("case.planned_for"),
        invented=found.get("case.invented", False),
        bone=model.Bone(
            **{"length": None, **bone},
            isthmus=model.Isthmus(**part("bone.isthmus")),
            at_fracture=model.Level(**part("bone.at_fracture")),
        ),
        imaging=model.Imaging(**part("imaging")),
        fracture=model.Fracture(**fracture),
        plate=model.PlateRoom(**part("plate")),
        previous=model.Previous(**part("previous")) if "previous" in table else None,
        patient=model.Patient(energy=model.Energy(**part("patient.energy")), **part("patient")),
        plan=model.PlanWishes(
            consider=plan.get("consider", ()),
            kits=plan.get("kits", ()),
            thresholds=MappingProxyType(plan.get("thresholds", {})),
        ),
        compare=found.get("compare.constructs", ()),
        inputs_sha256=_digest(table, files),
        path=path,
    )


def _digest(table: Mapping[str, Any], files: list[Path]) -> str:
    digest = hashlib.sha256(json.dumps(table, sort_keys=True, default=str, ensure_ascii=True).encode())
    for file in files:
        with file.open("rb") as stream:
            digest.update(hashlib.file_digest(stream, "sha256").digest())
    return digest.hexdigest()
