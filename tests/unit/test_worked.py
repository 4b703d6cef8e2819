"""The worked line: what it shows, in which markup, and what it refuses."""

import math
import xml.etree.ElementTree as ET

import pytest

import fixplan.mechanics.gap
import fixplan.mechanics.strength  # noqa: F401  (registers the formulas used below)
from fixplan.formula import FORMULAS, Formula, exp, formula, log, log10, maximum, minimum, sqrt
from fixplan.worked import symbolic, worked
from fixplan.worked_render import number_text, unit_text, written

MATHML = "{http://www.w3.org/1998/Math/MathML}"
# MathML Core, 2.1: the elements that a browser of today draws, with how many children each needs
CORE = {"math": None, "mrow": None, "mi": 0, "mn": 0, "mo": 0, "mtext": 0, "mspace": 0, "mfrac": 2, "msqrt": None,
        "msup": 2, "msub": 2, "mtable": 2, "mtr": 1, "mtd": 1}  # fmt: skip
MOMENT = {"d": 3.0, "d_i": 1.25, "strength": 795.0}


def one_off(fn, **args):
    """A formula that is not registered: dimensions 1 throughout."""
    return Formula("test.f", fn, "y", "1", "test", {k: FORMULAS[GAP].args["gap"]._replace(symbol=k, unit=u)
                                                      for k, u in args.items()}, "GEOM", "here", "")  # fmt: skip


GAP = "mechanics.gap.gap_strain"


def test_the_line_reads_symbol_formula_numbers_result():
    line = worked("mechanics.strength.elastic_moment", MOMENT)
    assert line.plain == (
        "M_y = (π·d^3 / 32)·(1 - (d_i / d)^4)·S_y"
        " = (π × (3 mm)^3 / 32) × (1 - (1.25 mm / (3 mm))^4) × 795 MPa = 2044 N·mm"
    )
    assert line.source == "MACHHB"
    assert line.unit == "N·mm"
    assert line.inputs[1] == ("d_i", "diameter of the cannulation, 0 when solid", 1.25, "mm")
    assert line.symbol == "M_y"


def test_the_value_is_that_of_the_function():
    assert worked(GAP, {"displacement": 0.03, "gap": 1.5}).value == FORMULAS[GAP].fn(0.03, 1.5)


@pytest.mark.parametrize("name", ["mechanics.strength.elastic_moment", "mechanics.strength.plastic_moment"])
def test_markup_is_mathml_core_and_carries_the_plain_line(name):
    line = worked(name, MOMENT)
    root = ET.fromstring(line.mathml)
    assert root.attrib == {"display": "block", "alttext": line.plain}
    for element in root.iter():
        tag = element.tag.removeprefix(MATHML)
        assert tag in CORE
        if CORE[tag] is not None:
            assert len(element) == CORE[tag]
    texts = [e.text for e in root.iter(f"{MATHML}mtext")]
    assert texts == ["mm", "mm", "mm", "MPa", "N·mm"]


def test_a_long_line_is_set_in_two_rows():
    long = ET.fromstring(worked("mechanics.strength.elastic_moment", MOMENT).mathml)
    short = ET.fromstring(worked(GAP, {"displacement": 0.03, "gap": 1.5}).mathml)
    rows = list(long.iter(f"{MATHML}mtr"))
    assert len(rows) == 2
    assert [o.text for o in rows[0].iter(f"{MATHML}mo")].count("=") == 1
    second = [e.text for e in rows[1].iter() if e.text]
    assert second[0] == "="
    assert second[-1] == "N·mm"
    assert second.count("=") == 2
    assert list(short.iter(f"{MATHML}mtr")) == []


def test_markup_of_a_subscript_a_power_and_a_fraction():
    line = worked("mechanics.strength.yield_factor", {"stress": 400, "yield_strength": 800})
    assert line.mathml.startswith('<math xmlns="http://www.w3.org/1998/Math/MathML" display="block" alttext="n_y = ')
    assert "<mfrac><msub><mi>S</mi><mi>y</mi></msub><mi>σ</mi></mfrac>" in line.mathml
    assert line.mathml.endswith("<mo>=</mo><mrow><mn>2</mn></mrow></mrow></math>")


