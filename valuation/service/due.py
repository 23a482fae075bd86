"""What is to be done next on all jobs, and as a file for a calendar."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from valuation.engine.rows import Tables
from valuation.jobs.calendar import calendar_of
from valuation.jobs.follow_ups import FollowUp, follow_ups, no_longer_due
from valuation.service.known import Known, known_of, once
from valuation.service.visits import Shop
from valuation.store import job_lines, ledgers
from valuation.store.job_lines import Steps
from valuation.store.ledgers import Client

NEXT_STEP = "next"
"""Id of the step that somebody set, among those of its visit."""


def due_steps(shop: Shop, book: Tables, known: Known) -> tuple[FollowUp, ...]:
    """Return everything that is to be done, today, overdue or later, the longest due first.

    A step that somebody set stands in the place of the table's follow-ups until it is done.
    """
    with shop.store.reading() as connection:
        steps = job_lines.steps(connection)
    return once(shop, book, "due", (known, steps), lambda: _due_steps(book, known, steps), on=known.on)


def _due_steps(book: Tables, known: Known, steps: Sequence[Steps]) -> tuple[FollowUp, ...]:
    asked = {row.stage for row in book.follow_ups}
    going = {visit: course for visit, course in known.courses.items() if course.stage.id in asked}
    by_hand: list[FollowUp] = []
    done: set[tuple[str, str]] = set()
    for line in steps:
        if line.next_on:
            going.pop(line.visit, None)
            by_hand.append(
                FollowUp(id=NEXT_STEP, visit=line.visit, day=line.next_on, what=line.next_what, title=line.title)
            )
        elif line.visit in going:
            times = going[line.visit].times
            done |= {(line.visit, f"{name}-{times}" if times > 1 else name) for name in line.followed}
    return follow_ups(going, book.follow_ups, titles=known.titles, by_hand=by_hand, done=done)


KEPT_DAYS = 180
"""A follow-up of the table that has been due for longer is no longer in calendars, but on the page; what is done, gone
or left out is cancelled in those made within so many days more [days]."""


def calendar(shop: Shop, book: Tables, *, now: datetime, name: str, words: Mapping[str, str]) -> bytes:
    """Return everything that is to be done as a calendar file, and what is done or gone as cancelled.

    What is overdue stands on today: a calendar shows nobody last month. Follow-ups that have been so for longer than
    `KEPT_DAYS` are left to the page: thousands on one day would hide today's.

    Parameters
    ----------
    now : datetime
        When it is made, with its zone; its day is today.
    name : str
        What the calendar is called.
    words : mapping of str to str
        What the table's follow-ups are called in the language spoken.
    """
    today = now.astimezone().date()
    known = known_of(shop, book, on=today)
    oldest = today - timedelta(days=KEPT_DAYS)
    every = due_steps(shop, book, known)
    steps = [step for step in every if step.day >= oldest or step.id == NEXT_STEP]
    left_out = [step for step in every if step.day < oldest and step.id != NEXT_STEP]
    with shop.store.reading() as connection:
        due = {step.visit for step in steps if step.id == NEXT_STEP}
        by_hand = [
            FollowUp(id=NEXT_STEP, visit=visit, day=day, what=what)
            for visit, (what, day) in ledgers.steps_ever_set(connection).items()
            if visit not in due
        ]
        since = oldest - timedelta(days=KEPT_DAYS)
        ended = no_longer_due(known.courses, book.follow_ups, every, since=since)
        gone = [*ended, *(step for step in (*left_out, *by_hand) if step.day >= since)]
        called = ledgers.clients(connection, sorted({step.visit for step in (*steps, *gone)}))
    cancelled = {(step.visit, step.id): _told(step, called, words) for step in gone if step.visit in called}
    told = (_told(replace(step, day=max(step.day, today)), called, words) for step in steps)
    return calendar_of(told, made=now, name=name, cancelled=cancelled.values())


def _told(step: FollowUp, called: Mapping[str, Client], words: Mapping[str, str]) -> FollowUp:
    who = called.get(step.visit)
    if who is None:
        return replace(step, what=words.get(step.what, step.what))
    reach = ", ".join(filter(None, (who.client, who.phone)))
    return replace(step, what=words.get(step.what, step.what), title=who.title, place=who.place, reach=reach)
