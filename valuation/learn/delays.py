"""How long a 'yes' and a 'no' take, and how many never decide: the figure behind 'of those still open, about so many'.

Every evaluation is taken to be one of three sorts: it will be a yes, it will be a no, or nobody will ever answer. The
first two take their time, lognormal; the third looks like them until it has waited too long to be one of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, ndtr

from valuation.learn.decisions import Waits

HALF_A_DAY = 0.5
"""A decision on the day itself took half a day, so that it has a logarithm [days]."""

_LEAST_SPREAD = 0.05
_DONE_WITHIN = 1e-8
_MOST_ROUNDS = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Delay:
    """Days from evaluation to decision, lognormal.

    Attributes
    ----------
    median : float
        Half of them take less [days].
    spread : float
        Standard deviation of the logarithm [-].
    """

    median: float
    spread: float

    def not_yet(self, days: np.ndarray) -> np.ndarray:
        """Return the share that takes longer than so many days [-]."""
        return ndtr(-self._z(days))

    def within(self, days: np.ndarray, more: np.ndarray | float) -> np.ndarray:
        """Return the share that takes longer than `days`, but no more than `more` days longer [-]."""
        return self.not_yet(days) - self.not_yet(np.asarray(days) + more)

    def _z(self, days: np.ndarray) -> np.ndarray:
        return np.log((np.asarray(days) + HALF_A_DAY) / self.median) / self.spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Delays:
    """The three sorts of evaluation.

    Attributes
    ----------
    yes, no : Delay
        How long each takes.
    yes_share, no_share : float
        Shares of all evaluations; the rest never decides [-].
    """

    yes: Delay
    no: Delay
    yes_share: float
    no_share: float

    @property
    def shares(self) -> tuple[float, float, float]:
        """Shares of yes, no and never [-]."""
        return self.yes_share, self.no_share, 1 - self.yes_share - self.no_share

    @property
    def no_of_not_yes(self) -> float:
        """Share of the 'no' among those that will not be a yes [-]."""
        return self.no_share / (1 - self.yes_share)

    def still_open(self, days: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the chance to be undecided after so many days: of one that will be a yes, and of one that won't."""
        no = self.no_of_not_yes
        return self.yes.not_yet(days), no * self.no.not_yet(days) + 1 - no


PRIOR = Delays(yes=Delay(median=30, spread=1.1), no=Delay(median=45, spread=1.1), yes_share=0.35, no_share=0.30)
"""The prior, before any evaluation; from memory, to be replaced by the shop's own as they come."""

COUNTS_AS = 6
"""As many evaluations as the prior counts for."""


def learn_delays(
    waits: Waits,
    *,
    prior: Delays = PRIOR,
    counts_as: float = COUNTS_AS,
    start: Delays | None = None,
    within: float = _DONE_WITHIN,
) -> Delays:
    """Return the three sorts as the evaluations show them, starting from a prior.

    Parameters
    ----------
    waits : Waits
        None at all gives back the prior.
    prior : Delays
        The prior, before any evaluation.
    counts_as : float
        As many evaluations as the prior counts for, above 0: they are spread over the three sorts as it says.
    start : Delays, optional
        Where the search begins, at the prior if left out; the nearer, the sooner it is through.
    within : float
        It is through once no figure moves by more: medians as logarithms.

    Notes
    -----
    Expectation and maximisation [1]_: those still open are shared out over the sorts by how well each explains that
    they have waited so long; the mean and spread of the logarithms beyond that wait are those of a cut-off normal.
    Then shares, means and spreads are taken from the lot. It never makes the likelihood, with the prior's share in
    it, smaller.

    References
    ----------
    .. [1] Dempster, Laird and Rubin, Journal of the Royal Statistical Society B 39 (1977) 1.
    """
    logs = np.log(waits.days + HALF_A_DAY)
    is_open = waits.outcome == 0
    held = counts_as * np.array(prior.shares)
    now = start or prior
    for _ in range(_MOST_ROUNDS):
        sorts = _sorts(now, waits)
        shares = (held + sorts.sum(axis=0)) / (counts_as + len(logs))
        new = Delays(
            yes=_delay(now.yes, prior.yes, logs, is_open, sorts[:, 0], held[0]),
            no=_delay(now.no, prior.no, logs, is_open, sorts[:, 1], held[1]),
            yes_share=float(shares[0]),
            no_share=float(shares[1]),
        )
        moved = np.abs(np.subtract(_numbers(new), _numbers(now))).max()
        now = new
        if moved < within:
            break
    return now


def _numbers(delays: Delays) -> tuple[float, ...]:
    times = (math.log(delays.yes.median), delays.yes.spread, math.log(delays.no.median), delays.no.spread)
    return (*times, delays.yes_share, delays.no_share)


def _sorts(delays: Delays, waits: Waits) -> np.ndarray:
    """Return how likely each evaluation is of each sort, shape (n, 3)."""
    waiting = [delays.yes.not_yet(waits.days), delays.no.not_yet(waits.days), np.ones(len(waits.days))]
    weights = np.array(delays.shares) * np.column_stack(waiting)
    weights /= weights.sum(axis=1, keepdims=True)
    known = waits.outcome > 0
    weights[known] = np.eye(3)[waits.outcome[known] - 1]
    return weights


def _delay(now: Delay, first: Delay, logs, is_open, weights, held: float) -> Delay:
    """Return mean and spread of the logarithms, those still open at what they will come to on average."""
    mean, spread = math.log(now.median), now.spread
    z = (logs - mean) / spread
    beyond = np.exp(-(z**2) / 2 - log_ndtr(-z)) / math.sqrt(2 * math.pi)  # normal density over what is left
    x = np.where(is_open, mean + spread * beyond, logs)
    variance = np.where(is_open, spread**2 * np.maximum(1 + z * beyond - beyond**2, 0.0), 0.0)
    start = math.log(first.median)
    total = held + weights.sum()
    new = (held * start + weights @ x) / total
    square = held * (first.spread**2 + (start - new) ** 2) + weights @ (variance + (x - new) ** 2)
    return Delay(median=math.exp(new), spread=max(math.sqrt(square / total), _LEAST_SPREAD))
