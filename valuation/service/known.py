"""What is known of all evaluations and jobs, each read again only when it has changed.

Fifty thousand jobs can't be read anew for every page; what one of them comes to depends on its own entries alone.
`let_go` forgets all that is held, as when somebody was forgotten. Never reads the clock.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine

from valuation.engine.rows import StageRow, Tables
from valuation.jobs.recorded_job import JOB, RecordedJob, to_recorded_job
from valuation.jobs.records import Evaluation, JobEvent
from valuation.jobs.stages import Course, courses, gone_home
from valuation.jobs.told import evaluation_of
from valuation.learn.earned import Booked
from valuation.record import by_visit
from valuation.service.visits import Shop
from valuation.store import job_lines, ledgers

_LATE = 1000
"""Entries before the last one seen that are looked at again: on PostgreSQL a smaller number may be there later."""

_MOST_JOBS = 4000
_MOST_DAYS = 4


@dataclass(frozen=True, eq=False)
class Known:
    """What is known of all evaluations, as it stood on a day.

    Attributes
    ----------
    evaluations : tuple of Evaluation
        Those of which a client was told, by day.
    courses : dict of visit to Course
        Of all that have any event.
    titles : dict of visit to str
    unread : int
        Events left out because today's table doesn't have their stage.
    """

    evaluations: tuple[Evaluation, ...]
    courses: dict[str, Course]
    titles: dict[str, str]
    unread: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _One:
    """What is known of one evaluation."""

    title: str
    demo: bool
    evaluation: Evaluation | None
    course: Course | None
    unread: int


@dataclass(eq=False)
class _Held:
    """All evaluations of a shop as they were read last."""

    last: int = 0
    gone: str | None = None
    count: int = 0
    every: dict[str, _One] = field(default_factory=dict)


_Key = tuple[str, date]
_Thing = TypeVar("_Thing")
_evaluations: WeakKeyDictionary[Engine, dict[_Key, _Held]] = WeakKeyDictionary()
_jobs: WeakKeyDictionary[Engine, dict[_Key, dict[str, tuple[tuple[Any, ...], RecordedJob]]]] = WeakKeyDictionary()


def let_go() -> None:
    """Forget all that is held."""
    _evaluations.clear()
    _jobs.clear()


def known_of(shop: Shop, book: Tables, *, on: date, demo: bool | None = None) -> Known:
    """Return what is known of all evaluations.

    Parameters
    ----------
    shop : Shop
    book : Tables
    on : date
        What happened later is left out.
    demo : bool, optional
        Only the invented ones, or only the others.
    """
    every = _held(_evaluations, shop, book, on, _Held)
    with shop.store.reading() as connection:
        last, gone, count = (
            job_lines.last_entry(connection),
            job_lines.out_of_use(connection),
            job_lines.count(connection),
        )
        changed = _read(connection, book, on, max(every.last - _LATE, 0)) if every.gone == gone else {}
        new = changed.keys() - every.every.keys()
        if every.gone != gone or count != every.count + len(new):  # some may be gone
            every.every = _read(connection, book, on, 0)
        else:
            merged = every.every | changed
            every.every = dict(sorted(merged.items())) if new else merged
    every.last, every.gone, every.count = last, gone, count
    shown = {visit: one for visit, one in every.every.items() if demo is None or one.demo == demo}
    told = (one.evaluation for one in shown.values() if one.evaluation is not None and one.evaluation.on <= on)
    return Known(
        evaluations=tuple(sorted(told, key=lambda e: (e.on, e.visit))),
        courses={visit: one.course for visit, one in shown.items() if one.course is not None},
        titles={visit: one.title for visit, one in shown.items()},
        unread=sum(one.unread for one in shown.values()),
    )


def _read(connection: Connection, book: Tables, on: date, since: int) -> dict[str, _One]:
    """Return the evaluations that have an entry after that number, by visit."""
    stages = {row.id for row in book.stages}
    return {row.visit: _one(row, stages, book.stages, on) for row in job_lines.all_jobs(connection, since=since)}


def _one(row: Any, stages: set[str], table: Sequence[StageRow], on: date) -> _One:
    own = json.loads(row.events)
    known = [event for event in own if event[2] in stages]
    events = [
        JobEvent(
            id=f"{row.visit}:{place}", visit=row.visit, day=date.fromisoformat(day), stage=stage, reason=reason, who=who
        )
        for place, (_, day, stage, reason, who) in enumerate(known)
    ]
    return _One(
        title=row.title,
        demo=row.demo,
        evaluation=evaluation_of(row._mapping, row.visit, row.kind),
        course=courses(events, table, on=on).get(row.visit),
        unread=len(own) - len(known),
    )


def booked_in(
    shop: Shop, book: Tables, stages: Sequence[str], *, on: date, demo: bool | None = None, most: int | None = None
) -> list[Booked]:
    """Return the jobs that stand in some stages with their ledgers, those that came there last first.

    Parameters
    ----------
    shop : Shop
    book : Tables
    stages : sequence of str
    on : date
    demo : bool, optional
        Only the invented ones, or only the others.
    most : int, optional
    """
    home = gone_home(book.stages)
    with shop.store.reading() as connection:
        known = job_lines.visits_in(connection, stages, demo=demo, most=most)
        kinds = {visit: kind for visit, kind in known.items() if kind}
        titles = ledgers.titles(connection, list(kinds))
        gone = job_lines.out_of_use(connection)
        marks = {visit: (gone, *mark) for visit, mark in job_lines.marks_of(connection, list(kinds)).items()}
        held = _held(_jobs, shop, book, on, dict)
        missing = [visit for visit, mark in marks.items() if visit not in held or held[visit][0] != mark]
        for visit, own in by_visit(job_lines.entries_of_jobs(connection, missing, (JOB,))):
            held[visit] = (marks[visit], to_recorded_job(own, book, on=on))
    jobs = {visit: held[visit][1] for visit in kinds if visit in marks and visit in held}
    while len(held) > _MOST_JOBS:
        held.pop(next(iter(held)))
    return [
        Booked(title=titles[v], job=job.job(kinds[v], home), ledger=job.ledger, source=job.source, told=job.told)
        for v, job in jobs.items()
    ]


def _held(
    held: WeakKeyDictionary[Engine, dict[_Key, _Thing]], shop: Shop, book: Tables, on: date, empty: type[_Thing]
) -> _Thing:
    """Return what is held of a shop by these tables on this day; of a few such at once, the oldest going first."""
    own = held.setdefault(shop.store.engine, {})
    key = (book.hash, on)
    if key not in own:
        while len(own) >= _MOST_DAYS:
            own.pop(next(iter(own)))
        own[key] = empty()
    return own[key]
