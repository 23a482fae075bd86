"""Every scope that is offered tells its years and its bands, also where another one is the best of its way."""

from __future__ import annotations

import pytest
from demo_pianos import study_of

from valuation.engine.appraise import appraise
from valuation.service import load_shop

SCHOOL = "3_school_upright"


@pytest.fixture(scope="module")
def scopes():
    """The scopes of a piano for which the lesser repair is the better one."""
    visit = study_of(SCHOOL).visit
    found = appraise(visit, load_shop(), on=visit.on, turns=False)
    assert found.option("partial_repair").scope == "put_right"
    return {scope.scope: scope.result for scope in found.scopes if scope.offered}


def test_more_work_gives_more_good_years(scopes):
    years = [scopes[name].years.likely for name in ("safe", "put_right", "recondition", "rebuild")]
    assert years == sorted(years)
    assert years[0] > 0


def test_one_that_is_not_the_best_of_its_way_has_bands_about_its_means(scopes):
    result = scopes["recondition"]
    assert result.price.low < result.expected_price < result.price.high
    assert result.value_after.low < result.expected_value < result.value_after.high
    assert 0 <= result.beats_keeping <= 1
