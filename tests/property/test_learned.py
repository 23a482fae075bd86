"""What must hold of whatever is learned, whatever happened."""

from __future__ import annotations

import numpy as np
import pytest
from finished_jobs import finished_job, true_ratios
from hypothesis import given, settings
from hypothesis import strategies as st
from invented_evaluations import invented
from random_visits import in_words, live

from valuation.engine.rows import SEVERITIES
from valuation.facts.visit import Piano
from valuation.jobs.records import Job, Teardown, WorkDone
from valuation.learn.cases import Case
from valuation.learn.chance import fit_chance
from valuation.learn.condition_tables import learn_condition
from valuation.learn.decisions import Waits, decided_for, undecided
from valuation.learn.delays import learn_delays
from valuation.learn.hours import learn_hours


def slowly(*strategies, examples: int = 40):
    """Hypothesis's `given` without its time limit, and fewer examples: CI shares its cores."""
    return lambda test: settings(deadline=None, max_examples=examples)(given(*strategies)(test))


@st.composite
def waits(draw):
    made = draw(st.lists(st.tuples(st.integers(0, 40), st.integers(0, 2)), min_size=1, max_size=40))
    days, outcome = zip(*made, strict=True)
    return Waits(visits=("",) * len(made), days=np.array(days, float), outcome=np.array(outcome))


@slowly(waits(), examples=150)
def test_yes_no_and_undecided_share_everybody_out_on_every_day(waits):
    curves = [decided_for(waits, "yes"), decided_for(waits, "no"), undecided(waits)]
    for day in range(0, 45, 3):
        assert sum(curve.at(day)[0] for curve in curves) == pytest.approx(1)


@slowly(waits(), examples=150)
def test_curves_stay_within_their_limits_and_never_turn_back(waits):
    for curve, way in ((decided_for(waits, "yes"), 1), (decided_for(waits, "no"), 1), (undecided(waits), -1)):
        assert (np.diff(curve.share) * way >= -1e-12).all()
        assert (curve.low <= curve.share + 1e-9).all()
        assert (curve.share <= curve.high + 1e-9).all()
        assert curve.low.min() >= 0
        assert curve.high.max() <= 1


@slowly(waits())
def test_the_three_sorts_share_everybody_out_and_waiting_never_helps(waits):
    delays = learn_delays(waits)
    assert sum(delays.shares) == pytest.approx(1)
    assert min(delays.shares) > 0
    still = delays.yes.not_yet(np.arange(0, 2000, 10))
    assert (np.diff(still) <= 0).all()


@slowly(st.integers(0, 60), st.integers(0, 1000))
def test_chances_are_chances_and_do_not_hang_on_the_order(n, seed):
    rng = np.random.default_rng(seed)
    evaluations, waits, _, _ = invented(rng, n)
    delays = learn_delays(waits)
    chances = fit_chance(evaluations, waits, delays).chances(evaluations, waits.days)
    assert ((chances > 0) & (chances < 1)).all()
    order = rng.permutation(n)
    turned = Waits(visits=waits.visits, days=waits.days[order], outcome=waits.outcome[order])
    model = fit_chance([evaluations[i] for i in order], turned, delays)
    assert model.chances(evaluations, waits.days) == pytest.approx(chances, abs=1e-6)


@slowly(st.integers(1, 12), st.integers(0, 1000), st.floats(0.5, 2), examples=15)
def test_hours_do_not_hang_on_the_order_and_longer_work_never_gives_a_smaller_ratio(small_tables, n, seed, longer):
    rng = np.random.default_rng(seed)
    truth = true_ratios(small_tables, rng)
    jobs = [finished_job(small_tables, rng, truth, f"v{i}") for i in range(n)]
    ratios = [f.ratio for f in learn_hours(jobs, small_tables).families]
    assert [f.ratio for f in learn_hours(jobs[::-1], small_tables).families] == pytest.approx(ratios, rel=1e-9)
    stretched = [
        Job(
            visit=job.visit,
            kind=job.kind,
            work=tuple(WorkDone(operation=w.operation, hours=w.hours * (1 + longer)) for w in job.work),
            pieces=job.pieces,
        )
        for job in jobs
    ]
    after = [f.ratio for f in learn_hours(stretched, small_tables).families]
    assert all(a > b for a, b in zip(after, ratios, strict=True))


@slowly(st.sampled_from([2, 25, 40]), st.integers(0, 1000), examples=10)
def test_odds_and_readings_do_not_hang_on_the_order_of_the_visits(small_tables, n, seed):
    words, rng = in_words(small_tables), np.random.default_rng(seed)
    lived = live(words, Piano(kind="upright", year=1900), n, rng, made=1.0)
    names = [row.id for row in lived.network.faults]
    cases = [
        Case(
            visit=lived.visit(i, rng),
            teardown=tuple(
                Teardown(fault=name, severity=SEVERITIES[lived.severities[i, f]])
                for f, name in enumerate(names)
                if i % 3
            ),
        )
        for i in range(n)
    ]
    one, other = learn_condition(cases, words), learn_condition(cases[::-1], words)
    for mine, theirs in ((one.readings, other.readings), (one.odds, other.odds)):
        assert mine.keys() == theirs.keys()
        assert bool(mine) == (n > 20)
        for key in mine:
            assert mine[key].shares == pytest.approx(theirs[key].shares, abs=1e-4)
