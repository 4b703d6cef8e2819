"""The keys of a kit's tables: kind, bounds and meaning, declared once.

The bounds are project defaults (source id PROJECT): they catch wrong units, and are wide enough for any implant
of the forefoot.
"""

from __future__ import annotations

from dataclasses import dataclass

BOUNDS_SOURCE = "PROJECT"


@dataclass(frozen=True)
class Key:
    """One key of a kit's table. `low` and `high` are inclusive, in the core unit of `dimension`."""

    kind: str
    text: str
    dimension: str = ""
    low: float = 0.0
    high: float = 0.0
    required: bool = True
    choices: tuple[object, ...] = ()


def _length(text: str, high: float, low: float = 0.05, *, required: bool = True) -> Key:
    return Key("quantity", text, "length", low, high, required)


def _optional(kind: str, text: str) -> Key:
    return Key(kind, text, required=False)


_COMMON = {
    "status": Key("status", "how the table is known"),
    "source": Key("source", "id of sources.toml"),
    "note": _optional("text", "what a reader should know"),
}

_SCREW = {
    "code": Key("code", "first part of the item codes"),
    "material": Key("text", "id of a material"),
    "d_major": _length("outer diameter of the thread", 12, 0.8),
    "d_core": _length("diameter at the root of the thread", 12, 0.5),
    "pitch": _length("distance from thread to thread (at the tip)", 6),
    "head_diameter": _length("diameter of the head", 20),
    "drill": _length("diameter of the drill for the threaded part", 12),
    "tap": _length("diameter of the tap; without it the screw cuts its own thread", 12, required=False),
    "driver": Key("text", "form of the recess, for instance 'hexagon 2.5'"),
    "lengths": Key("range", "lengths held: a list, or from, to and step", "length", 4, 150),
    **_COMMON,
}

KEYS: dict[str, dict[str, Key]] = {
    "kit": {
        "id": Key("id", "name of the kit in a case file"),
        "title": Key("text", "one line for the reader"),
        **_COMMON,
    },
    "material": {
        "id": Key("id", "name of the material in a kit"),
        "name": Key("text", "what it is"),
        "standard": Key("text", "the standard that names it"),
        "E": Key("sourced", "Young's modulus", "stress", 1e3, 4e5),
        "nu": Key("sourced", "Poisson's ratio", "ratio", 0.05, 0.5),
        "yield": Key("sourced", "least 0.2 % proof stress", "stress", 10, 3000),
        "ultimate": Key("sourced", "least tensile strength", "stress", 10, 3000),
        "fatigue": Key("sourced", "fully reversed stress amplitude, smooth", "stress", 5, 3000, required=False),
        "elongation": Key("sourced", "least elongation at fracture", "ratio", 0.001, 1, required=False),
        **_COMMON,
    },
    "im_screw": {
        **_SCREW,
        "thread_form": Key("choice", "where the thread runs", choices=("partial", "full variable pitch")),
        "d_shank": _length("diameter of the smooth shank; partial thread only", 12, required=False),
        "d_cannula": _length("diameter of the cannulation; '0 mm' for a solid screw", 12, 0),
        "pitch_head": _length("pitch at the head; variable pitch only", 6, required=False),
        "thread_lengths": Key("range", "thread lengths held; partial thread only", "length", 2, 100, required=False),
        "guide_wire": _length("diameter of the guide wire", 6, required=False),
        "countersink": _length("diameter of the countersink", 20, required=False),
    },
    "cortical_screw": {
        **_SCREW,
        "thread": Key("text", "type of the thread standard, for instance 'HA 2.7', or 'none of the standard'"),
        "head": Key("choice", "form under the head", choices=("spherical", "locking")),
    },
    "plate": {
        "code": Key("code", "first part of the item codes"),
        "material": Key("text", "id of a material"),
        "screw_system": _length("major diameter of the screws it takes", 12, 0.8),
        "holes": Key("counts", "hole counts held", low=2, high=30),
        "hole_spacing": _length("from hole to hole", 40),
        "end": _length("from the centre of the last hole to the end", 40),
        "width": _length("width", 40),
        "thickness": _length("thickness", 8, 0.2),
        "hole_diameter": _length("diameter of a hole", 15),
        "locking": Key("flag", "true when screws lock in the plate"),
        **_COMMON,
    },
    "instrument": {
        "code": Key("code", "first part of the item codes"),
        "kind": Key(
            "choice",
            "what it is",
            choices=("guide wire", "drill", "tap", "driver", "countersink", "depth gauge", "drill guide"),
        ),
        "sizes": Key("range", "sizes held", "length", 0.3, 400, required=False),
        "forms": _optional("texts", "driver only: forms of the recess"),
        **_COMMON,
    },
}
