"""A wanted item or a line of the shelf in the words of the trade."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

KIND_WORDS: Mapping[str, str] = {
    "im_screw": "intramedullary screw",
    "cortical_screw": "cortical screw",
    "locking_screw": "locking screw",
    "plate": "plate",
    "instrument": "instrument",
}


class Thing(Protocol):
    """What an item and a line of the shelf both may state; lengths in mm, None or empty where they do not."""

    @property
    def kind(self) -> str: ...
    @property
    def name(self) -> str: ...
    @property
    def diameter_mm(self) -> float | None: ...
    @property
    def length_mm(self) -> float | None: ...
    @property
    def thread_mm(self) -> float | None: ...
    @property
    def holes(self) -> int | None: ...
    @property
    def material(self) -> str: ...
    @property
    def bore(self) -> str: ...


def shown(value: float, decimals: int = 0) -> str:
    """A size as it is spoken of: at least `decimals` and at most two decimals."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return f"{value:.{decimals}f}" if len(text.partition(".")[2]) < decimals else text


def counted(number: int, noun: str) -> str:
    """A number of things: 1 piece, 2 pieces."""
    return f"{number} {noun}{'' if number == 1 else 's'}"


def listed(words: Sequence[str]) -> str:
    """Words in a row, the last two joined by "and"."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def size_of(thing: Thing) -> str:
    if thing.kind == "plate":
        return f"{thing.holes} holes" if thing.holes is not None else ""
    sizes = [shown(v, d) for v, d in ((thing.diameter_mm, 1), (thing.length_mm, 0)) if v is not None]
    return " × ".join(sizes) + " mm" if sizes else ""


def words_of(thing: Thing) -> str:
    words = [thing.name or " ".join(filter(None, (thing.bore, KIND_WORDS.get(thing.kind, ""))))]
    if thing.kind == "plate" and thing.length_mm is not None:
        words.append(f"{shown(thing.length_mm)} mm long")
    if thing.thread_mm is not None:
        along = thing.thread_mm == thing.length_mm
        words.append("thread all along" if along else f"thread {shown(thing.thread_mm)} mm")
    if thing.material:
        words.append(thing.material)
    return ", ".join(words)


def text_of(thing: Thing) -> str:
    kind, _, rest = words_of(thing).partition(", ")
    return ", ".join(part for part in (kind, size_of(thing), rest) if part)
