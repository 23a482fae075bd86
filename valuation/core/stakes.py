"""What is at stake for the client: the figures of a visit that weigh money against playing and keeping."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from valuation.core.market import Market
from valuation.core.rows import Settings
from valuation.core.visit import Client

NODES, WEIGHTS = np.polynomial.legendre.leggauss(6)


def capital_recovery(rate: float, years: float) -> float:
    """Return the yearly payment, at the end of each year, that a present sum of 1 is worth [1/year].

    Notes
    -----
    ``(A/P, i, n) = i (1 + i)^n / ((1 + i)^n - 1)``, the capital recovery factor of engineering economics; 1/n
    without interest.

    Examples
    --------
    >>> round(capital_recovery(0.08, 10), 4)
    0.149
    """
    return rate / -math.expm1(-years * math.log1p(rate)) if rate else 1 / years


@dataclass(frozen=True, kw_only=True)
class Stakes:
    """The figures that a person may turn to see what they do to the verdict. Money in the shop's currency.

    Attributes
    ----------
    horizon : float
        Years over which the options are compared [years].
    discount, value_loss : float
        Real interest, and loss of value, a year [1/year].
    playing_year : float
        What a year of good playing is worth.
    premium : float
        What keeping this very piano is worth beyond its price.
    premium_unplayed : float
        Share of it that remains where the piano can't be played.
    selling_cost : float
        Share of a price that is lost in selling.
    budget : float or None
        Most that may be spent, with tax.
    wants_to_play : bool
    wear_shape : float
        How suddenly parts wear out, see `survival`.
    hours_scale, rate_scale, finished_scale : float
        What-if factors on all hours, on the hourly rates, on the value after the work.
    """

    horizon: float
    discount: float
    value_loss: float
    playing_year: float
    premium: float
    premium_unplayed: float
    selling_cost: float
    budget: float | None
    wants_to_play: bool
    wear_shape: float
    hours_scale: float = 1.0
    rate_scale: float = 1.0
    finished_scale: float = 1.0

    @cached_property
    def times(self) -> np.ndarray:
        """Points in time at which service is looked at, shape (6,) [years]."""
        return self.horizon * (1 + NODES) / 2

    @cached_property
    def year_weights(self) -> np.ndarray:
        """How many discounted years each point in time stands for, shape (6,) [years]."""
        return self.horizon / 2 * WEIGHTS * (1 + self.discount) ** -self.times

    @cached_property
    def kept_at_end(self) -> float:
        """Present worth, net of selling, at the horizon of a value of 1 today."""
        return (1 - self.selling_cost) * ((1 - self.value_loss) / (1 + self.discount)) ** self.horizon


def stakes_of(settings: Settings, client: Client, market: Market) -> Stakes:
    """Return what is at stake for a client: their own figures where given, else the settings'.

    A year of good playing is worth what the market asks for it: the replacement's equivalent annual cost over the
    horizon, times the setting `playing_worth`, unless the client has a figure of their own.
    """
    horizon = client.horizon_years or settings.horizon_years
    plain = Stakes(
        horizon=horizon,
        discount=settings.discount_rate,
        value_loss=settings.value_loss_per_year,
        playing_year=0.0,
        premium=client.premium,
        premium_unplayed=settings.premium_unplayed,
        selling_cost=settings.selling_cost,
        budget=client.budget,
        wants_to_play=client.wants_to_play,
        wear_shape=settings.wear_shape,
    )
    return with_playing_year(plain, settings, client, market)


def with_playing_year(stakes: Stakes, settings: Settings, client: Client, market: Market) -> Stakes:
    """Return the same stakes with the worth of a year of playing worked out for their horizon."""
    if not client.wants_to_play:
        return replace(stakes, playing_year=0.0)
    if client.playing_year is not None:
        return replace(stakes, playing_year=client.playing_year)
    yearly = replacement_cost_per_year(stakes, market)
    return replace(stakes, playing_year=settings.playing_worth * yearly)


def replacement_cost_per_year(stakes: Stakes, market: Market) -> float:
    """Return the replacement's equivalent annual cost over the horizon [money/year]."""
    spent = market.replacement_price * (1 - stakes.kept_at_end)
    return spent * capital_recovery(stakes.discount, stakes.horizon)
