"""Scale from DICOM attributes: pydicom's own packaged files, and projection headers made from one of them.

Expected spacings are what pydicom itself reports for its files; the meaning of the attributes is DICOM PS3.3,
10.7.1.1 and 10.7.1.3.
"""

import builtins
from pathlib import Path

import pydicom
import pytest
from pydicom.data import get_testdata_file
from pydicom.dataset import Dataset

from fixplan.bone import dicom_scale
from fixplan.bone.dicom_scale import read_scale, scale_of
from fixplan.problems import InputError


def packaged(name):
    return Path(get_testdata_file(name, download=False))


def film(**attributes):
    found = Dataset()
    found.Modality = "DX"
    for name, value in attributes.items():
        setattr(found, name, value)
    return found


@pytest.mark.parametrize("name", ["CT_small.dcm", "MR_small.dcm", "693_J2KI.dcm"])
def test_packaged_tomographic_files(name):
    path = packaged(name)
    expected = pydicom.dcmread(path, stop_before_pixels=True).PixelSpacing
    found = read_scale(path)
    assert (found.row_spacing, found.column_spacing) == pytest.approx([float(v) for v in expected])
    assert (found.plane, found.magnification, found.cautions) == ("patient", 1.0, ())
    assert found.mm_per_px == pytest.approx([float(expected[1]), float(expected[0])])


def test_a_packaged_file_of_unknown_plane_says_so():
    """A secondary capture with Pixel Spacing alone: PS3.3 gives it no plane."""
    found = read_scale(packaged("SC_rgb_small_odd.dcm"))
    assert found.row_spacing == pytest.approx(33.333333)
    assert (found.plane, found.magnification) == ("unknown", None)
    assert "PixelSpacing without ImagerPixelSpacing" in found.cautions[0]
    assert found.mm_per_px == pytest.approx([33.333333, 33.333333])


def test_a_contradictory_file_gives_a_caution_that_names_both(tmp_path):
    """A packaged file made into a film whose factor (1.20) is not the ratio of its distances (1099.3/630 = 1.745)."""
    changed = pydicom.dcmread(packaged("CT_small.dcm"))
    changed.Modality = "DX"
    changed.ImagerPixelSpacing = [0.7, 0.7]
    changed.PixelSpacing = [0.7, 0.7]
    changed.EstimatedRadiographicMagnificationFactor = "1.20"
    changed.save_as(tmp_path / "film.dcm")
    found = read_scale(tmp_path / "film.dcm")
    assert len(found.cautions) == 1
    for name in ("EstimatedRadiographicMagnificationFactor", "DistanceSourceToDetector", "DistanceSourceToPatient"):
        assert name in found.cautions[0]
    assert "1.200 against 1.745" in found.cautions[0]
    assert found.magnification == pytest.approx(1.2)
    assert found.mm_per_px == pytest.approx([0.7 / 1.2] * 2)


def test_no_attribute_of_a_patient_is_ever_asked_for(monkeypatch):
    """Patient attributes are group 0010; what is handed on holds the scale's own attributes at most."""
    seen = []
    kept = dicom_scale.scale_of
    monkeypatch.setattr(dicom_scale, "scale_of", lambda found, path: (seen.append(found), kept(found, path))[1])
    read_scale(packaged("CT_small.dcm"))
    assert {e.keyword for e in seen[0]} <= {*dicom_scale.ATTRIBUTES, "SpecificCharacterSet"}
    assert not any(e.tag.group == 0x0010 for e in seen[0])


def test_planes_of_a_film():
    """PS3.3 10.7.1.3: equal spacings are uncorrected, different ones calibrated to the bone."""
    equal = scale_of(film(ImagerPixelSpacing=[0.15, 0.15], PixelSpacing=[0.15, 0.15]), Path("a.dcm"))
    assert (equal.plane, equal.magnification) == ("detector", None)
    assert "nothing tells the magnification" in equal.cautions[0]
    calibrated = scale_of(film(ImagerPixelSpacing=[0.15, 0.15], PixelSpacing=[0.144, 0.144]), Path("a.dcm"))
    assert calibrated.magnification == pytest.approx(0.15 / 0.144)
    assert calibrated.mm_per_px == pytest.approx([0.144, 0.144])
    assert calibrated.cautions == ()
    distances = film(ImagerPixelSpacing=[0.15, 0.15], DistanceSourceToDetector="1100", DistanceSourceToPatient="1060")
    assert scale_of(distances, Path("a.dcm")).magnification == pytest.approx(1100 / 1060)
    alone = scale_of(film(PixelSpacing=[0.14, 0.14], PixelSpacingCalibrationType="FIDUCIAL"), Path("a.dcm"))
    assert (alone.plane, alone.magnification, alone.cautions) == ("patient", 1.0, ())


def test_more_contradictions_are_named():
    says = scale_of(
        film(
            ImagerPixelSpacing=[0.15, 0.15],
            PixelSpacing=[0.15, 0.15],
            PixelSpacingCalibrationType="GEOMETRY",
            EstimatedRadiographicMagnificationFactor="0.9",
        ),
        Path("a.dcm"),
    )
    assert says.magnification is None
    text = " ".join(says.cautions)
    assert "below 1: impossible" in text
    assert "PixelSpacingCalibrationType says GEOMETRY, but PixelSpacing equals ImagerPixelSpacing" in text
    skew = scale_of(film(ImagerPixelSpacing=[0.15, 0.14], PixelSpacing=[0.15, 0.14]), Path("a.dcm"))
    assert "PixelSpacing differs between rows and columns" in " ".join(skew.cautions)


@pytest.mark.parametrize(
    "found, says",
    [
        (film(), "neither PixelSpacing nor ImagerPixelSpacing"),
        (film(PixelSpacing=[0.0, 0.1]), "PixelSpacing is 0"),
        (film(ImagerPixelSpacing=[0.1, 0.1, 0.1]), "ImagerPixelSpacing is not a pair"),
        (film(ImagerPixelSpacing=[0.1, 0.1], DistanceSourceToDetector="-5"), "DistanceSourceToDetector is -5"),
        (
            film(ImagerPixelSpacing=[0.1, 0.1], DistanceSourceToDetector=["5", "6"]),
            "DistanceSourceToDetector is not one",
        ),
    ],
)
def test_unusable_values_are_refused(found, says):
    with pytest.raises(InputError, match=says):
        scale_of(found, Path("a.dcm"))


def test_what_is_no_dicom_file_is_refused(tmp_path):
    (tmp_path / "note.dcm").write_text("not an image")
    with pytest.raises(InputError, match=r"note\.dcm: is not a DICOM file"):
        read_scale(tmp_path / "note.dcm")
    with pytest.raises(InputError, match="cannot be read"):
        read_scale(tmp_path / "absent.dcm")
    whole = packaged("CT_small.dcm").read_bytes()
    (tmp_path / "cut.dcm").write_bytes(whole[:170])
    with pytest.raises(InputError):
        read_scale(tmp_path / "cut.dcm")


def test_without_the_optional_reader_the_remedy_is_named(monkeypatch, tmp_path):
    kept = builtins.__import__

    def blocked(name, *rest, **more):
        if name.startswith("pydicom"):
            raise ImportError(name)
        return kept(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", blocked)
    with pytest.raises(InputError, match="extra 'dicom'"):
        read_scale(tmp_path / "any.dcm")
