"""Generic kits: screws, plates, materials and instruments, read from implant_specs or a folder of one's own."""

from fixplan.kits.model import CorticalScrew, ImScrew, Instrument, Kit, KitSet, Material, Plate, needs
from fixplan.kits.read import KitError, load_kits, select, validate

__all__ = [
    "CorticalScrew",
    "ImScrew",
    "Instrument",
    "Kit",
    "KitError",
    "KitSet",
    "Material",
    "Plate",
    "load_kits",
    "needs",
    "select",
    "validate",
]
