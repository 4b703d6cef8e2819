"""Lengths and ratios of a bridge plate as closed forms: what the rules hold is what the worked sheet prints; mm."""

from __future__ import annotations

from typing import Any

from fixplan.formula import formula

_PLATE = ("l_p", "mm", "length of the plate")
_FRACTURE = ("l_f", "mm", "axial extent of the fracture")


@formula(
    symbol="r_s",
    unit="1",
    text="plate span ratio: length of the plate over that of the fracture",
    args={"length": _PLATE, "fracture": _FRACTURE},
    source="GAU03",
    where="definition of the plate span ratio",
)
def span_ratio(length: Any, fracture: Any) -> Any:
    """r_s = l_p / l_f [-]."""
    return length / fracture


@formula(
    symbol="rho_s",
    unit="1",
    text="plate-screw density: filled holes over all holes",
    args={"filled": ("n_f", "1", "holes filled"), "holes": ("n", "1", "holes of the plate")},
    source="GAU03",
    where="definition of the plate-screw density",
)
def screw_density(filled: Any, holes: Any) -> Any:
    """rho_s = n_f / n [-]."""
    return filled / holes


@formula(
    symbol="l_min",
    unit="mm",
    text="shortest plate by the span ratio",
    args={"ratio": ("r_min", "1", "least plate span ratio"), "fracture": _FRACTURE},
    source="GAU03",
    where="definition of the plate span ratio, solved for the plate",
)
def least_by_ratio(ratio: Any, fracture: Any) -> Any:
    """l_min = r_min l_f [mm]."""
    return ratio * fracture


@formula(
    symbol="l_max",
    unit="mm",
    text="longest plate in the free bone",
    args={
        "proximal": ("b_p", "mm", "free bone proximal of what is bridged"),
        "bridged": ("b_0", "mm", "what no screw may sit in: fracture, or joint and fracture"),
        "distal": ("b_d", "mm", "free bone distal of what is bridged"),
    },
    source="GEOM",
    where="lengths along one axis",
)
def longest_plate(proximal: Any, bridged: Any, distal: Any) -> Any:
    """l_max = b_p + b_0 + b_d [mm]."""
    return proximal + bridged + distal


@formula(
    symbol="l_w",
    unit="mm",
    text="working length: between the innermost screws",
    args={
        "distal": ("x_d", "mm", "innermost distal screw from the middle of what is bridged, distal positive"),
        "proximal": ("x_p", "mm", "innermost proximal screw, the same way"),
    },
    source="GEOM",
    where="lengths along one axis",
)
def working_length(distal: Any, proximal: Any) -> Any:
    """l_w = x_d - x_p [mm]."""
    return distal - proximal


@formula(
    symbol="w_max",
    unit="mm",
    text="widest plate on this bone",
    args={
        "fraction": ("f_w", "1", "largest share of the bone's width"),
        "surface": ("w_b", "mm", "width of the bone under the plate"),
    },
    source="GEOM",
    where="share of a width",
)
def widest_plate(fraction: Any, surface: Any) -> Any:
    """w_max = f_w w_b [mm]."""
    return fraction * surface
