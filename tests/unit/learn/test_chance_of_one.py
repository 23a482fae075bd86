"""The chance of one evaluation, in the pieces that a person sees."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from invented_evaluations import ON, invented

from valuation.jobs.records import Evaluation
from valuation.learn.carry import judge, reliability
from valuation.learn.chance import fit_chance
from valuation.learn.decisions import Waits
from valuation.learn.delays import PRIOR, learn_delays

NOBODY = Waits(visits=(), days=np.zeros(0), outcome=np.zeros(0, dtype=int))
BARE = Evaluation(visit="bare", on=date(2026, 5, 1), kind="upright", verdict="retire")


@pytest.fixture(scope="module")
def model():
    evaluations, waits, _, _ = invented(np.random.default_rng(1), 300)
    return fit_chance(evaluations, waits, learn_delays(waits)), evaluations


def test_before_any_evaluation_all_that_is_said_is_the_shops_own_share():
    none = fit_chance([], NOBODY, learn_delays(NOBODY), base_share=0.35)
    assert learn_delays(NOBODY).shares == pytest.approx(PRIOR.shares)
    assert (none.yes, none.no, none.open) == (0, 0, 0)
    chance = none.explain(BARE)
    assert chance.share == pytest.approx(0.38, abs=0.03)  # 0.35, drawn to the middle by not being known
    assert chance.high - chance.low > 0.5
    assert chance.reasons == ()


def test_the_limits_hold_the_chance_and_reasons_come_by_weight(model):
    line, evaluations = model
    for evaluation in evaluations[:40]:
        chance = line.explain(evaluation, 20.0)
        assert chance.low < chance.share < chance.high
        off = [abs(r.chance_if_usual - chance.share) for r in chance.reasons]
        assert off == sorted(off, reverse=True)
        assert chance.share == pytest.approx(line.chances([evaluation], 20.0)[0])


def test_a_reason_says_what_the_chance_would_be_were_it_as_usual(model):
    line, evaluations = model
    referred = next(e for e in evaluations if e.referred)
    reason = next(r for r in line.explain(referred).reasons if r.attribute == "referred")
    assert reason.value == 1
    assert reason.usual == pytest.approx(np.mean([e.referred for e in evaluations]))
    assert reason.chance_if_usual < line.explain(referred).share


def test_having_waited_is_a_reason_of_its_own(model):
    line, evaluations = model
    waited = next(r for r in line.explain(evaluations[0], 120.0).reasons if r.attribute == "waited")
    assert waited.chance_if_usual == pytest.approx(line.explain(evaluations[0]).share)
    assert "waited" not in [r.attribute for r in line.explain(evaluations[0]).reasons]


def test_what_nobody_asked_is_no_reason_and_moves_nothing(model):
    line, _ = model
    reasons = {r.attribute for r in line.explain(BARE).reasons}
    assert reasons == {"grand", "verdict_for_work"}


@pytest.mark.parametrize(("yes", "no", "n", "more"), [(0, 0, 0, 40), (3, 3, 12, 28), (2, 30, 40, 4), (30, 2, 40, 4)])
def test_with_too_few_decided_it_says_so_and_how_many_more_it_takes(yes, no, n, more):
    evaluations, waits, _, _ = invented(np.random.default_rng(1), n)
    outcome = np.array([1] * yes + [2] * no + [0] * (n - yes - no), dtype=int)
    told = judge(evaluations, Waits(visits=waits.visits, days=waits.days, outcome=outcome), on=ON)
    assert (told.word, told.decided, told.more, told.groups) == ("too_few", yes + no, more, ())


def test_groups_hold_every_evaluation_once_by_rising_chance():
    said = np.array([0.9, 0.1, 0.5, 0.3, 0.7, 0.2, 0.4])
    groups = reliability(said, np.array([1, 0, 1, 0, 1, 0, 0]), groups=3)
    assert [(g.came.count, g.came.of) for g in groups] == [(0, 3), (1, 2), (2, 2)]
    assert [g.said for g in groups] == pytest.approx([0.2, 0.45, 0.8])
