"""First choice among stock sizes: named criteria in a fixed order, for one plan or for many draws at once.

Criteria, each breaking the ties of the one before:
1. verdict      the mildest verdict over all rules
2. lag          thread wholly beyond the fracture before thread across it: in one bench test it gave more initial and
                retained compression and less angulation (ORR12); bending stiffness did not differ in another (SID06)
3. diameter     the larger major diameter: the widest contact with dense cortex in both planes (SCO15)
4. margin       the larger of the sizes' least length margins (project default)
5. order        a fixed order of the stock: larger bending yield moment of the shank first, then item code
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from fixplan.sizing.rules import FAIL, Codes, Floats

# Margins closer than this are a tie: a tenth of a millimetre is finer than any reading of a film.
MARGIN_TIE_MM = 0.1

CRITERIA = (
    ("verdict", "the mildest verdict over all rules", "PROJECT"),
    ("lag", "thread wholly beyond the fracture before thread across it, for compression", "ORR12"),
    (
        "diameter",
        "the larger diameter, for contact with dense cortex; a bench test saw no gain and warns",
        "SCO15, SHA01",
    ),
    ("margin", f"the length that sits best between its two limits; {MARGIN_TIE_MM:g} mm counts as a tie", "PROJECT"),
    ("order", "the larger bending yield moment of the shank, then the item code", "PROJECT"),
)


def first_choice(
    codes: Codes,
    lag: npt.NDArray[np.bool_],
    diameter: Floats,
    margin: Floats,
    order: npt.NDArray[np.intp],
) -> npt.NDArray[np.intp]:
    """Index of the first choice along the last axis, -1 where every size fails.

    codes, margin: (..., m); lag, diameter, order: (m,), order being 0 for the size preferred in a tie.
    """
    codes, margin = np.broadcast_arrays(codes, np.nan_to_num(margin, nan=-np.inf))
    best = np.min(codes, axis=-1, keepdims=True)
    alive = codes == best
    for value, tie in ((lag.astype(float), 0.0), (diameter, 0.0), (margin, MARGIN_TIE_MM)):
        held = np.where(alive, np.broadcast_to(value, codes.shape), -np.inf)
        alive &= held >= np.max(held, axis=-1, keepdims=True) - tie - 1e-9
    rank = np.where(alive, np.broadcast_to(order, codes.shape), np.iinfo(np.intp).max)
    return np.where(best[..., 0] >= FAIL, -1, np.argmin(rank, axis=-1))


def neighbour(
    codes: Codes, margin: Floats, size: Floats, same: npt.NDArray[np.bool_], chosen: int, step: int
) -> int | None:
    """The next size up (step 1) or down (step -1) from the chosen one, among `same`; None where stock ends.

    All arrays are (m,). Of the items of that next size, the one with the mildest verdict and the best margin.
    """
    beyond = same & ((size - size[chosen]) * step > 1e-9)
    if not beyond.any():
        return None
    nearest = np.min(np.abs(size[beyond] - size[chosen]))
    there = np.flatnonzero(beyond & (np.abs(np.abs(size - size[chosen]) - nearest) < 1e-9))
    key = [(int(codes[k]), -float(np.nan_to_num(margin[k], nan=-np.inf)), int(k)) for k in there]
    return min(key)[2]
