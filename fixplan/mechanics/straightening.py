"""A straight screw in a bowed bone: the angle it forces and the gap it opens.

Model: the canal is straight up to the bow and then follows a circle; the screw is straight and stays on the axis of the
straight segment; the part of the bone beyond the fracture turns about the fracture until the tip clears the wall.
Turning it straight opens the fracture on the side to which the canal turned (lateral, where a fifth metatarsal turns
lateral: the lateral gap of HOR04) and presses the other side together.
Angles are small. Core units: mm, rad. A bone that bends instead of turning at the fracture opens less: an upper bound.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.formula import formula, sqrt
from fixplan.mechanics.guard import at_most, below, finite, not_negative, positive

Array = npt.NDArray[np.float64]
RADIUS = ("R", "mm", "radius of the bow")


@formula(
    symbol="R",
    unit="mm",
    text="radius of the bow",
    args={"chord": ("c", "mm", "chord of the bow"), "sagitta": ("f", "mm", "height of the arc over its chord")},
    source="MACHHB",
    where="segments of circles: r = (c^2 + 4 h^2) / (8 h)",
    valid="circular bow, f <= c/2",
)
def bow_radius(chord: Any, sagitta: Any) -> Any:
    """Radius R = c^2 / (8 f) + f / 2 [mm] of an arc. Source: MACHHB, segments of circles. Both broadcast.

    Args:
        chord: c [mm], > 0. sagitta: f [mm], 0 < f <= c/2.

    Raises:
        ValueError: out of these bounds (a straight bone has no radius).
    """
    positive("chord", chord)
    positive("sagitta", sagitta, "a bone without a bow needs no straightening check")
    at_most("sagitta", sagitta, "chord / 2", chord / 2, "more than a half circle: check chord and sagitta")
    return chord**2 / (8 * sagitta) + sagitta / 2


@formula(
    symbol="u",
    unit="mm",
    text="offset of the canal from the straight axis",
    args={"beyond": ("x", "mm", "length of screw beyond the start of the bow"), "radius": RADIUS},
    source="GEOM",
    where="circle touched by its tangent: R - sqrt(R^2 - x^2)",
    valid="0 <= x < R",
)
def tangent_offset(beyond: Any, radius: Any) -> Any:
    """Offset u = x^2 / (R + sqrt(R^2 - x^2)) [mm] of a circle from its tangent. Source: GEOM.

    Equal to R - sqrt(R^2 - x^2), written without the difference of two large numbers. Both broadcast.

    Args:
        beyond: x [mm], 0 <= x < R. radius: R [mm], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    positive("radius", radius)
    not_negative("beyond", beyond, "a tip before the bow has no offset")
    below("beyond", beyond, "radius", radius, "the tip cannot lie a whole radius beyond the start of the bow")
    return beyond**2 / (radius + sqrt(radius**2 - beyond**2))


