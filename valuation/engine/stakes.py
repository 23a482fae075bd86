"""What is at stake for the client: the figures of a visit that weigh money against playing and keeping."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from valuation.engine.arrays import Floats
from valuation.engine.market import Market
from valuation.engine.rows.tables import Settings
from valuation.facts.visit import Client

STRETCHES = (0.0, 1.3, 3.0, 7.0, 15.0, 28.0)
"""Ends of the stretches over which playing is summed, up to the horizon [years]: fine at first."""

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(4)


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
    to_have, to_hear : float
        What it is worth to the client, beyond its price, to have this very piano, and to hear it played.
    selling_cost : float
        Share of a price that is lost in selling.
    budget : float or None
        Most that may be spent, with tax.
    wear_shape : float
        How suddenly parts wear out, see `survival`.
    hours_scale, rate_scale, finished_scale : float
        What-if factors on all hours, on the hourly rates, on the value after the work.
    """

    horizon: float
    discount: float
    value_loss: float
    playing_year: float
    to_have: float
    to_hear: float
    selling_cost: float
    budget: float | None
    wants_to_play: bool
    wear_shape: float
    hours_scale: float = 1.0
    rate_scale: float = 1.0
    finished_scale: float = 1.0

    @cached_property
    def _quadrature(self) -> tuple[Floats, Floats]:
        ends = [*(end for end in STRETCHES if end < self.horizon), self.horizon]
        halves = np.diff(ends)[:, None] / 2
        middles = (np.array(ends[1:]) + ends[:-1])[:, None] / 2
        return (middles + halves * _NODES).ravel(), (halves * _WEIGHTS).ravel()

    @property
    def times(self) -> Floats:
        """Points in time at which service is looked at [years]."""
        return self._quadrature[0]

    @cached_property
    def year_weights(self) -> Floats:
        """How many discounted years each point in time stands for [years]."""
        return np.asarray(self._quadrature[1] * (1 + self.discount) ** -self.times, dtype=np.float64)

    @cached_property
    def kept_at_end(self) -> float:
        """Present worth, net of selling, at the horizon of a value of 1 today."""
        return float((1 - self.selling_cost) * ((1 - self.value_loss) / (1 + self.discount)) ** self.horizon)


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
        to_have=client.to_have,
        to_hear=client.to_hear,
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
