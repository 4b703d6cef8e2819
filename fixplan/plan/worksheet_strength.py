"""The worked lines of what the chosen screw bears in torsion and at pull-out."""

from __future__ import annotations

import numpy as np

from fixplan.kits import ImScrew
from fixplan.mechanics import purchase, torsion
from fixplan.plan.frame import Frame, Reader
from fixplan.plan.life import torsion_part
from fixplan.plan.purchase_view import purchase_of
from fixplan.plan.types import ScrewCandidate
from fixplan.plan.worksheet_keys import value
from fixplan.plan.worksheet_line import Sheet
from fixplan.sizing import limits as forms


def strength_lines(sheet: Sheet, frame: Frame, read: Reader, screw: ImScrew, c: ScrewCandidate) -> None:
    """Torque at first yield and at full plasticity of the core; thread engaged, pull-out, thread needed."""
    sheet.head("Screw: torsion of the core, and purchase beyond the fracture", aside=True)
    metal, found = screw.material, torsion_part(screw)
    rows = (
        ("yield", "first yield", torsion.yield_torque, metal.yield_MPa, found.yield_torque_N_mm),
        ("plastic", "full plasticity", torsion.plastic_torque, metal.ultimate_MPa, found.plastic_torque_N_mm),
    )
    for name, words, form, strength, torque in rows:
        source = metal.sources.get(f"{'yield' if name == 'yield' else 'ultimate'}_MPa", "")
        title = f"Shear strength at {words}"
        shear = sheet.add(
            f"shear-{name}", title, torsion.shear_strength, {"strength": strength}, f"{metal.name}.", also=source
        )
        core = {"core": screw.d_core, "cannula": screw.d_cannula, "shear": shear}
        shows = {f"strength:{name}_torque_N_mm": torque}
        sheet.add(f"torque-{name}", f"Torque at {words} of the core", form, core, shows=shows)
    held = purchase_of(frame, read, screw, c)
    face = value(frame.site.fracture) + value(frame.site.extent) / 2
    start = max(c.first_thread_mm, face)
    if held.engaged_mm <= 0:
        return
    engaged = sheet.add(
        "engaged",
        "Thread beyond the fracture",
        forms.engaged_thread,
        {"tip": c.tip_mm, "start": start},
        "The thread counts from the edge of the fracture where it starts before it." if start == face else "",
        {"strength:engaged_mm": held.engaged_mm},
    )
    thread = {"major": screw.d_major, "core": screw.d_core, "pitch": screw.pitch}
    band = purchase.cortical_band()
    for k, word in ((0, "low"), (-1, "high")):
        source = purchase.CORTICAL_SHEAR[k].source
        numbers = {"shear_strength": float(band[k]), "length": engaged, **thread}
        shows = {f"strength:pullout_{word}": held.pullout_N[k]}
        if not k and held.wanted_N is not None:
            shows["finding:pull-out against the compression wanted:value"] = held.pullout_N[0]
        note = "With the whole depth of the thread in cortex: an upper bound."
        sheet.add(
            f"pullout-{word}", f"Predicted pull-out, {word} end", purchase.pullout_force, numbers, note, shows, source
        )
    if held.wanted_N is not None and held.needed_mm is not None and np.isfinite(held.needed_mm):
        numbers = {"force": held.wanted_N, "shear_strength": float(band[0]), **thread}
        shows = {"strength:needed_mm": held.needed_mm}
        sheet.add("needed", "Thread needed for the compression wanted", purchase.length_needed, numbers, shows=shows)
