"""How long clients take to decide, and for what: those still undecided are counted as what they are.

Whoever has not decided by today will decide later than today, or never. Leaving them out would make deciding look
quicker and surer than it is; taking a 'no' for somebody who might still say 'yes' would make jobs look likelier.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

import numpy as np
from scipy.stats import CensoredData, ecdf, norm

from valuation.jobs.records import Evaluation
from valuation.jobs.stages import NO, OPEN, YES, Course
from valuation.learn.shares import LEVEL

OUTCOME_CODES = {OPEN: 0, YES: 1, NO: 2}

_NOBODY = 1e-9


@dataclass(frozen=True, eq=False)
class Waits:
    """How long each of n evaluations took to be decided, or has waited so far.

    Attributes
    ----------
    visits : tuple of str, length n
    days : ndarray, shape (n,)
        From the evaluation to the decision, or to today [days].
    outcome : ndarray of int, shape (n,)
        0 still open, 1 yes, 2 no.
    """

    visits: tuple[str, ...]
    days: np.ndarray
    outcome: np.ndarray

    def some(self, which: np.ndarray) -> Waits:
        """Return those of some of the evaluations, by their places."""
        visits = tuple(self.visits[i] for i in which)
        return Waits(visits=visits, days=self.days[which], outcome=self.outcome[which])


@dataclass(frozen=True, eq=False)
class Curve:
    """A share that changes with the days since the evaluation, as steps: each holds from its day on.

    Attributes
    ----------
    days : ndarray, shape (k,)
        From 0 on; then the days on which somebody decided [days].
    share, low, high : ndarray, shape (k,)
        The share, and the limits between which the true one lies at each day by itself [-].
    at_risk : ndarray of int, shape (k,)
        How many were still undecided just before that day.
    """

    days: np.ndarray
    share: np.ndarray
    low: np.ndarray
    high: np.ndarray
    at_risk: np.ndarray

    def at(self, day: float) -> tuple[float, float, float]:
        """Return share, low and high after so many days [-]."""
        i = int(np.searchsorted(self.days, day, side="right")) - 1
        return float(self.share[i]), float(self.low[i]), float(self.high[i])


def waits_of(evaluations: Iterable[Evaluation], courses: Mapping[str, Course], *, on: date) -> Waits:
    """Return how long each evaluation took to be decided, or has waited by a day.

    Parameters
    ----------
    evaluations : iterable of Evaluation
        Those made later than `on` are left out.
    courses : mapping of visit to Course
        As they stood on that day; an evaluation without one is open.

    Notes
    -----
    Silence counts as open up to `on`, not up to the day on which somebody wrote 'silent': an answer after that day
    would have been seen too, and those who fall silent are just the ones less likely to answer.
    """
    visits, days, outcome = [], [], []
    for evaluation in evaluations:
        if evaluation.on > on:
            continue
        course = courses.get(evaluation.visit)
        decided = course.decided_on if course else None
        visits.append(evaluation.visit)
        days.append(max(((decided or on) - evaluation.on).days, 0))
        outcome.append(OUTCOME_CODES[course.outcome if course else OPEN])
    return Waits(visits=tuple(visits), days=np.array(days, dtype=float), outcome=np.array(outcome, dtype=int))


def undecided(waits: Waits, *, level: float = LEVEL) -> Curve:
    """Return the share still undecided after each number of days.

    Parameters
    ----------
    waits : Waits
        At least one.
    level : float
        How often the limits hold the truth [-].

    References
    ----------
    .. [1] Kaplan and Meier, J. Am. Stat. Assoc. 53 (1958) 457; limits by the logarithm of minus the logarithm:
       Kalbfleisch and Prentice, "The Statistical Analysis of Failure Time Data", 1980.
    """
    decided = waits.outcome > 0
    if not decided.any():
        return _start(1.0, len(waits.days))
    left = ecdf(CensoredData(uncensored=waits.days[decided], right=waits.days[~decided])).sf
    steps = np.isin(left.quantiles, waits.days[decided])
    days, share = left.quantiles[steps], left.probabilities[steps]
    count, at_risk = _counts(waits, days, decided)
    with np.errstate(divide="ignore", invalid="ignore"):
        error = share * np.sqrt(np.cumsum(count / (at_risk * (at_risk - count))))
    low, high = _limits(share, error, level)
    return _from_the_start(1.0, days, share, low, high, at_risk)


def decided_for(waits: Waits, outcome: str, *, level: float = LEVEL) -> Curve:
    """Return the share that had decided for one outcome after each number of days, the other competing with it.

    Parameters
    ----------
    waits : Waits
        At least one.
    outcome : str
        ``yes`` or ``no``.
    level : float
        How often the limits hold the truth [-].

    Notes
    -----
    Aalen and Johansen's estimator; its variance as in [2]_, limits as for `undecided`. A 'no' is not taken for somebody
    who might yet say 'yes': one minus Kaplan and Meier with 'no' as undecided would be too high.

    References
    ----------
    .. [1] Aalen and Johansen, Scandinavian Journal of Statistics 5 (1978) 141.
    .. [2] Dinse and Larson, Biometrika 73 (1986) 379, equation 6: the delta method.
    """
    mine, any_ = waits.outcome == OUTCOME_CODES[outcome], waits.outcome > 0
    if not mine.any():
        return _start(0.0, len(waits.days))
    days = np.unique(waits.days[any_])
    count, at_risk = _counts(waits, days, mine)
    all_, _ = _counts(waits, days, any_)
    before = np.concatenate([[1.0], np.cumprod(1 - all_ / at_risk)[:-1]])
    share = np.cumsum(before * count / at_risk)

    ahead = np.where(np.tri(len(days), dtype=bool), share[:, None] - share, 0.0)  # of each step over each earlier one
    # Where all decide at once nobody is left: the first term is then 0 by 0, and counts for nothing.
    leaving = np.divide(all_, at_risk * (at_risk - all_), out=np.zeros_like(share), where=at_risk > all_)
    variance = ahead**2 @ leaving
    variance += np.cumsum(before**2 * count * (at_risk - count) / at_risk**3)
    variance -= 2 * ahead @ (before * count / at_risk**2)
    low, high = _limits(share, np.sqrt(np.maximum(variance, 0.0)), level)
    steps = count > 0
    return _from_the_start(0.0, days[steps], share[steps], low[steps], high[steps], at_risk[steps])


def _counts(waits: Waits, days: np.ndarray, which: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return how many of `which` decided on each day, and how many were undecided just before it."""
    count = np.searchsorted(np.sort(waits.days[which]), days, side="right").astype(float)
    at_risk = len(waits.days) - np.searchsorted(np.sort(waits.days), days, side="left")
    return np.diff(count, prepend=0.0), at_risk


