"""Constructs named in words: from "screw", "plate", an item code and a few words to one piece of stock.

WHAT [WORD ...]
WHAT  screw | plate | an item code of a kit
WORD  solid | hollow | steel | titanium | longer | shorter | wider | narrower (a screw or plate otherwise alike)
      screws=N (of a plate, on each side) | gap=open | gap=closed:60N
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from fixplan.case.fields import fields
from fixplan.case.kinds import read_value
from fixplan.kits import ImScrew, KitSet, Plate
from fixplan.problems import InputError, Problem, nearest
from fixplan.values import Quantity

SCREW, PLATE = "screw", "plate"
WORDS = ("solid", "hollow", "steel", "titanium", "longer", "shorter", "wider", "narrower")
EXAMPLE = "for instance 'screw', 'plate', an item code, 'screw solid', 'plate screws=3' or 'screw gap=closed:60N'"
_GAP = re.compile(r"gap=(open|closed:(?P<force>.+))")
_SCREWS = re.compile(r"screws=(?P<count>[1-9])")


@dataclass(frozen=True)
class Wish:
    """A construct as asked for. `gap`: "" as the case says, "open", or "closed" under `compression`."""

    asked: str
    what: str
    words: tuple[str, ...] = ()
    screws: int | None = None
    gap: str = ""
    compression: Quantity | None = None


def parse_wish(text: str, where: str) -> Wish:
    """Read one construct. Raises InputError naming the word that is not understood."""
    parts = text.replace(",", " ").split()
    if not parts:
        raise InputError([Problem(where, "a construct is empty", EXAMPLE)])
    wish = Wish(" ".join(parts), parts[0])
    # a force may be written with a space: 'gap=closed:60 N'
    rest = re.sub(r"(gap=closed:\s*[0-9.]+)\s+(?=[A-Za-z]+\b)", r"\1", " ".join(parts[1:])).split()
    for word in rest:
        gap, count = _GAP.fullmatch(word), _SCREWS.fullmatch(word)
        if gap:
            force = gap.group("force")
            wanted = read_value(fields()["fracture.compression"], force, None) if force else None
            wish = replace(wish, gap="closed" if force else "open", compression=wanted)
        elif count:
            wish = replace(wish, screws=int(count.group("count")))
        elif word in WORDS:
            wish = replace(wish, words=(*wish.words, word))
        else:
            raise InputError([Problem(where, f"'{word}' in '{text}' is not understood", EXAMPLE)])
    return wish


def find_stock(wish: Wish, kits: KitSet, first: Callable[[str], ImScrew | Plate | None], where: str) -> ImScrew | Plate:
    """The screw or plate a wish names; `first` gives the first choice of the plan by kind, None where there is none.

    Raises InputError where no stock answers to the wish.
    """
    thing: ImScrew | Plate | None
    every: tuple[ImScrew | Plate, ...] = (*kits.im_screws, *kits.plates)
    if wish.what in (SCREW, PLATE):
        thing = first(wish.what)
        if thing is None:
            what = f"'{wish.asked}': no {wish.what} fits this case, so there is no first choice to compare"
            raise InputError([Problem(where, what, "name an item code, which is compared whether it fits or not")])
    else:
        thing = next((s for s in every if s.item == wish.what), None)
        if thing is None:
            codes = [s.item for s in every]
            near = nearest(wish.what, codes)
            right = near if near.startswith("did") else EXAMPLE
            raise InputError([Problem(where, f"'{wish.what}' is neither an item code of these kits nor a word", right)])
    for word in wish.words:
        thing = _other_screw(thing, word, kits, wish, where) if isinstance(thing, ImScrew) else _other_plate(
            thing, word, kits, wish, where
        )  # fmt: skip
    if wish.screws is not None and isinstance(thing, ImScrew):
        raise InputError([Problem(where, f"'{wish.asked}': screws= belongs to a plate", EXAMPLE)])
    return thing


def metal(name: str) -> str:
    """Steel or titanium, from the name of a material; the name itself for any other."""
    low = name.lower()
    return next((word for word in ("steel", "titanium") if word in low), name)


def _other_screw(me: ImScrew, word: str, kits: KitSet, wish: Wish, where: str) -> ImScrew:
    solid = {"solid": True, "hollow": False}.get(word, me.solid)
    material = word if word in ("steel", "titanium") else metal(me.material.name)
    step = {"longer": ("length", 1), "shorter": ("length", -1), "wider": ("d_major", 1), "narrower": ("d_major", -1)}

    def alike(s: ImScrew, but: str = "") -> bool:
        same = {"length": s.length == me.length, "d_major": s.d_major == me.d_major}
        return (
            s.solid == solid
            and metal(s.material.name) == material
            and s.thread_length == me.thread_length
            and all(ok for name, ok in same.items() if name != but)
        )

    if word not in step:
        found = [s for s in kits.im_screws if alike(s)]
        if found:
            return min(found, key=lambda s: s.item)
        near = [s for s in kits.im_screws if alike(s, "length")]
        if near:
            # not stocked in this length: the nearest one, the shorter of two as near; the comparison says so
            return min(near, key=lambda s: (abs(s.length - me.length), s.length, s.item))
        what = f"'{wish.asked}': no screw like {me.item} is {word} in these kits"
        raise InputError([Problem(where, what, "name an item code")])
    name, sign = step[word]
    beside = [s for s in kits.im_screws if alike(s, name) and (getattr(s, name) - getattr(me, name)) * sign > 0]
    same_kit = [s for s in beside if s.kit == me.kit] or beside
    if not same_kit:
        raise InputError([Problem(where, f"'{wish.asked}': nothing is {word} than {me.item}", "name an item code")])
    return min(same_kit, key=lambda s: (abs(getattr(s, name) - getattr(me, name)), s.item))


def _other_plate(me: Plate, word: str, kits: KitSet, wish: Wish, where: str) -> Plate:
    def family(p: Plate) -> tuple[object, ...]:
        return (p.thickness, p.width, p.screw_system, p.locking, p.hole_spacing)

    found: Sequence[Plate] = ()
    if word in ("longer", "shorter"):
        sign = 1 if word == "longer" else -1
        near = [p for p in kits.plates if p.kit == me.kit and family(p) == family(me)]
        found = [p for p in near if (p.holes - me.holes) * sign > 0]
    elif word in ("steel", "titanium"):
        near = [p for p in kits.plates if family(p) == family(me) and p.holes == me.holes]
        found = [p for p in near if metal(p.material.name) == word]
    if not found:
        right = "a plate takes steel, titanium, longer, shorter, screws=N; or name an item code"
        raise InputError([Problem(where, f"'{wish.asked}': no plate like {me.item} is {word} in these kits", right)])
    return min(found, key=lambda p: (abs(p.holes - me.holes), p.item))
