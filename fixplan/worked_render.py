"""A layout as plain text for the terminal and as MathML Core presentation markup for the page.

Units are upright, variables italic; digits are never run together.
"""

from __future__ import annotations

import math
from xml.sax.saxutils import escape

from fixplan.worked_layout import Kind, Node

_PLUS, _TIMES, _POWER, _ATOM = 1, 2, 3, 4
_BINDING: dict[Kind, int] = {"sum": _PLUS, "product": _TIMES, "fraction": _TIMES, "power": _POWER}
_GREEK = (
    "alpha beta gamma delta epsilon zeta eta theta iota kappa lambda mu nu xi omicron pi rho _ sigma tau upsilon "
    "phi chi psi omega"
)
GREEK = {name: chr(0x3B1 + i) for i, name in enumerate(_GREEK.split()) if name != "_"}
GREEK |= {name.capitalize(): letter.upper() for name, letter in GREEK.items()}
_SUPERSCRIPTS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def number_text(value: float, digits: int, trim: bool = True) -> tuple[str, int]:
    """Significant digits and decimal exponent (0: none shown) of a number; whole digits are kept.

    Raises:
        ValueError: digits < 1.
    """
    if digits < 1:
        raise ValueError(f"digits = {digits}: digits must be >= 1; give the significant digits to print")
    if math.isinf(value):
        return ("-∞" if value < 0 else "∞"), 0
    power = int(f"{value:.{digits - 1}e}".partition("e")[2])
    shift = power if value and not -4 <= power < 6 else 0
    text = f"{value / 10.0**shift:.{max(0, digits - 1 - (power - shift))}f}"
    if trim and "." in text:
        text = text.rstrip("0").rstrip(".")
    return text, shift


def unit_text(unit: str) -> str:
    """A core unit as printed: "N*mm**2" becomes "N·mm²", "1/mm" "mm⁻¹", and "1" nothing."""
    if unit.startswith("1/"):
        base, _, power = unit[2:].partition("**")
        unit = f"{base}**-{power or 1}"
    pieces = unit.replace("**", "^").split("*")
    out = []
    for piece in pieces:
        base, *rest = piece.split("^")
        tail = "".join(f"{r[: _run(r)].translate(_SUPERSCRIPTS)}{r[_run(r) :]}" for r in rest)
        out.append(base + tail)
    text = "·".join(out)
    return "" if text == "1" else text


def _run(text: str) -> int:
    return len(text) - len(text.lstrip("-0123456789"))


def written(symbol: str) -> str:
    """A symbol as printed in plain text: greek names as letters, the subscript after "_"."""
    base, _, sub = symbol.partition("_")
    return GREEK.get(base, base) + (f"_{GREEK.get(sub, sub)}" if sub else "")


def quantity(value: float, unit: str, digits: int) -> Node:
    """A number with its unit, as one leaf."""
    text, shift = number_text(value, digits)
    return Node("value", text=text, unit=unit_text(unit), signs=(str(shift),))


def _binding(node: Node) -> int:
    if node.kind == "value":
        if node.text.startswith("-"):
            return _PLUS
        return _TIMES if node.unit or node.signs != ("0",) else _ATOM
    return _BINDING.get(node.kind, _ATOM)


def plain(node: Node) -> str:
    """The layout as one line of text: powers with "^", products with "·"."""

    def inner(part: Node, least: int) -> str:
        return plain(part) if _binding(part) >= least else f"({plain(part)})"

    match node.kind:
        case "number":
            return node.text
        case "symbol":
            return written(node.text)
        case "value":
            power = "" if node.signs == ("0",) else f"×10^{node.signs[0]}"
            return f"{node.text}{power}" + (f" {node.unit}" if node.unit else "")
        case "sum":
            first = "-" if node.signs[0] == "-" else ""
            text = first + inner(node.parts[0], _TIMES)
            for sign, part in zip(node.signs[1:], node.parts[1:], strict=True):
                text += f" {sign} {inner(part, _TIMES)}"
            return text
        case "product":
            return (" × " if _has_value(node) else "·").join(
                inner(p, _POWER if p.kind == "fraction" else _TIMES) for p in node.parts
            )
        case "fraction":
            return f"{inner(node.parts[0], _TIMES)} / {inner(node.parts[1], _POWER)}"
        case "power":
            return f"{inner(node.parts[0], _ATOM)}^{inner(node.parts[1], _ATOM)}"
        case "root":
            return f"√({plain(node.parts[0])})"
        case _:
            return f"{node.text}({', '.join(plain(p) for p in node.parts)})"


def _has_value(node: Node) -> bool:
    return node.kind == "value" or any(_has_value(p) for p in node.parts)


def _row(body: str) -> str:
    return f"<mrow>{body}</mrow>"


def _fenced(body: str) -> str:
    return _row(f"<mo>(</mo>{body}<mo>)</mo>")


def _identifier(symbol: str) -> str:
    base, _, sub = symbol.partition("_")
    mark = f"<mi>{escape(GREEK.get(base, base))}</mi>"
    return f"<msub>{mark}<mi>{escape(GREEK.get(sub, sub))}</mi></msub>" if sub else mark


def _measured(node: Node) -> str:
    negative = node.text.startswith("-")
    body = ("<mo>−</mo>" if negative else "") + f"<mn>{node.text.removeprefix('-')}</mn>"
    if node.signs != ("0",):
        shift = node.signs[0]
        power = f"<mrow><mo>−</mo><mn>{shift[1:]}</mn></mrow>" if shift.startswith("-") else f"<mn>{shift}</mn>"
        body += f"<mo>×</mo><msup><mn>10</mn>{power}</msup>"
    if node.unit:
        body += f'<mspace width="0.2em"></mspace><mtext>{escape(node.unit)}</mtext>'
    return _row(body)


def mathml(node: Node) -> str:
    """The layout as MathML Core elements (without the surrounding `math`)."""

    def inner(part: Node, least: int) -> str:
        # a fraction bar groups by itself, except under a power
        drawn = _POWER if part.kind == "fraction" else _binding(part)
        return mathml(part) if drawn >= least else _fenced(mathml(part))

    match node.kind:
        case "number":
            return f"<mn>{node.text}</mn>"
        case "symbol":
            return _identifier(node.text)
        case "value":
            return _measured(node)
        case "sum":
            body = "<mo>−</mo>" if node.signs[0] == "-" else ""
            body += inner(node.parts[0], _TIMES)
            for sign, part in zip(node.signs[1:], node.parts[1:], strict=True):
                body += f"<mo>{'−' if sign == '-' else '+'}</mo>{inner(part, _TIMES)}"
            return _row(body)
        case "product":
            body = inner(node.parts[0], _TIMES)
            for part in node.parts[1:]:
                # U+2062, invisible times, only between symbols: digits and units must not run together
                body += f"<mo>{'×' if part.kind == 'number' or _has_value(node) else chr(0x2062)}</mo>"
                body += inner(part, _TIMES)
            return _row(body)
        case "fraction":
            return f"<mfrac>{mathml(node.parts[0])}{mathml(node.parts[1])}</mfrac>"
        case "power":
            return f"<msup>{inner(node.parts[0], _ATOM)}{mathml(node.parts[1])}</msup>"
        case "root":
            return f"<msqrt>{mathml(node.parts[0])}</msqrt>"
        case _:
            arguments = "<mo>,</mo>".join(mathml(p) for p in node.parts)
            return _row(f"<mi>{escape(node.text)}</mi><mo>&#x2061;</mo>{_fenced(arguments)}")
