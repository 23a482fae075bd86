"""What a simulated shop learns, its truth being known: the fast version of `tests/benchmark/learning.py`.

One shop of 400 evaluations and some 150 finished jobs, and as many fresh pianos of the same truth to judge by.
"""

from __future__ import annotations

import numpy as np
import pytest
from finished_jobs import finished_job, true_ratios
from simulated_shop import TODAY, believed_tables, simulate

from tests.benchmark.learning import (
    BEFORE,
    COUNTED,
    LEARNED,
    TRUTH,
    Measured,
    measure_chances,
    measure_fresh,
    measure_left_out,
)
from valuation.jobs.stages import courses
from valuation.learn.carry import judge, reliability
from valuation.learn.decisions import decided_for, waits_of
from valuation.learn.estimates import compare_estimates
from valuation.learn.funnel import by_source, conversion, funnel
from valuation.learn.hours import learn_hours


@pytest.fixture(scope="module")
def shop():
    return simulate(np.random.default_rng([1, 0]), believed=believed_tables())


@pytest.fixture(scope="module")
def fresh(shop):
    return simulate(np.random.default_rng([1, 1]), believed=shop.believed, truth=shop.truth)


@pytest.fixture(scope="module")
def way(shop):
    return courses(shop.events, shop.believed.stages, on=TODAY)


def test_the_shop_is_of_the_size_it_should_be(shop):
    assert len(shop.evaluations) == 400
    assert 130 <= len(shop.finished) <= 190


def test_intervals_of_hours_hold_the_truth_as_often_as_they_say(shop):
    """The shop's own jobs, their hours drawn anew 24 times from new truths: about 150 jobs, nine families."""
    rng = np.random.default_rng(2)
    plans = [(job.visit, job.kind, [line.operation for line in job.estimate]) for job in shop.finished]
    held, off, raw = [], [], []
    for _ in range(24):
        truth = true_ratios(shop.believed, rng)
        jobs = [finished_job(shop.believed, rng, truth, v, kind=kind, operations=ops) for v, kind, ops in plans]
        for family in learn_hours(jobs, shop.believed).families:
            held.append(np.log(family.low) <= truth[family.family] <= np.log(family.high))
            off.append(np.log(family.ratio) - truth[family.family])
            raw.append(np.log(family.raw) - truth[family.family])
    assert len(held) > 190
    assert 0.85 <= np.mean(held) <= 0.97
    assert np.mean(np.square(off)) <= np.mean(np.square(raw))


def test_learned_tables_tell_what_is_wrong_better_than_the_first_ones_on_pianos_not_learned_from(shop, fresh):
    found = Measured()
    measure_fresh(shop, fresh, found)
    score = {name: scores[0] for name, scores in found.scores.items()}
    assert score[BEFORE] < score[COUNTED] < score[LEARNED] < score[TRUTH] + 0.003
    assert score[LEARNED] - score[BEFORE] > 0.5 * (score[TRUTH] - score[BEFORE])


def test_learned_tables_tell_the_teardowns_better_that_were_left_out_of_the_learning(shop):
    found = Measured()
    measure_left_out(shop, found)
    assert found.held_out[LEARNED] > found.held_out[BEFORE]


def test_chances_come_as_said_and_beat_the_base_rate_on_evaluations_not_learned_from(shop, fresh):
    found = Measured()
    measure_chances(shop, fresh, found)
    (said,), (base,), (came,) = found.said, found.base, found.came
    assert found.words == ["shown"]
    assert np.mean((said - came) ** 2) < np.mean((base - came) ** 2) - 0.02
    groups = reliability(said, came)
    assert sum(g.came.low <= g.said <= g.came.high for g in groups) >= 3  # 5 at nine in ten: fewer than 3 has p = 0.01
    assert [g.said for g in groups] == sorted(g.said for g in groups)


def test_a_shop_that_has_just_begun_says_that_it_cannot_tell_yet(shop, way):
    first = sorted(shop.evaluations, key=lambda e: e.on)[:24]
    told = judge(first, waits_of(first, way, on=TODAY), on=TODAY)
    assert told.word in ("too_few", "not_better")
    assert told.more is None or told.more > 0


def test_the_share_of_jobs_after_a_year_is_the_true_one(shop, way):
    waits = waits_of(shop.evaluations, way, on=TODAY)
    share, low, high = decided_for(waits, "yes").at(365)
    assert low <= shop.chance.mean() <= high
    assert high - low < 0.12
    assert share == pytest.approx(shop.will_be_yes.mean(), abs=0.06)


def test_the_first_look_at_the_shop_adds_up(shop, way):
    reached = [r.reached for r in funnel(way.values(), shop.believed.stages)]
    assert reached == sorted(reached, reverse=True)
    assert reached[0] == 400
    by = conversion(shop.evaluations, waits_of(shop.evaluations, way, on=TODAY), by_source, on=TODAY)
    assert sum(c.evaluations for c in by) == 400
    assert all(c.settled.is_told for c in by)
    comparison = compare_estimates(shop.finished, shop.believed)
    assert comparison.whole.jobs == len(shop.finished)
    assert comparison.whole.is_told
