"""What of a job is left to do: of each operation what it still takes, given what it has taken so far.

An operation takes T hours, lognormal about its likely figure. Once h hours are booked on it and it isn't finished, what
is left is E[T | T > h] - h: less with every hour, but never nothing, for an operation that has run over may run on.
"""

from __future__ import annotations

import math

from valuation.engine.money import log_spread
from valuation.jobs.records import EstimatedHours, Job

_FAR = 25.0
"""So many standard deviations beyond are far enough; the normal's tail is lost to rounding from 38 on."""


def expected_of(line: EstimatedHours, job_spread: float = 0.0) -> float:
    """Return the hours that an operation is expected to take [h]: what it is priced by.

    Examples
    --------
    >>> line = EstimatedHours(operation="restring", low=10, likely=12, high=16)
    >>> round(expected_of(line), 2)
    12.2
    """
    spread = max(log_spread(line.low, line.likely, line.high), job_spread if line.likely else 0.0)
    return line.likely * math.exp(spread**2 / 2)


def left_of(line: EstimatedHours, done: float, job_spread: float = 0.0) -> float:
    """Return the hours that an operation still takes, `done` being those booked on it [h].

    Examples
    --------
    >>> line = EstimatedHours(operation="restring", low=10, likely=12, high=16)
    >>> round(left_of(line, 0.25), 2), round(left_of(line, 12), 2)
    (11.95, 1.98)
    """
    if done <= 0:
        return expected_of(line, job_spread)
    spread = max(log_spread(line.low, line.likely, line.high), job_spread)
    if line.likely == 0 or spread == 0:
        return max(line.likely - done, 0.0)
    z = min(math.log(done / line.likely) / spread, _FAR)
    beyond = math.erfc((z - spread) / math.sqrt(2)) / math.erfc(z / math.sqrt(2))
    return max(line.likely * math.exp(spread**2 / 2) * beyond - done, 0.0)


def hours_left(job: Job, job_spread: float = 0.0) -> float:
    """Return the expected hours that a job still takes [h]; none once it is delivered.

    Parameters
    ----------
    job_spread : float
        How whole jobs run over or under, standard deviation of the logarithm [-].
    """
    if job.delivered is not None:
        return 0.0
    done = job.hours_by_operation
    return sum(
        left_of(line, done.get(line.operation, 0.0), job_spread)
        for line in job.estimate
        if line.operation not in job.finished
    )
