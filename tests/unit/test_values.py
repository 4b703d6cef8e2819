"""Measurements as a person writes them become core units; anything doubtful is refused with a reason."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest

from fixplan import values
from fixplan.problems import InputError
from fixplan.values import Quantity, Value, parse, parse_in


@pytest.mark.parametrize(
    "given, dimension, value, sd, unit",
    [
        ("71.5 mm", "length", 71.5, 0, "mm"),
        ("71.5mm", "length", 71.5, 0, "mm"),
        ("7.15 cm", "length", 71.5, 0, "mm"),
        ("71.5 ± 0.8 mm", "length", 71.5, 0.8, "mm"),
        ("71.5±0.8 mm", "length", 71.5, 0.8, "mm"),
        ("71.5 +/- 0.8 mm", "length", 71.5, 0.8, "mm"),
        ("(71.5 ± 0.8) mm", "length", 71.5, 0.8, "mm"),
        ("7.15 cm ± 0.8 mm", "length", 71.5, 0.8, "mm"),
        ({"value": "71.5 mm", "sd": "0.8 mm"}, "length", 71.5, 0.8, "mm"),
        ({"value": "7.15 cm", "sd": "800 µm"}, "length", 71.5, 0.8, "mm"),
        ("0 mm", "length", 0, 0, "mm"),
        ("6e1 N", "force", 60, 0, "N"),
        ("0.06 kN", "force", 60, 0, "N"),
        ("0.3 N*m", "moment", 300, 0, "N*mm"),
        ("193 GPa", "stress", 193000, 0, "MPa"),
        ("12 N/mm²", "stress", 12, 0, "MPa"),
        ("74 kg", "mass", 74, 0, "kg"),
        ("180 deg", "angle", math.pi, 0, "rad"),
        ("90°", "angle", math.pi / 2, 0, "rad"),
        ("21.5 kg/m2", "body mass index", 21.5, 0, "kg/m**2"),
        ("21.5 kg/m^2", "body mass index", 21.5, 0, "kg/m**2"),
        ("14 years", "age", 14, 0, "year"),
        ("2 weeks", "time", 14, 0, "day"),
        ("50 %", "ratio", 0.5, 0, "1"),
        ("0.5", "ratio", 0.5, 0, "1"),
        (0.5, "ratio", 0.5, 0, "1"),
        (3, "ratio", 3.0, 0, "1"),
    ],
)
def test_accepted(given: object, dimension: str, value: float, sd: float, unit: str) -> None:
    found = parse(given, dimension, "a.key")
    assert found.value == pytest.approx(value, rel=1e-12)
    assert found.sd == pytest.approx(sd, rel=1e-12)
    assert (found.unit, found.path) == (unit, "a.key")
    assert found.sd_origin == ("given" if sd else "none")


@pytest.mark.parametrize(
    "given, dimension, said",
    [
        ("71", "length", "has no unit"),
        (71, "length", "has no unit"),
        (71.5, "length", "has no unit"),
        ("71.5 ± 0.8", "length", "has no unit"),
        (True, "length", "true is not a length"),
        (False, "ratio", "false is not a ratio"),
        ("nan mm", "length", "not a finite number"),
        ("inf mm", "length", "not a finite number"),
        ("-inf mm", "length", "not a finite number"),
        (float("nan"), "ratio", "not a finite number"),
        (float("inf"), "ratio", "not a finite number"),
        ("1e999 mm", "length", "is not known"),
        ("1e400 m", "length", "is not known"),
        ("1e-999 m", "length", "cannot be read"),
        ("-4.7 mm", "length", "is negative"),
        ("−4.7 mm", "length", "cannot be read"),
        ("4.7 ± -0.3 mm", "length", "is negative"),
        ("4.7 N", "length", "not a unit of length"),
        ("4.7 kg", "force", "not a unit of force"),
        ("4.7 MM", "length", "is not known"),
        ("4.7 furlong", "length", "is not known"),
        ("4.7 mm**2", "length", "not a unit of length"),
        ("22 %", "angle", "not a unit of angle"),
        ("22 deg", "ratio", "not a unit of ratio"),
        ("22 deg", "length", "not a unit of length"),
        ("4,7 mm", "length", "decimal point"),
        ("4_7 mm", "length", "cannot be read"),
        ("about 4.7 mm", "length", "cannot be read"),
        ("4.7 mm to 5 mm", "length", "is not known"),
        ("4.7 mm; 4.9", "length", "has no unit"),
        ("4.7 mm,", "length", "cannot be read"),
        ("4.7 ± 0.1 mm, 4.9 mm", "length", "no ± of their own"),
        (["4.7 mm"], "length", "1 reading"),
        (["4.7 mm", 4.9], "length", "own unit"),
        ([], "length", "0 reading"),
        (["4.7 mm", "-4.7 mm"], "length", "negative"),
        ("", "length", "cannot be read"),
        ("mm", "length", "cannot be read"),
        ("4" * 300 + " mm", "length", "too long"),
        ({"value": "4.7 mm"}, "length", "exactly the keys"),
        ({"value": "4.7 mm", "sd": "0.1 mm", "n": 3}, "length", "exactly the keys"),
        ({"value": "4.7 mm", "sd": 0.1}, "length", "has no unit"),
        ({"value": "4.7 mm, 4.9 mm", "sd": "0.1 mm"}, "length", "single numbers"),
        (None, "length", "not a length"),
    ],
)
def test_refused(given: object, dimension: str, said: str) -> None:
    with pytest.raises(InputError) as error:
        parse(given, dimension, "a.key")
    (problem,) = error.value.problems
    assert problem.where.startswith("a.key")
    assert said in problem.what
    assert problem.right


def test_a_bare_number_is_answered_with_an_example() -> None:
    with pytest.raises(InputError, match=r"bone\.length: '71' has no unit: give a unit; for instance '71 mm'"):
        parse("71", "length", "bone.length")


@pytest.mark.parametrize(
    "readings, mean, uncertainty",
    [
        (["5.007", "4.994", "5.005", "4.990", "4.999"], (4.9990, 0.00005), (0.0032, 0.00005)),
        (["19.663", "19.639", "19.640", "19.685", "19.678"], (19.6610, 0.00005), (0.0095, 0.00005)),
        (["1.0456", "1.0438", "1.0468", "1.0428", "1.0433"], (1.04446, 0.000005), (0.00075, 0.000005)),
    ],
)
def test_repeated_readings_give_mean_and_its_standard_uncertainty(
    readings: list[str], mean: tuple[float, float], uncertainty: tuple[float, float]
) -> None:
    # source: JCGM 100:2008 (GUM), H.2, table H.2: five readings of V, I and phi, their means and the standard
    # uncertainties of the means as printed (recalled from memory; units replaced by mm)
    found = parse(", ".join(f"{r} mm" for r in readings), "length", "x")
    assert found.value == pytest.approx(mean[0], abs=mean[1])
    assert found.sd == pytest.approx(uncertainty[0], abs=uncertainty[1])
    assert (found.n_readings, found.sd_origin) == (5, "readings")
    assert parse([f"{r} mm" for r in readings], "length", "x") == found


def test_two_readings_by_hand() -> None:
    # s of (4.6, 4.8) is 0.2/sqrt(2), over sqrt(2): 0.1
    found = parse("4.6 mm, 4.8 mm", "length", "x")
    assert (found.value, found.sd) == (pytest.approx(4.7), pytest.approx(0.1))


def test_inch_and_pound_are_those_of_1959() -> None:
    # source: international yard and pound agreement: 1 in = 25.4 mm, 1 lb = 0.45359237 kg, exactly
    assert parse("1 in", "length", "x").value == pytest.approx(25.4, rel=1e-12)
    assert parse("1 lb", "mass", "x").value == pytest.approx(0.45359237, rel=1e-12)


def test_vitamin_d_in_both_units() -> None:
    # source: KNE21: 75.8 nmol/L = 30.4 ng/mL
    assert parse("75.8 nmol/L", "concentration", "x").value == pytest.approx(30.4, abs=0.05)
    assert parse("30.4 ng/mL", "concentration", "x").value == 30.4
    assert parse("30.4 ug/L", "concentration", "x").value == pytest.approx(30.4)


def test_core_unit_is_read_without_the_units_library() -> None:
    code = (
        "import sys; from fixplan.values import parse; parse('71 mm', 'length', 'x');"
        "assert not {'pint', 'numpy'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_every_example_is_accepted_by_its_own_dimension() -> None:
    for dimension, (core, example) in values.DIMENSIONS.items():
        assert parse(example, dimension, "x").unit == core


def test_by_unit() -> None:
    assert parse_in("2 cm", "mm", "x").value == 20
    assert parse_in(0.02, "1", "x").value == 0.02
    assert parse_in("5 N/mm", "N/mm", "x").value == 5
    with pytest.raises(ValueError, match="core unit"):
        parse_in("2 cm", "cm", "x")


def test_convert() -> None:
    assert values.convert(1, "inch", "mm") == pytest.approx(25.4)
    assert values.convert(2, "mm", "mm") == 2
    with pytest.raises(ValueError, match="cannot convert"):
        values.convert(1, "mm", "N")


def test_a_measured_value_points_back_to_its_key() -> None:
    quantity = Quantity(71.5, 0.8, "mm", "bone.length", "71.5 ± 0.8 mm", sd_origin="given")
    assert Value.measured("length", quantity) == Value("length", 71.5, "mm", 0.8, "measured", "bone.length")
