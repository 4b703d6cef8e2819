"""Which sizes to hold: the share of a population that a shelf serves, and the smallest sets that would do.

A population is a table of draws by sizes: True where the planning rules accept that size for that draw. A draw is
served when at least one held size is accepted. Exact set cover by integer programming (HiGHS); alike draws are counted
once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import block_array, csr_array, eye_array

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Share:
    """Served draws of all draws, with its sampling error; `attainable` is what all sizes together serve."""

    served: int
    draws: int
    attainable: int

    @property
    def share(self) -> float:
        """Served share, 0 to 1."""
        return self.served / self.draws

    @property
    def standard_error(self) -> float:
        """Binomial standard error of the share; it says nothing of how well the population is known."""
        return float(np.sqrt(self.share * (1 - self.share) / self.draws))


@dataclass(frozen=True)
class SizeSet:
    """A set of sizes (indices in rising order) and what it serves. `proved`: no set of as many serves more."""

    sizes: tuple[int, ...]
    share: Share
    proved: bool


def _checked(acceptable: npt.ArrayLike) -> Bools:
    table = np.asarray(acceptable)
    if table.dtype != np.bool_ or table.ndim != 2:
        raise ValueError(
            f"acceptable is {table.dtype} with {table.ndim} dimensions; give a boolean table, draws by sizes"
        )
    if not table.shape[0]:
        raise ValueError("acceptable has no draws; give at least one")
    return table


def coverage(acceptable: npt.ArrayLike, held: npt.ArrayLike) -> Share:
    """The share of draws served by the held sizes.

    Args:
        acceptable: boolean, shape (draws, sizes).
        held: boolean, shape (sizes,): what is on the shelf today.

    Raises:
        ValueError: for other shapes or types.
    """
    table = _checked(acceptable)
    have = np.asarray(held)
    if have.dtype != np.bool_ or have.shape != (table.shape[1],):
        raise ValueError(f"held has shape {have.shape} and type {have.dtype}; give {table.shape[1]} booleans")
    return Share(int(table[:, have].any(axis=1).sum()), len(table), int(table.any(axis=1).sum()))


class _Cover:
    """The alike draws of a table, counted, and the integer programmes over them."""

    def __init__(self, table: Bools, keep: Sequence[int]) -> None:
        self.draws, self.sizes = table.shape
        self.keep = tuple(keep)
        for size in self.keep:
            if not 0 <= size < self.sizes:
                raise ValueError(f"keep names size {size}; sizes run from 0 to {self.sizes - 1}")
        kinds, counts = np.unique(table[table.any(axis=1)], axis=0, return_counts=True)
        self.kinds, self.counts = kinds.reshape(-1, self.sizes), counts.astype(np.float64)
        self.attainable = int(counts.sum())

    def set_of(self, chosen: npt.NDArray[np.float64], proved: bool) -> SizeSet:
        sizes = np.flatnonzero(np.round(chosen))
        served = int(self.counts[self.kinds[:, sizes].any(axis=1)].sum())
        return SizeSet(tuple(int(s) for s in sizes), Share(served, self.draws, self.attainable), proved)

    def solve(self, least_served: float | None, most_sizes: int | None) -> SizeSet:
        """Fewest sizes that serve at least `least_served` draws, or most draws with at most `most_sizes` sizes."""
        n, k = self.sizes, len(self.counts)
        if not k:
            chosen = np.zeros(n)
            chosen[list(self.keep)] = 1.0
            return self.set_of(chosen, True)
        cover = block_array([[csr_array(self.kinds.astype(np.float64)), -eye_array(k)]])
        constraints = [LinearConstraint(cover, 0.0, np.inf)]
        served = np.concatenate([np.zeros(n), self.counts])
        held = np.concatenate([np.ones(n), np.zeros(k)])
        if least_served is not None:
            goal = held
            constraints.append(LinearConstraint(served, least_served - 0.5, np.inf))
        else:
            goal = -served
            constraints.append(LinearConstraint(held, 0.0, float(most_sizes or 0)))
        low = np.zeros(n + k)
        low[list(self.keep)] = 1.0
        # once the sizes are whole, the best share of each kind of draw is whole too
        whole = np.concatenate([np.ones(n, dtype=np.int64), np.zeros(k, dtype=np.int64)])
        answer = milp(
            goal,
            integrality=whole,
            bounds=Bounds(low, np.ones(n + k)),
            constraints=constraints,
            options={"mip_rel_gap": 0.0},
        )
        if answer.x is None:
            raise RuntimeError(f"the solver found no set of sizes: {answer.message}")
        return self.set_of(answer.x[:n], answer.status == 0)


def smallest_set(acceptable: npt.ArrayLike, share: float, *, keep: Sequence[int] = ()) -> SizeSet:
    """The fewest sizes that serve at least `share` of all draws; among such sets, one that serves the most draws.

    Args:
        acceptable: boolean, shape (draws, sizes).
        share: wanted share of all draws, above 0 and at most 1.
        keep: sizes that are held in any case.

    Raises:
        ValueError: when `share` is out of range, or more than all sizes together can serve.
    """
    cover = _Cover(_checked(acceptable), keep)
    if not 0 < share <= 1:
        raise ValueError(f"share is {share}; give a share above 0, at most 1")
    # a share such as 0.9 of 10 draws is 9 draws, also where 0.9 * 10 is not quite 9 in binary
    wanted = int(np.ceil(share * cover.draws - 1e-9))
    if wanted > cover.attainable:
        most = cover.attainable / cover.draws
        raise ValueError(f"share is {share}; all sizes together serve {most:.4f}: ask for less, or add sizes")
    fewest = cover.solve(float(wanted), None)
    best = cover.solve(None, len(fewest.sizes))
    return SizeSet(best.sizes, best.share, best.proved and fewest.proved)


def trade_off(
    acceptable: npt.ArrayLike, *, keep: Sequence[int] = (), progress: Callable[[int, int], None] | None = None
) -> tuple[SizeSet, ...]:
    """For each number of sizes the set that serves most draws, from the kept ones up to all that can be served.

    Raises:
        ValueError: for a table that is not boolean, draws by sizes.
    """
    cover = _Cover(_checked(acceptable), keep)
    out: list[SizeSet] = []
    for number in range(len(set(keep)), cover.sizes + 1):
        if progress is not None:
            progress(number, cover.sizes)
        out.append(cover.solve(None, number))
        if out[-1].share.served == cover.attainable:
            break
    return tuple(out)


def shares_asked(
    acceptable: npt.ArrayLike, held: npt.ArrayLike, first_choice: npt.ArrayLike, sizes: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    """The share of draws that each held size will serve, shape (sizes,).

    A draw asks for its first choice where that is held, else for the acceptable held size nearest to it: in the first
    column of `sizes`, then in the second; of equal ones the first. What none of them serves asks for nothing.

    Args:
        acceptable: boolean, shape (draws, sizes).
        held: boolean, shape (sizes,).
        first_choice: index of the best size of each draw, -1 for none, shape (draws,).
        sizes: two measures of each size (diameter, length) in mm, shape (sizes, 2).

    Raises:
        ValueError: for shapes that do not fit.
    """
    table = _checked(acceptable)
    have, best, measures = np.asarray(held), np.asarray(first_choice), np.asarray(sizes, dtype=np.float64)
    if have.shape != (table.shape[1],) or best.shape != (len(table),) or measures.shape != (table.shape[1], 2):
        raise ValueError(
            f"held {have.shape}, first_choice {best.shape} and sizes {measures.shape} do not fit {table.shape}; give "
            f"{table.shape[1]} booleans, {len(table)} indices and {table.shape[1]} pairs"
        )
    at = np.flatnonzero(have)
    asked = np.zeros(table.shape[1])
    some = np.flatnonzero((best >= 0) & table[:, at].any(axis=1))
    if not some.size:
        return asked
    away = np.abs(measures[None, at] - measures[best[some], None])
    # two millimetre scales read one after the other: no length outweighs a tenth of a millimetre of diameter
    far = np.where(table[some][:, at], away[..., 0] * 1e5 + away[..., 1], np.inf)
    return np.bincount(at[np.argmin(far, axis=1)], minlength=table.shape[1]) / len(table)


def demand_shares(
    acceptable: npt.ArrayLike, held: npt.ArrayLike, first_choice: npt.ArrayLike | None = None
) -> npt.NDArray[np.float64]:
    """The share of draws that will ask for each size, shape (sizes,).

    With `first_choice` (index of the best size of each draw, -1 for none) a draw asks for it when it is held, else for
    nothing; without it each size gets every draw that accepts it, an upper bound that counts a draw more than once.

    Raises:
        ValueError: for shapes that do not fit.
    """
    table = _checked(acceptable)
    have = np.asarray(held)
    if have.dtype != np.bool_ or have.shape != (table.shape[1],):
        raise ValueError(f"held has shape {have.shape} and type {have.dtype}; give {table.shape[1]} booleans")
    if first_choice is None:
        return np.asarray(table.mean(axis=0) * have, dtype=np.float64)
    best = np.asarray(first_choice)
    if best.shape != (len(table),) or best.min() < -1 or best.max() >= table.shape[1]:
        raise ValueError(
            f"first_choice has shape {best.shape}; give one size index (or -1) for each of {len(table)} draws"
        )
    asked = np.bincount(best[best >= 0], minlength=table.shape[1]) / len(table)
    return np.asarray(asked * have, dtype=np.float64)
