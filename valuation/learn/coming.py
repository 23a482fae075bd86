"""What is coming: hours that open and future evaluations will bring, month by month, beside what the shop can do.

The mean is exact; the band comes from draws, in which all open evaluations share what isn't known of the chances.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.special import expit

from valuation.engine.money import log_spread
from valuation.facts.visit import Range
from valuation.jobs.records import Evaluation
from valuation.learn.chance import ChanceModel

BAND = (0.1, 0.9)
_MOST_CELLS = 4_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    """One month ahead. Hours are net workshop time [h].

    Attributes
    ----------
    first, last : date
        The part of the month that lies ahead, both inclusive.
    capacity : float
        Hours the shop can do in it.
    coming : float
        Expected hours of the jobs accepted in it.
    coming_low, coming_high : float
        In 8 of 10 cases they lie between.
    left : float
        Expected hours accepted and not yet done at its end, if the shop does what it can.
    left_low, left_high : float
        In 8 of 10 cases they lie between.
    short : float
        Chance that there is less to do than the shop can [-].
    """

    first: date
    last: date
    capacity: float
    coming: float
    coming_low: float
    coming_high: float
    left: float
    left_low: float
    left_high: float
    short: float


def coming_work(
    model: ChanceModel,
    open_evaluations: Sequence[Evaluation],
    *,
    on: date,
    in_hand: float,
    capacity: float,
    months: int = 6,
    new_each_month: float = 0.0,
    hours_of_new: Sequence[Range] = (),
    draws: int = 2000,
    seed: int = 1,
) -> tuple[Month, ...]:
    """Return what is coming in the months ahead.

    Parameters
    ----------
    model : ChanceModel
        With attributes where they can be shown, else the base rate alone.
    open_evaluations : sequence of Evaluation
        Those still open; one without hours brings none.
    on : date
        Today.
    in_hand : float
        Hours accepted and not yet done [h].
    capacity : float
        Hours the shop can do in a whole month [h].
    months : int
        How many, this month's rest included.
    new_each_month : float
        Evaluations that are yet to be made, expected in a month.
    hours_of_new : sequence of Range
        Hours of past evaluations, from which theirs are drawn; without any they bring none.
    draws, seed : int
        For the bands.

    Raises
    ------
    ValueError
        If a number is negative, or there is no month to look at.
    """
    for what, number in (("in_hand", in_hand), ("capacity", capacity), ("new_each_month", new_each_month)):
        if not 0 <= number < math.inf:
            raise ValueError(f"{what} is {number}; it can't be less than 0")
    if months < 1:
        raise ValueError(f"{months} months is nothing to look at; write 1 or more")
    edges, firsts, lasts, whole = _calendar(on, months)
    known = [e for e in open_evaluations if e.hours is not None and e.hours.likely > 0]
    rng = np.random.default_rng(seed)
    draws = max(min(draws, _MOST_CELLS // max(len(known), 1)), 200)

    waited = np.array([max((on - e.on).days, 0) for e in known], dtype=float)
    share = _by_month(model, waited, edges)
    expected = (model.chances(known, waited) * _mean_hours([e.hours for e in known if e.hours is not None])) @ share
    coming = _draw_open(model, known, waited, share, draws, rng)
    if new_each_month and hours_of_new:
        new, new_drawn = _new(model, new_each_month * whole, hours_of_new, edges, draws, rng)
        expected, coming = expected + new, coming + new_drawn

    can = capacity * whole
    left = np.full(draws, float(in_hand))
    found = []
    for m in range(months):
        to_do = left + coming[:, m]
        left = np.maximum(to_do - can[m], 0.0)
        low, high = np.quantile(coming[:, m], BAND)
        left_low, left_high = np.quantile(left, BAND)
        found.append(
            Month(
                first=firsts[m],
                last=lasts[m],
                capacity=float(can[m]),
                coming=float(expected[m]),
                coming_low=float(low),
                coming_high=float(high),
                left=float(left.mean()),
                left_low=float(left_low),
                left_high=float(left_high),
                short=float((to_do < can[m]).mean()),
            )
        )
    return tuple(found)


def _calendar(on: date, months: int):
    """Return where the months end in days from today, first and last day of each, and which share lies ahead."""
    firsts, nexts = [on], []
    for m in range(months):
        month = on.month + m
        nexts.append(date(on.year + month // 12, month % 12 + 1, 1))
    firsts += nexts[:-1]
    edges = np.array([0, *((day - on).days for day in nexts)], dtype=float)
    begins = [date(day.year, day.month, 1) for day in firsts]
    whole = np.array([(n - f).days / (n - b).days for f, n, b in zip(firsts, nexts, begins, strict=True)])
    lasts = [date.fromordinal(day.toordinal() - 1) for day in nexts]
    return edges, firsts, lasts, whole


def _by_month(model: ChanceModel, waited: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """Return how a yes of each, still open today, is spread over the months, shape (n, months)."""
    still = model.delays.yes.not_yet(waited[:, None] + edges)
    return -np.diff(still, axis=1) / np.maximum(still[:, :1], 1e-12)


def _spreads(hours: Sequence[Range]) -> np.ndarray:
    return np.array([log_spread(h.low, h.likely, h.high) for h in hours])


def _mean_hours(hours: Sequence[Range]) -> np.ndarray:
    return np.array([h.likely for h in hours]) * np.exp(_spreads(hours) ** 2 / 2)


def _draw_open(model: ChanceModel, known, waited, share, draws: int, rng) -> np.ndarray:
    months = share.shape[1]
    if not known:
        return np.zeros((draws, months))
    lines = rng.multivariate_normal(model.line, model.spread, draws, method="cholesky")
    chance = expit(lines @ model.columns(known).T + model.shift(waited))
    marks = np.cumsum(share, axis=1)
    luck = rng.random(chance.shape) / np.maximum(chance, 1e-300)
    draw, which = np.nonzero(luck < marks[:, -1])
    month = (luck[draw, which][:, None] >= marks[which]).sum(axis=1)
    likely, spread = np.array([e.hours.likely for e in known]), _spreads([e.hours for e in known])
    hours = likely[which] * np.exp(spread[which] * rng.standard_normal(len(which)))
    return np.bincount(draw * months + month, hours, minlength=draws * months).reshape(draws, months)


def _new(model: ChanceModel, arriving: np.ndarray, hours: Sequence[Range], edges, draws: int, rng):
    """Return mean and draws of what evaluations yet to be made bring: each is made in the middle of its month."""
    months = len(arriving)
    share = np.zeros((months, months))
    for m in range(months):
        since = np.maximum(edges[m:] - (edges[m] + edges[m + 1]) / 2, 0.0)
        share[m, m:] = -np.diff(model.delays.yes.not_yet(since))
    middle, sd = model.line[0], math.sqrt(model.spread[0, 0])
    chance = float(model.averaged(np.array([middle]), np.array([sd]))[0])
    mean = chance * arriving @ share * _mean_hours(hours).mean()
    chances = expit(rng.normal(middle, sd, draws))
    jobs = rng.poisson(chances[:, None] * (arriving @ share))
    draw, month = np.nonzero(jobs)
    cell = np.repeat(draw * months + month, jobs[draw, month])
    which = rng.integers(len(hours), size=len(cell))
    likely, spread = np.array([h.likely for h in hours]), _spreads(hours)
    drawn = likely[which] * np.exp(spread[which] * rng.standard_normal(len(cell)))
    return mean, np.bincount(cell, drawn, minlength=draws * months).reshape(draws, months)
