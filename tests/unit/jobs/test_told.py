"""What the client was told and what was agreed on, kept as figures of their day."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from valuation import service
from valuation.engine.catalogue import catalogue_of
from valuation.engine.money import log_spread, prices_of, tax_of
from valuation.jobs.expected import expected_hours
from valuation.jobs.records import EstimatedHours
from valuation.jobs.told import estimate_agreed, evaluation_of, hours_in_all, told_value
from valuation.record.job_card import told_columns
from valuation.report.quote import quote_of
from valuation.service import jobs as service_jobs
from valuation.service.agreeing import agreement_value

TODAY = date(2026, 6, 1)


@pytest.fixture(scope="module")
def grand():
    book = service.load_shop()
    visit = service.read_visit_file(service.demo_visits()[0][1], book, TODAY)
    return book, visit, service.appraise(visit, book, on=visit.on)


def agreement(found, option: str, visit, book) -> dict:
    chosen = found.option(option)
    return agreement_value(chosen, quote_of(chosen, tax_of(book, found.on)), visit.piano, book, on=TODAY)


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
    agreed = agreement(found, "rebuild", visit, book)
    lines = estimate_agreed(agreed)
    option = found.option("rebuild")
    named = dict.fromkeys(name for line in option.lines for name in (line.operation, *line.with_it))
    assert [line.operation for line in lines] == list(named)  # also what a line brings along, each once
    assert set(agreed["plan"].values()) <= {"repair", "replace"}
    assert agreed["price"] == float(quote_of(option, tax_of(book, found.on)).total)  # what is signed


def test_pieces_of_small_repairs_are_kept_with_what_was_agreed(grand):
    book, *_ = grand
    heirloom = next(path for _, path in service.demo_visits() if path.stem == "6_heirloom")
    visit = service.read_visit_file(heirloom, book, TODAY)
    found = service.appraise(visit, book, on=visit.on)
    agreed = agreement(found, "rebuild", visit, book)
    small = {line.operation for line in found.option("rebuild").lines if line.pieces}
    assert small
    assert set(agreed["pieces"]) == small
    hours = {line.operation: line for line in estimate_agreed(agreed)}
    for operation, pieces in agreed["pieces"].items():
        expected = expected_hours(book, visit.piano.kind, visit.piano.features, operation, pieces)
        assert hours[operation].likely == pytest.approx(expected.likely, abs=1e-3)


def test_the_hours_of_an_operation_are_those_that_the_engine_prices(grand):
    """The engine prices expected hours: the likely ones times what their spread adds to the mean of a lognormal."""
    book, visit, _ = grand
    features = tuple(sorted(visit.piano.features))
    catalogue = catalogue_of(book, "grand", features, visit.piano.tier)
    prices = prices_of(book, catalogue, visit.on)
    by_piece = {cure.operation for cure in book.cures if cure.piece_likely > 0}
    held = 0
    for name in catalogue.operations.keys() - by_piece:
        hours = expected_hours(book, "grand", features, name)
        over = max(log_spread(hours.low, hours.likely, hours.high), book.settings.job_spread) ** 2 / 2
        assert prices.operations[name].hours == pytest.approx(hours.likely * np.exp(over))
        held += 1
    assert held > 60


def test_pieces_and_features_add_to_the_hours(small_tables):
    one = expected_hours(small_tables, "upright", (), "head_glued", {"heads_loose": 1})
    ten = expected_hours(small_tables, "upright", (), "head_glued", {"heads_loose": 10})
    assert (one.likely, ten.likely) == pytest.approx((0.2 + 0.15, 0.2 + 1.5))
    drop = expected_hours(small_tables, "upright", ("drop_action",), "head_glued", {"heads_loose": 10})
    assert drop.likely == pytest.approx(1.5 * ten.likely)
    assert expected_hours(small_tables, "upright", (), "head_glued") is None  # nobody said how many
    assert expected_hours(small_tables, "upright", (), "gilding") is None


def test_before_there_is_a_verdict_there_is_nothing_to_agree_on(grand):
    book, visit, found = grand
    assert service_jobs.options_to_agree(found)
    early = replace(visit, findings=visit.findings[:1])
    unready = service.appraise(early, book, on=visit.on)
    assert not unready.ready
    assert service_jobs.options_to_agree(unready) == ()


def test_an_option_without_work_can_not_be_agreed_on(grand):
    book, visit, found = grand
    with pytest.raises(ValueError, match="'retire' has no work in it; choose an option that has"):
        agreement(found, "retire", visit, book)
