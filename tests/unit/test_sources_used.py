"""Every source id that code or data tables name is in sources.toml, so each number can print its origin."""

import dataclasses
import importlib
import pkgutil
import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

import fixplan
from fixplan.formula import FORMULAS
from fixplan.sources import all_sources

ROOMS = ("mechanics", "sizing", "bone", "stock", "appraisal")
KEYS = ("source", "sources", "also", "sd_source", "how_source", "usual_source")


def _modules():
    for room in ROOMS:
        package = importlib.import_module(f"fixplan.{room}")
        for found in pkgutil.walk_packages(package.__path__, f"fixplan.{room}."):
            yield importlib.import_module(found.name)


def _ids_of_records(value, depth=0):
    """Ids in the `source` and `sources` of records that lie in module-level tables."""
    if isinstance(value, type) or depth > 4:
        return
    if isinstance(value, (list, tuple)) and not hasattr(value, "_fields"):
        for item in value:
            yield from _ids_of_records(item, depth + 1)
    elif isinstance(value, dict):
        for item in value.values():
            yield from _ids_of_records(item, depth + 1)
    elif dataclasses.is_dataclass(value) or hasattr(value, "_fields"):
        for name in ("source", "sources"):
            found = getattr(value, name, ())
            yield from (found,) if isinstance(found, str) else found


def _ids_of_table(value, key=""):
    if isinstance(value, dict):
        for name, item in value.items():
            yield from _ids_of_table(item, name)
    elif isinstance(value, list):
        for item in value:
            yield from _ids_of_table(item, key)
    elif isinstance(value, str) and key in KEYS:
        yield value


def test_every_formula_names_a_known_source():
    for _ in _modules():
        pass
    assert FORMULAS
    for f in FORMULAS.values():
        assert f.source in all_sources(), f.name


def test_every_record_in_a_table_of_the_code_names_a_known_source():
    seen = 0
    for module in _modules():
        for name, value in vars(module).items():
            for id in _ids_of_records(value):
                if id:
                    seen += 1
                    assert id in all_sources(), f"{module.__name__}.{name}: {id}"
    assert seen > 20


def _tables():
    package = Path(str(files(fixplan)))
    kits = next(p for p in (package / "implant_specs", package.parent / "implant_specs") if p.is_dir())
    found = [p for p in package.rglob("*.toml") if p.name != "sources.toml"] + sorted(kits.glob("*.toml"))
    return sorted(found, key=lambda p: p.name)


@pytest.mark.parametrize("path", _tables(), ids=lambda p: p.name)
def test_every_data_table_names_known_sources(path):
    ids = list(_ids_of_table(tomllib.loads(path.read_text(encoding="utf-8"))))
    for id in ids:
        assert id in all_sources(), id


def test_every_paper_named_by_its_id_in_the_code_is_a_known_source():
    """Ids of a name in capitals and two digits of a year, in text and docstrings alike; Cowper's among them."""
    named = {}
    for path in Path(str(files(fixplan))).rglob("*.py"):
        for id in re.findall(r"\b[A-Z]{4,}\d{2}\b", path.read_text(encoding="utf-8")):
            named.setdefault(id, path.name)
    assert {"COWPER66", "DAVIES87", "GOLUB73"} <= set(named)
    assert {id: where for id, where in named.items() if id not in all_sources()} == {}
