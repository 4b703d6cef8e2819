"""The planner's rules in words: label, unit, source and what each verdict means. One table for plan, text and pages."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fixplan.digits import apart, given, told
from fixplan.plan.types import Finding
from fixplan.sizing.rules import VERDICTS, Held


@dataclass(frozen=True)
class Rule:
    """A rule in words. `threshold` names the planning threshold whose source it carries."""

    label: str
    unit: str
    threshold: str
    passes: str
    cautions: str
    fails: str


RULES: Mapping[str, Rule] = {
    "run_out": Rule(
        "thread beyond the fracture",
        "mm",
        "run_out_margin",
        "The first thread lies {value} mm from the proximal end, beyond the limit of {limit} mm.",
        "The first thread at {value} mm clears the fracture where it is assumed to be, but not at the far end of the "
        "assumed band ({limit} mm). Measure the level of the fracture.",
        "The first thread at {value} mm lies short of {limit} mm: thread would cross the fracture or its margin.",
    ),
    "purchase": Rule(
        "thread held beyond the fracture",
        "mm",
        "purchase_min",
        "The tip at {value} mm leaves the wanted purchase beyond the fracture (limit {limit} mm).",
        "The tip at {value} mm leaves the wanted purchase where the fracture is assumed to be, but not at the far end "
        "of the assumed band ({limit} mm). Measure the level of the fracture.",
        "The tip at {value} mm lies short of {limit} mm: too little thread beyond the fracture.",
    ),
    "across": Rule(
        "thread across the fracture",
        "mm",
        "thread_across",
        "The first thread at {value} mm lies beyond the fracture (limit {limit} mm).",
        "Thread crosses the fracture (first thread at {value} mm, fracture and margin to {limit} mm): compression "
        "comes from the change of pitch alone. In one bench test such screws gave less compression and more "
        "angulation than partial thread (ORR12); in another bending stiffness did not differ (SID06).",
        "",
    ),
    "tip": Rule(
        "tip in the straight segment",
        "mm",
        "tip_clearance",
        "The tip at {value} mm stays within the straight segment (limit {limit} mm).",
        "The tip at {value} mm lies beyond the cautious published end of the straight segment ({limit} mm with the "
        "clearance) and within the permissive one. The series disagree. Measure where the bow begins.",
        "The tip at {value} mm runs beyond the straight segment ({limit} mm with the clearance): a straight screw "
        "there forces the bow straight and opens the fracture on the side to which the canal turns.",
    ),
    "bite": Rule(
        "thread bites in the canal",
        "mm",
        "bite",
        "The major diameter {value} mm exceeds the corridor by the wanted bite (limit {limit} mm).",
        "The major diameter {value} mm bites less than wanted ({limit} mm), by no more than the doubt in the canal.",
        "The major diameter {value} mm is below {limit} mm: less than the wanted bite, beyond the doubt in the canal.",
    ),
    "diameter_min": Rule(
        "least diameter in the published series",
        "mm",
        "diameter_caution",
        "The major diameter {value} mm is not below {limit} mm.",
        "The major diameter {value} mm is below the {limit} mm that one series found the narrowest to hold; other "
        "series use it.",
        "The major diameter {value} mm is below {limit} mm, the least that the published series support.",
    ),
    "wall": Rule(
        "wall left after drilling and tapping",
        "mm",
        "wall_min",
        "The major diameter {value} mm leaves the least wall all round (limit {limit} mm).",
        "The major diameter {value} mm leaves the least wall over its own thread, but is above the cautious limit of "
        "{limit} mm: over the whole stretch that thread may occupy, or if an assumed outer width is too large.",
        "The major diameter {value} mm is above {limit} mm, the widest that leaves the least wall all round.",
    ),
    "ream": Rule(
        "canal widened by drilling and tapping",
        "mm",
        "ream_max",
        "The canal is widened by {value} mm (limit {limit} mm).",
        "",
        "The canal would be widened by {value} mm, more than {limit} mm.",
    ),
    "core": Rule(
        "core goes into the drilled hole",
        "mm",
        "core_in_hole",
        "The core of {value} mm goes into the drilled hole of {limit} mm.",
        "",
        "The core of {value} mm does not go into the drilled hole of {limit} mm.",
    ),
    "known": Rule(
        "widths known over the thread",
        "1",
        "stations",
        "Canal and outer widths are known over the whole thread.",
        "",
        "The thread runs where canal and outer widths are not known: beyond the bone, or beyond the stations measured.",
    ),
    "room": Rule(
        "plate within the free bone",
        "mm",
        "edge_distance_min",
        "Both ends of the plate lie within the free bone, {value} mm to spare.",
        "",
        "The plate runs {value} mm past the free bone.",
    ),
    "screws_per_side": Rule(
        "screws on each side",
        "1",
        "screws_per_side_min",
        "{value} screws on the poorer side (at least {limit}).",
        "",
        "{value} screws on the poorer side; at least {limit} are wanted.",
    ),
    "cortices_per_side": Rule(
        "cortices on each side",
        "1",
        "cortices_per_side_min",
        "{value} cortices on the poorer side (at least {limit}), both cortices taken by each screw.",
        "",
        "{value} cortices on the poorer side; at least {limit} are wanted.",
    ),
    "span_ratio": Rule(
        "plate span ratio",
        "1",
        "span_ratio",
        "The plate is {value} times as long as the fracture (at least {limit}).",
        "",
        "The plate is {value} times as long as the fracture; at least {limit} is published for this pattern.",
    ),
    "screw_density": Rule(
        "plate-screw density",
        "1",
        "screw_density_max",
        "{value} of the holes are filled (at most {limit}).",
        "{value} of the holes are filled, more than {limit}. The rule was written for long plates on long bones; a "
        "metatarsal seldom has room for it.",
        "",
    ),
    "standoff": Rule(
        "distance from plate to bone",
        "mm",
        "standoff_max",
        "The plate lies {value} mm off the bone (at most {limit} mm).",
        "",
        "The plate would lie {value} mm off the bone, more than {limit} mm.",
    ),
    "plate_width": Rule(
        "plate width on the bone",
        "mm",
        "plate_width_fraction_max",
        "The plate is {value} mm wide on bone that allows {limit} mm.",
        "",
        "The plate is {value} mm wide, wider than the {limit} mm that the bone under it allows.",
    ),
}


def number(value: float | None, unit: str, digits: int = 1) -> str:
    """A number for a sentence: `digits` decimals for mm, at most two for ratios; all digits of one that was given."""
    if value is None or not np.isfinite(value):
        return "not known"
    if unit == "mm":
        return told(value, digits)
    return f"{value:.10g}" if given(value) else f"{value:.2f}".rstrip("0").rstrip(".")


def finding(rule: str, held: Held, index: int | tuple[int, ...], source: str) -> Finding | None:
    """The finding of one rule on one size; None where the rule does not apply (its value is NaN)."""
    value, limit, code = (np.asarray(x)[index] for x in (held.value, held.limit, held.code))
    if np.isnan(value):
        return None
    words = RULES[rule]
    template = (words.passes, words.cautions, words.fails)[int(code)]
    shown = abs(float(value)) if rule == "room" else float(value)
    # as many digits as tell value and limit apart: "5.5 is below 5.5" explains nothing, nor does "0.0 mm past"
    digits = 1 if int(code) == 0 else apart(shown, float(limit))
    why = template.format(value=number(shown, words.unit, digits), limit=number(float(limit), words.unit, digits))
    return Finding(
        rule=rule,
        label=words.label,
        verdict=VERDICTS[int(code)],
        value=float(value) if np.isfinite(value) else None,
        limit=float(limit) if np.isfinite(limit) else None,
        unit=words.unit,
        why=why,
        source=source,
    )
