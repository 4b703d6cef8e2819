"""The limits of the screw windows as closed forms: what the windows compute is what the worked sheet prints; mm."""

from __future__ import annotations

from typing import Any

from fixplan.formula import formula

_FRACTURE = ("s_f", "mm", "fracture centre from the proximal end")
_EXTENT = ("e", "mm", "axial extent of the fracture")
_SEAT = ("s_0", "mm", "seat of the head below the proximal end")
_CORRIDOR = ("D_c", "mm", "straight corridor over the thread")


@formula(
    symbol="l_min",
    unit="mm",
    text="shortest screw whose thread lies wholly beyond the fracture",
    args={
        "fracture": _FRACTURE,
        "extent": _EXTENT,
        "run_out": ("m", "mm", "run-out margin"),
        "thread": ("t", "mm", "thread length"),
        "seat": _SEAT,
    },
    source="GEOM",
    where="lengths along one axis; that all thread lies beyond the fracture: WHE",
)
def shortest_partial(fracture: Any, extent: Any, run_out: Any, thread: Any, seat: Any) -> Any:
    """l_min = s_f + e/2 + m + t - s_0 [mm]."""
    return fracture + extent / 2 + run_out + thread - seat


@formula(
    symbol="l_min",
    unit="mm",
    text="shortest screw with the wanted purchase beyond the fracture, threaded all along",
    args={
        "fracture": _FRACTURE,
        "extent": _EXTENT,
        "purchase": ("p_min", "mm", "least thread beyond the fracture"),
        "seat": _SEAT,
    },
    source="GEOM",
    where="lengths along one axis",
)
def shortest_full(fracture: Any, extent: Any, purchase: Any, seat: Any) -> Any:
    """l_min = s_f + e/2 + p_min - s_0 [mm]."""
    return fracture + extent / 2 + purchase - seat


@formula(
    symbol="l_max",
    unit="mm",
    text="longest screw whose tip stays in the straight segment",
    args={
        "straight": ("S", "mm", "end of the straight segment from the proximal end"),
        "clearance": ("c", "mm", "tip clearance"),
        "seat": _SEAT,
    },
    source="GEOM",
    where="lengths along one axis; that the tip stays before the bow: NAY21",
)
def longest(straight: Any, clearance: Any, seat: Any) -> Any:
    """l_max = S - c - s_0 [mm]."""
    return straight - clearance - seat


@formula(
    symbol="d_min",
    unit="mm",
    text="least major diameter that bites",
    args={"corridor": _CORRIDOR, "bite": ("b", "mm", "depth of bite on each side")},
    source="GEOM",
    where="diameters about one axis",
)
def least_biting(corridor: Any, bite: Any) -> Any:
    """d_min = D_c + 2 b [mm]."""
    return corridor + 2 * bite


@formula(
    symbol="d_max",
    unit="mm",
    text="widest hole by how much the canal may be widened",
    args={"corridor": _CORRIDOR, "widening": ("w", "mm", "most by which the canal may be widened")},
    source="GEOM",
    where="diameters about one axis",
)
def widest_reamed(corridor: Any, widening: Any) -> Any:
    """d_max = D_c + w [mm]."""
    return corridor + widening


@formula(
    symbol="w_left",
    unit="mm",
    text="thinnest wall left over the thread",
    args={
        "ream_limit": ("D_r", "mm", "widest hole that leaves the least wall"),
        "wall": ("w_min", "mm", "least wall"),
        "diameter": ("d", "mm", "major diameter of the screw"),
    },
    source="GEOM",
    where="diameters about one axis",
)
def wall_left(ream_limit: Any, wall: Any, diameter: Any) -> Any:
    """w_left = (D_r - d)/2 + w_min [mm]."""
    return (ream_limit - diameter) / 2 + wall
