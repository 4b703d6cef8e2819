"""Units, and the only home of the units library: core units by dimension, and the way to them.

The library is loaded only when a unit other than the core unit itself turns up.
"""

from __future__ import annotations

import functools
import re
from importlib.resources import files
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint

# dimension -> (core unit, an example to show when a value is refused)
DIMENSIONS: dict[str, tuple[str, str]] = {
    "length": ("mm", "71 mm"),
    "area": ("mm**2", "12 mm**2"),
    "force": ("N", "60 N"),
    "moment": ("N*mm", "300 N*mm"),
    "torque": ("N*mm", "300 N*mm"),
    "stress": ("MPa", "100 MPa"),
    "stiffness": ("N/mm", "20 N/mm"),
    "mass": ("kg", "74 kg"),
    "angle": ("rad", "22 deg"),
    "concentration": ("ng/mL", "24 ng/mL"),
    "body mass index": ("kg/m**2", "21.5 kg/m**2"),
    "age": ("year", "14 year"),
    "time": ("day", "6 week"),
    "ratio": ("1", "0.5"),
}

# 25-hydroxyvitamin D (C27H44O2), from the standard atomic weights 12.011, 1.008, 15.999
CALCIDIOL_G_PER_MOL = 27 * 12.011 + 44 * 1.008 + 2 * 15.999

# what may reach the units library: names with a power, joined; its own parser fails in many ways on other text
_TERM = r"[A-Za-zµμ°%]+(?:(?:\*\*|\^)-?[1-9]|[23²³])?"
_UNITS = re.compile(rf"{_TERM}(?:(?:\s*[*/·]\s*|\s+){_TERM})*")


def convert(value: float, unit: str, to: str) -> float:
    """`value` in `unit` expressed in `to`.

    Raises ValueError when the dimensions differ or a unit is unknown.
    """
    if unit == to:
        return value
    import pint

    try:
        return float(registry().Quantity(value, _tidy(unit)).to(_tidy(to)).magnitude)
    except (pint.errors.PintError, AttributeError, ValueError, TypeError) as error:
        raise ValueError(f"cannot convert {value} {unit} to {to}: {error}") from None


@functools.lru_cache(maxsize=1024)
def factor_to_core(unit: str, dimension: str) -> float | str:
    """The factor from `unit` to the core unit of `dimension`, or what is wrong with the unit.

    No unit of units.txt has an offset, so a factor is all there is.
    """
    core = DIMENSIONS[dimension][0]
    if unit == core:
        return 1.0
    if not _UNITS.fullmatch(unit):
        return f"unit '{unit}' is not known"
    import pint

    try:
        given = registry().Quantity(1.0, _tidy(unit))
        # angles and per cents have no dimension, and must not pass for each other or hide in another unit
        names = {name for name, _ in given.unit_items()}
        if bool(names & {"radian", "degree"}) != (dimension == "angle") or (
            "percent" in names and dimension != "ratio"
        ):
            return f"'{unit}' is not a unit of {dimension}"
        if dimension == "concentration" and given.check("[substance]/[length]**3"):
            given = given * registry().Quantity(CALCIDIOL_G_PER_MOL, "g/mol")
        return float(given.to("" if core == "1" else core).magnitude)
    except pint.DimensionalityError:
        return f"'{unit}' is not a unit of {dimension}"
    except (pint.errors.PintError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        return f"unit '{unit}' is not known"


@functools.cache
def registry() -> pint.UnitRegistry[Any]:
    """The unit registry, built when first wanted."""
    import pint

    return pint.UnitRegistry(str(files("fixplan") / "units.txt"))


def _tidy(unit: str) -> str:
    text = (
        unit.strip()
        .replace("²", "**2")
        .replace("³", "**3")
        .replace("^", "**")
        .replace("·", "*")
        .replace("%", "percent")
    )
    return re.sub(r"(?<=[a-z])([23])\b", r"**\1", text) if "**" not in text else text
