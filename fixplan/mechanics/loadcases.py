"""Load cases: where the forces act, where the displacement is read, and the structural stiffness that
follows.

A case carries unit forces (one newton in all, reactions included) in one plane or shared between two. Units:
mm, N, N*mm2. Names: `cantilever_*` clamps the proximal end and loads the head; `three_point_*` and
`four_point_*` bend about the fracture on two supports. The plate arrangement and the intramedullary-device
arrangement are those of the bending standards; unless spans are given they are scaled to the bone (project
default), since the standards' own spans exceed a metatarsal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from fixplan.formula import formula
from fixplan.mechanics.beam import Array, positive, with_reactions
from fixplan.mechanics.guard import refuse_unless
from fixplan.mechanics.parts import Loads

_K = ("K", "N/mm", "total load over load-point displacement")


@formula(
    symbol="EI_e",
    unit="N*mm**2",
    text="structural stiffness from a cantilever test",
    args={"K": _K, "length": ("L", "mm", "length from clamp to load")},
    source="GERE7",
    where="table G-1: F L^3/(3 EI)",
)
def structural_EI_cantilever(K: Any, length: Any) -> Any:
    """Flexural rigidity [N mm2] of the uniform cantilever that is as stiff."""
    return K * length**3 / 3


@formula(
    symbol="EI_e",
    unit="N*mm**2",
    text="structural stiffness from a three-point test",
    args={"K": _K, "span": ("L", "mm", "span between supports")},
    source="GERE7",
    where="table G-2: F L^3/(48 EI)",
)
def structural_EI_three_point(K: Any, span: Any) -> Any:
    """Flexural rigidity [N mm2] of the uniform beam that is as stiff under a central load."""
    return K * span**3 / 48


@formula(
    symbol="EI_e",
    unit="N*mm**2",
    text="structural stiffness of a plate in four-point bending",
    args={"K": _K, "h": ("h", "mm", "outer to inner roller"), "a": ("a", "mm", "inner span")},
    source="ASTM-F382",
    where="annex A1",
)
def structural_EI_plate(K: Any, h: Any, a: Any) -> Any:
    """Bending structural stiffness [N mm2], (2h + 3a) K h^2/12."""
    return (2 * h + 3 * a) * K * h**2 / 12


@formula(
    symbol="EI_e",
    unit="N*mm**2",
    text="structural stiffness of an intramedullary device in four-point bending",
    args={"K": _K, "s": ("s", "mm", "outer to inner roller"), "c": ("c", "mm", "inner span")},
    source="ASTM-F1264",
    where="annex A1",
)
def structural_EI_im_device(K: Any, s: Any, c: Any) -> Any:
    """Bending structural stiffness [N mm2], s^2 (L + 2c)(F/y)/12 with L = 2s + c."""
    return s**2 * (2 * s + c + 2 * c) * K / 12


@dataclass(frozen=True)
class BenchSpans:
    """Spans of the bench arrangements, mm; None: scaled to the bone, centred on the fracture.

    three_point: between supports. plate: (outer to inner roller, inner span). im_device: the same, s and c.
    """

    three_point: Array | None = None
    plate: tuple[Array, Array] | None = None
    im_device: tuple[Array, Array] | None = None


@dataclass(frozen=True)
class Case:
    """One bending case under one newton.

    share: part of the unit force in each plane. forces, at: (..., k) N, mm, reactions included. read: (...,
    j) mm, where the displacement is read (mean). supports: the two places of zero deflection, or None for the
    clamp. to_EI: structural stiffness over K, mm3. load: N.
    """

    name: str
    share: Mapping[str, float | Array]
    forces: Array
    at: Array
    read: Array
    supports: tuple[Array, Array] | None
    to_EI: Array
    load: Array


CASES = (
    "cantilever_plantar",
    "cantilever_lateral",
    "cantilever_combined",
    "three_point_plantar",
    "three_point_lateral",
    "four_point_plate_plantar",
    "four_point_plate_lateral",
    "four_point_im_plantar",
    "four_point_im_lateral",
    "axial",
    "torsion",
)
_PLANE = {"plantar": "y", "lateral": "x"}


def _stack(*values: Any) -> Array:
    return np.stack(np.broadcast_arrays(*(np.asarray(v, dtype=np.float64) for v in values)), axis=-1)


def _bench(name: str, plane: str, centre: Array, outer: Array, inner: Array | None, to_EI: Array, loads: Loads) -> Case:
    """Rollers at centre -/+ outer, loads at centre, or at centre -/+ inner."""
    points = _stack(centre) if inner is None else _stack(centre - inner, centre + inner)
    unit = np.full(points.shape[-1], 1.0 / points.shape[-1])
    forces, at, _ = with_reactions(np.broadcast_to(unit, points.shape), points, centre - outer, centre + outer)
    return Case(name, {plane: 1.0}, forces, at, points, (centre - outer, centre + outer), to_EI, loads.bench)


def four_point_rollers(centre: Array, length: Array, *, plate: bool) -> tuple[Array, Array]:
    """Outer to inner roller and inner span [mm], as wide as the shorter side of the bone allows about `centre`.

    Quarter points for the plate (project default), third points for the device (which ASTM F1264 recommends).
    """
    room = np.minimum(centre, length - centre)
    return (room / 2, room) if plate else (2 * room / 3, 2 * room / 3)


def bending_cases(
    names: tuple[str, ...], length: Array, centre: Array, loads: Loads, spans: BenchSpans | None = None
) -> list[Case]:
    """The named bending cases for a bone of the given length, fractured at `centre` [mm].

    Raises:
        ValueError: an unknown name, or spans that leave the bone.
    """
    unknown = set(names) - set(CASES)
    if unknown:
        raise ValueError(f"cases: {sorted(unknown)} unknown; choose from {', '.join(CASES)}")
    spans = spans or BenchSpans()
    room = np.minimum(centre, length - centre)
    out = []
    for name in names:
        kind, _, direction = name.rpartition("_")
        if kind == "cantilever":
            whole = np.hypot(loads.plantar, loads.lateral)
            one = {"plantar": loads.plantar, "lateral": loads.lateral, "combined": whole}[direction]
            share: dict[str, float | Array] = {"y": loads.plantar / whole, "x": loads.lateral / whole}
            if direction != "combined":
                share = {_PLANE[direction]: 1.0}
            tip = _stack(length)
            out.append(Case(name, share, np.ones_like(tip), tip, tip, None, structural_EI_cantilever(1.0, length), one))
        elif kind == "three_point":
            span = 2 * room if spans.three_point is None else positive("spans.three_point", spans.three_point)
            _fits("spans.three_point", span, room)
            out.append(
                _bench(name, _PLANE[direction], centre, span / 2, None, structural_EI_three_point(1.0, span), loads)
            )
        elif kind in ("four_point_plate", "four_point_im"):
            plate = kind == "four_point_plate"
            given = spans.plate if plate else spans.im_device
            h, a = given or four_point_rollers(centre, length, plate=plate)
            h, a = positive("spans outer to inner", h), positive("spans inner", a)
            _fits("spans", 2 * h + a, room)
            to_EI = structural_EI_plate(1.0, h, a) if plate else structural_EI_im_device(1.0, h, a)
            out.append(_bench(name, _PLANE[direction], centre, h + a / 2, a / 2, to_EI, loads))
    return out


def _fits(name: str, span: Array, room: Array) -> None:
    ok = span / 2 <= room * (1 + 1e-12)
    refuse_unless(ok, name, span, "must fit on the bone on both sides of the fracture", "use shorter spans")
