"""What can be done with jobs: lists, the way from evaluation to finished job, what is due, the file for a calendar.

Beside `valuation.service_visits`, whose `Shop` holds the store: a job is entered as entries of its visit. Never reads
the clock.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid5

from valuation.core.appraisal import Appraisal
from valuation.core.rows import StageRow, Tables
from valuation.core.visit import Visit
from valuation.errors import Problem, VisitError
from valuation.jobs.calendar import calendar_of
from valuation.jobs.follow_ups import FollowUp, follow_ups
from valuation.jobs.recorded_job import RecordedJob, event_value, to_recorded_job
from valuation.jobs.records import Evaluation, JobEvent
from valuation.jobs.stages import OPEN, Course, courses, gone_home, next_stage
from valuation.jobs.told import agreed_value, evaluation_of, told_value
from valuation.record import Entry
from valuation.record.job_card import EVENT
from valuation.service_visits import Shop
from valuation.store import job_lines
from valuation.store.job_lines import JobLine

__all__ = [
    "EVALUATED",
    "SORTS",
    "JobLine",
    "Known",
    "RecordedJob",
    "calendar",
    "due_steps",
    "event_for",
    "event_id",
    "gone_home",
    "known_of",
    "list_jobs",
    "move",
    "next_stage",
    "open_job",
    "options_to_agree",
    "stage_counts",
]

SORTS = job_lines.SORTS
"""By what a list of jobs may be sorted."""

EVALUATED = "evaluated"
"""Id of the stage in which the client has the evaluation. From then on, what was told is kept with the event."""

_EVENTS = UUID("7d0d4a86-6c0e-4a39-93a5-0a1f5be0d7f2")
"""Drawn once; with it a step taken twice, by a double tap or on two devices, is one event."""


def list_jobs(
    shop: Shop,
    book: Tables,
    *,
    search: str = "",
    stages: Sequence[str] | None = None,
    kind: str = "",
    due_by: date | None = None,
    sort: str = "due",
    limit: int | None = 50,
    offset: int = 0,
) -> tuple[list[JobLine], int]:
    """Return evaluations on their way, and how many fit in all; arguments as for `valuation.store.job_lines`."""
    asked: dict[str, Any] = {"words": search, "stages": stages, "kind": kind, "due_by": due_by}
    with shop.store.reading() as connection:
        lines = job_lines.job_lines(connection, book.follow_ups, **asked, sort=sort, limit=limit, offset=offset)
        return lines, job_lines.count_lines(connection, book.follow_ups, **asked)


def stage_counts(shop: Shop, *, search: str = "", kind: str = "") -> dict[str, int]:
    """Return how many evaluations stand in each stage; '' for those without one."""
    with shop.store.reading() as connection:
        return job_lines.count_by_stage(connection, words=search, kind=kind)


def open_job(shop: Shop, visit: str, book: Tables, *, on: date) -> RecordedJob:
    """Return the job of a visit as it stands on a day.

    Raises
    ------
    StoreError
        If there is no such visit.
    """
    return to_recorded_job(shop.history(visit), book, on=on)


def options_to_agree(found: Appraisal) -> tuple[str, ...]:
    """Return the options that have work in them, the verdict's first, then by what they are worth to the client."""
    worked = [option for option in found.options if option.treatments] or [o for o in found.options if o.lines]
    ordered = sorted(worked, key=lambda option: (option.option != found.verdict, -option.expected_net))
    return tuple(option.option for option in ordered)


def event_for(
    job: RecordedJob,
    stage: str,
    day: date,
    *,
    book: Tables,
    today: date,
    visit: Visit,
    found: Appraisal | None = None,
    option: str = "",
    reason: str = "",
    note: str = "",
) -> dict[str, Any]:
    """Return a step of an evaluation as it is to be entered, with what is told or agreed on that day.

    Parameters
    ----------
    job : RecordedJob
        As it stands.
    stage : str
        Id of the stage that begins.
    day, today : date
        When it began; and today, for what has not happened yet can't be entered.
    book : Tables
    visit : Visit
    found : Appraisal, optional
        The appraisal as it stands. From it comes what the client was told where the event is the first for which that
        matters, and what is agreed on where the stage is a yes. Without it, and before anything was looked at, nothing
        is kept.
    option : str
        What is agreed on; the first of `options_to_agree` if left out.
    reason, note : str

    Raises
    ------
    VisitError
        If there is no such stage, or the day lies ahead.
    """
    row = next((row for row in book.stages if row.id == stage), None)
    if row is None:
        known = ", ".join(row.id for row in book.stages)
        raise VisitError([Problem("job", 0, "stage", f"'{stage[:40]}' is not a stage; write one of {known}")])
    if day > today:
        message = f"{day} lies ahead; enter what has happened, and set the rest as the next step"
        raise VisitError([Problem("job", 0, "day", message)])
    told = agreed = None
    if found is not None and visit.findings:
        if stage == EVALUATED:
            told = told_value(found, visit, book, on=day)
        elif not job.told and _is_after_the_evaluation(row, book):
            told = told_value(found, visit, book, on=min(visit.on, day))
        if row.outcome == "yes" and not job.agreed and (chosen := option or next(iter(options_to_agree(found)), "")):
            agreed = agreed_value(found, chosen, visit, book)
    return event_value(stage, day, reason=reason, note=note, told=told, agreed=agreed)


