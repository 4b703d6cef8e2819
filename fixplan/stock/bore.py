"""Solid or cannulated: what a line of the shelf says of a screw, in its description or in a column for it.

A solid screw does not go over a guide wire, so the word decides as a size does.
"""

from __future__ import annotations

import re

from fixplan.stock.cells import NO, YES, CellError

SOLID, CANNULATED = "solid", "cannulated"
BOTH = f"{SOLID} and {CANNULATED}"
DOES_NOT_SAY = "does not say solid or cannulated"

NOT_ONE = {"-", "–", "—", "n/a", "na", "none", "not applicable"}
"""Cells of what is no screw: they say nothing of a bore."""
_NOT = r"(?P<not>(?:non|not|un)[\s-]*)?"
_WORDS = (
    (re.compile(rf"(?<![a-z]){_NOT}(?:cann?ul\w*|cann(?![a-z])|hollow)"), CANNULATED),
    (re.compile(rf"(?<![a-z]){_NOT}solid(?![a-z])"), SOLID),
)


def said(*texts: str) -> str:
    """SOLID, CANNULATED, BOTH or the empty string: what the texts say together ("non-cannulated" is solid)."""
    found: set[str] = set()
    for text in texts:
        for pattern, word in _WORDS:
            for match in pattern.finditer(text.casefold()):
                other = SOLID if word == CANNULATED else CANNULATED
                found.add(other if match["not"] else word)
    return BOTH if len(found) > 1 else "".join(found)


def without(text: str) -> str:
    """The text without its words for the bore, as a kind is written without them."""
    for pattern, _ in _WORDS:
        text = pattern.sub(" ", text.casefold())
    return " ".join(text.split())


def bore(text: str, header: str) -> str:
    """One cell of a column for it: a word, or yes or no (or the bore's width) under a header that names one of them.

    Raises:
        CellError: when the cell says neither.
    """
    asked = said(header)
    word = said(text)
    body = text.strip().casefold()
    if word or body in NOT_ONE:
        return word
    if asked in (SOLID, CANNULATED):
        if body in YES:
            return asked
        if body in NO:
            return SOLID if asked == CANNULATED else CANNULATED
    if asked != SOLID and (width := re.fullmatch(r"(\d+(?:[.,]\d+)?)(\s*mm)?", body)):
        return CANNULATED if float(width[1].replace(",", ".")) > 0 else SOLID
    raise CellError("neither solid nor cannulated; write one of the two words")
