"""What can be done with jobs: lists, and the way from evaluation to finished job; `service_due` tells what is due.

Beside `valuation.service.visits`, whose `Shop` holds the store: a job is entered as entries of its visit. Never reads
the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid5

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import StageRow, Tables
from valuation.errors import Problem, VisitError
from valuation.facts.visit import Visit
from valuation.jobs.recorded_job import ORIGINAL, RecordedJob, event_value, to_recorded_job
from valuation.jobs.stages import OPEN, gone_home, next_stage
from valuation.jobs.told import told_value
from valuation.record import Entry
from valuation.record.job_card import AGREEMENT, EVENT, FOLLOWED, NEXT
from valuation.report.their_version import TheirVersion
from valuation.service.agreeing import agreement_for, options_to_agree, stage_row
from valuation.service.visits import Shop
from valuation.store import job_lines
from valuation.store.job_lines import JobLine

__all__ = [
    "AFTER_PHOTOS",
    "BEFORE_PHOTOS",
    "EVALUATED",
    "IN_WORKSHOP",
    "ORIGINAL",
    "SORTS",
    "JobLine",
    "RecordedJob",
    "agreement_for",
    "corrected",
    "due_count",
    "event_for",
    "event_id",
    "followed_field",
    "gone_home",
    "lane",
    "list_jobs",
    "move",
    "open_job",
    "options_to_agree",
    "stage_ahead",
    "stage_counts",
    "step_done",
]

SORTS = job_lines.SORTS
"""By what a list of jobs may be sorted."""

EVALUATED = "evaluated"
"""Id of the stage in which the client has the evaluation. From then on, what was told is kept with the event."""

VISITED = "visited"
"""Id of the stage in which an evaluation stands that has nothing but its visit."""

IN_WORKSHOP = "in_workshop"
"""Id of the stage in which somebody works on the piano."""

BEFORE_PHOTOS, AFTER_PHOTOS = "job_before", "job_after"
"""What photos of a job stand under where those of a visit have their check."""

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


def lane(shop: Shop, book: Tables, stage: str, *, search: str = "", kind: str = "", limit: int) -> list[JobLine]:
    """Return the first evaluations of one stage, those that came into it last."""
    with shop.store.reading() as connection:
        return job_lines.job_lines(
            connection, book.follow_ups, words=search, kind=kind, stages=[stage], sort="recent", limit=limit
        )


def due_count(shop: Shop, book: Tables, *, on: date, most: int) -> int:
    """Return how many evaluations wait for somebody by a day; `most` as soon as there are so many."""
    with shop.store.reading() as connection:
        return job_lines.count_lines(connection, book.follow_ups, due_by=on, most=most)


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


def event_for(
    job: RecordedJob,
    stage: str,
    day: date,
    *,
    book: Tables,
    today: date,
    visit: Visit,
    found: Appraisal | None = None,
    reason: str = "",
    note: str = "",
) -> dict[str, Any]:
    """Return a step of an evaluation as it is to be entered, with what is told on that day.

    Parameters
    ----------
    job : RecordedJob
        As it stands.
    stage : str
        Id of the stage that begins.
    day, today : date
        When it began; and today, for what has not happened yet can't be entered.
    found : Appraisal, optional
        The appraisal as it stands. From it comes what the client was told where the event is the first for which that
        matters. Without it, and as long as it has no verdict, nothing is kept.

    Raises
    ------
    VisitError
        If there is no such stage, or the day lies ahead.
    """
    row = stage_row(stage, book)
    _require_past(day, today)
    told = None
    if found is not None and found.ready and visit.findings:
        if stage == EVALUATED:
            told = told_value(found, visit, book, on=day)
        elif not job.told and _is_after_the_evaluation(row, book):
            told = told_value(found, visit, book, on=min(visit.on, day))
    return event_value(stage, day, reason=reason, note=note, told=told)


def corrected(value: Any, stage: str, day: date, note: str, *, today: date) -> dict[str, Any]:
    """Return an event with another stage, day or note; what was told and agreed on stays as it was kept.

    Raises
    ------
    VisitError
        If the day lies ahead.
    """
    _require_past(day, today)
    kept = dict(value) if isinstance(value, dict) else {}
    told = kept.get("told") if isinstance(kept.get("told"), dict) else None
    if told and (stage == EVALUATED or str(told.get("on", "")) > day.isoformat()):
        told = {**told, "on": day.isoformat()}
    agreed = kept.get("agreed") if isinstance(kept.get("agreed"), dict) else None
    return event_value(stage, day, reason=str(kept.get("reason", "")), note=note, told=told, agreed=agreed)


def _require_past(day: date, today: date) -> None:
    if day > today:
        message = f"{day} lies ahead; enter what has happened, and set the rest as the next step"
        raise VisitError([Problem("job", 0, "day", message)])


def _is_after_the_evaluation(row: StageRow, book: Tables) -> bool:
    evaluated = next((stage.step for stage in book.stages if stage.id == EVALUATED), 0)
    return row.outcome != OPEN or bool(evaluated and row.step > evaluated)


def event_id(visit: str, before: int) -> str:
    """Return the id of the step that comes after so many others, whichever it is.

    Taken twice it is one step; and where two devices begin different stages from where both saw it stand, both stand in
    one field, which is a clash that somebody settles.

    Parameters
    ----------
    before : int
        Steps that were ever entered, those taken back included.
    """
    return uuid5(_EVENTS, f"{visit}:{before}").hex


def move(
    shop: Shop,
    line: JobLine,
    stage: str,
    *,
    book: Tables,
    found: Appraisal | None,
    version: TheirVersion | None = None,
    who: str,
    device: str,
    now: datetime,
) -> Entry | None:
    """Let an evaluation of a list begin a stage today; where it has moved since the list was drawn, nothing is done.

    A visit that has nothing yet was made on its own day, not today.

    Parameters
    ----------
    line : JobLine
        As the list showed it.
    found : Appraisal or None
        As for `event_for`.
    version : TheirVersion, optional
        As for `agreement_for`.
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
    day = recorded.visit.on if stage == VISITED and not line.stage else today
    if (job.course.stage.id if job.course else "") != line.stage:
        return None
    day = min(day, today)
    value = event_for(job, stage, day, book=book, today=today, visit=recorded.visit, found=found)
    agreement = agreement_for(job, stage, day, book=book, visit=recorded.visit, found=found, version=version)
    by: dict[str, Any] = {"who": who, "device": device, "now": now}
    if agreement is not None:
        shop.put(line.visit, AGREEMENT, agreement, **by)
    ever = sum(name.startswith(EVENT) for name in recorded.heads)
    return shop.put(line.visit, f"{EVENT}{event_id(line.visit, ever)}", value, **by)


