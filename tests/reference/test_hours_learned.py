"""Learned hours against brute force and against an invented truth."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from finished_jobs import finished_job, own_spread, true_ratios
from scipy import stats

from valuation.jobs.expected import expected_hours
from valuation.learn.hours import SHOP_SPREAD, _Seen, family_of, learn_hours
from valuation.rules import load_tables


@pytest.fixture(scope="module")
def tables():
    return load_tables()


@pytest.mark.parametrize("spreads", [(0.05, 0.1, 0.7), (0.3, 0.32, 1.8)])
def test_given_the_spreads_it_is_plain_normal_conditioning(tables, spreads):
    """Every observation written out with its full covariance, and nothing integrated out by hand."""
    family_spread, job_spread, stretch = spreads
    rng = np.random.default_rng(1)
    jobs = [finished_job(tables, rng, true_ratios(tables, rng), f"v{i}") for i in range(6)]
    seen = _Seen.of(jobs, tables)
    told, mean, sd = seen.given(family_spread, job_spread, stretch)

    logs, family, which, own = [], [], [], []
    for j, job in enumerate(jobs):
        rows = tables.of_kind("operations", job.kind)
        for name, hours in job.hours_by_operation.items():
            expected = expected_hours(tables, job.kind, (), name, job.pieces[name])
            logs.append(math.log(hours / expected.likely))
            family.append(seen.names.index(family_of(rows[name], tables)))
            which.append(j)
            own.append(stretch * own_spread(expected, tables.settings.job_spread))
    design = np.eye(len(seen.names))[family]
    before = family_spread**2 * np.eye(len(seen.names)) + SHOP_SPREAD**2
    noise = np.diag(np.square(own)) + job_spread**2 * np.equal.outer(which, which)
    whole = design @ before @ design.T + noise
    gain = before @ design.T @ np.linalg.inv(whole)
    assert mean == pytest.approx(gain @ logs, abs=1e-10)
    assert sd == pytest.approx(np.sqrt(np.diag(before - gain @ design @ before)), abs=1e-10)
    # Up to a constant that is the same for all spreads.
    other = seen.given(0.2, 0.2, 1.0)[0]
    away = np.diag([(o / stretch) ** 2 for o in own]) + 0.04 * np.equal.outer(which, which)
    whole_other = design @ (0.04 * np.eye(len(seen.names)) + SHOP_SPREAD**2) @ design.T + away
    expected = stats.multivariate_normal(cov=whole).logpdf(logs) - stats.multivariate_normal(cov=whole_other).logpdf(
        logs
    )
    assert told - other == pytest.approx(expected, abs=1e-8)


def test_nine_in_ten_intervals_hold_the_truth_whatever_the_number_of_jobs(tables):
    """Measured over 120 shops each: 88.3 % with 5 jobs, 87.7 % with 15, 90.2 % with 60."""
    rng = np.random.default_rng(3)
    held, off, raw = [], [], []
    for n in (3, 15, 40) * 20:
        truth = true_ratios(tables, rng)
        learned = learn_hours([finished_job(tables, rng, truth, f"v{i}") for i in range(n)], tables)
        for found in learned.families:
            true = truth[found.family]
            held.append(found.low <= math.exp(true) <= found.high)
            off.append(math.log(found.ratio) - true)
            raw.append(math.log(found.raw) - true)
    assert 0.85 <= np.mean(held) <= 0.97
    assert np.mean(np.square(off)) < 0.7 * np.mean(np.square(raw))


def test_a_job_that_ran_over_as_a_whole_counts_once_not_once_for_each_operation(tables):
    """Told apart into jobs of one operation each, the same hours would seem to say more than they do."""
    rng = np.random.default_rng(4)
    held, held_apart = [], []
    for _ in range(20):
        truth = true_ratios(tables, rng)
        jobs = [finished_job(tables, rng, truth, f"v{i}", job_spread=0.4, stretch=0.5) for i in range(8)]
        apart = [replace(job, work=(entry,)) for job in jobs for entry in job.work]
        for given, kept in ((jobs, held), (apart, held_apart)):
            found = learn_hours(given, tables).families
            kept += [f.low <= math.exp(truth[f.family]) <= f.high for f in found]
    assert np.mean(held) >= 0.83
    assert np.mean(held_apart) < np.mean(held) - 0.1


def test_more_jobs_say_more_of_the_spreads(tables):
    rng = np.random.default_rng(6)
    truth = true_ratios(tables, rng)
    jobs = [finished_job(tables, rng, truth, f"v{i}") for i in range(200)]
    few, many = learn_hours(jobs[:5], tables), learn_hours(jobs, tables)
    assert many.job_spread == pytest.approx(0.2, abs=0.03)
    assert many.job_spread_low <= 0.2 <= many.job_spread_high
    assert many.job_spread_high - many.job_spread_low < few.job_spread_high - few.job_spread_low
