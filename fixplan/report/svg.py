"""A small builder of SVG text: attributes and words are escaped, numbers are rounded the same way each time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from markupsafe import Markup, escape

from fixplan.report.formats import visible

Point = tuple[float, float]


def coordinate(value: float) -> str:
    """A coordinate with at most two decimals, without trailing zeros or a negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def el(name: str, *children: Markup, **attributes: str | float) -> Markup:
    """One element; an underscore in an attribute name becomes a hyphen, a trailing one is dropped (`class_`)."""
    parts = []
    for key, value in attributes.items():
        shown = value if isinstance(value, str) else coordinate(value)
        parts.append(f' {key.rstrip("_").replace("_", "-")}="{escape(shown)}"')
    opening = f"<{name}{''.join(parts)}"
    if not children:
        return Markup(f"{opening}/>")
    return Markup(f"{opening}>{''.join(children)}</{name}>")


def text(x: float, y: float, content: str, class_: str = "t", anchor: str = "start") -> Markup:
    """A text whose baseline starts, centres or ends at (x, y)."""
    return el("text", escape(visible(content)), x=x, y=y, class_=class_, text_anchor=anchor)


def line(a: Point, b: Point, class_: str) -> Markup:
    return el("line", x1=a[0], y1=a[1], x2=b[0], y2=b[1], class_=class_)


def polygon(points: Iterable[Point], class_: str) -> Markup:
    return el("polygon", points=" ".join(f"{coordinate(x)},{coordinate(y)}" for x, y in points), class_=class_)


def polyline(points: Iterable[Point], class_: str) -> Markup:
    return el("polyline", points=" ".join(f"{coordinate(x)},{coordinate(y)}" for x, y in points), class_=class_)


def rect(x: float, y: float, width: float, height: float, class_: str) -> Markup:
    return el("rect", x=x, y=y, width=width, height=height, class_=class_)


def circle(x: float, y: float, r: float, class_: str) -> Markup:
    return el("circle", cx=x, cy=y, r=r, class_=class_)


def mark(verdict: str, x: float, y: float, r: float) -> Markup:
    """The shape of a verdict: filled disc pass, open triangle caution, cross fail; told apart without colour."""
    if verdict == "pass":
        return circle(x, y, r, "m-pass")
    if verdict == "caution":
        points = ((x, y - 1.15 * r), (x + 1.1 * r, y + 0.85 * r), (x - 1.1 * r, y + 0.85 * r))
        return polygon(points, "m-caution")
    d = 0.8 * r
    return Markup(line((x - d, y - d), (x + d, y + d), "m-fail") + line((x - d, y + d), (x + d, y - d), "m-fail"))


def figure(id_: str, width: float, height: float, title: str, description: str, body: Sequence[Markup]) -> Markup:
    """An SVG figure `width` by `height` mm, one user unit per millimetre, with its title and description read aloud."""
    head = (
        el("title", escape(visible(title)), id=f"{id_}-title"),
        el("desc", escape(visible(description)), id=f"{id_}-desc"),
    )
    lines = [part for part in body if not part.startswith("<text")]
    words = [part for part in body if part.startswith("<text")]  # last, so that no line runs through a word
    return el(
        "svg",
        *head,
        *lines,
        *words,
        class_="figure",
        width=f"{coordinate(width)}mm",
        height=f"{coordinate(height)}mm",
        viewBox=f"0 0 {coordinate(width)} {coordinate(height)}",
        role="img",
        aria_labelledby=f"{id_}-title {id_}-desc",
    )
