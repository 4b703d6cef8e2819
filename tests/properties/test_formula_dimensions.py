"""Every registered closed form: expression, dimensions, source and worked line agree with the function that runs.

The dimension check is the one of dimensional analysis: in another consistent system of units (lengths, masses and
times rescaled by unrelated factors, the exponents read by pint from the declared units) the same function must give
the same quantity. A formula that adds a length to an area, or a declared unit that is wrong, fails it.
"""

import importlib
import math
import pkgutil
import re

import numpy as np
import pint
import pytest
import sympy

import fixplan
from fixplan.formula import FORMULAS, Formula
from fixplan.sources import source
from fixplan.worked import symbolic, worked

for _found in pkgutil.walk_packages(fixplan.__path__, "fixplan."):
    if _found.name.split(".")[1] in {"bone", "sizing", "mechanics", "stock"}:
        importlib.import_module(_found.name)

NAMES = sorted(FORMULAS)
UNITS = pint.UnitRegistry()
RESCALE = {"[length]": 1.7, "[mass]": 0.6, "[time]": 2.3}


def points(form: Formula, wanted: int = 3) -> list[dict[str, float]]:
    """Random arguments inside the domain of the formula: those that it does not refuse."""
    rng = np.random.default_rng(sum(form.name.encode()))
    found: list[dict[str, float]] = []
    for _ in range(2000):
        trial = {key: float(rng.uniform(0.2, 4.0)) for key in form.args}
        try:
            with np.errstate(invalid="ignore"):
                value = form.fn(**trial)
        except ValueError:
            continue
        if np.isfinite(value):
            found.append(trial)
        if len(found) == wanted:
            return found
    raise AssertionError(f"{form.name} refuses nearly every trial point")


def scale_of(unit: str) -> float:
    dimensionality = UNITS.parse_units(unit).dimensionality
    return math.prod(RESCALE[dimension] ** float(power) for dimension, power in dimensionality.items())


def test_every_room_of_the_mechanics_has_registered_its_formulas():
    rooms = {name.split(".")[1] for name in NAMES if name.startswith("mechanics.")}
    assert {"strength", "fatigue", "joint", "purchase", "gap", "loads", "torsion", "straightening"} <= rooms


@pytest.mark.parametrize("name", NAMES)
def test_the_expression_equals_the_function(name):
    form = FORMULAS[name]
    symbols = [sympy.Symbol(a.symbol, positive=True) for a in form.args.values()]
    assert len(set(symbols)) == len(symbols), "two arguments share a symbol"
    expression = form.expression()
    assert expression.free_symbols <= set(symbols)
    compiled = sympy.lambdify(symbols, expression, "numpy")
    for point in points(form):
        assert float(compiled(*point.values())) == pytest.approx(float(form.fn(**point)), rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_dimensions(name):
    form = FORMULAS[name]
    for point in points(form):
        rescaled = {key: value * scale_of(form.args[key].unit) for key, value in point.items()}
        wanted = float(form.fn(**point)) * scale_of(form.unit)
        assert float(form.fn(**rescaled)) == pytest.approx(wanted, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("name", NAMES)
def test_arguments_broadcast(name):
    form = FORMULAS[name]
    here, there, _ = points(form)
    stacked = {key: np.array([[here[key]], [there[key]]]) for key in form.args}
    result = np.asarray(form.fn(**stacked))
    np.testing.assert_allclose(result.ravel(), [form.fn(**here), form.fn(**there)], rtol=1e-12)
    assert result.shape == (2, 1)


@pytest.mark.parametrize("name", NAMES)
def test_origin_is_told(name):
    form = FORMULAS[name]
    assert source(form.source).text
    assert form.text
    assert form.where
    assert all(a.text and a.symbol and a.unit for a in form.args.values())
    assert form.fn.__doc__
    assert form.fn.__doc__.strip()


def read_back(text: str) -> float:
    """Evaluate a plain formula as a reader would: by the usual precedence."""
    words = {"π": "pi", "√": "sqrt", "^": "**", "·": "*", "×": "*", "log10": "log10", "ln(": "log("}
    for sign, word in words.items():
        text = text.replace(sign, word)
    names = {f: getattr(math, f) for f in ("pi", "e", "sqrt", "log", "log10")} | {"min": min, "max": max}
    return float(eval(text, {"__builtins__": {}}, names))


@pytest.mark.parametrize("name", NAMES)
def test_the_worked_line_reads_back_to_the_number_that_ran(name):
    form = FORMULAS[name]
    for point in points(form):
        rounded = {key: float(f"{value:.3g}") for key, value in point.items()}
        line = worked(form, rounded, digits=7)
        assert line.value == float(form.fn(**rounded))
        _, formula_text, filled, printed = (part.strip() for part in line.plain.split(" = "))
        assert symbolic(form).split(" = ")[1] == formula_text
        bare = re.sub(r"(?<=[\d)]) (?:[A-Za-zµ%°][\w·/⁻⁰¹²³⁴⁵⁶⁷⁸⁹%°]*)", "", filled)
        assert read_back(bare) == pytest.approx(line.value, rel=1e-9, abs=1e-12)
        shown = re.match(r"-?[\d.]+(?:×10\^-?\d+)?", printed)
        assert shown
        assert read_back(shown[0]) == pytest.approx(line.value, rel=1e-6, abs=1e-9)
