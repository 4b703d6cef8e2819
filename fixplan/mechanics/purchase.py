"""Purchase of a thread: predicted pull-out against the compression wanted.

The prediction shears the bone along the cylinder of the major diameter. It was found to hold in foams within the range
of human cancellous bone (CHAP96); in a cortex it is carried over. Core units: mm, N, MPa; density as a plain number,
the apparent density divided by 1 g/cm3.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.formula import formula, pi_like
from fixplan.mechanics.guard import below, not_negative, positive, ratio, refuse_unless
from fixplan.mechanics.published import Published

Array = npt.NDArray[np.float64]
MAJOR = ("D", "mm", "major diameter of the thread")
MINOR = ("D_r", "mm", "root (core) diameter of the thread")
PITCH = ("p", "mm", "pitch")
SHEAR = ("S", "MPa", "shear strength of the bone")

CORTICAL_SHEAR: tuple[Published, Published, Published] = (
    Published(
        "shear strength of cortical bone, pure shear", 51.6, None, None, "MPa", "TURNER01", "F", "along the axis"
    ),
    Published("shear strength of cortical bone, torsion", 65.0, 65.0, 68.0, "MPa", "RB75", "M-h", "femur"),
    Published("shear strength of cortical bone, torsion, upper", 68.0, 65.0, 68.0, "MPa", "RB75", "M-h", "femur"),
)
"""Low, middle and high end for a thread in a cortex. Femur: no value for the metatarsal is published."""
CANCELLOUS_COEFFICIENT = Published(
    "shear strength of cancellous bone at 1 g/cm3", 21.6, None, None, "MPa", "STONE83", "M-m"
)
CANCELLOUS_EXPONENT = Published("exponent of the density", 1.65, None, None, "1", "STONE83", "M-m")
CANCELLOUS_BAND = Published(
    "factor on the density relation, low to high end", 1.0, 0.5, 1.5, "1", "PROJECT", "assumed",
    "no scatter at hand for the relation, and none of it from foot bones",
)  # fmt: skip
STATEMENT = (
    "Predicted pull-out of a new thread in uniform bone; the shear strength of metatarsal bone is not published, the "
    "density relation is unverified, and pull-out of a loosened or previously used hole is lower by an unknown amount."
)


def _thread(major: Any, core: Any, pitch: Any) -> None:
    positive("core", core)
    below("core", core, "major", major, "check that the two diameters were not exchanged")
    positive("pitch", pitch)


@formula(
    symbol="TSF",
    unit="1",
    text="thread shape factor",
    args={"major": MAJOR, "core": MINOR, "pitch": PITCH},
    source="CHAP96",
    where="TSF = 0.5 + 0.57735 d/p with d = (D - D_r)/2; also ASTM F543, annex",
    valid="60 degree flank in the underlying screw-thread standard",
)
def thread_shape_factor(major: Any, core: Any, pitch: Any) -> Any:
    """Thread shape factor TSF = 0.5 + 0.57735 (D - D_r) / (2 p) [-]. Source: CHAP96. All broadcast.

    Args:
        major: D [mm]. core: D_r [mm], 0 < D_r < D. pitch: p [mm], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    _thread(major, core, pitch)
    return 0.5 + 0.57735 * (major - core) / (2 * pitch)


