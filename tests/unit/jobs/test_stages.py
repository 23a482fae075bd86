"""Where an evaluation stands, from its dated events."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from scipy.stats import norm

from valuation.engine.money import log_spread
from valuation.jobs.records import EstimatedHours, Evaluation, Job, JobEvent, Teardown, WorkDone
from valuation.jobs.remaining import hours_left
from valuation.jobs.stages import courses, standing

FIRST = date(2026, 3, 2)


def event(id_: str, stage: str, after: int = 0, *, visit: str = "v1", corrects: str = "", reason: str = "") -> JobEvent:
    day = FIRST + timedelta(days=after)
    return JobEvent(id=id_, visit=visit, day=day, stage=stage, corrects=corrects, reason=reason, who="Ada")


def course(small_tables, *events: JobEvent, on: date = date(2027, 1, 1)):
    return courses(events, small_tables.stages, on=on)["v1"]


def test_the_present_stage_is_the_last_that_happened_whenever_it_was_entered(small_tables):
    way = course(small_tables, event("a", "asked"), event("b", "accepted", 20), event("c", "evaluated", 5))
    assert [e.id for e in way.events] == ["a", "c", "b"]
    assert (way.stage.id, way.since, way.outcome) == ("accepted", FIRST + timedelta(days=20), "yes")


def test_of_two_events_on_one_day_the_later_entry_stands(small_tables):
    assert course(small_tables, event("a", "accepted"), event("b", "declined")).stage.id == "declined"


def test_a_correction_stands_in_the_place_of_what_it_corrects(small_tables):
    events = [event("a", "evaluated", 3), event("b", "accepted", 3), event("c", "asked", 3, corrects="a")]
    way = course(small_tables, *events)
    assert [e.id for e in way.events] == ["c", "b"]
    assert way.stage.id == "accepted"


def test_taking_an_event_back_leaves_the_one_before(small_tables):
    way = course(small_tables, event("a", "evaluated"), event("b", "declined", 4), event("c", "", 5, corrects="b"))
    assert (way.stage.id, way.outcome, way.decided_on) == ("evaluated", "open", None)


def test_taking_a_correction_back_brings_the_first_event_to_life_again(small_tables):
    way = course(
        small_tables,
        event("a", "evaluated"),
        event("b", "declined", 4),
        event("c", "accepted", 4, corrects="b"),
        event("d", "", 6, corrects="c"),
    )
    assert way.stage.id == "declined"


def test_the_day_of_a_decision_is_the_day_it_began(small_tables):
    way = course(small_tables, event("a", "evaluated"), event("b", "accepted", 10), event("c", "delivered", 90))
    assert way.decided_on == FIRST + timedelta(days=10)


def test_a_no_that_became_a_yes_counts_from_the_yes(small_tables):
    events = [event("a", "evaluated"), event("b", "declined", 10), event("c", "accepted", 200)]
    assert course(small_tables, *events).decided_on == FIRST + timedelta(days=200)
    early = course(small_tables, *events, on=FIRST + timedelta(days=30))
    assert (early.outcome, early.decided_on) == ("no", FIRST + timedelta(days=10))


def test_silence_is_no_decision(small_tables):
    way = course(small_tables, event("a", "evaluated"), event("b", "silent", 60, reason="no_answer"))
    assert (way.outcome, way.decided_on, way.reason) == ("open", None, "no_answer")


def test_how_far_it_got_is_kept_when_it_ends_beside_the_way(small_tables):
    assert (
        course(small_tables, event("a", "asked"), event("b", "evaluated", 9), event("c", "declined", 12)).furthest == 2
    )


def test_a_visit_without_an_event_by_that_day_has_no_course(small_tables):
    assert courses([event("a", "asked")], small_tables.stages, on=FIRST - timedelta(days=1)) == {}


@pytest.mark.parametrize(
    ("events", "message"),
    [
        ([event("a", "asked"), event("a", "accepted")], "the id is taken"),
        ([event("a", "asked"), event("b", "accepted", corrects="c")], "visit v1 has no earlier event c to correct"),
        ([event("b", "accepted", corrects="c"), event("c", "asked")], "no earlier event c"),
    ],
)
def test_events_that_make_no_history_are_refused(events, message):
    with pytest.raises(ValueError, match=message):
        standing(events)


def test_an_event_of_another_visit_is_not_corrected(small_tables):
    with pytest.raises(ValueError, match="visit v2 has no earlier event a"):
        standing([event("a", "asked"), event("b", "accepted", visit="v2", corrects="a")])


def test_an_unknown_stage_is_told_with_the_stages_there_are(small_tables):
    with pytest.raises(ValueError, match=r"event a: 'won' is not a stage; write one of asked, evaluated, .*silent"):
        courses([event("a", "won")], small_tables.stages, on=FIRST)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: event("a", ""), "name its stage"),
        (lambda: event("a", "asked", corrects="a"), "can't correct itself"),
        (lambda: WorkDone(operation="restring", hours=-1), "work on restring: -1 is not a time"),
        (lambda: WorkDone(operation="restring", hours=float("nan")), "is not a time"),
        (lambda: EstimatedHours(operation="restring", low=3, likely=2, high=4), "hours must rise"),
        (lambda: Teardown(fault="wire_rust", severity="worn"), "'worn' is not a severity; write one of none"),
        (lambda: Evaluation(visit="v1", on=FIRST, kind="organ", verdict="keep"), "kind is 'organ'"),
    ],
)
def test_a_record_that_can_not_be_is_refused(make, message):
    with pytest.raises(ValueError, match=message):
        make()


def test_hours_add_up_and_an_operation_that_is_begun_has_what_it_still_takes_left():
    line = EstimatedHours(operation="restring", low=13, likely=20, high=30)
    other = EstimatedHours(operation="voice", low=5, likely=5, high=5)
    work = (WorkDone(operation="restring", hours=8), WorkDone(operation="restring", hours=9.5))
    job = Job(visit="v1", kind="grand", estimate=(line, other), work=work)
    assert job.hours_by_operation == {"restring": 17.5}
    hours = np.exp(np.log(20) + log_spread(13, 20, 30) * norm.ppf((np.arange(200_000) + 0.5) / 200_000))
    assert hours_left(job) == pytest.approx(5 + hours[hours > 17.5].mean() - 17.5, abs=0.02)
    assert hours_left(replace(job, finished=frozenset({"restring"}))) == 5
    assert hours_left(replace(job, delivered=date(2026, 5, 4))) == 0
