"""The case file: reading, units, and refusal with a reason."""

from fixplan.case.fields import Field, fields, limits
from fixplan.case.model import (
    Bone,
    Case,
    Energy,
    Fracture,
    Imaging,
    Isthmus,
    Level,
    Patient,
    PlanWishes,
    PlateRoom,
    Previous,
    Zone,
)
from fixplan.case.read import CaseError, parse_case, read_case
from fixplan.problems import Problem

__all__ = [
    "Bone",
    "Case",
    "CaseError",
    "Energy",
    "Field",
    "Fracture",
    "Imaging",
    "Isthmus",
    "Level",
    "Patient",
    "PlanWishes",
    "PlateRoom",
    "Previous",
    "Problem",
    "Zone",
    "fields",
    "limits",
    "parse_case",
    "read_case",
]
