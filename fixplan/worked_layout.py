"""Layout of a formula: fractions, signs, powers and roots where the code wrote them.

A SymPy tree that was built without evaluation keeps the order of the code but spells a / b as a * b**-1 and a - b
as a + (-1) * b. This module reads those spellings back. SymPy is imported only when a tree is at hand.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

Kind = Literal["number", "symbol", "value", "sum", "product", "fraction", "power", "root", "call"]


@dataclass(frozen=True)
class Node:
    """One piece of the layout. `text` and `unit` serve the leaves; a sum carries the sign of each part."""

    kind: Kind
    parts: tuple[Node, ...] = ()
    text: str = ""
    unit: str = ""
    signs: tuple[str, ...] = ()


def layout(expr: Any) -> Node:
    """Turn a SymPy tree into a layout: fractions, signs and roots where the code wrote them."""
    import sympy

    if isinstance(expr, sympy.Symbol):
        return Node("symbol", text=expr.name)
    if expr == sympy.pi:
        return Node("symbol", text="pi")
    if expr.is_Number:
        size = _constant(abs(float(expr)))
        return _negative(size) if expr < 0 else size
    if expr.is_Add:
        return _sum([layout(part) for part in expr.args])
    if expr.is_Mul:
        return _product(expr)
    if isinstance(expr, sympy.exp):
        return Node("power", (Node("symbol", text="e"), layout(expr.args[0])))
    if expr.is_Pow:
        base, exponent = expr.args
        if exponent == -1:
            return Node("fraction", (Node("number", text="1"), layout(base)))
        if exponent == sympy.Rational(1, 2):
            return Node("root", (layout(base),))
        return Node("power", (layout(base), layout(exponent)))
    return _call(expr)


def _constant(value: float) -> Node:
    """A constant as the code meant it: 16 / 3 is a fraction again, not sixteen digits."""
    if value.is_integer():
        return Node("number", text=str(int(value)))
    near = Fraction(value).limit_denominator(99)
    if len(repr(value)) > 12 and float(near) == value:
        return Node("fraction", tuple(Node("number", text=str(n)) for n in (near.numerator, near.denominator)))
    return Node("number", text=repr(value))


def _call(expr: Any) -> Node:
    import sympy

    name = expr.func.__name__
    if isinstance(expr, sympy.log):
        arg, *base = expr.args
        return Node("call", (layout(arg),), text="log10" if base else "ln")
    # SymPy keeps the arguments of Min and Max as a set: sort, so that the line is always the same
    parts = sorted(expr.args, key=sympy.default_sort_key)
    return Node("call", tuple(layout(p) for p in parts), text=name.lower())


def _sum(parts: list[Node]) -> Node:
    nodes: list[Node] = []
    signs: list[str] = []
    for part in parts:
        inner = part.parts if part.kind == "sum" else (part,)
        nodes += inner
        signs += part.signs if part.kind == "sum" else ("+",)
    return Node("sum", tuple(nodes), signs=tuple(signs))


def _product(expr: Any) -> Node:
    """Left to right, as written: each division takes all before it as its numerator."""
    import sympy

    parts = list(expr.args)
    if len(parts) > 1 and parts[0] == -1:
        return _negative(layout(sympy.Mul(*parts[1:], evaluate=False) if len(parts) > 2 else parts[1]))
    done = layout(parts[0])
    negative = done.kind == "sum" and done.signs == ("-",)
    if negative:
        done = done.parts[0]
    for part in parts[1:]:
        if part.is_Pow and part.args[1] == -1:
            below = layout(part.args[0])
            if done.kind == "fraction":
                done = Node("fraction", (done.parts[0], _times(done.parts[1], below)))
            else:
                done = Node("fraction", (done, below))
        else:
            done = _times(done, layout(part))
    return _negative(done) if negative else done


def _times(left: Node, right: Node) -> Node:
    if left == Node("number", text="1"):
        return right
    inner = [p for side in (left, right) for p in (side.parts if side.kind == "product" else (side,))]
    return Node("product", tuple(inner))


def _negative(node: Node) -> Node:
    return Node("sum", (node,), signs=("-",))


def map_symbols(node: Node, leaf: Callable[[str], Node]) -> Node:
    """The same layout with each symbol replaced by `leaf(name)`."""
    if node.kind == "symbol":
        return leaf(node.text)
    return Node(node.kind, tuple(map_symbols(p, leaf) for p in node.parts), node.text, node.unit, node.signs)