def _limits(share: np.ndarray, error: np.ndarray, level: float) -> tuple[np.ndarray, np.ndarray]:
    """Return limits from the standard errors of the shares, by way of the logarithm of minus the logarithm.

    Where nobody is left, or nobody has decided so, the way there is undefined: then the limits are 0 and 1.
    """
    defined = (share > _NOBODY) & (share < 1 - _NOBODY) & np.isfinite(error)
    inside, low, high = share[defined], np.zeros_like(share), np.ones_like(share)
    reach = norm.ppf((1 + level) / 2) * error[defined] / (inside * -np.log(inside))
    low[defined], high[defined] = inside ** np.exp(reach), inside ** np.exp(-reach)
    return low, high


def _start(share: float, at_risk: int) -> Curve:
    one = np.array([share])
    return Curve(days=np.zeros(1), share=one, low=one, high=one, at_risk=np.array([at_risk]))


def _from_the_start(share: float, days, *columns) -> Curve:
    share_, low, high, at_risk = columns
    if days[0] == 0:
        return Curve(days=days, share=share_, low=low, high=high, at_risk=at_risk)
    first = (np.concatenate([[share], column]) for column in (share_, low, high))
    share_, low, high = first
    return Curve(
        days=np.concatenate([[0.0], days]),
        share=share_,
        low=low,
        high=high,
        at_risk=np.concatenate([[at_risk[0]], at_risk]),
    )
