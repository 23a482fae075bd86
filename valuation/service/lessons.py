"""What the shop's own jobs teach its tables: worked out, and taken in when the owner says so.

The screens call this. Nothing changes by itself, and nothing is learned from invented evaluations.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from valuation.engine.network import fits
from valuation.engine.rows import Tables
from valuation.errors import Problem, UserError
from valuation.files.recorded_visit import RecordedVisit, to_visit
from valuation.jobs.recorded_job import RecordedJob, to_recorded_job
from valuation.jobs.records import Job
from valuation.jobs.stages import gone_home
from valuation.learn import (
    Case,
    ConditionLearned,
    HoursLearned,
    Proposal,
    before_learning,
    learn_condition,
    learn_hours,
    propose_condition,
    propose_hours,
)
from valuation.record import Entry, by_visit
from valuation.rules.kept_tables import FILES
from valuation.service.known import once, taught_by
from valuation.service.learning import take_in
from valuation.service.shop_tables import InForce, TablesChange, before, put_in_force
from valuation.service.visits import Shop
from valuation.store import job_lines
from valuation.waiting import Heard, between, nobody

__all__ = ["NEWEST", "Lessons", "lessons", "take_chosen"]

MOST_VISITS = 2000
"""Learning rests on the newest visits with findings, so many at most."""

NEWEST = 40
"""So many of the newest are kept to show the effect on; each takes some tenths of a second."""

_READ = 0.3
"""About so much of the work is reading what was found [-]."""


@dataclass(frozen=True, eq=False)
class Lessons:
    """What was learned, and what it proposes.

    Attributes
    ----------
    now : Tables
        Those in force, which would be changed.
    newest : tuple of (RecordedVisit, RecordedJob)
        `NEWEST` at most, to show the effect on.
    visits, opened, finished : int
        Visits with findings, those of them with any fault told by teardown, and finished jobs with hours.
    by_state : int
        Pianos opened of which older records tell only the state of whole parts: they teach nothing of odds.
    """

    now: Tables
    newest: tuple[tuple[RecordedVisit, RecordedJob], ...]
    visits: int
    opened: int
    finished: int
    by_state: int
    hours: HoursLearned
    condition: ConditionLearned
    proposals: tuple[Proposal, ...]


def lessons(shop: Shop, book: Tables, *, on: date, demo: bool = False, heard: Heard = nobody) -> Lessons:
    """Learn from all that was found, opened and done.

    Parameters
    ----------
    book : Tables
        In force.
    demo : bool
        From the invented evaluations, to see how it looks.
    heard : callable
        Is told how far it is.
    """
    versions = [*before(shop.store, on), book]
    with shop.store.reading() as connection:
        names = job_lines.newest_visits(connection, demo=demo, most=MOST_VISITS)
    read = taught_by(
        shop, book, names, lambda own: _taught(own, book, on), on=on, heard=between(heard, 0.0, _READ)
    )  # fmt: skip
    told = {visit: one for visit, one in read.items() if one is not None}
    cases = tuple(one.case for one in told.values())
    finished = tuple(one.finished for one in told.values() if one.finished is not None)

    def learn() -> tuple[HoursLearned, ConditionLearned, tuple[Proposal, ...]]:
        start = before_learning(versions)
        hours = learn_hours(finished, start)
        condition = learn_condition(cases, start, between(heard, _READ, 1.0))
        return hours, condition, (*propose_hours(hours, start, book), *propose_condition(condition, book))

    rests_on = [tables.hash for tables in versions], cases, finished
    hours, condition, proposals = once(shop, book, "lessons", rests_on, learn, on=on)
    return Lessons(
        now=book,
        newest=_recorded(shop, book, list(told)[:NEWEST], on),
        visits=len(cases),
        opened=sum(bool(case.teardown) for case in cases),
        finished=len(finished),
        by_state=sum(one.by_state for one in told.values()),
        hours=hours,
        condition=condition,
        proposals=proposals,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Taught:
    """What one visit teaches; `finished` only where the job is and its hours are known, `by_state` as in `Lessons`."""

    case: Case
    finished: Job | None
    by_state: bool


def _taught(own: list[Entry], book: Tables, on: date) -> _Taught | None:
    """Return what a visit teaches from its entries; None where nothing was found, or it can't be drawn."""
    recorded, job = to_visit(own, book), to_recorded_job(own, book, on=on)
    if not (recorded.can_be_drawn and recorded.visit.findings):
        return None
    piano = recorded.visit.piano
    there = {row.id for row in book.faults if fits(row, piano.kind, piano.features)}
    teardown = tuple(shown for shown in job.teardown if shown.fault in there)
    whole = job.job(piano.kind, gone_home(book.stages), piano.features)
    return _Taught(
        case=Case(visit=recorded.visit, teardown=teardown),
        finished=whole if whole.delivered and whole.work else None,
        by_state=bool(job.states_told) and not teardown,
    )


def _recorded(
    shop: Shop, book: Tables, names: Sequence[str], on: date
) -> tuple[tuple[RecordedVisit, RecordedJob], ...]:  # fmt: skip
    with shop.store.reading() as connection:
        entries = dict(by_visit(job_lines.entries_of_jobs(connection, names, ())))
    return tuple((to_visit(entries[v], book), to_recorded_job(entries[v], book, on=on)) for v in names if v in entries)


def take_chosen(
    shop: Shop,
    seen: InForce,
    lesson: Lessons,
    chosen: Sequence[Proposal],
    *,
    on: date,
    who: str,
    why: str,
    now: datetime,
) -> TablesChange:
    """Put proposals in force as a new version of the shop's tables; what was in force is kept.

    Parameters
    ----------
    seen : InForce
        The tables that would be changed.
    lesson : Lessons
        From which the proposals come.
    chosen : sequence of Proposal
        At least one.
    on, now : date, datetime
        Day and time.
    who, why : str
        Kept with them.

    Raises
    ------
    UserError
        If nothing is chosen, the tables have changed meanwhile, or they can't be stored.
    """
    if not chosen:
        raise UserError([Problem("tables", 0, "", "nothing is chosen; choose what is to be taken in")])
    files = {name: seen.texts[table] for name, table in FILES.items()}
    try:
        new = take_in(files, lesson.now, chosen, on=on)
    except ValueError as fault:
        raise UserError([Problem("tables", 0, "", str(fault))]) from None
    texts = {table: new[name] for name, table in FILES.items()}
    return put_in_force(shop.store, texts, seen=seen, from_day=on, today=on, who=who, why=why, now=now)
