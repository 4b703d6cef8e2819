"""What the kits of a plan rest on: how each kit is known, and each property of the metals in it with its source."""

from __future__ import annotations

from fixplan.kits import Instrument, KitSet
from fixplan.plan.types import KitUsed, MaterialValue

PROPERTIES = (
    ("E_MPa", "modulus of elasticity", "MPa"),
    ("nu", "Poisson's ratio", "1"),
    ("yield_MPa", "least yield strength", "MPa"),
    ("ultimate_MPa", "least tensile strength", "MPa"),
    ("elongation_percent", "least elongation at fracture", "%"),
    ("fatigue_MPa", "fatigue amplitude, polished, fully reversed", "MPa"),
)
"""Field of a material, words, unit."""


def kits_used(stock: KitSet) -> tuple[KitUsed, ...]:
    """The kits, in the order of the stock."""
    return tuple(KitUsed(k.id, k.title, k.status, k.source, k.note) for k in stock.kits.values())


def material_values(stock: KitSet) -> tuple[MaterialValue, ...]:
    """Every property of every material of which the stock holds an item; a property not given is left out."""
    held = {x.material.id: x.material for x in stock.items.values() if not isinstance(x, Instrument)}
    return tuple(
        MaterialValue(m.name, m.standard, words, value, unit, m.sources[name], m.statuses[name])
        for m in held.values()
        for name, words, unit in PROPERTIES
        if (value := getattr(m, name)) is not None
    )
