"""What the client was told and what was agreed on, kept as figures of their day."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from valuation import service
from valuation.engine.money import log_spread
from valuation.jobs.records import EstimatedHours
from valuation.jobs.told import agreed_value, estimate_agreed, evaluation_of, hours_in_all, told_value
from valuation.record.job_card import told_columns

TODAY = date(2026, 6, 1)


@pytest.fixture(scope="module")
def grand():
    book = service.load_shop()
    visit = service.read_visit_file(service.demo_visits()[0][1], book, TODAY)
    return book, visit, service.appraise(visit, book, on=visit.on)


def test_hours_of_a_whole_job_lie_where_a_hundred_thousand_draws_lie():
    # operations as the tables have them; the reference is the sum drawn one by one
    rng = np.random.default_rng(7)
    lines = [(16, 22, 32), (4, 6, 10), (2, 3, 4), (20, 26, 36), (6, 8, 12)]
    job = 0.12
    drawn = np.zeros(100_000)
    for low, likely, high in lines:
        own = np.sqrt(log_spread(low, likely, high) ** 2 - job**2)
        drawn += likely * np.exp(own * rng.standard_normal(len(drawn)))
    drawn *= np.exp(job * rng.standard_normal(len(drawn)))
    told = hours_in_all([EstimatedHours(operation="x", low=a, likely=b, high=c) for a, b, c in lines], job)
    low, likely, high = np.quantile(drawn, [0.1, 0.5, 0.9])
    assert (told.low, told.likely, told.high) == pytest.approx((low, likely, high), rel=0.01)


def test_no_work_takes_no_time():
    assert hours_in_all([], 0.12).high == 0


def test_what_was_told_comes_back_as_an_evaluation(grand):
    book, visit, found = grand
    told = told_value(found, visit, book, on=TODAY)
    columns = told_columns(told) | {"source": "a teacher", "referred": True}
    evaluation = evaluation_of(columns, "v1", "grand")
    assert (evaluation.on, evaluation.verdict, evaluation.kind) == (TODAY, found.verdict, "grand")
    assert evaluation.price.likely == pytest.approx(found.best.price.likely, abs=0.01)
    assert (evaluation.technician, evaluation.source, evaluation.referred) == (visit.technician, "a teacher", True)
    assert evaluation.hours.likely == pytest.approx(sum(line.hours for line in found.best.lines), rel=0.1)


def test_an_evaluation_that_was_never_told_is_none():
    assert evaluation_of(told_columns({}) | {"source": None, "referred": None}, "v1", "grand") is None


def test_what_was_agreed_holds_the_hours_of_every_operation_of_the_option(grand):
    book, visit, found = grand
    agreed = agreed_value(found, "rebuild", visit, book)
    lines = estimate_agreed(agreed)
    assert [line.operation for line in lines] == [line.operation for line in found.option("rebuild").lines]
    assert set(agreed["plan"].values()) <= {"repair", "replace"}


def test_an_option_without_work_can_not_be_agreed_on(grand):
    book, visit, found = grand
    with pytest.raises(ValueError, match="'retire' has no work in it; choose an option that has"):
        agreed_value(found, "retire", visit, book)
