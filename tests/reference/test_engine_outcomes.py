"""The draws behind the bands against exact means and against drawing every fault and every operation by itself."""

from __future__ import annotations

import numpy as np
import pytest
import small_rules
from carried_out import Carried, severities_of
from random_visits import ON, random_visit

from valuation.engine.decision import RETIRE
from valuation.engine.outcomes import Outcome, draw_noise, draw_outcomes, tenths
from valuation.engine.reasons import expected_value
from valuation.engine.rows.tables import Tables
from valuation.engine.study import Answer, Study, decide_at, study_of, what_if
from valuation.rules import load_tables

DRAWS = 8192


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


@pytest.fixture(scope="module")
def small() -> Tables:
    return small_rules.tables()


def drawn(study: Study, answer: Answer, seed: int = 0) -> dict[str, Outcome]:
    figures = answer.figures
    return draw_outcomes(
        study.catalogue, answer.bench, study.prices, study.market, figures.stakes, answer.decision,
        answer.recourse, draw_noise(study.condition.causes, DRAWS, seed), figures.hours_scale * figures.rate_scale,
        figures.finished_scale,
    )  # fmt: skip


def error_of(values: np.ndarray) -> float:
    return float(values.std()) / len(values) ** 0.5


@pytest.mark.parametrize("seed", range(16))
def test_means_of_the_draws_are_the_exact_ones_within_three_standard_errors(tables, small, seed):
    rng = np.random.default_rng(70 + seed)
    book = tables if seed % 2 else small
    study = study_of(random_visit(book, rng), book, on=ON)
    answer = decide_at(
        study, what_if(study, hours_scale=(1.0, 1.6)[seed % 3 == 0], finished_scale=(1.0, 0.7)[seed % 4 == 0])
    )
    outcomes = drawn(study, answer, seed)
    assert set(outcomes) == {*answer.decision.best, RETIRE}
    for option, outcome in outcomes.items():
        assert outcome.net.mean() == pytest.approx(answer.decision.nets[option], abs=0.01)
        if option == RETIRE:
            continue
        scope = answer.decision.best[option]
        assert abs(outcome.price.mean() - scope.price) < 3 * error_of(outcome.price) + 1e-5 * scope.price
        value = expected_value(study, answer, scope)
        assert abs(outcome.value.mean() - value) < 3 * error_of(outcome.value) + 1e-5 * value


@pytest.mark.parametrize("seed", range(10))
def test_bands_of_price_and_value_are_those_of_drawing_every_fault_and_operation(small, seed):
    rng = np.random.default_rng(90 + seed)
    study = study_of(random_visit(small, rng), small, on=ON)
    answer = decide_at(study)
    outcomes = drawn(study, answer)
    severities = severities_of(study, 40_000, rng)
    for option, scope in answer.decision.best.items():
        truth = Carried(study, answer, scope).draw(severities, rng)
        assert truth.price.mean() == pytest.approx(scope.price, abs=3 * error_of(truth.price) + 1e-9)
        for ours, theirs in ((outcomes[option].price, truth.price), (outcomes[option].value, truth.value)):
            if not theirs.any():
                assert not ours.any()
                continue
            within = [float((theirs < mark).mean()) for mark in tenths(ours)]
            assert within == pytest.approx([0.1, 0.5, 0.9], abs=0.04), (option, scope.name)
