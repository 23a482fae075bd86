"""What must hold of every history of events, whatever is entered, corrected and taken back."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.jobs.records import JobEvent
from valuation.jobs.stages import courses, standing

STAGES = ("asked", "evaluated", "accepted", "delivered", "declined", "silent")


@st.composite
def histories(draw):
    events = []
    for i in range(draw(st.integers(1, 12))):
        corrects = draw(st.sampled_from(["", *(f"e{k}" for k in range(i))]))
        stage = draw(st.sampled_from(["", *STAGES] if corrects else STAGES))
        day = date(2026, 1, 1) + timedelta(days=draw(st.integers(0, 9)))
        events.append(JobEvent(id=f"e{i}", visit="v", day=day, stage=stage, corrects=corrects))
    return events


@given(histories())
def test_nothing_is_made_up_and_days_never_run_back(events):
    held = standing(events)
    assert set(held) <= set(events)
    assert [e.day for e in held] == sorted(e.day for e in held)


@given(histories())
def test_an_event_holds_exactly_if_nothing_that_holds_corrects_it(events):
    stands = {}
    for event in reversed(events):
        stands[event.id] = not any(stands[other.id] for other in events if other.corrects == event.id)
    assert {e.id for e in standing(events)} == {e.id for e in events if stands[e.id] and e.stage}


@given(histories(), st.sampled_from(STAGES))
def test_entering_and_taking_back_leaves_all_as_it_was(events, stage):
    more = JobEvent(id="more", visit="v", day=events[-1].day, stage=stage)
    back = JobEvent(id="back", visit="v", day=events[-1].day, stage="", corrects="more")
    assert standing([*events, more, back]) == standing(events)


@settings(max_examples=50)
@given(histories(), st.integers(0, 9))
def test_how_it_stood_on_a_day_does_not_hang_on_what_happened_later(small_tables, events, after):
    on = date(2026, 1, 1) + timedelta(days=after)
    seen = courses(events, small_tables.stages, on=on).get("v")
    until = [e for e in standing(events) if e.day <= on]
    assert (seen.events if seen else ()) == tuple(until)
