"""Payoffs: what money, playing and the piano's own worth come to for the client, as readings of the terms.

In: market, stakes, how well it plays now. Out: a `Payoff` for plans and one for parting with the piano. The formula:

    net = kept * value * E prod V  +  sum_t w_t (py E prod Q_t + vr (1 - E prod S_t))
          - price - haulage when it gives out

When a part gives out within the years looked at, the client stands where 'another instrument' stands: `vr` a year.
It is capped by what a year of the piano as it plays now is worth, or a bad piano would gain by dying; whoever wants
no piano has no recourse.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from valuation.engine.condition import Condition
from valuation.engine.market import Market
from valuation.engine.outlook import Moments, survival
from valuation.engine.plans import Payoff
from valuation.engine.stakes import Stakes


@dataclass(frozen=True, eq=False)
class Parting:
    """Selling or giving away: net worth, and what another instrument adds to it.

    Attributes
    ----------
    sale : float
        Expected proceeds of the piano as it stands, haulage paid.
    another : float
        Net worth of having the replacement, over the years looked at.
    """

    sale: float
    another: float

    @property
    def exchange(self) -> bool:
        """Whether having the replacement is better than having none."""
        return self.another > 0

    @property
    def net(self) -> float:
        """Net worth of the better of the two."""
        return self.sale + max(self.another, 0.0)


def moments_of(stakes: Stakes) -> Moments:
    """Return the points in time at which playing is looked at, then the horizon itself."""
    return Moments(times=(*stakes.times.tolist(), stakes.horizon), shape=stakes.wear_shape)


def work_payoff(market: Market, stakes: Stakes, recourse: float, finished_scale: float = 1.0) -> Payoff:
    """Return how the net worth of a plan is read from its terms, heart apart.

    Parameters
    ----------
    recourse : float
        What a year is worth once the piano has given out, see `yearly_recourse`.
    finished_scale : float
        What-if factor on the value after the work.
    """
    n = len(stakes.times)
    coefficients = np.zeros(1 + 2 * (n + 1))
    coefficients[0] = finished_scale * market.sound * market.mean_over_median * stakes.kept_at_end
    coefficients[1 : n + 1] = stakes.year_weights * stakes.playing_year
    haul, force = market.replacement.haul_away, math.log1p(stakes.discount)
    coefficients[n + 2 : 2 * n + 2] = stakes.year_weights * (haul * force - recourse)
    coefficients[2 * n + 2] = haul * (1 + stakes.discount) ** -stakes.horizon
    return Payoff(coefficients, recourse * float(stakes.year_weights.sum()) - haul)


def heart_payoff(stakes: Stakes) -> Payoff:
    """Return what having this very piano, and hearing it, adds: it chooses among plans and changes none."""
    n = len(stakes.times)
    coefficients = np.zeros(1 + 2 * (n + 1))
    coefficients[1 : n + 1] = stakes.year_weights / stakes.year_weights.sum() * stakes.to_hear
    return Payoff(coefficients, stakes.to_have)


def playing_payoff(stakes: Stakes) -> Payoff:
    """Return the discounted years of playing, a perfect year counting 1 [years]."""
    n = len(stakes.times)
    coefficients = np.zeros(1 + 2 * (n + 1))
    coefficients[1 : n + 1] = stakes.year_weights
    return Payoff(coefficients, 0.0)


def together(one: Payoff, other: Payoff) -> Payoff:
    """Add two readings."""
    return Payoff(one.coefficients + other.coefficients, one.constant + other.constant)


def another_instrument(market: Market, stakes: Stakes) -> float:
    """Return the net worth of having the replacement over the years looked at; 0 where no piano is wanted."""
    if not stakes.wants_to_play:
        return 0.0
    row = market.replacement
    plays = row.plays * stakes.year_weights @ survival(stakes.times, float(row.years), stakes.wear_shape)
    return float(market.replacement_price * (stakes.kept_at_end - 1) + stakes.playing_year * plays)


def yearly_recourse(market: Market, stakes: Stakes, plays_now: float) -> float:
    """Return what a year is worth once the piano has given out.

    Parameters
    ----------
    plays_now : float
        How well the piano is expected to play today [0-1].
    """
    yearly = max(another_instrument(market, stakes), 0.0) / float(stakes.year_weights.sum())
    return min(yearly, stakes.playing_year * plays_now)


@lru_cache(maxsize=64)
def plays_today(condition: Condition) -> float:
    """Return how well the piano is expected to play as it stands [0-1]."""
    plays = np.array([[r.play_sound, r.play_serviceable, r.play_worn, r.play_failed] for r in condition.network.parts])
    given = np.einsum("phs,ps->ph", condition.states_given, plays).prod(axis=0)
    return float(condition.causes @ given)


def parting(condition: Condition, market: Market, stakes: Stakes) -> Parting:
    """Return what selling or giving it away comes to."""
    value = float(condition.causes @ np.einsum("phs,ps->ph", condition.states_given, market.factor).prod(axis=0))
    sale = value * market.sound * market.mean_over_median * (1 - stakes.selling_cost) - market.replacement.haul_away
    return Parting(sale=sale, another=another_instrument(market, stakes))
