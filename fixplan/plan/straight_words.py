"""The straight corridor in sentences: what fits, where it enters and points, what it touches, what is left."""

from __future__ import annotations

from fixplan.plan.types import CorridorAxis, CorridorContact, ScrewCandidate, WallLeft


def sides(x: float, y: float, unit: str, least: float) -> str:
    """Two signed numbers as words: '0.3 mm lateral and 0.2 mm plantar'; '' where both are below `least`."""
    words = []
    for value, positive, negative in ((x, "lateral", "medial"), (y, "dorsal", "plantar")):
        if abs(value) >= least:
            words.append(f"{abs(value):.1f}{unit} {positive if value > 0 else negative}")
    return " and ".join(words)


def reading_of(
    start: float,
    tip: float,
    wall: float,
    axis: CorridorAxis,
    contacts: tuple[CorridorContact, ...],
    walls: tuple[WallLeft, ...],
    chosen: ScrewCandidate | None,
) -> tuple[str, ...]:
    """The corridor in sentences, the widest statement first."""
    from_to = f"From {start:.1f} to {tip:.1f} mm"
    if axis.canal_mm > 0:
        first = f"{from_to} a straight cylinder of {axis.canal_mm:.1f} mm fits the canal without cutting"
    else:
        first = f"{from_to} no straight line stays in the canal: it leaves it by {-axis.canal_mm / 2:.1f} mm"
    rows = [f"{first}; holes up to {axis.ream_mm:.1f} mm leave the least wall of {wall:.1f} mm."]
    place = sides(axis.entry_ap_mm, axis.entry_lateral_mm, " mm", 0.05)
    turn = sides(axis.turn_ap_deg, axis.turn_lateral_deg, "°", 0.05)
    rows.append(
        "It wants to enter "
        + (f"{place} of the middle of the canal" if place else "in the middle of the canal")
        + f" at {start:.1f} mm, and to point "
        + (f"{turn} of" if turn else "along")
        + " the axis of the stations."
    )
    if contacts:
        touched = ", ".join(
            f"the {c.wall} wall at {c.at_mm:.1f} mm" for c in sorted(contacts, key=lambda c: -c.share)[:3]
        )
        rows.append(f"It touches {touched}.")
    if walls and chosen is not None:
        thin = min(walls, key=lambda w: w.least_mm)
        text = f"About this axis the thread of {chosen.diameter_mm:.1f} mm leaves a wall of {thin.least_mm:.1f} mm"
        rows.append(text + f" at the thinnest, at {thin.s_mm:.1f} mm from the proximal end.")
    return tuple(rows)


def from_entry(wanted: CorridorAxis, measured: CorridorAxis, between: float) -> tuple[str, ...]:
    """The measured entry against the one wanted, `between` degrees apart in direction."""
    loss = wanted.canal_mm - measured.canal_mm
    off = sides(
        measured.entry_ap_mm - wanted.entry_ap_mm, measured.entry_lateral_mm - wanted.entry_lateral_mm, " mm", 0.05
    )
    where = f"lies {off} of the entry wanted" if off else "is the entry wanted"
    turn = sides(measured.turn_ap_deg, measured.turn_lateral_deg, "°", 0.05)
    canal = f"{measured.canal_mm:.1f} mm" if measured.canal_mm > 0 else "none"
    return (
        f"The entry measured {where}. From there the best direction points "
        + (f"{turn} of" if turn else "along")
        + f" the axis of the stations, {between:.1f}° from the direction wanted; the corridor in the canal is then "
        + canal
        + (f", {loss:.1f} mm less" if loss >= 0.05 else "")
        + f", and the reaming limit {measured.ream_mm:.1f} mm.",
    )
