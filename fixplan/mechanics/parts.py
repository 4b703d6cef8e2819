"""The parts of a construct: bone, fracture, screw, plate, loads. Plain arrays in core units, checked once.

Units: mm, N, MPa, N*mm. Axis s from the proximal end of the bone. Plane y (dorsal positive) is bent by a
force from plantar and seen on the lateral film; plane x (medial positive) is bent by a force from lateral and
seen on the AP film. Every field takes a scalar or an array; leading dimensions broadcast (sizes, draws). Only
the bone's stations have a trailing axis.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from enum import Enum

import numpy as np
import numpy.typing as npt

from fixplan.mechanics.beam import Array, finite, merge, not_negative, positive, sample
from fixplan.mechanics.guard import refuse_unless


def _set(part: object, name: str, value: Array) -> None:
    object.__setattr__(part, name, value)


@dataclass(frozen=True)
class Bone:
    """A bone as stations of hollow ellipses.

    Args:
        edges: (..., n+1) mm, from 0 ascending to the head (a piece may have no length). outer_x, outer_y,
        canal_x, canal_y: (..., n) mm, full widths; canal 0 for a
            filled section. E: (...) MPa. G: (...) MPa, for torsion and shear.

    Raises:
        ValueError: stations do not start at 0 or do not ascend, a canal is not inside its outer surface, or a
        value is not finite or positive.
    """

    edges: Array
    outer_x: Array
    outer_y: Array
    canal_x: Array
    canal_y: Array
    E: Array
    G: Array

    def __post_init__(self) -> None:
        e = finite("bone.edges", self.edges)
        refuse_unless(e[..., 0] == 0, "bone.edges", e[..., 0], "must start at 0 mm", "measure from the proximal end")
        refuse_unless(np.diff(e) >= 0, "bone.edges", e[..., 1:], "must not descend", "sort the stations")
        _set(self, "edges", e)
        for axis in ("x", "y"):
            outer = positive(f"bone.outer_{axis}", getattr(self, f"outer_{axis}"))
            canal = not_negative(f"bone.canal_{axis}", getattr(self, f"canal_{axis}"))
            if {outer.shape[-1], canal.shape[-1]} != {e.shape[-1] - 1}:
                raise ValueError(
                    f"bone.outer_{axis}, bone.canal_{axis}: give one value for each of {e.shape[-1] - 1} pieces"
                )
            refuse_unless(
                canal < outer, f"bone.canal_{axis}", canal, "must be below the outer width", "check both widths"
            )
            _set(self, f"outer_{axis}", outer)
            _set(self, f"canal_{axis}", canal)
        _set(self, "E", positive("bone.E", self.E))
        _set(self, "G", positive("bone.G", self.G))

    @property
    def length(self) -> Array:
        """mm, (...)."""
        return self.edges[..., -1]


class Contact(Enum):
    """What the fracture faces do."""

    OPEN = "open gap"
    CLOSED = "closed under lag compression"
    HEALING = "callus in the gap"


@dataclass(frozen=True)
class Fracture:
    """The fracture and its state.

    Args:
        centre: mm from the proximal end. gap: mm along the axis, 0 allowed. state: see `Contact`. preload: N,
        lag compression (closed only). callus_E: MPa (healing only; needs a gap above 0).
    """

    centre: Array
    gap: Array
    state: Contact = Contact.OPEN
    preload: Array | None = None
    callus_E: Array | None = None

    def __post_init__(self) -> None:
        _set(self, "centre", positive("fracture.centre", self.centre))
        gap = not_negative("fracture.gap", self.gap)
        _set(self, "gap", gap)
        if (self.preload is not None) != (self.state is Contact.CLOSED):
            raise ValueError("fracture.preload: belongs to the closed state, and to no other; give or leave it out")
        if (self.callus_E is not None) != (self.state is Contact.HEALING):
            raise ValueError("fracture.callus_E: belongs to the healing state, and to no other; give or leave it out")
        if self.preload is not None:
            _set(self, "preload", not_negative("fracture.preload", self.preload))
        if self.callus_E is not None:
            _set(self, "callus_E", positive("fracture.callus_E", self.callus_E))
            refuse_unless(
                gap > 0, "fracture.gap", gap, "must be above 0 mm for callus to fill it", "use the closed state"
            )

    def check(self, bone: Bone) -> None:
        """Refuse a fracture that does not lie within the bone."""
        half = self.gap / 2
        refuse_unless(
            self.centre - half > 0, "fracture.centre", self.centre, "the gap must lie in the bone", "check from_base"
        )
        refuse_unless(
            self.centre + half < bone.length,
            "fracture.centre",
            self.centre,
            "the gap must lie in the bone",
            "check from_base",
        )


@dataclass(frozen=True)
class Screw:
    """An intramedullary screw, straight and concentric with the bone.

    Args:
        d_major, d_core, d_shank, d_cannula: mm (cannula 0 when solid). thread_length, length: mm, from the
        tip and from the seat of the head. seat: mm, where the seat lies on the bone's axis. E, G: MPa. bed: mm,
        length of bone over which the head is held, proximal of the seat; None where it is not known (`screw.py`
        says what stands in). A fully threaded screw has thread_length = length.
    """

    d_major: Array
    d_core: Array
    d_shank: Array
    d_cannula: Array
    thread_length: Array
    length: Array
    seat: Array
    E: Array
    G: Array
    bed: Array | None = None

    def __post_init__(self) -> None:
        for f in fields(self):
            if f.name == "bed" and self.bed is None:
                continue
            check = not_negative if f.name in ("d_cannula", "seat") else positive
            _set(self, f.name, check(f"screw.{f.name}", getattr(self, f.name)))
        refuse_unless(
            self.d_core < self.d_major, "screw.d_core", self.d_core, "must be below d_major", "check the thread"
        )
        refuse_unless(
            self.d_shank <= self.d_major, "screw.d_shank", self.d_shank, "must not exceed d_major", "check the shank"
        )
        for name in ("d_core", "d_shank"):
            refuse_unless(
                self.d_cannula < getattr(self, name),
                "screw.d_cannula",
                self.d_cannula,
                f"must be below {name}",
                "check the bore",
            )
        refuse_unless(
            self.thread_length <= self.length,
            "screw.thread_length",
            self.thread_length,
            "must not exceed the length",
            "check the thread",
        )

    @property
    def tip(self) -> Array:
        """mm from the proximal end."""
        return self.seat + self.length

    @property
    def thread_start(self) -> Array:
        """mm from the proximal end: the first thread."""
        return self.seat + self.length - self.thread_length


SIDES = {"dorsal": ("y", 1), "plantar": ("y", -1), "medial": ("x", 1), "lateral": ("x", -1)}


@dataclass(frozen=True)
class Plate:
    """A straight plate on one side of the bone, held by screws.

    Args:
        side: dorsal, plantar, medial or lateral. width, thickness, standoff: mm. hole: mm, hole diameter (0:
        none). start, end: mm, ends of the plate. inner_proximal, inner_distal: mm, the innermost screws;
        their distance is the working length. screw_core: mm. screws_per_side: count. E, G: MPa. empty_hole:
        True where an empty hole lies over the fracture. locked: True where locked screws carry shear between
        plate and bone beyond the innermost screws at the loose end too.
    """

    side: str
    width: Array
    thickness: Array
    standoff: Array
    hole: Array
    start: Array
    end: Array
    inner_proximal: Array
    inner_distal: Array
    screw_core: Array
    screws_per_side: Array
    E: Array
    G: Array
    empty_hole: npt.NDArray[np.bool_]
    locked: npt.NDArray[np.bool_] | bool = False

    def __post_init__(self) -> None:
        if self.side not in SIDES:
            raise ValueError(f"plate.side = {self.side!r}: must be one of {', '.join(SIDES)}")
        for f in fields(self)[1:-2]:
            check = not_negative if f.name in ("standoff", "hole", "start") else positive
            _set(self, f.name, check(f"plate.{f.name}", getattr(self, f.name)))
        object.__setattr__(self, "empty_hole", np.asarray(self.empty_hole, dtype=bool))
        object.__setattr__(self, "locked", np.asarray(self.locked, dtype=bool))
        refuse_unless(self.hole < self.width, "plate.hole", self.hole, "must be below the width", "check the hole")
        refuse_unless(
            self.thickness <= self.width, "plate.thickness", self.thickness, "must not exceed the width", "swap them"
        )
        refuse_unless(
            ~self.empty_hole | (self.hole > 0),
            "plate.hole",
            self.hole,
            "must be above 0 mm for an empty hole",
            "give its diameter",
        )
        refuse_unless(
            self.start < self.inner_proximal,
            "plate.inner_proximal",
            self.inner_proximal,
            "must lie on the plate",
            "check the holes",
        )
        refuse_unless(
            self.inner_proximal < self.inner_distal,
            "plate.inner_distal",
            self.inner_distal,
            "must lie beyond inner_proximal",
            "swap them",
        )
        refuse_unless(
            self.inner_distal < self.end,
            "plate.inner_distal",
            self.inner_distal,
            "must lie on the plate",
            "check the holes",
        )


@dataclass(frozen=True)
class Loads:
    """What the construct is loaded with; responses that depend on the size of a load are given at these.

    Args:
        plantar, lateral: N, components of the force at the head, from plantar and from lateral. bench: N,
        whole load of the three- and the four-point test. axial: N, compression positive. torque: N*mm.
    """

    plantar: Array
    lateral: Array
    bench: Array
    axial: Array
    torque: Array

    def __post_init__(self) -> None:
        for f in fields(self):
            _set(self, f.name, positive(f"loads.{f.name}", getattr(self, f.name)))


def with_old_hole(bone: Bone, diameter: npt.ArrayLike, start: npt.ArrayLike, end: npt.ArrayLike) -> Bone:
    """The bone after a screw was removed: over [start, end] the canal is at least as wide as the old hole.

    Where the hole is wider than the canal in one plane only, the void is taken as the ellipse that encloses
    both: never less than what was removed.

    Raises:
        ValueError: the hole leaves the bone, or is as wide as its outer surface.
    """
    d, a, b = (
        positive("hole.diameter", diameter),
        not_negative("hole.start", start),
        finite("hole.end", end),
    )
    refuse_unless(
        (a < b) & (b <= bone.length), "hole.end", b, "must lie beyond its start and in the bone", "check the old screw"
    )
    stations = merge(bone.edges, a, b)
    mid = (stations[..., 1:] + stations[..., :-1]) / 2
    within = (mid > a[..., None]) & (mid < b[..., None])
    new = {n: sample(bone.edges, getattr(bone, n), mid) for n in ("outer_x", "outer_y", "canal_x", "canal_y")}
    for n in ("canal_x", "canal_y"):
        new[n] = np.where(within, np.maximum(new[n], d[..., None]), new[n])
    return replace(bone, edges=stations, **new)
