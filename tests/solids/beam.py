"""The plain beam of each solid: pieces of constant rigidity, integrated exactly, with or without added spans.

An independent short form for the fit; the project's own beam engine is checked against the same data elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from tests.solids.bars import FORCE, MOMENT

Row = Mapping[str, str]


@dataclass(frozen=True)
class Piece:
    """From x = a to b [mm], flexural rigidity EI [N mm2], shear rigidity kGA [N]."""

    a: float
    b: float
    ei: float
    kga: float


def tube_coefficient(nu: float, m: float) -> float:
    """Shear coefficient of a round tube, inner over outer radius m (Cowper 1966)."""
    s = (1 + m * m) ** 2
    return 6 * (1 + nu) * s / ((7 + 6 * nu) * s + (20 + 12 * nu) * m * m)


def circle(d: float) -> tuple[float, float]:
    """Area and second moment of a circle."""
    return math.pi * d * d / 4, math.pi * d**4 / 64


def bone(row: Row) -> tuple[float, float, float]:
    """EA, EI and kGA of the bone tube."""
    e, nu, o, c = (float(row[k]) for k in ("e_bone", "nu_bone", "outer", "canal"))
    (ao, io), (ac, ic) = circle(o), circle(c)
    return e * (ao - ac), e * (io - ic), tube_coefficient(nu, c / o) * e / (2 * (1 + nu)) * (ao - ac)


def bar(row: Row) -> tuple[float, float, float]:
    """EA, EI and kGA of the bar."""
    e, nu = float(row["e_bar"]), float(row["nu_bar"])
    d, bore = float(row["d"]), float(row["bore"])
    (a, i), (ah, ih) = circle(d), circle(bore)
    return e * (a - ah), e * (i - ih), tube_coefficient(nu, bore / d) * e / (2 * (1 + nu)) * (a - ah)


def stack(length: float, parts: list[tuple[float, float, float, float]]) -> list[Piece]:
    """Pieces from (a, b, EI, kGA); later parts overwrite earlier ones where they overlap."""
    marks = sorted({0.0, length, *(p for a, b, *_ in parts for p in (a, b) if 0 < p < length)})
    pieces = []
    for a, b in pairwise(marks):
        ei, kga = next((e, g) for x, y, e, g in reversed(parts) if x <= (a + b) / 2 <= y)
        pieces.append(Piece(a, b, ei, kga))
    return pieces


def response(length: float, pieces: list[Piece], span: tuple[float, float], shear: bool) -> dict[str, float]:
    """Tip deflection and rotation under FORCE and under MOMENT, and the rotation over `span` under each."""
    out = dict.fromkeys(("u_force", "rot_force", "rot_moment", "turn_force", "turn_moment"), 0.0)
    for p in pieces:
        u, v = length - p.a, length - p.b
        out["u_force"] += FORCE * ((u**3 - v**3) / (3 * p.ei) + (u - v) / p.kga * shear)
        out["rot_force"] += FORCE * (u**2 - v**2) / (2 * p.ei)
        out["rot_moment"] += MOMENT * (u - v) / p.ei
        a, b = max(p.a, span[0]), min(p.b, span[1])
        if b > a:
            u, v = length - a, length - b
            out["turn_force"] += FORCE * (u**2 - v**2) / (2 * p.ei)
            out["turn_moment"] += MOMENT * (u - v) / p.ei
    return out


def bar_added(row: Row, bend: float, exponent: float) -> float:
    """Added span [mm] of a bar: bend sqrt(E_bar/E_bone) (1 - EI_bar/EI_composite)^exponent d."""
    own = bar(row)[1]
    lost = 1 - own / (own + bone({**row, "canal": row["d"]})[1])
    return bend * math.sqrt(float(row["e_bar"]) / float(row["e_bone"])) * lost**exponent * float(row["d"])


def hinged(length: float, pieces: list[Piece], hinges: list[tuple[float, float]], shear: bool) -> dict[str, float]:
    """`response` with hinges (place, compliance) added; the span is left to the caller."""
    r = response(length, pieces, (0.0, 0.0), shear)
    for x, c in hinges:
        r["u_force"] += FORCE * c * (length - x) ** 2
        r["rot_force"] += FORCE * c * (length - x)
        r["rot_moment"] += MOMENT * c
    return r


def opening(length: float, pieces: list[Piece], span: tuple[float, float], ends: list[tuple[float, float]]) -> float:
    """Rotation between the ends of `span` under FORCE, with compliances (place, compliance) at its ends."""
    turn = response(length, pieces, span, shear=False)["turn_force"]
    return turn + sum(FORCE * c * (length - x) for x, c in ends)


def bed(row: Row, added: float, end: float) -> tuple[float, float]:
    """Hinge at the inner end of the bed of an ends row, and the turn of the bar against the bone there, per moment.

    Two beams from x = 0 (where the bar leaves the bed) to z, coupled so that the bar's moment m above its share s obeys
    m'' = m/l^2, l = added/2: m(0) = 1 - s, m(z) = -s. The hinge is the energy of both above that of bone alone over the
    bed, the turn l^2 m'(0)/EI_red. The bed holds over its length less `end` diameters.
    """
    _, ei_b, _ = bar(row)
    _, ei_f, _ = bone({**row, "canal": row["d"]})
    length = float(row["seat"])
    if added == 0:
        return 0.0, 0.0
    whole, lag = ei_b + ei_f, added / 2
    reduced, s, z = ei_b * ei_f / whole, ei_b / whole, (length - end * float(row["d"])) / lag
    slope_0 = -((1 - s) * math.cosh(z) + s) / math.sinh(z)
    slope_z = -((1 - s) + s * math.cosh(z)) / math.sinh(z)
    energy = lag / reduced * (-s * slope_z - (1 - s) * slope_0)
    return length * (1 / whole - 1 / ei_f) + energy, -lag / reduced * slope_0


def bar_beam(row: Row, added: float, end: float = 0.0, shear: bool = False) -> dict[str, float]:
    """Beam of a tube, bonded or ends row with the bar's free span lengthened by `added` [mm], half at each end.

    Each end gets a hinge (added/2)(1/EI_bar - 1/EI_composite). At the seat of an ends row bone alone (drilled to the
    bar's size) runs on beyond the hold, and `bed` gives the hinge. The faces open by the bar's bending over the free
    span and (added/2)/EI_bar, or what `bed` says, at each end, times half the outer diameter.
    """
    length, family = float(row["length"]), row["family"]
    _, ei_t, ga_t = bone(row)
    parts = [(0.0, length, ei_t, ga_t)]
    if family == "tube":
        return hinged(length, stack(length, parts), [], shear)
    _, ei_b, ga_b = bar(row)
    _, ei_f, ga_f = bone({**row, "canal": row["d"]})
    lo, hi = (float(row["fracture"]) + k * float(row["gap"]) / 2 for k in (-1, 1))
    near = far = added / 2 * (1 / ei_b - 1 / (ei_b + ei_f))
    face = added / 2 / ei_b
    if family == "bonded":
        parts = [(0.0, length, ei_f + ei_b, ga_f + ga_b)]
    else:
        start = float(row["seat_at"])
        lo = start + float(row["seat"])
        hi = lo + float(row["free"])
        near, face = bed(row, added, end)
        parts.append((start, lo, ei_f, ga_f))
        parts.append((hi, hi + float(row["thread"]), ei_f + ei_b, ga_f + ga_b))
    parts.append((lo, hi, ei_b, ga_b))
    pieces = stack(length, parts)
    r = hinged(length, pieces, [(lo, near), (hi, far)], shear)
    turn = opening(length, pieces, (lo, hi), [(lo, face), (hi, added / 2 / ei_b)])
    r["open_far_force"] = turn * float(row["outer"]) / 2
    return r


def plate_added(row: Row, bending: float, relief: float) -> float:
    """Added working length [mm]: bending (E_plate/E_bone)^(1/4) t^2/d - relief d, not below 0."""
    t, d = float(row["thickness"]), float(row["d"])
    return max(bending * (float(row["e_bar"]) / float(row["e_bone"])) ** 0.25 * t**2 / d - relief * d, 0.0)


def plate_beam(row: Row, added: float, shear: bool = False, net: float = 1.0) -> dict[str, float]:
    """Beam of a plate row with the working length lengthened by `added` [mm], half on each side.

    Bone alone outside the screws; bone and plate as one section (locked screws, counted as rigid) between the first and
    the last screw of a side; plate alone over the working length, with a hinge
    (added/2)(1/EI_plate - 1/EI_beside) at each end. An empty hole takes the net section over `net` hole diameters.
    Opening at the far cortex: rotation between the hinges' outer sides times the lever from the plate's middle plane.
    """
    length, fracture, work = (float(row[k]) for k in ("length", "fracture", "working"))
    t, w, e = (float(row[k]) for k in ("thickness", "width", "e_bar"))
    ea_t, ei_t, ga_t = bone(row)
    ea_p, ei_p, ga_p = e * w * t, e * w * t**3 / 12, 5 / 6 * e / (2 * (1 + float(row["nu_bar"]))) * w * t
    offset = float(row["outer"]) / 2 + float(row["standoff"]) + t / 2
    reach = work / 2 + (int(row["screws"]) - 1) * float(row["pitch"])
    span = (fracture - work / 2, fracture + work / 2)
    beside = ei_t + ei_p + ea_t * ea_p / (ea_t + ea_p) * offset**2
    parts = [(0.0, length, ei_t, ga_t), (fracture - reach, fracture + reach, beside, ga_t + ga_p), (*span, ei_p, ga_p)]
    hole = float(row["hole"])
    if hole > 0:
        parts.append((fracture - net * hole / 2, fracture + net * hole / 2, ei_p * (1 - hole / w), ga_p))
    pieces = stack(length, parts)
    hinges = [(x, added / 2 * (1 / ei_p - 1 / beside)) for x in span]
    r = hinged(length, pieces, hinges, shear)
    r["open_far_force"] = opening(length, pieces, span, hinges) * (float(row["outer"]) / 2 + offset)
    return r
