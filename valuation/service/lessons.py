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
from valuation.record import by_visit
from valuation.rules.kept_tables import FILES
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
    start = before_learning([*before(shop.store, on), book])
    read = _read(shop, book, on, demo=demo, heard=between(heard, 0.0, _READ))
    cases = [Case(visit=recorded.visit, teardown=_teardown(recorded, job, book)) for recorded, job in read]
    home = gone_home(book.stages)
    jobs = [_finished(recorded, job, home) for recorded, job in read]
    finished = [job for job in jobs if job is not None and job.work]
    hours = learn_hours(finished, start)
    condition = learn_condition(cases, start, between(heard, _READ, 1.0))
    return Lessons(
        now=book,
        newest=tuple(read[:NEWEST]),
        visits=len(cases),
        opened=sum(bool(case.teardown) for case in cases),
        finished=len(finished),
        by_state=sum(bool(job.states_told) and not case.teardown for (_, job), case in zip(read, cases, strict=True)),
        hours=hours,
        condition=condition,
        proposals=(*propose_hours(hours, start, book), *propose_condition(condition, book)),
    )


def _read(
    shop: Shop, book: Tables, on: date, *, demo: bool, heard: Heard
) -> list[tuple[RecordedVisit, RecordedJob]]:  # fmt: skip
    """Return the newest visits with findings, and the jobs of each."""
    with shop.store.reading() as connection:
        names = job_lines.newest_visits(connection, demo=demo, most=MOST_VISITS)
        entries = job_lines.entries_of_jobs(connection, names, ())
        found = {}
        for name, own in by_visit(entries):
            found[name] = to_visit(own, book), to_recorded_job(own, book, on=on)
            heard(len(found) / len(names))
    told = (found[name] for name in names if name in found)
    return [(recorded, job) for recorded, job in told if recorded.can_be_drawn and recorded.visit.findings]


def _teardown(recorded: RecordedVisit, job: RecordedJob, book: Tables):
    """Return what teardown showed of the faults that such a piano can have."""
    piano = recorded.visit.piano
    there = {row.id for row in book.faults if fits(row, piano.kind, piano.features)}
    return tuple(shown for shown in job.teardown if shown.fault in there)


def _finished(recorded: RecordedVisit, job: RecordedJob, home: tuple[str, ...]) -> Job | None:
    piano = recorded.visit.piano
    whole = job.job(piano.kind, home, piano.features)
    return whole if whole.delivered else None


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
