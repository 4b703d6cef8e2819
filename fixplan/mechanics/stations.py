"""The bone at merged stations and at single places: widths, areas, second moments. Units: mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fixplan.mechanics import section as sec
from fixplan.mechanics.beam import Array, merge, sample
from fixplan.mechanics.loadcases import Case
from fixplan.mechanics.parts import Bone

WIDTHS = ("outer_x", "outer_y", "canal_x", "canal_y")


@dataclass(frozen=True)
class Stations:
    """The bone at merged stations: pieces (..., m)."""

    s: Array
    mid: Array
    outer_x: Array
    outer_y: Array
    canal_x: Array
    canal_y: Array

    @classmethod
    def of(cls, bone: Bone, points: list[Array]) -> Stations:
        s = merge(bone.edges, *points)
        mid = (s[..., 1:] + s[..., :-1]) / 2
        return cls(s, mid, *(sample(bone.edges, getattr(bone, n), mid) for n in WIDTHS))

    def widths(self) -> dict[str, Array]:
        """Outer and canal widths by name, (..., m) mm."""
        return {n: getattr(self, n) for n in WIDTHS}


def at_point(bone: Bone, x: Array) -> dict[str, Array]:
    """Bone widths (...) at one place per case."""
    return {n: sample(bone.edges, getattr(bone, n), x[..., None])[..., 0] for n in WIDTHS}


def _canal(widths: dict[str, Array], core: Array) -> tuple[Array, Array]:
    return np.maximum(widths["canal_x"], core), np.maximum(widths["canal_y"], core)


def area_at(widths: dict[str, Array], core: Array) -> Array:
    """Bone area [mm2], the canal widened to `core` where that is wider."""
    return np.asarray(sec.area_hollow_ellipse(widths["outer_x"], widths["outer_y"], *_canal(widths, core)))


def second_at(widths: dict[str, Array], plane: str, core: Array) -> Array:
    """Second moment [mm4] of the bone for bending in a plane, the canal widened to `core` where that is
    wider.
    """
    cx, cy = _canal(widths, core)
    if plane == "y":
        return np.asarray(sec.second_moment_hollow_ellipse(widths["outer_x"], widths["outer_y"], cx, cy))
    return np.asarray(sec.second_moment_hollow_ellipse(widths["outer_y"], widths["outer_x"], cy, cx))


def torsion_at(widths: dict[str, Array], core: Array) -> Array:
    """Torsion constant [mm4]: solid ellipse of the outline less that of the canal; exact where the two are
    similar.
    """
    cx, cy = _canal(widths, core)
    # an absent canal has nothing to subtract, and must not divide zero by zero
    hollow = (cx > 0) & (cy > 0)
    void = sec.torsion_hollow_ellipse(np.where(hollow, cx, 1.0), np.where(hollow, cy, 1.0), 0.0)
    full = sec.torsion_hollow_ellipse(widths["outer_x"], widths["outer_y"], 0.0)
    return np.asarray(full - np.where(hollow, void, 0.0))


def case_points(cases: list[Case]) -> list[Array]:
    """Every place where a case has a force, reads a displacement, or stands on a support."""
    return [c.at[..., k] for c in cases for k in range(c.at.shape[-1])]
