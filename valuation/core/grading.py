"""From what was found to how likely each grade is, by the table's cut points.

A cut point is soft: a reading close to it counts partly for the grade on either side, as far as two readings of
the same thing differ (``repeats_within``). A share found on a sample counts for every share it may stand for.
"""

from __future__ import annotations

import math
import statistics

import numpy as np

from valuation.core.rows import GRADES, CheckRow
from valuation.core.sampling import by_lot, sampled
from valuation.core.visit import Finding, Reading

_LOG_FACTORIAL = np.concatenate([[0.0], np.cumsum(np.log(np.arange(1, 2001)))])


def grade_weights(check: CheckRow, finding: Finding, readings: tuple[Reading, ...]) -> np.ndarray:
    """Return how much the finding counts for each grade.

    Parameters
    ----------
    check : CheckRow
        The row with the cut points.
    finding : Finding
        What was found; only its `grade` is used here.
    readings : tuple of Reading
        The readings that this check is graded by, its own or another check's.

    Returns
    -------
    ndarray, shape (4,)
        Weights of good, fair, poor, failed; they add to 1 [-].
    """
    if check.answer == "choice":
        return np.array([float(finding.grade == grade) for grade in GRADES])
    if check.summary.startswith("share"):
        return _sampled_share(check, readings)
    return _soft_cuts(check, summarise(check, readings))


def summarise(check: CheckRow, readings: tuple[Reading, ...]) -> float:
    """Return the one number that the readings come to, in the check's unit; a share is a percentage [%]."""
    readings = by_lot(readings)
    values = [reading.value for reading in readings]
    match check.summary:
        case "median":
            return statistics.median(values)
        case "mean" | "":
            return statistics.fmean(values)
        case "least":
            return min(values)
        case "greatest":
            return max(values)
        case "spread":
            return max(values) - min(values)
        case "share_below" | "share_above":
            return 100 * sum(_beyond(check, readings)) / len(values)
    raise ValueError(f"no such summary: {check.summary}")


def _beyond(check: CheckRow, readings: tuple[Reading, ...]) -> list[bool]:
    if check.summary == "share_below":
        return [reading.value < check.limit for reading in readings]
    return [reading.value > check.limit for reading in readings]


def _soft_cuts(check: CheckRow, number: float) -> np.ndarray:
    """Spread a number over the grades: normal error, one standard deviation = `repeats_within`."""
    cuts = (check.cut_fair, check.cut_poor, check.cut_failed)
    spread = check.repeats_within * math.sqrt(2)
    if check.better == "near":
        off = abs(number - check.target)
        below = [(math.erf((cut - off) / spread) + math.erf((cut + off) / spread)) / 2 for cut in cuts]
    else:
        sign = -1 if check.better == "high" else 1
        below = [(1 + math.erf(sign * (cut - number) / spread)) / 2 for cut in cuts]
    # Each cut is answered by itself; far out, rounding alone could make them cross.
    return np.maximum(np.diff(np.array([0.0, *below, 1.0])), 0.0)


def _sampled_share(check: CheckRow, readings: tuple[Reading, ...]) -> np.ndarray:
    """Tell how well a share seen on a sample fits each grade that the whole may have.

    Of `of_all` pieces some were tried. Within a grade every number of bad ones in all is equally likely; the
    hypergeometric law says how likely it makes what was seen. How wide a grade is must not count: one firm pin
    speaks for good, though most numbers of loose pins would be failed. What was tried because it felt soft is a floor
    under the number of bad ones, and neighbours count for fewer; see `valuation.core.sampling`.
    """
    whole = check.of_all
    sample = sampled(readings, _beyond(check, readings), whole)
    tried, bad = sample.tried, sample.bad
    in_all = np.arange(whole + 1)
    possible = slice(sample.least, whole - sample.firm + 1)
    lf, few = _LOG_FACTORIAL, in_all[possible]
    log_ways = (lf[few] - lf[few - bad]) + (lf[whole - few] - lf[whole - few - (tried - bad)])
    log_ways *= sample.counts_as / max(tried, 1)
    likely = np.zeros(whole + 1)
    likely[possible] = np.exp(log_ways - log_ways.max())
    cuts = np.array([check.cut_fair, check.cut_poor, check.cut_failed])
    grade = np.searchsorted(cuts, 100 * in_all / whole, side="right")
    fit = np.bincount(grade, likely, minlength=4) / np.maximum(np.bincount(grade, minlength=4), 1)
    return fit / fit.sum()
