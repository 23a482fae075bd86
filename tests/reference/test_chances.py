"""Chances of becoming a job against other libraries, brute force and an invented truth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from invented_evaluations import ON, invented
from scipy.optimize import minimize
from scipy.special import expit
from scipy.stats import lognorm, norm
from sklearn.linear_model import LogisticRegression

from valuation.learn.carry import judge
from valuation.learn.chance import ATTRIBUTES, LEVEL_SPREAD, SLOPE_SPREAD, ChanceModel, fit_chance
from valuation.learn.decisions import Waits
from valuation.learn.delays import PRIOR, Delay, Delays, learn_delays


def decided(waits: Waits, yes: np.ndarray) -> Waits:
    return replace(waits, outcome=np.where(yes, 1, 2), days=np.full(len(yes), 20.0))


@pytest.mark.parametrize("n", [20, 60, 200])
def test_with_everyone_decided_the_line_is_that_of_scikit_learn(n):
    evaluations, waits, _, yes = invented(np.random.default_rng(n), n)
    model = fit_chance(evaluations, decided(waits, yes), PRIOR, base_share=0.5)
    # Its penalty is the same for all columns: stretching each by the prior of its slope makes ours of it.
    spreads = np.array([LEVEL_SPREAD, *[SLOPE_SPREAD] * len(ATTRIBUTES)])
    columns = model.columns(evaluations) * spreads
    theirs = LogisticRegression(C=1.0, fit_intercept=False, tol=1e-10, max_iter=10_000).fit(columns, yes)
    assert model.line == pytest.approx(theirs.coef_[0] * spreads, abs=1e-5)


@pytest.mark.parametrize("n", [15, 40, 150])
def test_chances_areaveraged_over_what_is_not_known_of_the_line(n):
    """Against the exact posterior, by weighting draws: some evaluations still open among them."""
    evaluations, waits, _, _ = invented(np.random.default_rng(n), n)
    delays = learn_delays(waits)
    model = fit_chance(evaluations, waits, delays)
    rng = np.random.default_rng(0)
    draws = rng.multivariate_normal(model.line, 1.5 * model.spread, 60_000)
    away = draws - model.line
    log_proposal = -np.einsum("ij,jk,ik->i", away, np.linalg.inv(1.5 * model.spread), away) / 2
    p = expit(draws @ model.columns(evaluations).T)
    yes, other = delays.still_open(waits.days)
    likely = np.where(waits.outcome == 1, p, np.where(waits.outcome == 2, 1 - p, p * yes + (1 - p) * other))
    start = np.array([np.log(0.35 / 0.65), *[0] * len(ATTRIBUTES)])
    spreads = np.array([LEVEL_SPREAD, *[SLOPE_SPREAD] * len(ATTRIBUTES)])
    log_prior = -(((draws - start) / spreads) ** 2).sum(axis=1) / 2
    log_weights = np.log(likely).sum(axis=1) + log_prior - log_proposal
    weights = np.exp(log_weights - log_weights.max())
    exact = weights @ p / weights.sum()
    off = np.abs(model.chances(evaluations) - exact)
    assert off.max() < 0.03
    assert np.corrcoef(model.chances(evaluations), exact)[0, 1] > 0.998


@pytest.mark.parametrize(("middle", "sd"), [(-2.0, 0.1), (0.3, 1.0), (1.5, 2.0), (-3.0, 1.5)])
def test_averaging_over_a_normal_is_what_scipy_integrates(middle, sd):
    exact = norm(middle, sd).expect(expit)
    assert ChanceModel.averaged(np.array([middle]), np.array([sd]))[0] == pytest.approx(exact, abs=1e-5)


def test_delays_are_where_a_general_optimiser_finds_them():
    """The same penalised likelihood, written down once more and climbed without knowing its shape."""
    _, waits, _, _ = invented(np.random.default_rng(5), 150)
    found = learn_delays(waits)
    t = waits.days + 0.5
    held = 6 * np.array(PRIOR.shares)

    def loss(x):
        shares = np.exp(np.array([x[0], x[1], 0.0]))
        shares /= shares.sum()
        ways = [lognorm(s=np.exp(x[3 + 2 * k]), scale=np.exp(x[2 + 2 * k])) for k in (0, 1)]
        still = shares[0] * ways[0].sf(t) + shares[1] * ways[1].sf(t) + shares[2]
        told = np.select(
            [waits.outcome == 1, waits.outcome == 2],
            [np.log(shares[0]) + ways[0].logpdf(t), np.log(shares[1]) + ways[1].logpdf(t)],
            np.log(still),
        ).sum()
        told += held @ np.log(shares)
        for k, first in enumerate((PRIOR.yes, PRIOR.no)):
            mean, spread = x[2 + 2 * k], np.exp(x[3 + 2 * k])
            away = first.spread**2 + (np.log(first.median) - mean) ** 2
            told -= held[k] * (np.log(spread) + away / (2 * spread**2))
        return -told

    best = minimize(
        loss, [0.0, 0.0, 3.5, 0.0, 3.5, 0.0], method="Nelder-Mead", options={"maxiter": 8000, "fatol": 1e-10}
    )
    shares = np.exp([best.x[0], best.x[1], 0.0]) / np.exp([best.x[0], best.x[1], 0.0]).sum()
    assert found.shares == pytest.approx(shares, abs=2e-3)
    assert (found.yes.median, found.no.median) == pytest.approx(np.exp(best.x[[2, 4]]), rel=0.01)
    assert (found.yes.spread, found.no.spread) == pytest.approx(np.exp(best.x[[3, 5]]), rel=0.01)


def test_the_share_of_jobs_is_found_though_a_third_never_answers():
    """Truth 0.35, 0.30 and 0.35. Measured elsewhere on like draws: root mean square 0.069 with 30, 0.033 with 200."""
    rng = np.random.default_rng(2)
    for n, bar in ((30, 0.085), (200, 0.045)):
        off = []
        for _ in range(150):
            sort = rng.choice(3, n, p=(0.35, 0.30, 0.35))
            delay = np.exp(rng.standard_normal(n)) * np.choose(sort, [40, 60, np.inf])
            age = rng.uniform(0, 720, n)
            outcome = np.where(delay <= age, sort + 1, 0)
            waits = Waits(visits=("",) * n, days=np.floor(np.minimum(delay, age)), outcome=outcome)
            off.append(learn_delays(waits).yes_share - 0.35)
        assert np.sqrt(np.mean(np.square(off))) < bar
        assert abs(np.mean(off)) < 0.02


def test_of_those_still_open_about_as_many_come_as_is_said():
    rng = np.random.default_rng(8)
    said, came, variance = 0.0, 0, 0.0
    for _ in range(15):
        evaluations, waits, _, yes = invented(rng, 400)
        is_open = waits.outcome == 0
        model = fit_chance(evaluations, waits, learn_delays(waits))
        chance = model.chances([e for e, o in zip(evaluations, is_open, strict=True) if o], waits.days[is_open])
        said, came = said + chance.sum(), came + yes[is_open].sum()
        variance += (chance * (1 - chance)).sum()
    # Each shop's own delays are uncertain too, which all its open ones share: hence 4 rather than 3.
    assert abs(said - came) < 4 * np.sqrt(variance)


def test_chances_beat_the_base_rate_on_evaluations_nobody_has_seen():
    """As measured elsewhere on six attributes: from some twenty evaluations on."""
    rng = np.random.default_rng(3)
    unseen, _, _, came = invented(rng, 4000)
    for n in (30, 80, 300):
        better = []
        for _ in range(8):
            evaluations, waits, _, _ = invented(rng, n)
            delays = learn_delays(waits)
            losses = []
            for attributes in (ATTRIBUTES, ()):
                p = fit_chance(evaluations, waits, delays, attributes=attributes).chances(unseen)
                losses.append(-np.mean(np.log(np.where(came, p, 1 - p))))
            better.append(losses[1] - losses[0])
        assert np.mean(better) > 0.03


def test_attributes_that_tell_nothing_are_not_shown():
    rng = np.random.default_rng(4)
    words = [judge(*invented(rng, 150, effects=[0] * 6)[:2], on=ON).word for _ in range(20)]
    assert words.count("shown") <= 4  # nine in ten certain, so one in ten by chance; more than 4 of 20: p = 0.04
    assert words.count("not_better") >= 14


def test_attributes_that_tell_much_are_shown_and_the_groups_come_as_said():
    rng = np.random.default_rng(6)
    judged = [judge(*invented(rng, 400)[:2], on=ON) for _ in range(5)]
    assert [j.word for j in judged] == ["shown"] * 5
    assert all(j.brier < j.brier_base for j in judged)
    held = [g.came.low <= g.said <= g.came.high for j in judged for g in j.groups]
    assert np.mean(held) >= 0.72  # 25 groups at nine in ten: fewer than 18 has p < 0.01
    assert np.mean([j.slope for j in judged]) == pytest.approx(1, abs=0.2)


def test_one_who_has_waited_long_is_likelier_never_to_answer():
    delays = Delays(yes=Delay(median=30, spread=1), no=Delay(median=40, spread=1), yes_share=0.4, no_share=0.3)
    days = np.array([0, 10, 30, 90, 365, 2000])

    def chance_of_yes(days):
        yes, other = delays.still_open(days)
        return delays.yes_share * yes / (delays.yes_share * yes + (1 - delays.yes_share) * other)

    chance = chance_of_yes(days)
    assert (np.diff(chance) < 0).all()
    assert chance[0] == pytest.approx(0.4, abs=1e-4)
    assert chance[-1] < 1e-3
    # By hand at the median of the yes: half of them are still open.
    other = 0.3 * delays.no.not_yet(np.array([29.5]))[0] + 0.3
    assert chance_of_yes(np.array([29.5]))[0] == pytest.approx(0.2 / (0.2 + other))
