"""What the description of a shelf line says of a size, in words: it may contradict the code beside it."""

from __future__ import annotations

import re

from fixplan.stock.model import Item
from fixplan.stock.wording import shown

_NUMBER = r"\d+(?:[.,]\d+)?"
_SIZES = re.compile(rf"(?<![\w.,]){_NUMBER}(?:\s*mm)?(?:\s*[x×*]\s*{_NUMBER}(?:\s*mm)?)+(?!\w)", re.IGNORECASE)
_ONE = re.compile(rf"(?<![\w.,])({_NUMBER})\s*(mm)?(?![\w.,])")
_TOOL = re.compile(r"(\D+) ([\d.]+)( mm)?")
SHORTEST_MM = 6.0
"""Below it the larger of two numbers is no length of a screw, so the two are not its size."""


def word_key(text: str) -> str:
    """A code or a name as it is compared: without regard to case and spaces."""
    return " ".join(text.casefold().split())


def _number(text: str) -> float:
    return float(text.replace(",", "."))


def name_key(text: str) -> str:
    """The name of an instrument as it is compared: "Drill 4,0mm" is "drill 4 mm"."""
    return word_key(_ONE.sub(lambda m: f"{_number(m[1]):g}" + (" mm" if m[2] else ""), text.casefold()))


def size_in(text: str) -> tuple[float, float] | None:
    """Diameter and length in mm of a description with one "5.5 x 46 mm" in it; None where it has none or several."""
    found = _SIZES.findall(text)
    numbers = sorted(_number(n) for n in re.findall(_NUMBER, found[0])) if len(found) == 1 else []
    return (numbers[0], numbers[1]) if len(numbers) == 2 and numbers[1] >= SHORTEST_MM else None


def against(item: Item, text: str) -> str:
    """Why a description speaks against the item, or the empty string: another size of screw, or of the same tool."""
    if item.kind == "instrument":
        return _against_tool(item.name, text)
    if item.kind.endswith("_screw") and item.diameter_mm and item.length_mm:
        return _against_size(item.diameter_mm, item.length_mm, text)
    return ""


def _against_size(diameter_mm: float, length_mm: float, text: str) -> str:
    said = size_in(text)
    if said is None or (round(said[0], 2), round(said[1], 2)) == (round(diameter_mm, 2), round(length_mm, 2)):
        return ""
    says, wanted = (" × ".join((shown(d, 1), shown(n))) for d, n in (said, (diameter_mm, length_mm)))
    return f"its description says {says} mm and {wanted} mm is wanted"


def _against_tool(name: str, text: str) -> str:
    said, wanted = _TOOL.fullmatch(name_key(text)), _TOOL.fullmatch(name_key(name))
    if said and wanted and said[1] == wanted[1] and said[2] != wanted[2]:
        return f"its description says {said[0]} and {wanted[0]} is wanted"
    return ""