CASES = [
    (lambda a, b: a - b, "a - b"),
    (lambda a, b: -a + b, "-a + b"),
    (lambda a, b: a - (b - 1), "a - (b - 1)"),
    (lambda a, b: a - (b + 1) * 2, "a - (b + 1)·2"),
    (lambda a, b: -(a + b), "-(a + b)"),
    (lambda a, b: b - (-a), "b + a"),
    (lambda a, b: a - 0.9382 * b, "a - 0.9382·b"),
    (lambda a, b: -a * b, "-a·b"),
    (lambda a, b: 1 * a + b * 1, "a + b·1"),
    (lambda a, b: (-a) ** 2 * b, "(-a)^2·b"),
    (lambda a, b: a * (16 / 3) + b, "a·(16 / 3) + b"),
    (lambda a, b: a * 0.125 - b / 7, "a·0.125 - b / 7"),
    (lambda a, b: a * math.sqrt(2) + b, "a·1.4142135623730951 + b"),
    (lambda a, b: -(b * (-a)), "-b·(-a)"),
    (lambda a, b: a / b / 2, "a / (b·2)"),
    (lambda a, b: 1 / (a * b), "1 / (a·b)"),
    (lambda a, b: 1 / a * b, "(1 / a)·b"),
    (lambda a, b: a * (1 / b), "a / b"),
    (lambda a, b: a ** (-0.5) * b, "a^(-0.5)·b"),
    (lambda a, b: (a + b) ** 2 / 3, "(a + b)^2 / 3"),
    (lambda a, b: sqrt(a / b), "√(a / b)"),
    (lambda a, b: exp(-a / b), "e^(-a / b)"),
    (lambda a, b: log(a) + log10(b), "ln(a) + log10(b)"),
    (lambda a, b: minimum(b, a) - maximum(a, b), "min(a, b) - max(a, b)"),
    (lambda a, b: 0.5 + 0.57735 * a / b, "0.5 + 0.57735·a / b"),
    (lambda a, b: a**b**2, "a^(b^2)"),
    (lambda a, b: (a**b) ** 2, "(a^b)^2"),
]


OPERATORS = {"−": "-", "×": "*", "\u2062": "*", "\u2061": "", "+": "+", "(": "(", ")": ")", ",": ",", "=": "=="}


def read_markup(element):
    """MathML as a reader's formula: fractions, powers and roots by structure, the rest by the usual precedence."""
    tag = element.tag.removeprefix(MATHML)
    inner = [read_markup(child) for child in element]
    match tag:
        case "mn" | "mi":
            return {"π": "pi", "ln": "log"}.get(element.text, element.text)
        case "mo":
            return OPERATORS[element.text]
        case "mtext" | "mspace":
            return ""
        case "mfrac":
            return f"(({inner[0]})/({inner[1]}))"
        case "msup":
            # what is raised must be one token or fenced, or a reader would raise its last piece only
            assert len(element[0]) == 0 or element[0].tag == f"{MATHML}msub" or inner[0].startswith("(")
            return f"{inner[0]}**({inner[1]})"
        case "msub":
            return "_".join(inner)
        case "msqrt":
            return f"sqrt({''.join(inner)})"
        case _:
            return "".join(inner)


def values_of(line, **names):
    """The value of each side of the chain in the markup, the symbol on the left excepted."""
    names |= {f: getattr(math, f) for f in ("pi", "e", "sqrt", "log", "log10")} | {"min": min, "max": max}
    _, *sides = read_markup(ET.fromstring(line.mathml)).split("==")
    return [float(eval(side, {"__builtins__": {}}, names)) for side in sides]


@pytest.mark.parametrize(("fn", "wanted"), CASES, ids=[w for _, w in CASES])
@pytest.mark.parametrize(("a", "b"), [(3.0, 0.5), (1.7, 2.3)])
def test_the_markup_reads_back_to_the_number_that_ran(fn, wanted, a, b):
    """Formula, numbers put in and result: three ways to the same value."""
    line = worked(one_off(fn, a="mm", b="N"), {"a": a, "b": b}, digits=9)
    value = float(fn(a, b))
    assert values_of(line, a=a, b=b) == pytest.approx([value] * 3, rel=1e-6)


def test_negative_numbers_and_powers_of_ten_read_back():
    line = worked(one_off(lambda a, b: a - b * 2, a="mm", b="N"), {"a": -2e-7, "b": -3e8}, digits=9)
    assert values_of(line, a=-2e-7, b=-3e8) == pytest.approx([6e8] * 3)


def test_signs_of_multiplication():
    """Invisible between symbols, a cross before a constant and wherever numbers with units stand: 2 mm 3 is not 23."""
    line = worked(one_off(lambda a, b: a * b * 2, a="mm", b="N"), {"a": 2, "b": 3})
    marks = [e.text for e in ET.fromstring(line.mathml).iter(f"{MATHML}mo")]
    assert marks == ["=", "\u2062", "×", "=", "×", "×", "="]


