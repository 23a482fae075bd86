"""Jobs that were entered with older tables: renamed work keeps teaching, the state of a part is told apart."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import pytest

from valuation.engine.rows import Tables
from valuation.jobs.recorded_job import event_value, to_recorded_job, truth_value
from valuation.jobs.records import Teardown
from valuation.jobs.renamed import RENAMED
from valuation.learn.hours import learn_hours
from valuation.record import Entry, by_field
from valuation.record.job_card import TRUTH, job_card, job_columns
from valuation.rules import load_tables

VISIT = "0" * 31 + "1"
AT = datetime(2026, 1, 5, 9, tzinfo=UTC)
ON = date(2026, 12, 31)


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables()


def entries(**fields: object) -> list[Entry]:
    return [
        Entry(id=UUID(int=i + 1).hex, visit=VISIT, at=AT + timedelta(minutes=i), field=field, value=value)
        for i, (field, value) in enumerate(fields.items())
    ]


def older_job(tables: Tables):
    agreed = {"operations": [["action_rebuilt", 35, 55, 90], ["straps_and_springs", 2, 3, 5], ["restring", 14, 22, 32]]}
    fields = {
        "job.event.a": event_value("accepted", date(2026, 2, 1), agreed=agreed),
        "job.event.b": event_value("delivered", date(2026, 6, 1)),
        "job.done.action_rebuilt.a": {"hours": 60},
        "job.done.straps_and_springs.a": {"hours": 4},
        "job.done.gilding.a": {"hours": 4},
    }
    return to_recorded_job(entries(**fields), tables, on=ON)


def test_what_became_of_an_operation_is_there_for_some_kind_of_piano(tables):
    today = {row.id for row in tables.operations}
    for old, parts in RENAMED.items():
        assert old not in today
        assert {name for name, _ in parts} <= today
        assert sum(share for _, share in parts) == pytest.approx(1)


def test_estimates_and_hours_stand_under_todays_names(tables):
    job = older_job(tables)
    assert [(line.operation, line.likely) for line in job.estimate] == [
        ("action_overhaul", 55),
        ("bridle_straps_renewed", 2.25),
        ("action_springs_renewed", 0.75),
        ("restring", 22),
    ]
    done = job.job("upright", ("delivered",)).hours_by_operation
    assert done == {"action_overhaul": 60, "bridle_straps_renewed": 3, "action_springs_renewed": 1}
    assert job.set_aside == {"job.done.gilding.a": "today's tables have no operation 'gilding'"}


def test_older_hours_teach_against_what_was_estimated_where_nobody_counted_pieces(tables):
    learned = learn_hours([older_job(tables).job("upright", ("delivered",))], tables)
    (action,) = learned.families
    assert (action.family, action.observations) == ("action", 3)
    assert (learned.unknown, learned.uncounted) == ((), ())


def test_hours_by_the_piece_without_pieces_or_an_estimate_are_named_and_left_out(tables):
    fields = {
        "job.event.b": event_value("delivered", date(2026, 6, 1)),
        "job.done.shank_replaced.a": {"hours": 2},
    }
    job = to_recorded_job(entries(**fields), tables, on=ON).job("upright", ("delivered",))
    learned = learn_hours([job], tables)
    assert (learned.families, learned.uncounted) == ((), ("shank_replaced",))


def test_the_state_of_a_part_is_kept_and_says_nothing_of_single_faults(tables):
    fault = next(row for row in tables.faults if row.id == "wire_rust")
    told = {
        f"{TRUTH}strings": {"state": "worn"},
        f"{TRUTH}harp": {"state": "worn"},
        f"{TRUTH}wire_rust": truth_value(fault, "marked") | {"note": "at the bass"},
        f"{TRUTH}bass_dead": {"severity": "awful"},
        f"{TRUTH}rattles": {"severity": "slight"},
    }
    job = to_recorded_job(entries(**told), tables, on=ON)
    assert job.states_told == {"strings": "worn"}
    assert job.teardown == (Teardown(fault="wire_rust", severity="marked", note="at the bass"),)
    assert job.set_aside == {
        f"{TRUTH}bass_dead": "'severity': 'awful' is not a severity; write 'none' or 'slight' or 'marked' or 'severe'",
        f"{TRUTH}harp": "today's tables have no part 'harp'",
        f"{TRUTH}rattles": "today's tables have no fault 'rattles'",
    }


def test_parts_opened_count_once_however_many_of_their_faults_are_told(tables):
    rows = {row.id: row for row in tables.faults}
    told = {f"{TRUTH}{name}": truth_value(rows[name], "none") for name in ("wire_rust", "bass_dead", "plate_crack")}
    fields = by_field(entries(**told, **{f"{TRUTH}keys": {"state": "worn"}}))
    assert job_columns(job_card(fields), fields)["parts_opened"] == 3
