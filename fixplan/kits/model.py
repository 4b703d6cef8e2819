"""What lies on the shelf: materials, screws, plates, instruments. Lengths in mm, moduli and strengths in MPa."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

STATUSES = ("standard", "from memory", "invented for the demo", "project default")
"""How a table of a kit is known: read in a standard, recalled, or made up for the demo or the project."""


@dataclass(frozen=True)
class Kit:
    """One file of stock: its id, what it is, how it is known, and the hash of its bytes."""

    id: str
    title: str
    status: str
    source: str
    note: str
    file: str
    sha256: str


@dataclass(frozen=True)
class Material:
    """An implant metal by its standard.

    `yield_MPa`, `ultimate_MPa` are the least values; `fatigue_MPa` is a fully reversed stress amplitude for
    polished, unnotched metal, `elongation_percent` the least at fracture. `sources` and `statuses` name for
    each of these fields the id of its source and how it is known.
    """

    id: str
    name: str
    standard: str
    E_MPa: float
    nu: float
    yield_MPa: float
    ultimate_MPa: float
    fatigue_MPa: float | None
    elongation_percent: float | None
    sources: Mapping[str, str]
    statuses: Mapping[str, str]
    kit: str
    note: str = ""

    @property
    def G_MPa(self) -> float:
        """Shear modulus E/(2(1 + nu))."""
        return self.E_MPa / (2 * (1 + self.nu))


@dataclass(frozen=True)
class ImScrew:
    """An intramedullary screw.

    `d_cannula` is 0 for a solid screw; `d_shank` and `thread_length` are None when the thread runs all along.
    `pitch` is the pitch at the tip, `pitch_head` at the head of a variable-pitch screw. `drill`, `tap`,
    `guide_wire` and `countersink` are the diameters of the instruments, `driver` the form of the recess.
    """

    kit: str
    item: str
    material: Material
    d_major: float
    d_core: float
    d_shank: float | None
    d_cannula: float
    pitch: float
    pitch_head: float | None
    thread_length: float | None
    thread_form: Literal["partial", "full variable pitch"]
    length: float
    head_diameter: float
    drill: float
    tap: float | None
    guide_wire: float | None
    countersink: float | None
    driver: str
    status: str
    source: str

    @property
    def solid(self) -> bool:
        """True when the screw has no cannulation."""
        return self.d_cannula == 0

    @property
    def d_bridge(self) -> float:
        """Diameter of the section that crosses the fracture: the shank, or the core where thread runs all along."""
        return self.d_core if self.d_shank is None else self.d_shank


@dataclass(frozen=True)
class CorticalScrew:
    """A screw for a plate. `thread` is the type of the thread standard, or "none of the standard"."""

    kit: str
    item: str
    material: Material
    d_major: float
    d_core: float
    pitch: float
    thread: str
    head: Literal["spherical", "locking"]
    head_diameter: float
    length: float
    drill: float
    tap: float | None
    driver: str
    status: str
    source: str


@dataclass(frozen=True)
class Plate:
    """A straight plate with evenly spaced holes; `screw_system` is the major diameter of the screws it takes."""

    kit: str
    item: str
    material: Material
    holes: int
    hole_spacing: float
    length: float
    width: float
    thickness: float
    hole_diameter: float
    screw_system: float
    locking: bool
    status: str
    source: str

    @property
    def edge(self) -> float:
        """Distance from the centre of the last hole to the end of the plate."""
        return (self.length - (self.holes - 1) * self.hole_spacing) / 2


@dataclass(frozen=True)
class Instrument:
    """An instrument; `size` is the diameter [mm] or, for a depth gauge, the reach [mm]; `form` a driver's recess."""

    kit: str
    item: str
    kind: Literal["guide wire", "drill", "tap", "driver", "countersink", "depth gauge", "drill guide"]
    size: float | None
    form: str
    status: str
    source: str


@dataclass(frozen=True)
class KitSet:
    """All the stock that was read."""

    kits: Mapping[str, Kit]
    materials: Mapping[str, Material]
    im_screws: tuple[ImScrew, ...]
    cortical_screws: tuple[CorticalScrew, ...]
    plates: tuple[Plate, ...]
    instruments: tuple[Instrument, ...]
    folders: tuple[Path, ...] = ()

    @property
    def items(self) -> Mapping[str, ImScrew | CorticalScrew | Plate | Instrument]:
        """Every item by its code."""
        every: tuple[ImScrew | CorticalScrew | Plate | Instrument, ...]
        every = (*self.im_screws, *self.cortical_screws, *self.plates, *self.instruments)
        return {thing.item: thing for thing in every}

    def instruments_for(self, screw: ImScrew | CorticalScrew) -> tuple[Instrument, ...]:
        """The instruments of this set whose size belongs to the screw, in the order of use."""
        found = []
        for kind, size in needs(screw):
            for tool in self.instruments:
                matches = tool.form == size if kind == "driver" else tool.size == size
                if tool.kind == kind and (matches or (kind == "depth gauge" and (tool.size or 0) >= screw.length)):
                    found.append(tool)
                    break
        return tuple(found)

    def missing_instruments(self, screw: ImScrew | CorticalScrew) -> tuple[tuple[str, float | str], ...]:
        """The (kind, size) pairs which the screw needs and the set does not hold."""
        held = {tool.kind for tool in self.instruments_for(screw)}
        return tuple((kind, size) for kind, size in needs(screw) if kind not in held)


def needs(screw: ImScrew | CorticalScrew) -> tuple[tuple[str, float | str], ...]:
    """What is used to place a screw, in the order of use, as (kind, size); a depth gauge by its reach."""
    wire = screw.guide_wire if isinstance(screw, ImScrew) else None
    sink = screw.countersink if isinstance(screw, ImScrew) else None
    wanted: list[tuple[str, float | str | None]] = [
        ("guide wire", wire),
        ("drill", screw.drill),
        ("countersink", sink),
        ("depth gauge", screw.length),
        ("tap", screw.tap),
        ("driver", screw.driver),
    ]
    return tuple((kind, size) for kind, size in wanted if size is not None)
