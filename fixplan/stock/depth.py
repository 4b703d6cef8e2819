"""How many pieces of a size to keep: Poisson demand during resupply, newsvendor style.

Cases arrive at random at a steady rate, so the demand for a size while an order is on its way is Poisson with mean
m = rate times resupply time. The depth is the smallest stock that meets all of that demand with at least the wanted
service level. `worked_service` writes the sum out as it is added up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from fixplan.formula import formula


@formula(
    symbol="m",
    unit="1",
    text="mean demand during resupply",
    args={"rate": ("r", "1/day", "pieces wanted per day"), "time": ("t", "day", "resupply time")},
    source="STEV14",
    where="ch. 12",
    valid="r >= 0, t >= 0; cases that arrive independently of each other",
)
def demand_mean(rate: Any, time: Any) -> Any:
    """Mean demand during resupply, m = r t (numbers or arrays).

    Source: STEV14, chapter 12 (demand during lead time).
    """
    return rate * time


@formula(
    symbol="SL",
    unit="1",
    text="service level at which one more piece no longer pays",
    args={"short": ("C_s", "1", "cost of being one piece short"), "excess": ("C_e", "1", "cost of one piece too many")},
    source="STEV14",
    where="ch. 12, example 15",
    valid="C_s > 0, C_e >= 0, in the same unit",
)
def newsvendor_level(short: Any, excess: Any) -> Any:
    """Newsvendor service level, C_s / (C_s + C_e) (numbers or arrays).

    Source: STEV14, chapter 12, example 15.
    """
    return short / (short + excess)


def poisson_chance(mean: Any, stock: Any) -> Any:
    """Poisson probability exp(-m) m^s / s! (numbers or arrays).

    Source: STEV14, appendix B, table C.
    """
    from scipy.special import gammaln, xlogy

    return np.exp(xlogy(stock, mean) - mean - gammaln(np.asarray(stock, dtype=float) + 1.0))


def poisson_service(mean: Any, stock: Any) -> Any:
    """Poisson distribution function, the sum of exp(-m) m^k / k! for k from 0 to s (numbers or arrays).

    Source: STEV14, appendix B, table C.
    """
    from scipy.special import pdtr

    return pdtr(stock, mean)


def expected_short(mean: Any, stock: Any) -> Any:
    """Pieces short on average in one resupply, (m - s)(1 - F(s)) + m p(s) (numbers or arrays).

    Source: the loss function of the Poisson distribution, e.g. tabled beside p and F in lecture notes on the
    order-up-to model (see tests/published/test_poisson_stock.py).
    """
    return (mean - stock) * (1.0 - poisson_service(mean, stock)) + mean * poisson_chance(mean, stock)


def worked_service(mean: float, stock: int) -> str:
    """The distribution function with its numbers: F(2) = e^-m (1 + m + m²/2!) with m = 1.25 = 0.868."""
    terms = ["1", "m", *(f"m^{k}/{k}!" for k in range(2, stock + 1))][: stock + 1]
    shown = " + ".join(terms if len(terms) <= 5 else [*terms[:3], "…", terms[-1]])
    value = float(poisson_service(mean, stock))
    return f"F({stock}) = e^-m ({shown}) with m = {mean:.3g} = {value:.3f}"


@dataclass(frozen=True)
class Depth:
    """Pieces to keep of each size, arrays over sizes.

    `mean` demand during resupply, `formula` the smallest stock that reaches `wanted`, `stock` what to keep: that, or
    more where a least number was asked for; `service` what it reaches, `short` the pieces short on average per
    resupply. Sizes that nobody needs have a depth of 0.
    """

    mean: npt.NDArray[np.float64]
    stock: npt.NDArray[np.int64]
    service: npt.NDArray[np.float64]
    short: npt.NDArray[np.float64]
    wanted: float
    formula: npt.NDArray[np.int64]

    def rows(self) -> list[DepthRow]:
        """The sizes of which a piece is kept, in the order of the sizes."""
        columns = (self.mean, self.stock, self.formula, self.service, self.short)
        values = zip(*(c.tolist() for c in columns))
        return [DepthRow(i, *v) for i, v in enumerate(values) if v[1] > 0]


@dataclass(frozen=True)
class DepthRow:
    """One size, by its place among the sizes: mean demand, pieces to keep, by the formula alone, and what they meet."""

    at: int
    mean: float
    keep: int
    formula: int
    service: float
    short: float

    @property
    def remark(self) -> str:
        """Why a piece is kept that the formula does not ask for."""
        return "" if self.formula else "none needed for the wanted chance; one is held as a size of the set"


def stock_depth(rate_per_day: Any, resupply_days: float, service_level: float, least: Any = 0) -> Depth:
    """The smallest whole stock s with F(s; m) >= service level, for each rate.

    Args:
        rate_per_day: pieces of each size wanted per day, array of any shape.
        resupply_days: days from order to shelf, of the same kind as those of the rate.
        service_level: wanted chance of meeting all demand in one resupply, above 0 and below 1.
        least: pieces of each size to keep in any case, 0 or more, array of that shape.

    Raises:
        ValueError: for a negative or infinite rate or time, or a level outside (0, 1).
    """
    rate = np.atleast_1d(np.asarray(rate_per_day, dtype=np.float64))
    if not np.all(np.isfinite(rate) & (rate >= 0)):
        raise ValueError(f"rate_per_day holds {rate[~(np.isfinite(rate) & (rate >= 0))][0]}; give 0 or more per day")
    if not (np.isfinite(resupply_days) and resupply_days >= 0):
        raise ValueError(f"resupply_days is {resupply_days}; give 0 or more days")
    if not 0 < service_level < 1:
        raise ValueError(f"service_level is {service_level}; give a share above 0 and below 1, for instance 0.95")
    from scipy.stats import poisson

    mean = np.asarray(demand_mean(rate, resupply_days), dtype=np.float64)
    alone = np.zeros(mean.shape, dtype=np.int64)
    some = mean > 0
    alone[some] = np.asarray(poisson.ppf(service_level, mean[some]), dtype=np.int64)
    stock = np.maximum(alone, np.asarray(least, dtype=np.int64))
    return Depth(
        mean=mean,
        stock=stock,
        service=np.asarray(poisson_service(mean, stock), dtype=np.float64),
        short=np.asarray(expected_short(mean, stock), dtype=np.float64),
        wanted=service_level,
        formula=alone,
    )
