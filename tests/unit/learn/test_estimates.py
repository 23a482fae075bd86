"""Estimate against actual."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from valuation.jobs.records import EstimatedHours, Job, WorkDone
from valuation.learn.estimates import compare_estimates


def job(visit: str, **hours: tuple[float, float | None]) -> Job:
    """Return a job with likely and done hours of each operation; None where nothing was done."""
    return Job(
        visit=visit,
        kind="grand",
        estimate=tuple(
            EstimatedHours(operation=name, low=likely / 1.5, likely=likely, high=likely * 1.5)
            for name, (likely, _) in hours.items()
        ),
        work=tuple(WorkDone(operation=name, hours=done) for name, (_, done) in hours.items() if done is not None),
    )


def jobs(n: int = 8) -> list[Job]:
    rng = np.random.default_rng(1)
    return [
        job(f"v{i}", restring=(20, 24 * math.exp(0.2 * rng.standard_normal())), new_hammers=(15, 15.0), voice=(5, 6.0))
        for i in range(n)
    ]


def one(accuracies, of: str):
    return next(a for a in accuracies if a.of == of)


def test_bias_and_spread_are_those_of_the_textbook(small_tables):
    made = jobs()
    found = one(compare_estimates(made, small_tables).operations, "restring")
    logs = np.log([j.hours_by_operation["restring"] / 20 for j in made])
    limits = stats.ttest_1samp(logs, 0).confidence_interval(0.9)
    assert found.jobs == 8
    assert math.log(found.bias) == pytest.approx(logs.mean())
    assert (math.log(found.bias_low), math.log(found.bias_high)) == pytest.approx((limits.low, limits.high))
    assert found.spread == pytest.approx(np.std(logs, ddof=1))
    assert found.spread_low < found.spread < found.spread_high


def test_the_interval_of_the_spread_holds_the_truth_nine_times_in_ten(small_tables):
    rng = np.random.default_rng(2)
    held_spread, held_bias = [], []
    for _ in range(400):
        made = [job(f"v{i}", restring=(20, 25 * math.exp(0.3 * rng.standard_normal()))) for i in range(6)]
        found = one(compare_estimates(made, small_tables).operations, "restring")
        held_spread.append(found.spread_low <= 0.3 <= found.spread_high)
        held_bias.append(found.bias_low <= 1.25 <= found.bias_high)
    assert 0.865 <= np.mean(held_spread) <= 0.935
    assert 0.865 <= np.mean(held_bias) <= 0.935


def test_too_few_jobs_give_no_figure_but_their_hours(small_tables):
    found = one(compare_estimates(jobs(4), small_tables).operations, "restring")
    assert (found.is_told, found.jobs, found.estimated, found.bias) == (False, 4, 80, None)
    assert one(compare_estimates(jobs(5), small_tables).operations, "restring").is_told


def test_a_component_adds_its_operations_up_job_by_job(small_tables):
    made = [job(f"v{i}", restring=(20, 30.0), new_block=(28, 28.0), voice=(5, 9.0)) for i in range(5)]
    block = one(compare_estimates(made, small_tables).components, "block")
    assert (block.jobs, block.estimated, block.done) == (5, 240, 290)
    assert block.bias == pytest.approx(58 / 48)
    assert block.within is None


def test_the_whole_job_counts_every_operation_that_has_both_figures(small_tables):
    comparison = compare_estimates(jobs(5), small_tables)
    assert comparison.whole.estimated == 5 * 40
    assert [j.estimated for j in comparison.jobs] == [40] * 5


def test_what_has_only_one_of_the_two_figures_is_named_and_not_compared(small_tables):
    odd = job("odd", restring=(20, None), voice=(5, 6.0))
    extra = WorkDone(operation="tune", hours=3)
    odd = Job(visit="odd", kind="grand", estimate=odd.estimate, work=(*odd.work, extra))
    (found,) = compare_estimates([odd], small_tables).jobs
    assert (found.estimated, found.done, found.not_estimated, found.not_done) == (5, 6, ("tune",), ("restring",))


def test_how_often_the_hours_lay_within_the_estimate_is_counted(small_tables):
    made = [job(f"v{i}", voice=(6, hours)) for i, hours in enumerate((4.0, 5.0, 9.0, 9.1, 3.9))]
    within = one(compare_estimates(made, small_tables).operations, "voice").within
    assert (within.count, within.of) == (3, 5)


def test_no_jobs_are_no_error(small_tables):
    comparison = compare_estimates([], small_tables)
    assert (comparison.operations, comparison.components, comparison.jobs) == ((), (), ())
    assert (comparison.whole.jobs, comparison.whole.is_told) == (0, False)
