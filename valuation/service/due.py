"""What is to be done next on all jobs, and as a file for a calendar."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime

from valuation.engine.rows import Tables
from valuation.jobs.calendar import calendar_of
from valuation.jobs.follow_ups import FollowUp, follow_ups
from valuation.service.jobs import known_of
from valuation.service.visits import Shop
from valuation.store import job_lines


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
