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


def expected(likely: float) -> float:
    """What an estimate of `job` is expected to take: a lognormal's mean."""
    return likely * math.exp((math.log(1.5**2) / (2 * 1.2815515655446)) ** 2 / 2)


def test_bias_is_hours_done_over_hours_expected_and_the_spread_that_of_the_textbook(small_tables):
    made = jobs()
    found = one(compare_estimates(made, small_tables).operations, "restring")
    done = [j.hours_by_operation["restring"] for j in made]
    assert found.jobs == 8
    assert found.bias == pytest.approx(sum(done) / (8 * expected(20)))
    assert found.bias_low < found.bias < found.bias_high
    assert found.spread == pytest.approx(np.std(np.log(done), ddof=1))


def test_the_interval_of_the_bias_holds_the_truth_nine_times_in_ten(small_tables):
    rng = np.random.default_rng(2)
    held_bias = []
    truth = 25 * math.exp(0.3**2 / 2) / expected(20)
    for _ in range(400):
        made = [job(f"v{i}", restring=(20, 25 * math.exp(0.3 * rng.standard_normal()))) for i in range(6)]
        found = one(compare_estimates(made, small_tables).operations, "restring")
        held_bias.append(found.bias_low <= truth <= found.bias_high)
    assert 0.855 <= np.mean(held_bias) <= 0.935  # few and skew: a little short


def test_a_shop_that_estimates_without_fault_is_told_so(small_tables):
    rng = np.random.default_rng(3)
    spread = math.log(1.5**2) / (2 * stats.norm.ppf(0.9))
    made = [
        job(f"v{i}", **{name: (h, h * math.exp(spread * rng.standard_normal())) for name, h in
                        (("restring", 20), ("new_hammers", 15), ("voice", 5))})
        for i in range(4000)
    ]  # fmt: skip
    found = compare_estimates(made, small_tables)
    assert found.whole.bias == pytest.approx(1, abs=0.01)
    assert all(one.bias == pytest.approx(1, abs=0.02) for one in (*found.operations, *found.components))


def test_too_few_jobs_give_no_figure_but_their_hours(small_tables):
    found = one(compare_estimates(jobs(4), small_tables).operations, "restring")
    assert (found.is_told, found.jobs, found.estimated, found.bias) == (False, 4, pytest.approx(4 * expected(20)), None)
    assert one(compare_estimates(jobs(5), small_tables).operations, "restring").is_told


def test_a_component_adds_its_operations_up_job_by_job(small_tables):
    made = [job(f"v{i}", restring=(20, 30.0), new_block=(28, 28.0), voice=(5, 9.0)) for i in range(5)]
    block = one(compare_estimates(made, small_tables).components, "block")
    assert (block.jobs, block.estimated, block.done) == (5, pytest.approx(5 * expected(48)), 290)
    assert block.bias == pytest.approx(58 / expected(48))
    assert block.within is None


def test_the_whole_job_counts_every_operation_that_has_both_figures(small_tables):
    comparison = compare_estimates(jobs(5), small_tables)
    assert comparison.whole.estimated == pytest.approx(5 * expected(40))


def test_what_has_only_one_of_the_two_figures_is_not_compared(small_tables):
    odd = job("odd", restring=(20, None), voice=(5, 6.0))
    extra = WorkDone(operation="tune", hours=3)
    odd = Job(visit="odd", kind="grand", estimate=odd.estimate, work=(*odd.work, extra))
    found = compare_estimates([odd], small_tables).whole
    assert (found.estimated, found.done) == (pytest.approx(expected(5)), 6)


def test_how_often_the_hours_lay_within_the_estimate_is_counted(small_tables):
    made = [job(f"v{i}", voice=(6, hours)) for i, hours in enumerate((4.0, 5.0, 9.0, 9.1, 3.9))]
    within = one(compare_estimates(made, small_tables).operations, "voice").within
    assert (within.count, within.of) == (3, 5)


def test_no_jobs_are_no_error(small_tables):
    comparison = compare_estimates([], small_tables)
    assert (comparison.operations, comparison.components) == ((), ())
    assert (comparison.whole.jobs, comparison.whole.is_told) == (0, False)