@formula(
    symbol="F_s",
    unit="N",
    text="predicted pull-out force",
    args={
        "shear_strength": SHEAR,
        "length": ("L", "mm", "engaged thread length"),
        "major": MAJOR,
        "core": MINOR,
        "pitch": PITCH,
    },
    source="CHAP96",
    where="F_s = S L pi D TSF; measured over predicted: slope 1.05, r2 0.947",
    valid="uniform porous material within the density range of cancellous bone; carried over to cortex",
)
def pullout_force(shear_strength: Any, length: Any, major: Any, core: Any, pitch: Any) -> Any:
    """Predicted pull-out F_s = S L pi D (0.5 + 0.57735 (D - D_r) / (2 p)) [N]. Source: CHAP96. All broadcast.

    Args:
        shear_strength: S [MPa], > 0. length: engaged thread L [mm], >= 0.
        major: D [mm]. core: D_r [mm], 0 < D_r < D. pitch: p [mm], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    positive("shear_strength", shear_strength)
    not_negative("length", length, "a thread that does not reach beyond the fracture has no purchase: pass 0")
    _thread(major, core, pitch)
    return shear_strength * length * pi_like(length) * major * (0.5 + 0.57735 * (major - core) / (2 * pitch))


@formula(
    symbol="L",
    unit="mm",
    text="thread length needed for a force",
    args={
        "force": ("F", "N", "axial force wanted"),
        "shear_strength": SHEAR,
        "major": MAJOR,
        "core": MINOR,
        "pitch": PITCH,
    },
    source="CHAP96",
    where="F_s = S L pi D TSF solved for L",
    valid="as the pull-out force",
)
def length_needed(force: Any, shear_strength: Any, major: Any, core: Any, pitch: Any) -> Any:
    """Engaged thread length L = F / (S pi D TSF) [mm] at which the predicted pull-out equals a force. Source: CHAP96.

    Args:
        force: F [N], >= 0. shear_strength: S [MPa], > 0.
        major: D [mm]. core: D_r [mm], 0 < D_r < D. pitch: p [mm], > 0. All broadcast.

    Raises:
        ValueError: out of these bounds.
    """
    not_negative("force", force)
    positive("shear_strength", shear_strength)
    _thread(major, core, pitch)
    return force / (shear_strength * pi_like(force) * major * (0.5 + 0.57735 * (major - core) / (2 * pitch)))


@formula(
    symbol="S",
    unit="MPa",
    text="shear strength of cancellous bone from its density",
    args={
        "density": ("rho", "1", "apparent density divided by 1 g/cm3"),
        "coefficient": ("S_1", "MPa", "shear strength at 1 g/cm3"),
        "exponent": ("c", "1", "exponent of the density"),
    },
    source="STONE83",
    where="S = 21.6 rho^1.65, from memory, unverified",
    valid="cancellous bone, apparent density about 0.1 to 0.7 g/cm3; not foot bones",
)
def cancellous_shear(density: Any, coefficient: Any, exponent: Any) -> Any:
    """Shear strength S = S_1 rho^c [MPa] of cancellous bone. Source: STONE83 (from memory, unverified). Broadcasts.

    Args:
        density: apparent density over 1 g/cm3 [-], > 0. coefficient: S_1 [MPa], > 0. exponent: c [-], > 0.

    Raises:
        ValueError: out of these bounds.
    """
    positive("density", density, "give g/cm3: usual values are 0.1 to 0.7")
    positive("coefficient", coefficient)
    positive("exponent", exponent)
    return coefficient * density**exponent


def cancellous_band(density: npt.ArrayLike) -> Array:
    """Low, middle and high shear strength [MPa], shape (..., 3), of cancellous bone of a density over 1 g/cm3.

    The relation is unverified and its band assumed: see the module's rows.

    Raises:
        ValueError: density <= 0.
    """
    middle = cancellous_shear(np.asarray(density, float), CANCELLOUS_COEFFICIENT.mid, CANCELLOUS_EXPONENT.mid)
    factors = np.array([CANCELLOUS_BAND.lo, CANCELLOUS_BAND.mid, CANCELLOUS_BAND.hi], dtype=np.float64)
    return np.multiply(np.asarray(middle, dtype=np.float64)[..., None], factors)


def cortical_band() -> Array:
    """Low, middle and high shear strength [MPa] of cortical bone, shape (3,)."""
    return np.array([row.mid for row in CORTICAL_SHEAR])


@dataclass(frozen=True)
class Purchase:
    """Predicted pull-out beside the compression wanted. The last axis of the arrays is low, middle, high."""

    pullout: Array
    wanted: Array
    factor: Array
    """Pull-out over compression wanted; infinite where none is wanted."""
    holds: npt.NDArray[np.bool_]
    unverified: bool
    statement: str = STATEMENT


def purchase(
    major: npt.ArrayLike,
    core: npt.ArrayLike,
    pitch: npt.ArrayLike,
    wanted: npt.ArrayLike,
    *,
    in_cortex: npt.ArrayLike = 0.0,
    in_cancellous: npt.ArrayLike = 0.0,
    density: npt.ArrayLike | None = None,
) -> Purchase:
    """Predicted pull-out of a thread that runs partly in cortex and partly in cancellous bone.

    Args:
        major, core, pitch: thread [mm]; broadcast.
        wanted: compression wanted [N], >= 0; broadcasts.
        in_cortex, in_cancellous: engaged thread lengths [mm], >= 0; broadcast.
        density: apparent density of the cancellous bone over 1 g/cm3; needed when `in_cancellous` is not 0.

    Raises:
        ValueError: out of bounds, or cancellous length without a density.
    """
    names = (major, core, pitch, wanted, in_cortex, in_cancellous)
    D, d, p, f, cortex, spongy = (np.asarray(v, dtype=np.float64)[..., None] for v in names)
    not_negative("wanted", f, "give the compression as a magnitude")
    force = pullout_force(cortical_band(), cortex, D, d, p)
    not_negative("in_cancellous", spongy)
    any_spongy = bool(np.any(spongy > 0))
    refuse_unless(
        density is not None or not any_spongy, "in_cancellous", spongy, "needs a density", "give the apparent density"
    )
    if density is not None:
        force = force + pullout_force(cancellous_band(density), spongy, D, d, p)
    force, f = np.broadcast_arrays(force, f)
    return Purchase(force, f, ratio(force, f), force >= f, any_spongy)
