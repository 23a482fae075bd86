"""A budget that no work fits into: the piano is parted with, and what is left to look at is still told."""

from __future__ import annotations

from dataclasses import replace

import demo_pianos
import pytest

from valuation.engine.decision import RETIRE
from valuation.engine.study import study_of
from valuation.service import report


@pytest.mark.parametrize("name", ["3_school_upright", "6_heirloom"])
def test_where_nothing_fits_the_budget_the_piano_is_parted_with(name):
    study = demo_pianos.study_of(name)
    poor = replace(study.visit, client=replace(study.visit.client, budget=1.0))
    found = report(study_of(poor, study.tables, on=poor.on))
    assert found.verdict == RETIRE
    assert found.next_checks
    assert all(check.gain == 0 for check in found.next_checks)
