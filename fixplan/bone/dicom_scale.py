"""Scale of an image from its DICOM attributes: spacing, magnification factor, distances. Nothing else is read.

Which plane a spacing holds for (DICOM-PS3.3, 10.7.1.1 and 10.7.1.3): in a tomographic image Pixel Spacing is in the
patient. In a projection image Imager Pixel Spacing is at the detector's front plane; Pixel Spacing that equals it is
not corrected for magnification, Pixel Spacing that differs is calibrated to the bone. Estimated Radiographic
Magnification Factor is the ratio of the distances source-detector and source-patient.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from fixplan.problems import InputError, Problem

# the only attributes ever asked for: none of a patient, a person, an institution or a date
ATTRIBUTES = (
    "Modality",
    "PixelSpacing",
    "PixelSpacingCalibrationType",
    "ImagerPixelSpacing",
    "EstimatedRadiographicMagnificationFactor",
    "DistanceSourceToDetector",
    "DistanceSourceToPatient",
)
TOMOGRAPHIC = ("CT", "MR", "PT")
AGREE = 0.01  # relative; two attributes further apart contradict each other (source PROJECT)
SAME = 1e-3  # relative; spacings closer than this are one number rounded twice (source PROJECT)

Plane = Literal["patient", "detector", "unknown"]


@dataclass(frozen=True)
class DicomScale:
    """Spacing of the pixel rows and columns [mm], the plane it holds for, magnification there [1], and cautions.

    `magnification` is 1 for a spacing in the patient, None where nothing in the file tells it: then it has to be
    assumed, or measured with a marker. `mm_per_px` holds for the patient plane when the magnification is known.
    """

    row_spacing: float
    column_spacing: float
    plane: Plane
    magnification: float | None
    used: str
    cautions: tuple[str, ...]

    @property
    def mm_per_px(self) -> tuple[float, float]:
        """mm at the bone per pixel along x (columns) and y (rows); not corrected where the magnification is None."""
        m = self.magnification or 1.0
        return self.column_spacing / m, self.row_spacing / m


def read_scale(path: Path) -> DicomScale:
    """Read the scale attributes of a DICOM file.

    Raises InputError when the file cannot be read, is not DICOM, holds no spacing, or a value is not usable, and
    when the optional reader is not installed.
    """
    try:
        from pydicom import dcmread
        from pydicom.errors import InvalidDicomError
    except ImportError:
        raise _refused(path, "the DICOM reader is not installed", "install fixplan with its extra 'dicom'") from None
    try:
        found = dcmread(path, specific_tags=list(ATTRIBUTES), stop_before_pixels=True)
    except InvalidDicomError:
        raise _refused(path, "is not a DICOM file", "give the file as the archive exports it") from None
    except OSError as error:
        raise _refused(path, f"cannot be read ({error.strerror or 'input error'})", "check path and rights") from None
    except Exception as error:  # a damaged file can fail anywhere inside the reader
        raise _refused(path, f"is damaged ({type(error).__name__})", "export the image again") from None
    return scale_of(found, path)


def scale_of(found: Any, path: Path) -> DicomScale:
    """The scale from a data set's attributes (see the module's head); InputError as for `read_scale`."""
    modality = str(_value(found, "Modality") or "")
    pixel = _spacing(found, "PixelSpacing", path)
    imager = _spacing(found, "ImagerPixelSpacing", path)
    factor = _number(found, "EstimatedRadiographicMagnificationFactor", path)
    detector = _number(found, "DistanceSourceToDetector", path)
    patient = _number(found, "DistanceSourceToPatient", path)
    cautions: list[str] = []
    for name, spacing in (("PixelSpacing", pixel), ("ImagerPixelSpacing", imager)):
        if spacing and _apart(*spacing) > SAME:
            cautions.append(f"{name} differs between rows and columns ({spacing[0]:g} and {spacing[1]:g} mm).")
    if modality in TOMOGRAPHIC and pixel and not imager:
        return DicomScale(*pixel, "patient", 1.0, "PixelSpacing", tuple(cautions))
    base = imager or pixel
    if base is None:
        right = "use a marker of known size, or an assumed scale"
        raise _refused(path, "holds neither PixelSpacing nor ImagerPixelSpacing", right)

    told: list[tuple[str, float]] = []
    if pixel and imager and _apart(pixel[0], imager[0]) > SAME:
        told.append(("PixelSpacing against ImagerPixelSpacing", imager[0] / pixel[0]))
    if factor:
        told.append(("EstimatedRadiographicMagnificationFactor", factor))
    if detector and patient:
        told.append(("DistanceSourceToDetector / DistanceSourceToPatient", detector / patient))
    cautions += [f"{name} gives a magnification of {m:.3f}, below 1: impossible." for name, m in told if m < 1]
    for i, (one, m) in enumerate(told):
        cautions += [
            f"{one} and {other} contradict each other: magnification {m:.3f} against {n:.3f} "
            f"(more than {AGREE:.0%} apart). The first possible one is used; a marker on the film would settle it."
            for other, n in told[i + 1 :]
            if _apart(m, n) > AGREE
        ]
    calibration = str(_value(found, "PixelSpacingCalibrationType") or "")
    if calibration and pixel and imager and _apart(pixel[0], imager[0]) <= SAME:
        cautions.append(
            f"PixelSpacingCalibrationType says {calibration}, but PixelSpacing equals ImagerPixelSpacing, "
            "which is the uncorrected one: they contradict each other."
        )
    if imager is None:
        if calibration:
            return DicomScale(*base, "patient", 1.0, "PixelSpacing", tuple(cautions))
        cautions.append(
            "PixelSpacing without ImagerPixelSpacing: whether it holds at the bone or the detector is unknown."
        )
        return DicomScale(*base, "unknown", None, "PixelSpacing", tuple(cautions))
    told = [(name, m) for name, m in told if m >= 1]
    if not told:
        cautions.append("ImagerPixelSpacing holds at the detector, and nothing tells the magnification at the bone.")
        return DicomScale(*base, "detector", None, "ImagerPixelSpacing", tuple(cautions))
    return DicomScale(*base, "detector", told[0][1], f"ImagerPixelSpacing and {told[0][0]}", tuple(cautions))


def _apart(a: float, b: float) -> float:
    return abs(a - b) / max(a, b)


def _value(found: Any, name: str) -> Any:
    return found.get(name, None)


def _spacing(found: Any, name: str, path: Path) -> tuple[float, float] | None:
    value = _value(found, name)
    if value is None or value == "":
        return None
    try:
        row, column = (float(v) for v in value)
    except (TypeError, ValueError):
        raise _refused(path, f"{name} is not a pair of numbers", "use a marker of known size") from None
    return _positive(row, name, path), _positive(column, name, path)


def _number(found: Any, name: str, path: Path) -> float | None:
    value = _value(found, name)
    if value is None or value == "":
        return None
    try:
        return _positive(float(value), name, path)
    except TypeError:
        raise _refused(path, f"{name} is not one number", "use a marker of known size") from None


def _positive(value: float, name: str, path: Path) -> float:
    if not 0 < value < float("inf"):
        raise _refused(path, f"{name} is {value:g}", "a number greater than 0; else use a marker of known size")
    return value


def _refused(path: Path, what: str, right: str) -> InputError:
    return InputError([Problem(path.name, what, right)])
