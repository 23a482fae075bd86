"""The frontier of price against result: nothing on it is beaten, and today's plans lie on it or below."""

from __future__ import annotations

from itertools import pairwise

import pytest
from table_talk import NAMES, figures

from valuation.engine.frontier import cost_and_result

any_piano = pytest.mark.parametrize("name", NAMES)


@any_piano
def test_along_the_frontier_price_and_result_rise_together(name):
    study, _, _ = figures(name)
    spots = cost_and_result(study).frontier
    assert len(spots) > 10
    for before, after in pairwise(spots):
        assert before.price <= after.price
        assert before.result < after.result


@any_piano
def test_the_options_of_today_stand_at_their_own_price_and_net(name):
    study, decision, _ = figures(name)
    today = {spot.option: spot for spot in cost_and_result(study).today}
    assert set(today) == set(decision.actions)
    for option, spot in today.items():
        assert (spot.price, spot.net) == (decision.prices[option], decision.nets[option])
        assert spot.result == pytest.approx(spot.net + spot.price)


@any_piano
def test_no_plan_of_today_lies_above_the_frontier_and_the_best_one_lies_on_it(name):
    study, _, _ = figures(name)
    found = cost_and_result(study)
    worked = [spot for spot in found.today if spot.option in ("rebuild", "partial_repair")]
    for spot in worked:
        within = [other.result for other in found.frontier if other.price <= spot.price + 1e-6]
        assert max(within) >= spot.result - 1e-6
    best = max(worked, key=lambda spot: spot.net)
    assert any(other.treatments == best.treatments for other in found.frontier)
    assert max(other.net for other in found.frontier) == pytest.approx(best.net)