def test_a_book_formula_reads_back():
    line = worked("mechanics.strength.elastic_moment", MOMENT, digits=9)
    assert values_of(line, d=3.0, d_i=1.25, S_y=795.0) == pytest.approx([line.value] * 3)


@pytest.mark.parametrize(("fn", "wanted"), CASES, ids=[w for _, w in CASES])
def test_formulas_are_shown_as_written(fn, wanted):
    form = one_off(fn, a="1", b="1")
    assert symbolic(form) == f"y = {wanted}"
    line = worked(form, {"a": 3, "b": 0.5})
    assert line.value == pytest.approx(float(fn(3.0, 0.5)))
    for element in ET.fromstring(line.mathml).iter():
        count = CORE[element.tag.removeprefix(MATHML)]
        assert count is None or len(element) == count


def test_a_negative_number_is_fenced_and_a_power_of_ten_is_set():
    line = worked(one_off(lambda a, b: a * b, a="mm", b="1/mm"), {"a": -2e-7, "b": -3})
    assert line.plain == "y = a·b = (-2×10^-7 mm) × (-3 mm⁻¹) = 6×10^-7"
    assert "<mo>−</mo><mn>2</mn><mo>×</mo><msup><mn>10</mn><mrow><mo>−</mo><mn>7</mn></mrow></msup>" in line.mathml
    assert "1e" not in line.mathml


def test_letters_of_xml_are_escaped():
    form = one_off(lambda a: a, a="<b>")
    line = worked(form, {"a": 1.0})
    assert "<b>" not in line.mathml
    assert "&lt;b&gt;" in line.mathml


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.0, 4, ("0", 0)),
        (182906.67, 4, ("182907", 0)),
        (999999.7, 4, ("1", 6)),
        (1234567.0, 4, ("1.235", 6)),
        (0.0001234, 3, ("0.000123", 0)),
        (0.00001234, 4, ("1.234", -5)),
        (-3.14159, 3, ("-3.14", 0)),
        (9.9996, 4, ("10", 0)),
        (2044.2, 1, ("2044", 0)),
        (float("inf"), 4, ("∞", 0)),
        (float("-inf"), 4, ("-∞", 0)),
    ],
)
def test_numbers_keep_their_whole_digits(value, digits, text):
    assert number_text(value, digits) == text


def test_trailing_zeros_can_be_kept():
    assert number_text(2.0, 3, trim=False) == ("2.00", 0)
    with pytest.raises(ValueError, match="digits = 0: digits must be >= 1"):
        number_text(1.0, 0)


@pytest.mark.parametrize(
    ("unit", "text"),
    [("1", ""), ("mm", "mm"), ("N*mm**2", "N·mm²"), ("mm**4", "mm⁴"), ("N/mm", "N/mm"), ("m/s**2", "m/s²"),
     ("mm**-1", "mm⁻¹"), ("N*mm/rad", "N·mm/rad"), ("N/mm**2/rad", "N/mm²/rad"), ("mm**3*N", "mm³·N"),
     ("1/day", "day⁻¹"), ("1/mm**2", "mm⁻²")],
)  # fmt: skip
def test_units_as_printed(unit, text):
    assert unit_text(unit) == text


def test_symbols_as_printed():
    assert [written(s) for s in ("sigma_a", "EI_e", "M_theta", "rho", "Delta_L", "omega", "F")] == [
        "σ_a", "EI_e", "M_θ", "ρ", "Δ_L", "ω", "F",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ({"gap": 1.0}, "give displacement, gap"),
        ({"gap": 1.0, "displacement": 0.1, "more": 1}, "numbers must name the arguments of mechanics.gap.gap_strain"),
        ({"gap": [1.0, 2.0], "displacement": 0.1}, "gap must be one number"),
        ({"gap": "wide", "displacement": 0.1}, "gap must be one number"),
        ({"gap": float("nan"), "displacement": 0.1}, "gap must be finite"),
        ({"gap": -1.0, "displacement": 0.1}, "gap must be finite and > 0"),
    ],
)
def test_refusals(numbers, words):
    with pytest.raises(ValueError, match=words):
        worked(GAP, numbers)


def test_an_unknown_formula_is_refused():
    with pytest.raises(ValueError, match="formula must be registered"):
        worked("mechanics.nowhere", {})


def test_registering_keeps_the_function_usable():
    @formula(symbol="y", unit="1", text="t", args={"a": ("a", "1", "a")}, source="GEOM")
    def probe(a):
        return 2 * a

    name = next(n for n in FORMULAS if n.endswith(".probe"))
    try:
        assert probe(3) == 6
        assert symbolic(name) == "y = 2·a"
    finally:
        del FORMULAS[name]
