"""Scale of a film: magnification from a marker, from the geometry of the exposure, or assumed.

A length seen on a film, divided by the magnification, is the length at the bone. The uncertainty of a magnification is
common to every length of that film: fully correlated. First-order propagation (JCGM100, 5.1.2). Core unit: mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

from fixplan.bone.profile import finite, refuse
from fixplan.formula import formula

ScaleOrigin = Literal["marker", "geometry", "dicom", "assumed"]


@dataclass(frozen=True)
class Magnification:
    """Length seen on the film over length at the bone [1], its standard uncertainty, and where it comes from."""

    value: float
    sd: float
    origin: ScaleOrigin
    source: str
    note: str = ""

    def __post_init__(self) -> None:
        finite("magnification", self.value, above=0.0)
        _not_negative("magnification sd", self.sd)

    @property
    def relative_sd(self) -> float:
        """sd / value [1]: the relative error that all lengths of the film share."""
        return self.sd / self.value


@formula(
    symbol="M",
    unit="1",
    text="magnification from a marker",
    args={"seen": ("d_seen", "mm", "marker on the film"), "true": ("d_true", "mm", "marker itself")},
    source="GEOM",
    where="similar triangles",
    valid="marker at the height of the bone",
)
def marker_magnification(seen: Any, true: Any) -> Any:
    """Magnification M = seen / true of a marker at the height of the bone [1]."""
    return seen / true


@formula(
    symbol="M",
    unit="1",
    text="magnification from the exposure geometry",
    args={
        "source_detector": ("SID", "mm", "distance from focus to detector"),
        "object_detector": ("OID", "mm", "distance from bone to detector"),
    },
    source="GEOM",
    where="similar triangles",
    valid="0 <= OID < SID",
)
def geometric_magnification(source_detector: Any, object_detector: Any) -> Any:
    """Magnification M = SID / (SID - OID) of a bone at the distance OID from the detector [1]."""
    return source_detector / (source_detector - object_detector)


@formula(
    symbol="l",
    unit="mm",
    text="length at the bone",
    args={"seen": ("l_seen", "mm", "length on the film"), "magnification": ("M", "1", "magnification of the film")},
    source="GEOM",
    where="similar triangles",
    valid="M > 0, the length parallel to the film",
)
def true_length(seen: Any, magnification: Any) -> Any:
    """Length at the bone from the length on the film, l = l_seen / M [mm]."""
    return seen / magnification


def from_marker(true: float, seen: float, true_sd: float = 0.0, seen_sd: float = 0.0) -> Magnification:
    """Magnification from a marker of known size [mm].

    sd by first order: (sd_M/M)^2 = (sd_seen/seen)^2 + (sd_true/true)^2. Raises ValueError unless both sizes are
    positive and the sds are 0 or more.
    """
    finite("marker_true", true, above=0.0)
    finite("marker_seen", seen, above=0.0)
    _not_negative("marker_true sd", true_sd)
    _not_negative("marker_seen sd", seen_sd)
    value = marker_magnification(seen, true)
    relative = math.hypot(seen_sd / seen, true_sd / true)
    note = "the film shows the marker smaller than it is: check the pair" if value < 1 else ""
    return Magnification(value, value * relative, "marker", "GEOM", note)


def from_geometry(
    source_detector: float, object_detector: float, source_sd: float = 0.0, object_sd: float = 0.0
) -> Magnification:
    """Magnification from the focus-detector distance SID and the bone-detector distance OID [mm].

    sd by first order: dM/dSID = -OID/(SID-OID)^2, dM/dOID = SID/(SID-OID)^2. Raises ValueError unless
    0 <= OID < SID.
    """
    finite("source_detector", source_detector, above=0.0)
    finite("object_detector", object_detector)
    if not 0 <= object_detector < source_detector:
        bound = f"from 0 to less than {source_detector:g}"
        raise refuse("object_detector", f"{object_detector:g}", bound, "give the height of the bone over the detector")
    _not_negative("source_detector sd", source_sd)
    _not_negative("object_detector sd", object_sd)
    gap = source_detector - object_detector
    sd = math.hypot(object_detector * source_sd, source_detector * object_sd) / gap**2
    return Magnification(geometric_magnification(source_detector, object_detector), sd, "geometry", "GEOM")


def assumed(value: float, sd: float, source: str) -> Magnification:
    """A magnification taken for want of a marker; value, sd and source id come from the threshold table."""
    return Magnification(value, sd, "assumed", source, "assumed: a marker on the film would measure it")


def _not_negative(name: str, value: float) -> None:
    if not finite(name, value) >= 0:
        raise refuse(name, f"{value:g}", "0 or more", "give a standard uncertainty")
