"""A ratio of two sums over jobs, with the interval that so few jobs can carry.

Money over hours, hours over hours: sums are what a shop lives on, so a large job weighs what it weighs. And a sum of
expected hours is met on the average by a shop that estimates without fault; a sum of middle ones isn't.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from valuation.learn.shares import LEVEL

LEAST_JOBS = 5
"""Fewer jobs are too few to tell: with 4, an interval of 9 in 10 is wider than twice the spread itself."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ratio:
    """A ratio of sums; `low` and `high` hold the truth in 9 of 10 such cases, None where there are too few jobs."""

    jobs: int
    above: float
    below: float
    value: float | None
    low: float | None
    high: float | None

    @property
    def is_told(self) -> bool:
        """Whether there are enough jobs for a figure."""
        return self.low is not None

    def differs_from(self, other: float) -> bool:
        """Tell whether the interval leaves a figure out: only then is there something to say."""
        return self.low is not None and self.high is not None and not self.low <= other <= self.high


def ratio_of(above: Sequence[float], below: Sequence[float]) -> Ratio:
    """Return the ratio of two sums, one pair a job.

    Notes
    -----
    Linearised: the variance of sum(y) / sum(x) is that of the residuals y - R x over the square of sum(x) [1]_, with
    Student's interval. Jobs are taken as independent.

    References
    ----------
    .. [1] Cochran, Sampling Techniques, 3rd ed. (1977), section 2.11.

    Examples
    --------
    >>> found = ratio_of([10, 12, 9, 11, 13], [10, 10, 10, 10, 10])
    >>> found.value, round(found.low, 3), round(found.high, 3)
    (1.1, 0.949, 1.251)
    """
    y, x = np.asarray(above, float), np.asarray(below, float)
    n, whole = len(y), float(x.sum())
    value = float(y.sum()) / whole if whole > 0 else None
    low = high = None
    if value is not None and n >= LEAST_JOBS:
        error = math.sqrt(n / (n - 1) * float(((y - value * x) ** 2).sum())) / whole
        reach = float(student.ppf((1 + LEVEL) / 2, n - 1)) * error
        low, high = value - reach, value + reach
    return Ratio(jobs=n, above=float(y.sum()), below=whole, value=value, low=low, high=high)
