"""What is known of all evaluations and jobs, each read again only when it has changed.

Fifty thousand jobs can't be read anew for every page; what one of them comes to depends on its own entries alone.
`let_go` forgets all that is held, as when somebody was forgotten. Never reads the clock.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from operator import attrgetter
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, Engine

from valuation.engine.rows import StageRow, Tables
from valuation.jobs.recorded_job import JOB, to_recorded_job
from valuation.jobs.records import Evaluation, JobEvent
from valuation.jobs.stages import Course, courses, gone_home
from valuation.jobs.told import evaluation_of
from valuation.learn.earned import Booked
from valuation.record import Entry, by_visit
from valuation.service.visits import Shop
from valuation.store import job_lines, ledgers
from valuation.waiting import Heard, nobody

_LATE = 1000
"""Entries before the last one seen that are looked at again: on PostgreSQL a smaller number may be there later."""

_MOST_JOBS = 4000
_MOST_DAYS = 4

_Thing = TypeVar("_Thing")


@dataclass(frozen=True, eq=False)
class Known:
    """What is known of all evaluations, as it stood on a day.

    Attributes
    ----------
    on : date
    evaluations : tuple of Evaluation
        Those of which a client was told, by day.
    courses : dict of visit to Course
        Of all that have any event.
    titles : dict of visit to str
    unread : int
        Events left out because today's table doesn't have their stage.
    """

    on: date
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
    known: dict[bool | None, Known] = field(default_factory=dict)


_Key = tuple[str, date]
_evaluations: WeakKeyDictionary[Engine, dict[_Key, _Held]] = WeakKeyDictionary()
_Read = tuple[tuple[Any, ...], Any]
"""What tells whether a visit has changed, and what was read of it."""

_jobs: WeakKeyDictionary[Engine, dict[_Key, dict[str, _Read]]] = WeakKeyDictionary()
_taught: WeakKeyDictionary[Engine, dict[_Key, dict[str, _Read]]] = WeakKeyDictionary()
_follows: WeakKeyDictionary[Engine, dict[_Key, dict[str, tuple[Any, Any]]]] = WeakKeyDictionary()


def let_go() -> None:
    """Forget all that is held."""
    for held in (_evaluations, _jobs, _taught, _follows):
        held.clear()


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
            every.every, every.known = _read(connection, book, on, 0), {}
        elif changed := {visit: one for visit, one in changed.items() if every.every.get(visit) != one}:
            merged = every.every | changed
            every.every, every.known = dict(sorted(merged.items())) if new else merged, {}
    every.last, every.gone, every.count = last, gone, count
    known = every.known.get(demo) or _known(every.every, on, demo)
    every.known[demo] = known
    return known


def _known(every: Mapping[str, _One], on: date, demo: bool | None) -> Known:
    shown = {visit: one for visit, one in every.items() if demo is None or one.demo == demo}
    told = (one.evaluation for one in shown.values() if one.evaluation is not None and one.evaluation.on <= on)
    return Known(
        on=on,
        evaluations=tuple(sorted(told, key=attrgetter("on", "visit"))),
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
        held = _held(_jobs, shop, book, on, dict)
        jobs = _each(connection, held, list(kinds), (JOB,), lambda own: to_recorded_job(own, book, on=on))
    return [
        Booked(title=titles[v], job=job.job(kinds[v], home), ledger=job.ledger, source=job.source, told=job.told)
        for v, job in jobs.items()
    ]


def once(shop: Shop, book: Tables, what: str, rests_on: object, work: Callable[[], _Thing], *, on: date) -> _Thing:
    """Return what some work comes to, done anew only where what it rests on has changed."""
    held = _held(_follows, shop, book, on, dict)
    if what not in held or held[what][0] != rests_on:
        held[what] = rests_on, work()
    return held[what][1]


def taught_by(
    shop: Shop, book: Tables, visits: Sequence[str], read: Callable[[list[Entry]], Any], *, on: date, heard: Heard
) -> dict[str, Any]:
    """Return what each of some visits teaches: what `read`, always the same, makes of its entries."""
    with shop.store.reading() as connection:
        return _each(connection, _held(_taught, shop, book, on, dict), visits, (), read, heard)


def _each(
    connection: Connection,
    held: dict[str, _Read],
    visits: Sequence[str],
    prefixes: Sequence[str],
    read: Callable[[list[Entry]], Any],
    heard: Heard = nobody,
) -> dict[str, Any]:
    """Return what `read` makes of the entries of each visit in fields that begin so, anew only where they changed."""
    gone = job_lines.out_of_use(connection)
    marks = {visit: (gone, *mark) for visit, mark in job_lines.marks_of(connection, visits).items()}
    missing = [visit for visit in visits if visit in marks and (visit not in held or held[visit][0] != marks[visit])]
    for number, (visit, own) in enumerate(by_visit(job_lines.entries_of_jobs(connection, missing, prefixes)), 1):
        held[visit] = (marks[visit], read(own))
        heard(number / len(missing))
    found = {visit: held[visit][1] for visit in visits if visit in marks and visit in held}
    while len(held) > _MOST_JOBS:
        held.pop(next(iter(held)))
    return found


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
