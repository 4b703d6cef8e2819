"""The worked line of a closed form: symbol = formula = numbers with units put in = result.

The formula is obtained by calling the registered function itself with symbols while SymPy leaves
everything as written, and the result by calling it with the numbers; so the line cannot drift from the
code. SymPy is imported only when a line is asked for.

Two renderings of one layout: MathML Core presentation markup, whose `alttext` is the plain line, and plain
text for the terminal. Units are upright, variables italic, nothing is expanded or reordered.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import quoteattr

from fixplan.formula import FORMULAS, Formula
from fixplan.worked_layout import Node, layout, map_symbols
from fixplan.worked_render import mathml, plain, quantity, unit_text, written


@dataclass(frozen=True)
class WorkedLine:
    """One worked line and what a reader needs to check it."""

    name: str
    symbol: str
    text: str
    value: float
    unit: str
    mathml: str
    plain: str
    inputs: tuple[tuple[str, str, float, str], ...]
    """Symbol, meaning, value and unit of each argument."""
    source: str
    where: str
    valid: str


def worked(of: Formula | str, numbers: Mapping[str, float], digits: int = 4) -> WorkedLine:
    """Work a registered formula with numbers in its declared core units.

    Args:
        of: a `Formula`, or its registered name such as "mechanics.strength.yield_factor".
        numbers: one scalar for each argument of the formula, by argument name, in the declared unit.
        digits: significant digits of the printed result (whole digits are never dropped).

    Raises:
        ValueError: unknown formula, an argument missing, surplus, not a scalar or not finite; or the
            formula refuses.
    """
    form = _find(of)
    values = _scalars(form, numbers)
    value = float(form.fn(**values))
    tree = layout(_as_written(form))
    lhs = Node("symbol", text=form.symbol)
    result = quantity(value, form.unit, digits)
    filled = _fill(tree, form, values)
    chain = [lhs, _fill_symbols(tree, form), filled, result]
    line = " = ".join(plain(node) for node in chain)
    markup = (
        f'<math xmlns="http://www.w3.org/1998/Math/MathML" display="block" alttext={quoteattr(line)}>'
        f"{_body([mathml(node) for node in chain], len(line))}</math>"
    )
    inputs = tuple((written(a.symbol), a.text, values[k], unit_text(a.unit)) for k, a in form.args.items())
    unit = unit_text(form.unit)
    return WorkedLine(
        form.name, written(form.symbol), form.text, value, unit, markup, line, inputs,
        form.source, form.where, form.valid,
    )  # fmt: skip


# plain characters beyond which a line no longer fits the width of an A4 page
_LONG = 100


def _body(parts: list[str], length: int) -> str:
    """One row, or a table of two when the line is long: browsers do not break a formula."""
    if length <= _LONG:
        return f"<mrow>{'<mo>=</mo>'.join(parts)}</mrow>"
    rows = (parts[:2], ["", *parts[2:]])
    cells = ("<mo>=</mo>".join(row) for row in rows)
    return (
        '<mtable displaystyle="true">'
        + "".join(f"<mtr><mtd><mrow>{cell}</mrow></mtd></mtr>" for cell in cells)
        + "</mtable>"
    )


def symbolic(of: Formula | str) -> str:
    """The formula alone as plain text, as written in the code, for instance "n_y = S_y / σ"."""
    form = _find(of)
    tree = _fill_symbols(layout(_as_written(form)), form)
    return f"{written(form.symbol)} = {plain(tree)}"


def _find(of: Formula | str) -> Formula:
    if isinstance(of, Formula):
        return of
    if of not in FORMULAS:
        raise ValueError(f"formula = {of!r}: formula must be registered; import its module or check the name")
    return FORMULAS[of]


def _scalars(form: Formula, numbers: Mapping[str, float]) -> dict[str, float]:
    if set(numbers) != set(form.args):
        need = ", ".join(form.args)
        raise ValueError(f"numbers = {sorted(numbers)}: numbers must name the arguments of {form.name}; give {need}")
    values = {}
    for key in form.args:
        try:
            values[key] = float(numbers[key])
        except (TypeError, ValueError):
            raise ValueError(f"{key} = {numbers[key]!r}: {key} must be one number; work one case at a time") from None
        if not math.isfinite(values[key]):
            raise ValueError(f"{key} = {values[key]}: {key} must be finite; give a finite number")
    return values


def _as_written(form: Formula) -> Any:
    """The expression tree as the code spells it, with one symbol per argument name."""
    import sympy

    with sympy.evaluate(False):
        return form.fn(**{key: sympy.Symbol(key, positive=True) for key in form.args})


def _fill_symbols(tree: Node, form: Formula) -> Node:
    args = form.args
    return map_symbols(tree, lambda key: Node("symbol", text=args[key].symbol if key in args else key))


def _fill(tree: Node, form: Formula, values: Mapping[str, float]) -> Node:
    def leaf(key: str) -> Node:
        if key not in form.args:
            return Node("symbol", text=key)
        return quantity(values[key], form.args[key].unit, 6)

    return map_symbols(tree, leaf)