def _is_after_the_evaluation(row: StageRow, book: Tables) -> bool:
    evaluated = next((stage.step for stage in book.stages if stage.id == EVALUATED), 0)
    return row.outcome != OPEN or bool(evaluated and row.step > evaluated)


def event_id(visit: str, before: str, stage: str) -> str:
    """Return the id of the step from one standing to a stage: the same however often it is taken.

    Parameters
    ----------
    visit, stage : str
    before : str
        What tells the standing from others, such as the stage and day before, or the number of events so far.
    """
    return uuid5(_EVENTS, f"{visit}:{before}:{stage}").hex


def move(
    shop: Shop,
    line: JobLine,
    stage: str,
    *,
    book: Tables,
    found: Appraisal | None,
    who: str,
    device: str,
    now: datetime,
) -> Entry | None:
    """Let an evaluation of a list begin a stage today; taken twice it is one step.

    Parameters
    ----------
    shop : Shop
    line : JobLine
        As the list showed it.
    stage : str
    book : Tables
    found : Appraisal or None
        As for `event_for`.
    who, device, now : str, str, datetime
        As for `Shop.put`.

    Raises
    ------
    VisitError, StoreError
        As `event_for` and `Shop.put` say; nothing is stored then.
    """
    today = now.astimezone().date()
    recorded = shop.open_visit(line.visit, book)
    job = open_job(shop, line.visit, book, on=today)
    value = event_for(job, stage, today, book=book, today=today, visit=recorded.visit, found=found)
    name = event_id(line.visit, f"{line.stage}:{line.since}", stage)
    return shop.put(line.visit, f"{EVENT}{name}", value, who=who, device=device, now=now)


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
    stages = {row.id for row in book.stages}
    evaluations, events, titles = [], [], {}
    unread = 0
    with shop.store.reading() as connection:
        for row in job_lines.all_jobs(connection):
            if demo is not None and row.demo != demo:
                continue
            titles[row.visit] = row.title
            own = json.loads(row.events)
            known = [event for event in own if event[2] in stages]
            unread += len(own) - len(known)
            events += [_event(row.visit, i, event) for i, event in enumerate(known)]
            told = evaluation_of(row._mapping, row.visit, row.kind)
            if told is not None and told.on <= on:
                evaluations.append(told)
    return Known(
        evaluations=tuple(sorted(evaluations, key=lambda e: (e.on, e.visit))),
        courses=courses(events, book.stages, on=on),
        titles=titles,
        unread=unread,
    )


def _event(visit: str, place: int, event: Sequence[str]) -> JobEvent:
    _, day, stage, reason, who = event
    return JobEvent(
        id=f"{visit}:{place}", visit=visit, day=date.fromisoformat(day), stage=stage, reason=reason, who=who
    )


def due_steps(shop: Shop, book: Tables, *, on: date) -> tuple[FollowUp, ...]:
    """Return everything that is to be done, today, overdue or later, the longest due first.

    A step that somebody set stands in the place of the table's follow-ups until it is done.
    """
    known = known_of(shop, book, on=on)
    asked = {row.stage for row in book.follow_ups}
    going = {visit: course for visit, course in known.courses.items() if course.stage.id in asked}
    by_hand, done = [], []
    with shop.store.reading() as connection:
        for line in job_lines.steps(connection):
            if line.next_on:
                going.pop(line.visit, None)
                by_hand.append(
                    FollowUp(id="next", visit=line.visit, day=line.next_on, what=line.next_what, title=line.title)
                )
            elif line.visit in going:
                times = going[line.visit].times
                done += [(line.visit, f"{name}-{times}" if times > 1 else name) for name in line.followed]
    return follow_ups(going, book.follow_ups, titles=known.titles, by_hand=by_hand, done=done)


def calendar(shop: Shop, book: Tables, *, now: datetime, name: str, words: Mapping[str, str]) -> bytes:
    """Return everything that is to be done as a calendar file.

    Parameters
    ----------
    shop : Shop
    book : Tables
    now : datetime
        When it is made, with its zone; its day is today.
    name : str
        What the calendar is called.
    words : mapping of str to str
        What the table's follow-ups are called in the language spoken.
    """
    steps = due_steps(shop, book, on=now.astimezone().date())
    told = (replace(step, what=words.get(step.what, step.what)) for step in steps)
    return calendar_of(told, made=now, name=name)
