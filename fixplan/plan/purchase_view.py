"""Purchase of the chosen screw: predicted pull-out beyond the fracture against the compression wanted.

The prediction takes the whole depth of the thread in cortex. An intramedullary thread bites only as deep as it exceeds
the canal, and the density of the cancellous bone round it is not known, so the number is an upper bound.
"""

from __future__ import annotations

import numpy as np

from fixplan.kits import ImScrew
from fixplan.mechanics.purchase import STATEMENT, cortical_band, length_needed, purchase
from fixplan.plan.frame import Frame, Reader
from fixplan.plan.strength_types import PurchasePart
from fixplan.plan.types import CAUTION, FAIL, PASS, Finding, ScrewCandidate
from fixplan.sizing.limits import engaged_thread

SOURCE = "CHAP96, TURNER01, RB75, LAG23"
MEASURED = (
    "Compression measured with 3.5 mm lag screws in hard artificial bone was 107 to 113 N (medians, LAG23), far below "
    "such bounds: what a screw compresses is not what it takes to pull it out."
)
RULE = "purchase_wanted"


def purchase_of(frame: Frame, read: Reader, thing: ImScrew, held: ScrewCandidate) -> PurchasePart:
    """Purchase of a screw in a single (not drawn) frame, against the compression that the case wants, where it does."""
    face = float(np.asarray(frame.site.fracture) + np.asarray(frame.site.extent) / 2)
    wanted = float(read.raw("compression")) if read.has("compression") else None
    return purchase_part(thing, held, face, wanted)


def purchase_part(screw: ImScrew, chosen: ScrewCandidate, face: float, wanted: float | None) -> PurchasePart:
    """Purchase of a screw. `face`: distal edge of the fracture [mm]; `wanted`: compression [N], None: not given."""
    engaged = float(engaged_thread(chosen.tip_mm, max(chosen.first_thread_mm, face)))
    if engaged <= 0:
        verdict = FAIL if wanted else CAUTION
        text = "No thread lies beyond the fracture."
        return PurchasePart(0.0, (), wanted, None, None, screw.pitch, verdict, SOURCE, text)
    thread = (screw.d_major, screw.d_core, screw.pitch)
    found = purchase(*thread, 0.0 if wanted is None else wanted, in_cortex=engaged)
    band = tuple(float(v) for v in found.pullout)
    share = None
    if chosen.corridor_mm is not None:
        # a corridor thinner than the core leaves the whole depth in bone, a corridor wider than the thread none
        share = float(np.interp(screw.d_major - chosen.corridor_mm, [0.0, screw.d_major - screw.d_core], [0.0, 1.0]))
    if wanted is None:
        text = f"No compression wanted was given (fracture.compression), so nothing is judged. {STATEMENT} {MEASURED}"
        return PurchasePart(engaged, band, None, None, share, screw.pitch, CAUTION, SOURCE, text)
    needed = float(length_needed(wanted, float(cortical_band()[0]), *thread))
    if wanted > band[-1]:
        verdict = FAIL
        words = "The compression wanted is above the pull-out predicted even with the whole depth in cortex."
    elif share is not None and share >= 1 and wanted <= band[0]:
        verdict = PASS
        words = "The whole depth of the thread lies in bone; the low end of the pull-out is above what is wanted."
    else:
        verdict = CAUTION
        words = (
            "Not settled: the pull-out is an upper bound, since the thread does not bite with its whole depth, or its "
            "low end is below what is wanted."
        )
    return PurchasePart(
        engaged, band, wanted, needed, share, screw.pitch, verdict, SOURCE, f"{words} {STATEMENT} {MEASURED}"
    )


def purchase_finding(part: PurchasePart) -> Finding | None:
    """The rule as the plan lists it; None where no compression was wanted."""
    if part.wanted_N is None:
        return None
    value = part.pullout_N[0] if part.pullout_N else 0.0
    return Finding(
        RULE, "pull-out against the compression wanted", part.verdict, value, part.wanted_N, "N", part.text, part.source
    )
