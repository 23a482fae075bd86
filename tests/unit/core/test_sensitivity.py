"""How far a figure moves the lead, against the decision made anew with that figure."""

from __future__ import annotations

import pytest
from table_talk import NAMES, figures

from valuation.engine.swings import sensitivity

any_piano = pytest.mark.parametrize("name", NAMES)


def lead(decision, option: str) -> float:
    return decision.nets[option] - max(net for name, net in decision.nets.items() if name != option)


@any_piano
def test_each_end_is_the_lead_of_the_decision_made_with_that_figure(name):
    study, decision, found = figures(name)
    factor = {"hours": "hours_scale", "premium": "premium", "horizon": "horizon", "playing_year": "playing_year"}
    for swing in sensitivity(study):
        assert swing.lead == pytest.approx(found.gap)
        for figure, then, by in (
            (swing.low, swing.then_low, swing.lead_low),
            (swing.high, swing.then_high, swing.lead_high),
        ):
            if swing.driver == "finished_value":
                stakes = study.what_if(finished_scale=figure / swing.today)
            else:
                stakes = study.what_if(**{factor[swing.driver]: figure})
            again = study.decide(stakes)
            assert by == pytest.approx(lead(again, decision.verdict), abs=1e-6)
            assert then == again.verdict


@any_piano
def test_the_lead_is_below_nought_exactly_where_another_option_is_best(name):
    study, decision, _ = figures(name)
    for swing in sensitivity(study):
        assert (swing.lead_low < 0) == (swing.then_low != decision.verdict)
        assert (swing.lead_high < 0) == (swing.then_high != decision.verdict)


@any_piano
def test_the_widest_comes_first_and_low_lies_below_high(name):
    study, _, _ = figures(name)
    swings = sensitivity(study)
    assert [swing.width for swing in swings] == sorted((swing.width for swing in swings), reverse=True)
    assert all(swing.low <= swing.today <= swing.high for swing in swings)
    assert len({swing.driver for swing in swings}) == len(swings) == 5


def test_dearer_hours_never_help_a_plan_of_work_against_keeping_or_retiring():
    for name in NAMES:
        study, decision, _ = figures(name)
        hours = next(swing for swing in sensitivity(study) if swing.driver == "hours")
        if decision.verdict in ("keep", "retire"):
            assert hours.lead_high >= hours.lead_low - 1
