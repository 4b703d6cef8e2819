"""Plan and comparison as JSON documents, and the schemas that describe them; all come from the declarations.

The document is the plan field by field, with short views beside it (`assumed`, the windows as pairs)
and `origins`: for each path of a number, its unit, meaning and origin. `*` in a path stands for any item of a list or
any key of a map. A comparison is its fields and
`origins`. To write both schemas anew after a declaration has changed: `python -m fixplan.report.jsonio`.
"""

from __future__ import annotations

import dataclasses
import json
import types
import typing
from pathlib import Path
from typing import Any

from fixplan.atomic import write_all
from fixplan.declare import declarations, origins, to_plain
from fixplan.plan.compare_types import Comparison
from fixplan.plan.types import CAUTION, FAIL, PASS, Plan, PlatePlan, ScrewPlan, Window

SCHEMA_FILE = Path(__file__).with_name("plan.schema.json")
COMPARE_SCHEMA_FILE = Path(__file__).with_name("compare.schema.json")
DIALECT = "https://json-schema.org/draft/2020-12/schema"

_ENUMS = {
    ("Finding", "verdict"): [PASS, CAUTION, FAIL],
    ("ScrewCandidate", "verdict"): [PASS, CAUTION, FAIL],
    ("PlateCandidate", "verdict"): [PASS, CAUTION, FAIL],
    ("Fit", "verdict"): ["plan", "question", "outside scope"],
    ("Limit", "end"): ["low", "high"],
    ("CaseSummary", "side"): ["left", "right", "not said"],
    ("Compared", "kind"): ["screw", "plate"],
    ("Compared", "verdict"): [PASS, CAUTION, FAIL],
    ("BenchSays", "verdict"): ["agrees", "denies", "disagrees", "not tested"],
}
_ORIGINS = {
    "type": "object",
    "description": "path of a number -> its unit, meaning and origin",
    "additionalProperties": {
        "type": "object",
        "properties": {k: {"type": "string"} for k in ("unit", "text", "origin", "by")},
        "required": ["unit", "text", "origin", "by"],
        "additionalProperties": False,
    },
}
_PAIR = {"type": ["array", "null"], "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
_WINDOW = "low and high end; null: no window"
_VIEWS: dict[str, dict[str, Any]] = {
    "Plan": {
        "assumed": {
            "type": "array",
            "description": "the assumed values of `given`",
            "items": {"$ref": "#/$defs/Given"},
        },
        "origins": _ORIGINS,
    },
    "Comparison": {"origins": _ORIGINS},
    "ScrewPlan": {
        "diameter_window_mm": {**_PAIR, "description": _WINDOW},
        "length_window_mm": {"type": "object", "description": f"by thread: {_WINDOW}", "additionalProperties": _PAIR},
    },
    "PlatePlan": {"span_window_mm": {**_PAIR, "description": _WINDOW}},
}


def _pair(window: Window) -> list[float] | None:
    return None if window.empty else [window.lo_mm, window.hi_mm]


def _screw_views(screw: ScrewPlan) -> dict[str, Any]:
    return {
        "diameter_window_mm": _pair(screw.diameter_window),
        "length_window_mm": {w.thread: _pair(w) for w in screw.length_windows},
    }


def _plate_views(plate: PlatePlan) -> dict[str, Any]:
    return {"span_window_mm": _pair(plate.span_window)}


def plan_document(plan: Plan) -> dict[str, Any]:
    """The plan as JSON-ready data with its views and origins. Raises ValueError for a number that is not finite."""
    document: dict[str, Any] = to_plain(plan)
    found = dict(origins(plan))
    document["assumed"] = [to_plain(g) for g in plan.given if g.origin == "assumed"]
    given = {p: d for p, d in found.items() if p.startswith("/given/")}
    found.update({p.replace("/given/", "/assumed/", 1): d for p, d in given.items()})
    if plan.screw is not None:
        document["screw"].update(_screw_views(plan.screw))
        low = found["/screw/diameter_window/lo_mm"]
        found["/screw/diameter_window_mm"] = {**low, "text": _WINDOW, "by": "diameter_window"}
        found["/screw/length_window_mm/*"] = {**low, "text": _WINDOW, "by": "length_windows"}
    if plan.plate is not None:
        document["plate"].update(_plate_views(plan.plate))
        low = found["/plate/span_window/lo_mm"]
        found["/plate/span_window_mm"] = {**low, "text": _WINDOW, "by": "span_window"}
    document["origins"] = dict(sorted(found.items()))
    return document


def compare_document(comparison: Comparison) -> dict[str, Any]:
    """The comparison as JSON-ready data with its origins. Raises ValueError for a number that is not finite."""
    document: dict[str, Any] = to_plain(comparison)
    document["origins"] = dict(sorted(origins(comparison)))
    return document


def _text(document: dict[str, Any]) -> str:
    return json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def render_json(plan: Plan) -> str:
    """The plan as JSON text, UTF-8, two-space indent, keys in the order of the declarations, a newline at the end."""
    return _text(plan_document(plan))


def render_compare_json(comparison: Comparison) -> str:
    """The comparison as JSON text, as `render_json` writes a plan."""
    return _text(compare_document(comparison))


def _type_schema(hint: Any, defs: dict[str, Any]) -> dict[str, Any]:
    """The schema of a type hint as results use them: text, numbers, flags, None, tuples and other results."""
    kind = typing.get_origin(hint)
    if kind is typing.Annotated:
        return _type_schema(typing.get_args(hint)[0], defs)
    if kind in (typing.Union, types.UnionType):
        options = [_type_schema(a, defs) for a in typing.get_args(hint)]
        return {"anyOf": options}
    if kind is tuple:
        items = typing.get_args(hint)
        if len(items) == 2 and items[1] is Ellipsis:
            return {"type": "array", "items": _type_schema(items[0], defs)}
        inner = [_type_schema(a, defs) for a in items]
        return {"type": "array", "prefixItems": inner, "minItems": len(inner), "maxItems": len(inner), "items": False}
    if dataclasses.is_dataclass(hint):
        _class_schema(typing.cast(type, hint), defs)
        return {"$ref": f"#/$defs/{typing.cast(type, hint).__name__}"}
    plain = {str: "string", bool: "boolean", int: "integer", float: "number", type(None): "null"}
    return {"type": plain[hint]}


def _class_schema(cls: type, defs: dict[str, Any]) -> None:
    if cls.__name__ in defs:
        return
    defs[cls.__name__] = {}  # holds the place, so that a class may name itself
    hints = typing.get_type_hints(cls, include_extras=True)
    declared = declarations(cls)
    properties: dict[str, Any] = {}
    for f in dataclasses.fields(cls):
        schema = _type_schema(hints[f.name], defs)
        if (cls.__name__, f.name) in _ENUMS:
            schema["enum"] = _ENUMS[cls.__name__, f.name]
        if f.name in declared:
            d = declared[f.name]
            schema["description"] = f"{d.text} [{d.unit}]; {d.origin}" + (f": {d.by}" if d.by else "")
        properties[f.name] = schema
    properties.update(_VIEWS.get(cls.__name__, {}))
    doc = cls.__doc__ or ""
    described = {} if doc.startswith(f"{cls.__name__}(") else {"description": doc.split("\n")[0]}
    defs[cls.__name__] = {
        "type": "object",
        **described,
        "properties": properties,
        "required": list(properties),
        "additionalProperties": False,
    }


def _schema(cls: type, title: str, name: str) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a document, made from its declarations; `name` is what its `format` says."""
    defs: dict[str, Any] = {}
    _class_schema(cls, defs)
    defs[cls.__name__]["properties"]["format"] = {"const": name}
    return {"$schema": DIALECT, "title": title, "$ref": f"#/$defs/{cls.__name__}", "$defs": dict(sorted(defs.items()))}


def plan_schema() -> dict[str, Any]:
    """The JSON Schema of a plan."""
    return _schema(Plan, "fixplan plan", "fixplan-plan/1")


def compare_schema() -> dict[str, Any]:
    """The JSON Schema of a comparison."""
    return _schema(Comparison, "fixplan comparison", "fixplan-compare/1")


def schema_text(schema: dict[str, Any]) -> str:
    return json.dumps(schema, ensure_ascii=False, indent=2) + "\n"


if __name__ == "__main__":
    write_all({SCHEMA_FILE: schema_text(plan_schema()), COMPARE_SCHEMA_FILE: schema_text(compare_schema())})
