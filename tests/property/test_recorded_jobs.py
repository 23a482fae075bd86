"""What must hold of any history of a job: what the list shows is what the events say, in whatever order they come."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.engine.rows import Tables
from valuation.jobs.recorded_job import done_value, event_value, readings_value, to_recorded_job
from valuation.record import Entry, by_field
from valuation.record.job_card import card_columns, job_card, job_columns

VISIT = "0" * 31 + "1"
AT = datetime(2026, 5, 4, 9, tzinfo=UTC)
STAGES = ("asked", "evaluated", "accepted", "delivered", "declined", "silent")

values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=6),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(
                ["stage", "day", "reason", "note", "told", "agreed", "hours", "state", "severity", "what", "on",
                 "operations", "pieces", "part", "materials", "material", "amount", "option", "verdict", "price_low"]
            ),
            inner | st.sampled_from(["2026-05-04", "evaluated", "worn", "marked"]),
            max_size=5,
        )
    ),
    max_leaves=10,
)  # fmt: skip
fields = st.sampled_from(
    ["job.event.a", "job.event.b", "job.next", "job.source", "job.referred", "job.stage", "job.done.restring.a",
     "job.done.action_rebuilt.a", "job.truth.strings", "job.truth.wire_rusty", "job.original", "job.absent",
     "job.after.pitch", "job.before.pitch", "job.followed.ask-2"]
)  # fmt: skip


def entry(i: int, field: str, value: object, follows: tuple[str, ...] = ()) -> Entry:
    return Entry(
        id=UUID(int=i + 1).hex, visit=VISIT, at=AT + timedelta(minutes=i), field=field, value=value, follows=follows
    )


@st.composite
def histories(draw):
    """Events entered, corrected and taken back, each over what stood there."""
    entries, last = [], {}
    for i in range(draw(st.integers(1, 10))):
        field = f"job.event.{draw(st.sampled_from('abcd'))}"
        day = date(2026, 1, 1) + timedelta(days=draw(st.integers(0, 9)))
        value = draw(st.sampled_from([None, *STAGES]))
        value = value and event_value(value, day)
        entries.append(entry(i, field, value, (last[field],) if field in last else ()))
        last[field] = entries[-1].id
    return entries


@given(histories())
def test_the_card_stands_where_the_course_of_the_events_stands(small_tables: Tables, entries):
    card = job_card(by_field(entries))
    job = to_recorded_job(entries, small_tables, on=date(2026, 12, 31))
    if job.course is None:
        assert (card.stage, card.since, card.times) == ("", None, 0)
    else:
        assert (card.stage, card.since, card.times) == (job.course.stage.id, job.course.since, job.course.times)
    assert not job.set_aside


@given(histories(), st.randoms())
def test_the_order_in_which_entries_arrive_makes_no_difference(entries, chance):
    mixed = list(entries)
    chance.shuffle(mixed)
    before, after = by_field(entries), by_field(mixed)
    assert card_columns(job_card(before)) == card_columns(job_card(after))
    assert job_columns(job_card(before), before) == job_columns(job_card(after), after)


@settings(max_examples=300)
@given(st.lists(st.tuples(fields, values), max_size=8))
def test_whatever_stands_in_the_fields_of_a_job_is_read_or_set_aside_with_a_reason(small_tables: Tables, told):
    entries = [entry(i, field, value) for i, (field, value) in enumerate(told)]
    by = by_field(entries)
    columns = job_columns(job_card(by), by) | card_columns(job_card(by))
    assert all(value is None or isinstance(value, str | int | float | bool) for value in columns.values())
    job = to_recorded_job(entries, small_tables, on=date(2026, 12, 31))
    assert all(reason for reason in job.set_aside.values())
    job.job("grand", ("delivered",))


@given(st.floats(0, 999), st.dictionaries(st.tuples(st.integers(1, 88), st.integers(0, 3)), st.floats(-1e4, 1e4)))
def test_hours_and_readings_come_back_as_they_were_entered(small_tables: Tables, hours, readings):
    from valuation.jobs.handover import Place

    placed = {Place(key=key, string=string): value for (key, string), value in readings.items()}
    operation = small_tables.operations[0].id
    entries = [
        entry(0, f"job.done.{operation}.a", done_value(hours, day=date(2026, 2, 3), note=" slow ")),
        entry(1, "job.after.pitch", readings_value(placed)),
    ]
    job = to_recorded_job(entries, small_tables, on=date(2026, 12, 31))
    [(_, done)] = job.work
    assert (done.operation, done.hours, done.day, done.note) == (operation, hours, date(2026, 2, 3), "slow")
    assert job.after.get("pitch", {}) == placed
