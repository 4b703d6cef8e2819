"""The cautions that stand on every output, beside the sizes."""

from __future__ import annotations

CAUTIONS: tuple[str, ...] = (
    "For planning support and teaching only. Not a medical device, and not a treatment recommendation.",
    "The operating surgeon decides, with this patient's images, the implant maker's instructions for use "
    "and local policy, within licensed practice.",
    "Sizes here are generic. Check every size and instrument against the kit in the room before it is used.",
    "The mechanics are a bracket from idealised beams. They do not predict what will happen in this patient.",
    "Assumed values come from published groups, not from this patient. Measure them if they matter.",
)
"""Full form, one or two sentences per item, in printing order."""

CAUTION_SHORT = (
    "Planning support and teaching only; not a medical device, not a treatment recommendation. "
    "The surgeon decides, with the patient's images, the implant's instructions for use and local policy. "
    "Check sizes against the kit in the room. Mechanics: a bracket from idealised beams, not a prediction."
)
"""Short form for a terminal line, a CSV row or the foot of a page."""
