"""Verdicts of whole visits against what a master of the trade says to them (from memory, written first)."""

from __future__ import annotations

import pytest
from twelve_visits import CASES, ON, Case, visit_of

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import appraise
from valuation.engine.rows.tables import Tables
from valuation.rules import load_tables


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


@pytest.fixture(scope="module")
def appraised(tables: Tables) -> dict[str, Appraisal]:
    return {case.id: appraise(visit_of(case, tables), tables, on=ON, draws=1024, turns=False) for case in CASES}


def of_each(**wanted: object) -> pytest.MarkDecorator:
    """Run a test for each case in which an expectation was written down."""
    name, empty = next(iter(wanted.items()))
    return pytest.mark.parametrize("case", [c for c in CASES if getattr(c.expected, name) != empty], ids=lambda c: c.id)


def meant(case: Case, appraisal: Appraisal):
    """The plan that the expectation is of: the verdict's, or that of the scope beside it."""
    beside = case.expected.beside
    return next(s.result for s in appraisal.scopes if s.scope == beside) if beside else appraisal.best


@of_each(verdicts=())
def test_the_verdict_is_one_that_a_master_would_sign(case, appraised):
    assert appraised[case.id].verdict in case.expected.verdicts, case.expected.says


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_there_is_a_verdict_only_where_somebody_looked(case, appraised):
    assert appraised[case.id].ready is case.expected.ready


@of_each(hours=None)
def test_the_hours_lie_where_a_master_would_put_them(case, appraised):
    low, high = case.expected.hours
    assert low <= sum(line.hours for line in meant(case, appraised[case.id]).lines) <= high, case.expected.says


@of_each(price=None)
def test_the_price_lies_where_a_master_would_put_it(case, appraised):
    low, high = case.expected.price
    assert low <= meant(case, appraised[case.id]).expected_price <= high, case.expected.says


@of_each(works=())
def test_what_has_to_be_done_stands_among_the_lines(case, appraised):
    lines = {line.operation for line in meant(case, appraised[case.id]).lines}
    for one_of in case.expected.works:
        assert lines & set(one_of), f"none of {one_of} among {sorted(lines)}"


@of_each(never=())
def test_what_nobody_would_do_does_not(case, appraised):
    lines = {line.operation for line in meant(case, appraised[case.id]).lines}
    assert not lines & set(case.expected.never)


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_the_stops_are_those_of_what_was_found(case, appraised):
    if case.looked:
        assert set(appraised[case.id].stops) == set(case.expected.stops)


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_every_line_of_the_verdict_names_a_fault_that_the_piano_has(case, appraised):
    for line in appraised[case.id].best.lines:
        if line.part:
            assert any(case.faults.get(fault, "none") != "none" for fault in line.faults), line.operation


SHELVED = {"new_soundboard", "plate_replaced"}
"""Nobody finds on an open piano that it wants these without having heard or seen it first."""


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_no_scope_has_a_new_board_or_another_frame_up_its_sleeve(case, appraised):
    for scope in appraised[case.id].scopes:
        assert not SHELVED & {allowance.operation for allowance in scope.result.allowances}


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_a_step_that_several_works_share_stands_once(case, appraised, tables):
    covers = {row.id: set(row.covers) for row in tables.operations}
    for scope in appraised[case.id].scopes:
        shared = [line.operation for line in scope.result.lines if not line.part]
        assert len(shared) == len(set(shared))
        assert not set(shared) & set().union(*(covers[name] for name in shared))


@pytest.mark.parametrize("case", CASES, ids=lambda c: c.id)
def test_making_it_safe_costs_no_more_than_a_morning(case, appraised):
    if "tune" not in case.expected.stops:
        safe = appraised[case.id].scopes[0].result
        assert sum(line.hours for line in safe.lines) <= 4