@formula(
    symbol="theta",
    unit="rad",
    text="angle forced on the bone at the fracture",
    args={
        "offset": ("u", "mm", "offset of the canal from the straight axis at the tip"),
        "clearance": ("c", "mm", "room between tip and canal wall"),
        "lever": ("l", "mm", "length from the fracture to the tip"),
    },
    source="GEOM",
    where="small rotation about the fracture: (u - c) / l",
    valid="after contact (u > c); angles up to about 0.2 rad",
)
def forced_angle(offset: Any, clearance: Any, lever: Any) -> Any:
    """Angle theta = (u - c) / l [rad]; negative means that the tip still has room. Source: GEOM. All broadcast.

    Args:
        offset: u [mm], >= 0. clearance: c [mm], >= 0. lever: l [mm], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    not_negative("offset", offset)
    not_negative("clearance", clearance, "a tip thicker than the canal is a matter of the diameter window")
    positive("lever", lever, "the tip must lie beyond the fracture")
    return (offset - clearance) / lever


@formula(
    symbol="theta",
    unit="rad",
    text="angle at the fracture that takes height out of a bow",
    args={
        "height": ("h", "mm", "height to be taken out of the bow at the fracture"),
        "proximal": ("l_1", "mm", "bone held by the screw proximal to the fracture"),
        "distal": ("l_2", "mm", "bone held by the screw distal to the fracture"),
    },
    source="GEOM",
    where="two straight legs that meet at the fracture: h (1/l_1 + 1/l_2)",
    valid="angles up to about 0.2 rad",
)
def flattening_angle(height: Any, proximal: Any, distal: Any) -> Any:
    """Angle theta = h (1/l_1 + 1/l_2) [rad] between two legs that takes the height h out of a bow. Source: GEOM.

    For a screw wider than the corridor: h is twice the missing radius, since in a uniform canal of radius R with
    sagitta f the corridor has the radius R - f/2.

    Args:
        height: h [mm], >= 0. proximal, distal: legs [mm], > 0. All broadcast.

    Raises:
        ValueError: out of these bounds.
    """
    not_negative("height", height)
    positive("proximal", proximal)
    positive("distal", distal)
    return height * (1 / proximal + 1 / distal)


@formula(
    symbol="g",
    unit="mm",
    text="gap on the side to which the canal turns",
    args={
        "angle": ("theta", "rad", "angle forced at the fracture"),
        "lever": ("y", "mm", "distance from the axis of rotation to the cortex that opens"),
    },
    source="GEOM",
    where="small rotation: angle times lever",
    valid="angles up to about 0.2 rad",
)
def opened_gap(angle: Any, lever: Any) -> Any:
    """Gap g = theta y [mm] that an angle opens on the side to which the canal turns. Source: GEOM. Both broadcast.

    Args:
        angle: theta [rad], >= 0. lever: y [mm], > 0; the whole bone height when the other cortex stays shut.

    Raises:
        ValueError: out of these bounds.
    """
    not_negative("angle", angle, "a tip with room forces no angle: pass 0")
    positive("lever", lever)
    return angle * lever


@dataclass(frozen=True)
class Straightening:
    """What a screw beyond the start of the bow does to the bone; arrays of the broadcast shape."""

    beyond: Array
    """Length of screw beyond the start of the bow [mm]; negative when the tip stays short of it."""
    offset: Array
    contact: npt.NDArray[np.bool_]
    """True where the tip meets the wall; before that no angle is forced."""
    angle: Array
    gap: Array
    small_angle: npt.NDArray[np.bool_]
    """True where the angle is small enough (0.2 rad) for the formulas."""


SMALL_ANGLE = 0.2
"""Validity limit of the small-angle forms [rad]: tan 0.2 is 1.4 % above 0.2. A project default."""


def straighten(
    beyond: npt.ArrayLike,
    radius: npt.ArrayLike,
    clearance: npt.ArrayLike,
    lever: npt.ArrayLike,
    height: npt.ArrayLike,
) -> Straightening:
    """Angle and gap that a straight screw forces beyond the start of a bow.

    Args:
        beyond: length of screw beyond the start of the bow [mm], signed: negative means short of it.
        radius: radius of the bow [mm], > 0.
        clearance: room between the tip and the canal wall [mm], >= 0.
        lever: length from the fracture to the tip [mm], > 0.
        height: distance from the axis of rotation to the cortex that opens [mm], > 0. All broadcast.

    Raises:
        ValueError: out of these bounds.
    """
    x, r, c, b, h = np.broadcast_arrays(
        *(np.asarray(v, dtype=np.float64) for v in (beyond, radius, clearance, lever, height))
    )
    finite("beyond", x)
    # short of the bow the canal is straight: the offset there is nil by the model, not by repair
    offset = tangent_offset(np.where(x > 0, x, 0.0), r)
    turn = forced_angle(offset, c, b)
    contact = turn > 0
    angle = np.where(contact, turn, 0.0)
    return Straightening(x, offset, contact, angle, opened_gap(angle, h), angle <= SMALL_ANGLE)