def stage_ahead(stage: str, book: Tables) -> StageRow | None:
    """Return the stage that follows along the way; for a visit that has nothing yet that it was made."""
    row = None if stage else next((row for row in book.stages if row.id == VISITED), None)
    return row or next_stage(stage, book.stages)


def step_done(shop: Shop, line: JobLine, book: Tables, *, who: str, device: str, now: datetime) -> Entry | None:
    """Mark what is due for an evaluation as done: the step that somebody set, or the table's follow-up.

    Parameters
    ----------
    line : JobLine
        As the list showed it.
    who, device, now : str, str, datetime
        As for `Shop.put`.

    Returns
    -------
    Entry or None
        None where nothing was due.
    """
    by: dict[str, Any] = {"who": who, "device": device, "now": now}
    if line.due_on is None:
        return None
    if not line.due:
        return shop.put(line.visit, NEXT, None, **by)
    today = now.astimezone().date()
    job = open_job(shop, line.visit, book, on=today)
    return shop.put(line.visit, followed_field(job, line.due), {"day": today.isoformat()}, **by)


def followed_field(job: RecordedJob, follow_up: str) -> str:
    """Return the field that says that a follow-up of the present stage was made or dropped."""
    times = job.course.times if job.course else 1
    return f"{FOLLOWED}{follow_up}-{times}" if times > 1 else f"{FOLLOWED}{follow_up}"
