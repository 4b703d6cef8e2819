"""The head of an intramedullary screw in its bed: what the loose end of the bracket turns by at the seat.

The bed is bone drilled to the screw's size, proximal of the seat; beyond it bone runs on alone. Its compliance is
that of `correction.bed_compliance`. Units: mm, N, MPa, N*mm, rad.
"""

from __future__ import annotations

import numpy as np

from fixplan.mechanics.beam import Array
from fixplan.mechanics.correction import LocalBending, bed_compliance, bed_face_compliance
from fixplan.mechanics.parts import Screw
from fixplan.mechanics.published import Published

HEAD_BED = Published(
    "bed of a screw's head, over the screw's diameter at its seat",
    1.0,
    None,
    None,
    "1",
    "PROJECT",
    "assumed",
    "No height of a head is known here: taken as high as its screw is thick. The solids have beds of 0.5 to 3 "
    "diameters in bone 2.0 to 2.7 diameters wide, gaps of 0.5 to 2 mm.",
)


def diameter_at_seat(screw: Screw) -> Array:
    """Diameter of the screw at its seat, mm: the core where the thread runs all along."""
    return np.where(screw.seat >= screw.thread_start, screw.d_core, screw.d_shank)


def bed_ratio(screw: Screw) -> Array:
    """Length of the head's bed over the diameter at the seat; `HEAD_BED` where the screw does not say."""
    if screw.bed is None:
        return np.full(np.shape(diameter_at_seat(screw)), HEAD_BED.mid)
    return np.asarray(screw.bed / diameter_at_seat(screw))


def seat_hinge(
    local: LocalBending, span: Array, EI_bar: Array, EI_bone: Array, bed: Array, drilled: Array, d: Array
) -> tuple[Array, Array]:
    """Hinge at the seat and what a fracture beyond opens above it, both rad/(N mm).

    span: mm, added span of the screw at a gap; nothing is added where it is 0, the plain beam. bed, drilled, d: mm,
    length of the bed, the part of it that the beam counts as bone alone, and the diameter at the seat; the bed has to
    be longer than `local.bed_end` d.
    """
    none = span <= 0
    some = np.where(none, d, span)
    held = bed - local.bed_end * d
    hinge = bed_compliance(some, EI_bar, EI_bone, held, drilled)
    face = bed_face_compliance(some, EI_bar, EI_bone, held) - hinge
    return np.where(none, 0.0, hinge), np.where(none, 0.0, face)
