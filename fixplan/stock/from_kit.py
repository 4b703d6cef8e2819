"""Wanted items from the things of a kit: what a construct of the plan needs on its trolley."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from fixplan.kits.model import CorticalScrew, ImScrew, Instrument, KitSet, Plate
from fixplan.stock.bore import CANNULATED, SOLID
from fixplan.stock.model import Item
from fixplan.stock.wording import KIND_WORDS

# common practice, no source: a guide wire is used once, all other instruments come back
SINGLE_USE = ("guide wire",)


Gtins = Mapping[str, tuple[str, ...]] | None


def wanted(thing: ImScrew | CorticalScrew | Plate | Instrument, quantity: int = 1, gtins: Gtins = None) -> Item:
    """One thing of a kit as a wanted item; `gtins` maps item codes to known GTIN-14 numbers."""
    known = (gtins or {}).get(thing.item, ())
    if isinstance(thing, Instrument):
        size = thing.form or (f"{thing.size:g} mm" if thing.size is not None else "")
        return Item(
            "instrument",
            item=thing.item,
            name=f"{thing.kind} {size}".strip(),
            kit=thing.kit,
            gtins=known,
            single_use=thing.kind in SINGLE_USE,
            quantity=quantity,
        )
    if isinstance(thing, Plate):
        return Item(
            "plate",
            item=thing.item,
            kit=thing.kit,
            gtins=known,
            length_mm=thing.length,
            holes=thing.holes,
            material=thing.material.id,
            quantity=quantity,
        )
    kind, name, bore, thread = "locking_screw" if _locks(thing) else "cortical_screw", "", "", None
    if isinstance(thing, ImScrew):
        kind, bore = "im_screw", SOLID if thing.solid else CANNULATED
        name = f"{bore} {KIND_WORDS[kind]}"
        # a thread all along is as long as the screw: a screw with a shank is another one
        thread = thing.length if thing.thread_length is None else thing.thread_length
    return Item(
        kind,
        item=thing.item,
        name=name,
        kit=thing.kit,
        gtins=known,
        diameter_mm=thing.d_major,
        length_mm=thing.length,
        thread_mm=thread,
        material=thing.material.id,
        bore=bore,
        quantity=quantity,
    )


def _locks(thing: ImScrew | CorticalScrew) -> bool:
    return isinstance(thing, CorticalScrew) and thing.head == "locking"


def construct(kits: KitSet, codes: Iterable[str], gtins: Gtins = None) -> tuple[Item, ...]:
    """Everything for one construct: the coded implants (a code named twice is wanted twice) and their instruments.

    An instrument that the kits do not hold is wanted by its name, so that it shows as missing and is not forgotten.

    Raises:
        ValueError: for a code that the kits do not know.
    """
    items = kits.items
    out: list[Item] = []
    tools: dict[str, Item] = {}
    for code, quantity in Counter(codes).items():
        if code not in items:
            raise ValueError(f"item {code!r} is in none of the kits {', '.join(kits.kits)}; name a code of a kit")
        thing = items[code]
        out.append(wanted(thing, quantity, gtins))
        if isinstance(thing, ImScrew | CorticalScrew):
            for tool in kits.instruments_for(thing):
                tools.setdefault(tool.item, wanted(tool, 1, gtins))
            for kind, size in kits.missing_instruments(thing):
                name = f"{kind} {size if isinstance(size, str) else f'{size:g} mm'}"
                tools.setdefault(name, Item("instrument", name=name, single_use=kind in SINGLE_USE))
    return (*out, *tools.values())
