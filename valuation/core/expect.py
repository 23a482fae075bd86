"""Exact expectations: what a plan can be expected to cost, to be worth and to give, without a single draw.

Given how the piano has lived, its parts are independent. Whatever multiplies over the parts then has an expectation
that multiplies too: the value after the work, the playing at a moment in time, and also each shared operation:
it is charged unless *no* part needs it, and the chance of that is a product over the parts. So every expected
net is a sum of few products, summed over the three exposures.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from valuation.core.condition import Condition
from valuation.core.cost import Prices
from valuation.core.market import Market
from valuation.core.stakes import Stakes
from valuation.core.work import FAILED, Workshop

LN2 = float(np.log(2))


@dataclass(frozen=True, eq=False)
class OperationTerms:
    """For each operation that a treatment can bring: when it is *not* charged, N entries over T terms.

    An operation is charged with chance ``P(no coverer) - P(no coverer and not needed)``. Operations that always come
    together share a term.

    Attributes
    ----------
    operation, term : ndarray of int, shape (N,)
    sign : ndarray, shape (N,)
        1 for "no coverer", -1 for "no coverer and not needed".
    absent : ndarray, shape (C, T, 4)
        1 where a choice, in a true state, leaves the term standing.
    constant : ndarray of int
        Operations without coverers, for which the first term is simply 1.
    """

    operation: np.ndarray
    term: np.ndarray
    sign: np.ndarray
    absent: np.ndarray
    constant: np.ndarray


@lru_cache(maxsize=32)
def operation_terms(shop: Workshop) -> OperationTerms:
    """Return the terms for a workshop's operations; made once and kept."""
    brought = shop.demanded.any(axis=(0, 1))
    covered = np.matmul(shop.demanded.astype(np.float32), shop.coverers.T.astype(np.float32)) > 0
    coverable = (shop.coverers & brought).any(axis=1) & brought
    first, second = np.flatnonzero(coverable), np.flatnonzero(brought)
    each = np.concatenate([~covered[:, :, first], (~covered & ~shop.demanded)[:, :, second]], axis=2)
    absent, term = np.unique(each.transpose(0, 2, 1), axis=1, return_inverse=True)
    return OperationTerms(
        operation=np.concatenate([first, second]),
        term=term,
        sign=np.concatenate([np.ones(len(first)), -np.ones(len(second))]),
        absent=absent.astype(float),
        constant=np.flatnonzero(brought & ~coverable),
    )


@dataclass(frozen=True, eq=False)
class Payoff:
    """A straight-line reading of the terms: ``constant + coefficients . terms``."""

    coefficients: np.ndarray
    constant: float

    def __add__(self, other: Payoff) -> Payoff:
        """Add two readings."""
        return Payoff(self.coefficients + other.coefficients, self.constant + other.constant)

    def scaled(self, factor: float) -> Payoff:
        """Return the reading times a factor."""
        return Payoff(self.coefficients * factor, self.constant * factor)

    def of(self, means: np.ndarray) -> np.ndarray:
        """Read the means of the terms, shape (..., T) to (...)."""
        return self.constant + means @ self.coefficients


