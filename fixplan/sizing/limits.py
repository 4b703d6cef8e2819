"""The limits of the screw windows as closed forms: what the windows compute is what the worked sheet prints; mm."""

from __future__ import annotations

from typing import Any

from fixplan.formula import formula, minimum

_FRACTURE = ("s_f", "mm", "fracture centre from the proximal end")
_EXTENT = ("e", "mm", "axial extent of the fracture")
_SEAT = ("s_0", "mm", "seat of the head below the proximal end")
_CORRIDOR = ("D_c", "mm", "straight corridor over the thread")
_LENGTH = ("l", "mm", "length of the screw from the seat of its head")
_VALUE = ("x", "mm", "value found")
_LIMIT = ("x_lim", "mm", "limit it is held against, the stricter where there are two")


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


@formula(
    symbol="D_r",
    unit="mm",
    text="widest hole that leaves the least wall",
    args={
        "outer": ("D_o", "mm", "widest straight cylinder inside the outer surface over the thread"),
        "wall": ("w_min", "mm", "least wall asked for"),
    },
    source="GEOM",
    where="diameters about one axis",
)
def widest_with_wall(outer: Any, wall: Any) -> Any:
    """D_r = D_o - 2 w_min [mm]."""
    return outer - 2 * wall


@formula(
    symbol="D_s",
    unit="mm",
    text="the stricter of the two limits of the wall",
    args={
        "own": ("D_r", "mm", "widest hole that leaves the least wall over this screw's own thread"),
        "whole": (
            "D_a",
            "mm",
            "the same over all the stretch that thread may occupy, less the doubt of a width assumed",
        ),
    },
    source="GEOM",
    where="the smaller of two",
)
def strict_wall(own: Any, whole: Any) -> Any:
    """D_s = min(D_r, D_a) [mm]."""
    return minimum(own, whole)


@formula(
    symbol="s_t",
    unit="mm",
    text="where the first thread lies, from the proximal end",
    args={"seat": _SEAT, "length": _LENGTH, "thread": ("t", "mm", "thread length")},
    source="GEOM",
    where="lengths along one axis",
)
def first_thread(seat: Any, length: Any, thread: Any) -> Any:
    """s_t = s_0 + l - t [mm]."""
    return seat + length - thread


@formula(
    symbol="s_tip",
    unit="mm",
    text="where the tip lies, from the proximal end",
    args={"seat": _SEAT, "length": _LENGTH},
    source="GEOM",
    where="lengths along one axis",
)
def tip(seat: Any, length: Any) -> Any:
    """s_tip = s_0 + l [mm]."""
    return seat + length


@formula(
    symbol="s_min",
    unit="mm",
    text="where thread may start, or the tip must reach, beyond the fracture",
    args={
        "fracture": _FRACTURE,
        "extent": _EXTENT,
        "beyond": ("m", "mm", "run-out margin, or least purchase of a thread that runs all along"),
    },
    source="GEOM",
    where="lengths along one axis",
)
def beyond_fracture(fracture: Any, extent: Any, beyond: Any) -> Any:
    """s_min = s_f + e/2 + m [mm]."""
    return fracture + extent / 2 + beyond


@formula(
    symbol="s_max",
    unit="mm",
    text="how deep the tip may lie",
    args={
        "straight": ("S", "mm", "end of the straight segment from the proximal end"),
        "clearance": ("c", "mm", "tip clearance"),
    },
    source="GEOM",
    where="lengths along one axis; that the tip stays before the bow: NAY21",
)
def tip_limit(straight: Any, clearance: Any) -> Any:
    """s_max = S - c [mm]."""
    return straight - clearance


@formula(
    symbol="w",
    unit="mm",
    text="how much the canal is widened",
    args={"diameter": ("d", "mm", "major diameter of the screw"), "corridor": _CORRIDOR},
    source="GEOM",
    where="diameters about one axis",
)
def widened(diameter: Any, corridor: Any) -> Any:
    """w = d - D_c [mm]."""
    return diameter - corridor


@formula(
    symbol="r",
    unit="mm",
    text="room above a lower limit; negative: so far short of it",
    args={"value": _VALUE, "limit": _LIMIT},
    source="GEOM",
    where="difference",
)
def room_above(value: Any, limit: Any) -> Any:
    """r = x - x_lim [mm]."""
    return value - limit


@formula(
    symbol="r",
    unit="mm",
    text="room below an upper limit; negative: so far beyond it",
    args={"limit": _LIMIT, "value": _VALUE},
    source="GEOM",
    where="difference",
)
def room_below(limit: Any, value: Any) -> Any:
    """r = x_lim - x [mm]."""
    return limit - value


@formula(
    symbol="w_own",
    unit="mm",
    text="wall of the bone itself on one film, before any drilling",
    args={"outer": ("D_b", "mm", "outer width there"), "canal": ("D_k", "mm", "canal width there")},
    source="GEOM",
    where="two widths about one centre line",
)
def own_wall(outer: Any, canal: Any) -> Any:
    """w_own = (D_b - D_k)/2 [mm]."""
    return (outer - canal) / 2


@formula(
    symbol="L",
    unit="mm",
    text="thread engaged beyond the fracture",
    args={
        "tip": ("s_tip", "mm", "where the tip lies, from the proximal end"),
        "start": ("s_e", "mm", "where the thread starts, or the edge of the fracture where that is further on"),
    },
    source="GEOM",
    where="lengths along one axis",
)
def engaged_thread(tip: Any, start: Any) -> Any:
    """L = s_tip - s_e [mm]."""
    return tip - start
