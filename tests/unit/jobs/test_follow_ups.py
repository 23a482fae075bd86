"""What is due, and when."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from valuation.engine.rows import FollowUpRow
from valuation.jobs.follow_ups import FollowUp, follow_ups
from valuation.jobs.records import JobEvent
from valuation.jobs.stages import courses

FIRST = date(2026, 3, 2)
TABLE = [
    FollowUpRow(id="ask", stage="evaluated", after_days=14, what="ask how it stands", source="own_estimate"),
    FollowUpRow(id="last", stage="evaluated", after_days=45, what="ask a last time", source="own_estimate"),
    FollowUpRow(id="plan", stage="accepted", after_days=7, what="fix a day", source="own_estimate"),
]


def due(small_tables, *stages: tuple[str, int], **kwargs):
    events = [
        JobEvent(id=f"e{i}", visit="v1", day=FIRST + timedelta(days=after), stage=stage)
        for i, (stage, after) in enumerate(stages)
    ]
    return follow_ups(courses(events, small_tables.stages, on=date(2030, 1, 1)), TABLE, **kwargs)


def test_the_days_count_from_the_day_the_stage_began(small_tables):
    found = due(small_tables, ("asked", 0), ("evaluated", 10), titles={"v1": "the upright"})
    assert [(f.id, f.day - FIRST, f.title) for f in found] == [
        ("ask", timedelta(days=24), "the upright"),
        ("last", timedelta(days=55), "the upright"),
    ]


def test_a_follow_up_falls_away_when_another_stage_has_begun(small_tables):
    assert [f.id for f in due(small_tables, ("evaluated", 0), ("accepted", 5))] == ["plan"]
    assert due(small_tables, ("evaluated", 0), ("declined", 5)) == ()


def test_what_is_done_is_not_due_and_what_was_set_by_hand_is(small_tables):
    own = FollowUp(id="own", visit="v1", day=FIRST, what="ring the sister")
    found = due(small_tables, ("evaluated", 0), by_hand=[own], done={("v1", "ask")})
    assert [f.id for f in found] == ["own", "last"]


def test_a_stage_that_begins_again_asks_again(small_tables):
    again = due(small_tables, ("evaluated", 0), ("declined", 20), ("evaluated", 90), done={("v1", "ask")})
    assert [(f.id, f.day - FIRST) for f in again] == [("ask-2", timedelta(days=104)), ("last-2", timedelta(days=135))]


def test_a_step_set_by_hand_needs_an_id_of_its_own(small_tables):
    own = FollowUp(id="ask", visit="v1", day=FIRST, what="ring")
    with pytest.raises(ValueError, match="the id 'ask' is that of a follow-up"):
        due(small_tables, ("evaluated", 0), by_hand=[own])