@dataclass(frozen=True, eq=False)
class Expectations:
    """The terms of one piano, ready to be multiplied. C choices, T terms, 3 exposures.

    Attributes
    ----------
    outcome : ndarray, shape (C, T, 4)
        Each term's factor by choice and true state.
    factor : ndarray, shape (C, T, 3)
        Its expectation, given the exposure.
    value_term : int
    service_terms : slice
        Playing at each of the points in time.
    """

    shop: Workshop
    condition: Condition
    prices: Prices
    market: Market
    stakes: Stakes
    terms: OperationTerms
    outcome: np.ndarray
    factor: np.ndarray
    value_term: int
    service_terms: slice

    def rest(self, plans: np.ndarray) -> np.ndarray:
        """Return, for each part of each plan, the product over all *other* parts, shape (P, K, T, 3)."""
        chosen = self.factor[plans.T]
        rest = np.empty_like(chosen)
        rest[0] = 1
        for p in range(1, len(chosen)):
            np.multiply(rest[p - 1], chosen[p - 1], out=rest[p])
        after = chosen[-1].copy()
        for p in range(len(chosen) - 2, -1, -1):
            rest[p] *= after
            after *= chosen[p]
        return rest

    def means(self, plans: np.ndarray) -> np.ndarray:
        """Return the expectation of each term under each plan, shape (K, T)."""
        return self.factor[plans].prod(axis=1) @ self.condition.exposure

    def price(self, base: np.ndarray, *, labour_only: bool = False) -> Payoff:
        """Return the expected price of a plan of work with tax, as a reading of the terms.

        Parameters
        ----------
        base : ndarray of bool, shape (O,)
            Operations done whatever the plan.
        labour_only : bool
            Leave out materials and bought-in work.
        """
        prices, stakes = self.prices, self.stakes
        amount = prices.labour * stakes.hours_scale * stakes.rate_scale
        if not labour_only:
            amount = amount + prices.material + prices.outside
        amount = amount * (1 + prices.tax)
        settled = base & ~(self.shop.coverers @ base)
        always_covered = self.shop.coverers @ base
        terms = self.terms
        live = amount[terms.operation] * ~always_covered[terms.operation]
        live = live * np.where(terms.sign < 0, ~base[terms.operation], True)
        coefficients = np.bincount(terms.term, terms.sign * live, minlength=self.factor.shape[1])
        loose = terms.constant[~always_covered[terms.constant]]
        constant = amount[loose].sum()
        # What is done whatever the plan, and no choice can bring or cover.
        brought = np.zeros(len(amount), dtype=bool)
        brought[terms.operation] = True
        constant += amount[settled & ~brought].sum()
        return Payoff(coefficients, float(constant))

    def value(self) -> Payoff:
        """Return the expected value of the piano as it then stands."""
        coefficients = np.zeros(self.factor.shape[1])
        coefficients[self.value_term] = self.market.sound * self.market.mean_over_median
        return Payoff(coefficients, 0.0)

    def service(self) -> Payoff:
        """Return the discounted years of playing over the horizon, a perfect year counting 1."""
        coefficients = np.zeros(self.factor.shape[1])
        coefficients[self.service_terms] = self.stakes.year_weights
        return Payoff(coefficients, 0.0)

    def heart(self) -> Payoff:
        """Return the premium: part for having the piano, the rest as far as it can be played."""
        stakes = self.stakes
        played = self.service().scaled(1 / stakes.year_weights.sum())
        return played.scaled(stakes.premium * (1 - stakes.premium_unplayed)) + Payoff(
            np.zeros_like(played.coefficients), stakes.premium * stakes.premium_unplayed
        )


def expect(shop: Workshop, condition: Condition, prices: Prices, market: Market, stakes: Stakes) -> Expectations:
    """Return the terms of one piano: operations, then value, then playing at the points in time."""
    terms = operation_terms(shop)
    part, n = shop.part_of, terms.absent.shape[1]
    outcome = np.empty((len(part), n + 1 + len(stakes.times), 4))
    outcome[:, :n] = terms.absent
    outcome[:, n] = market.factor[part[:, None], shop.after]
    outcome[:, n + 1 :] = _service(shop, stakes)
    return Expectations(
        shop=shop,
        condition=condition,
        prices=prices,
        market=market,
        stakes=stakes,
        terms=terms,
        outcome=outcome,
        factor=np.matmul(outcome, condition.given[part].transpose(0, 2, 1)),
        value_term=n,
        service_terms=slice(n + 1, n + 1 + len(stakes.times)),
    )


def at_other_stakes(expected: Expectations, stakes: Stakes) -> Expectations:
    """Return the same terms for other stakes; only another horizon changes them, and only those of playing."""
    if stakes.horizon == expected.stakes.horizon:
        return replace(expected, stakes=stakes)
    shop = expected.shop
    outcome, factor = expected.outcome.copy(), expected.factor.copy()
    outcome[:, expected.service_terms] = service = _service(shop, stakes)
    factor[:, expected.service_terms] = np.matmul(service, expected.condition.given[shop.part_of].transpose(0, 2, 1))
    return replace(expected, stakes=stakes, outcome=outcome, factor=factor)


def _service(shop: Workshop, stakes: Stakes) -> np.ndarray:
    """Return how well the piano plays at each point in time, by choice and true state, shape (C, times, 4)."""
    now = shop.plays[shop.part_of[:, None], shop.after]
    failed = shop.plays[shop.part_of, FAILED][:, None]
    left = survival(stakes.times[:, None, None], shop.lasts, stakes.wear_shape)
    return (failed + (now - failed) * left).transpose(1, 0, 2)


def survival(years: np.ndarray, median: np.ndarray, shape: float) -> np.ndarray:
    """Return the chance that a part still serves after so many years [-].

    Parameters
    ----------
    years, median : ndarray
        Years from now, and the years after which half of such parts still serve; 0 for one that has failed [years].
    shape : float
        Shape of the Weibull law of wear: the chance of failing grows with the years to the power ``shape - 1``.
    """
    with np.errstate(divide="ignore"):
        return np.exp(-LN2 * (years / median) ** shape)
