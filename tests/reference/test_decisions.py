"""Time to decision against published tables and other libraries; each source stands beside its figures."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from scipy.stats import CensoredData, ecdf
from statsmodels.duration.survfunc import CumIncidenceRight, SurvfuncRight

from valuation.learn.decisions import Waits, decided_for, undecided


def waits(days, outcome) -> Waits:
    names = tuple(map(str, range(len(days))))
    return Waits(visits=names, days=np.array(days, dtype=float), outcome=np.array(outcome, dtype=int))


# Freireich and others, Blood 21 (1963) 699: weeks of remission; 6-MP first those that ended, then the censored.
TREATED = waits([6, 6, 6, 7, 10, 13, 16, 22, 23, 6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35], [1] * 9 + [0] * 12)
PLACEBO = waits([1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23], [1] * 21)

# The table that textbooks print of it; from memory, reproduced to the printed digit.
PRINTED = [
    (6, 21, 0.857, 0.0764),
    (7, 17, 0.807, 0.0869),
    (10, 15, 0.753, 0.0963),
    (13, 12, 0.690, 0.1068),
    (16, 11, 0.627, 0.1141),
    (22, 7, 0.538, 0.1282),
    (23, 6, 0.448, 0.1346),
]

# Competing risks of 35 transplants, the data of Scrucca, Santucci and Aversa, Bone Marrow Transplantation 40 (2007)
# 381, as scikit-survival 0.28 ships them: months, and 1 or 2 for what happened first.
TRANSPLANTS = waits(
    [13, 1, 72, 7, 8, 67, 9, 5, 70, 4, 7, 68, 1, 10, 7, 3, 4, 4,
     3, 3, 22, 8, 2, 0, 0, 35, 35, 4, 14, 26, 3, 2, 8, 32, 12],
    [2, 1, 0, 2, 2, 0, 2, 2, 0, 0, 0, 0, 2, 2, 2, 1, 1, 1,
     1, 1, 2, 1, 2, 2, 1, 0, 0, 2, 2, 2, 2, 0, 0, 0, 1],
)  # fmt: skip

# What scikit-survival 0.28 makes of them: cumulative_incidence_competing_risks, 95 %, log-log, 'Dinse_Approx'.
ELSEWHERE = [
    ("yes", 0, 0.028571, 0.002195, 0.126823),
    ("yes", 3, 0.145813, 0.053216, 0.282572),
    ("yes", 8, 0.237712, 0.111706, 0.389965),
    ("yes", 26, 0.272839, 0.13527, 0.430274),
    ("no", 3, 0.115271, 0.036486, 0.24419),
    ("no", 12, 0.34076, 0.184941, 0.503216),
    ("no", 26, 0.48127, 0.299007, 0.642101),
]


def test_the_curve_of_the_undecided_is_the_printed_table():
    curve = undecided(TREATED, level=0.95)
    assert curve.days.tolist() == [0, *(week for week, *_ in PRINTED)]
    for i, (_, at_risk, share, _) in enumerate(PRINTED, start=1):
        assert curve.at_risk[i] == at_risk
        assert curve.share[i] == pytest.approx(share, abs=5e-4)


def test_the_limits_rest_on_the_printed_standard_errors():
    curve = undecided(TREATED, level=0.95)
    for i, (*_, error) in enumerate(PRINTED, start=1):
        s = curve.share[i]
        # d log(-log S) = dS / (S log S): the limits lie so far from log(-log S).
        reach = np.log(np.log(curve.low[i]) / np.log(s)) / 1.959964
        assert reach * s * -np.log(s) == pytest.approx(error, abs=6e-5)


def test_the_limits_of_the_median_are_those_of_another_library():
    # lifelines 0.30, whose default is log-log: 13 to infinity, and 4 to 11.
    for data, expected in ((TREATED, (13, np.inf)), (PLACEBO, (4, 11))):
        curve = undecided(data, level=0.95)
        reached = [curve.days[column <= 0.5] for column in (curve.low, curve.high)]
        assert tuple(days[0] if len(days) else np.inf for days in reached) == expected


@pytest.mark.parametrize("level", [0.8, 0.9, 0.95])
def test_curve_and_limits_agree_with_scipy_and_statsmodels(level):
    curve = undecided(TREATED, level=level)
    theirs = ecdf(CensoredData(uncensored=TREATED.days[:9], right=TREATED.days[9:])).sf
    limits = theirs.confidence_interval(level, method="log-log")
    for i, day in enumerate(curve.days[1:], start=1):
        assert curve.low[i] == pytest.approx(limits.low.evaluate(day), abs=1e-12)
        assert curve.high[i] == pytest.approx(limits.high.evaluate(day), abs=1e-12)
    other = SurvfuncRight(TREATED.days, TREATED.outcome > 0)
    assert curve.share[1:] == pytest.approx(other.surv_prob, abs=1e-12)


def test_a_published_worked_example_of_two_ways_to_end_comes_out():
    # Satagopan and others, British Journal of Cancer 91 (2004) 1229, table 2: 305 patients; the ones followed for 27
    # months at the most are listed. The table adds up steps that were rounded to 0.1 %, hence the tolerance.
    days = [7, 10, 14, 16, 18, 23, 24, 26, 27] + [100] * 296
    outcome = [0, 1, 0, 1, 2, 1, 0, 2, 1] + [0] * 296
    data = waits(days, outcome)
    mine = decided_for(data, "yes")
    assert mine.days.tolist() == [0, 10, 16, 23, 27]
    assert mine.at_risk[1:].tolist() == [304, 302, 300, 297]
    assert mine.share[1:] == pytest.approx([0.003, 0.006, 0.009, 0.012], abs=0.0015)
    left = undecided(data)
    assert left.at_risk[1:].tolist() == [304, 302, 301, 300, 298, 297]
    assert left.share[1:] == pytest.approx([0.997, 0.993, 0.990, 0.987, 0.983, 0.980], abs=6e-4)


@pytest.mark.parametrize(("outcome", "day", "share", "low", "high"), ELSEWHERE)
def test_competing_decisions_agree_with_scikit_survival(outcome, day, share, low, high):
    assert decided_for(TRANSPLANTS, outcome, level=0.95).at(day) == pytest.approx((share, low, high), abs=1e-6)


@pytest.mark.parametrize("seed", range(5))
def test_competing_decisions_agree_with_statsmodels_on_data_with_ties(seed):
    rng = np.random.default_rng(seed)
    data = waits(rng.integers(0, 25, 120), rng.choice(3, 120, p=(0.4, 0.35, 0.25)))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # theirs divides by zero where all decide at once
        theirs = CumIncidenceRight(data.days, data.outcome)
    for k, outcome in enumerate(("yes", "no")):
        mine = decided_for(data, outcome, level=0.9)
        steps = mine.share > 0
        here = np.isin(theirs.times, mine.days[steps])
        share, error = theirs.cinc[k][here], theirs.cinc_se[k][here]
        assert mine.share[steps] == pytest.approx(share, abs=1e-12)
        told = np.isfinite(error) & (share < 1)
        reach = 1.6448536 * error[told] / np.abs(share[told] * np.log(share[told]))
        assert mine.low[steps][told] == pytest.approx(share[told] ** np.exp(reach), abs=1e-7)
        assert mine.high[steps][told] == pytest.approx(share[told] ** np.exp(-reach), abs=1e-7)


def test_a_no_taken_for_undecided_would_promise_too_many_jobs():
    """35 of 100 say yes, 30 no, 35 nothing at all; the truth is known, and nine in ten bands hold it."""
    rng = np.random.default_rng(35)
    held, right, wrong = [], [], []
    for _ in range(200):
        what = rng.choice(3, 80, p=(0.35, 0.35, 0.30))
        delay = np.where(what > 0, rng.exponential(60, 80), np.inf)
        seen = rng.uniform(30, 720, 80)
        data = waits(np.minimum(delay, seen), np.where(delay <= seen, what, 0))
        share, low, high = decided_for(data, "yes").at(360)
        truth = 0.35 * (1 - np.exp(-6))
        held.append(low <= truth <= high)
        right.append(share - truth)
        only_yes = waits(data.days, np.where(data.outcome == 1, 1, 0))
        wrong.append(1 - undecided(only_yes).at(360)[0] - truth)
    assert abs(np.mean(right)) < 0.01
    assert np.mean(wrong) > 0.05
    assert 0.85 <= np.mean(held) <= 0.95
