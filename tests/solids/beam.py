"""The plain beam of each solid: pieces of constant rigidity, integrated exactly, with or without added spans.

An independent short form for the fit; the project's own beam engine is checked against the same data elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

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
    a, i = circle(float(row["d"]))
    return e * a, e * i, tube_coefficient(nu, 0.0) * e / (2 * (1 + nu)) * a


def stack(length: float, parts: list[tuple[float, float, float, float]]) -> list[Piece]:
    """Pieces from (a, b, EI, kGA); later parts overwrite earlier ones where they overlap."""
    marks = sorted({0.0, length, *(p for a, b, *_ in parts for p in (a, b) if 0 < p < length)})
    pieces = []
    for a, b in zip(marks, marks[1:]):
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


def bar_beam(row: Row, added: float, shear: bool = True) -> dict[str, float]:
    """Beam of a tube, bonded or ends row with the bar's free span lengthened by `added` [mm], half at each end.

    Opening at the far cortex: rotation over the lengthened span times half the outer diameter.
    """
    length, family = float(row["length"]), row["family"]
    _, ei_t, ga_t = bone(row)
    parts = [(0.0, length, ei_t, ga_t)]
    span = (0.0, 0.0)
    if family != "tube":
        _, ei_b, ga_b = bar(row)
        lo = float(row["fracture"]) - float(row["gap"]) / 2
        hi = float(row["fracture"]) + float(row["gap"]) / 2
        if family == "bonded":
            parts = [(0.0, length, ei_t + ei_b, ga_t + ga_b)]
        else:
            start = float(row["seat_at"])
            lo = start + float(row["seat"])
            hi = lo + float(row["free"])
            filled = bone({**row, "canal": row["d"]})
            parts.append((start, hi + float(row["thread"]), filled[1] + ei_b, filled[2] + ga_b))
        span = (lo - added / 2, hi + added / 2)
        parts.append((*span, ei_b, ga_b))
    r = response(length, stack(length, parts), span, shear)
    for tag in ("force", "moment"):
        r[f"open_far_{tag}"] = r[f"turn_{tag}"] * float(row["outer"]) / 2
    return r


def plate_beam(row: Row, added: float, shear: bool = True, net: float = 1.0) -> dict[str, float]:
    """Beam of a plate row with the working length lengthened by `added` [mm], half on each side.

    Bone alone outside the screws, bone and plate as one section (screws rigid) between the first and last screw of
    a side, plate alone over the lengthened working length; an empty hole takes the net section over `net` hole diameters.
    Opening at the far cortex: rotation over the lengthened span times the lever from the plate's middle plane.
    """
    length, fracture, work = (float(row[k]) for k in ("length", "fracture", "working"))
    t, w, e = (float(row[k]) for k in ("thickness", "width", "e_bar"))
    ea_t, ei_t, ga_t = bone(row)
    ea_p, ei_p, ga_p = e * w * t, e * w * t**3 / 12, 5 / 6 * e / (2 * (1 + float(row["nu_bar"]))) * w * t
    offset = float(row["outer"]) / 2 + float(row["standoff"]) + t / 2
    both = ei_t + ei_p + ea_t * ea_p / (ea_t + ea_p) * offset**2
    reach = work / 2 + (int(row["screws"]) - 1) * float(row["pitch"])
    span = (fracture - (work + added) / 2, fracture + (work + added) / 2)
    parts = [(0.0, length, ei_t, ga_t), (fracture - reach, fracture + reach, both, ga_t + ga_p), (*span, ei_p, ga_p)]
    hole = float(row["hole"])
    if hole > 0:
        parts.append((fracture - net * hole / 2, fracture + net * hole / 2, ei_p * (1 - hole / w), ga_p))
    r = response(length, stack(length, parts), span, shear)
    for tag in ("force", "moment"):
        r[f"open_far_{tag}"] = r[f"turn_{tag}"] * (float(row["outer"]) / 2 + offset)
    return r
