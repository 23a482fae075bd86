"""How long each evaluation has waited, and for what."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from valuation.jobs.records import Evaluation, JobEvent
from valuation.jobs.stages import courses
from valuation.learn.decisions import Waits, decided_for, undecided, waits_of
from valuation.learn.shares import share_of

DAY = date(2026, 1, 10)


def after(days: int) -> date:
    return DAY + timedelta(days=days)


def evaluation(visit: str, days: int = 0) -> Evaluation:
    return Evaluation(visit=visit, on=after(days), kind="upright", verdict="rebuild")


def ways(small_tables, on: date, *events: tuple[str, str, int]):
    made = [JobEvent(id=f"e{i}", visit=v, day=after(d), stage=stage) for i, (v, stage, d) in enumerate(events)]
    return courses(made, small_tables.stages, on=on)


def test_a_wait_ends_with_the_decision_or_today(small_tables):
    evaluations = [evaluation(v) for v in "abcd"]
    way = ways(small_tables, after(100), ("a", "accepted", 20), ("b", "declined", 35), ("c", "evaluated", 0))
    waits = waits_of(evaluations, way, on=after(100))
    assert waits.days.tolist() == [20, 35, 100, 100]
    assert waits.outcome.tolist() == [1, 2, 0, 0]


def test_silence_waits_on_until_today(small_tables):
    way = ways(small_tables, after(400), ("a", "silent", 60))
    waits = waits_of([evaluation("a")], way, on=after(400))
    assert (waits.days.tolist(), waits.outcome.tolist()) == ([400], [0])


def test_what_lies_ahead_of_the_day_is_left_out(small_tables):
    on = after(10)
    way = ways(small_tables, on, ("a", "accepted", 20))
    waits = waits_of([evaluation("a"), evaluation("b", 30)], way, on=on)
    assert (waits.visits, waits.days.tolist(), waits.outcome.tolist()) == (("a",), [10], [0])


def test_a_decision_entered_before_its_evaluation_took_no_time(small_tables):
    way = ways(small_tables, after(50), ("a", "accepted", 0))
    assert waits_of([evaluation("a", 5)], way, on=after(50)).days.tolist() == [0]


def test_while_nobody_has_decided_the_curves_say_only_where_they_start():
    none = Waits(visits=("a", "b"), days=np.array([5.0, 9.0]), outcome=np.array([0, 0]))
    assert (undecided(none).days.tolist(), undecided(none).share.tolist()) == ([0], [1])
    assert decided_for(none, "yes").at(400) == (0, 0, 0)


def test_when_all_have_decided_the_last_limits_say_nothing_false():
    all_ = Waits(visits=("a", "b"), days=np.array([0.0, 9.0]), outcome=np.array([1, 1]))
    assert undecided(all_).share.tolist() == [0.5, 0]
    assert (undecided(all_).low[-1], undecided(all_).high[-1]) == (0, 1)
    assert decided_for(all_, "yes").at(9) == (1, 0, 1)


def test_a_share_of_nothing_is_no_share():
    nothing = share_of(0, 0)
    assert (nothing.share, nothing.low, nothing.high, nothing.is_told) == (None, 0, 1, False)


def test_a_share_of_few_is_too_few_to_tell():
    assert not share_of(3, 9).is_told
    assert share_of(30, 90).is_told


@pytest.mark.parametrize(("count", "of"), [(3, 2), (-1, 2)])
def test_more_than_all_is_no_share(count, of):
    with pytest.raises(ValueError, match=f"{count} of {of} is not a share"):
        share_of(count, of)
