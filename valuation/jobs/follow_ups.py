"""What is due: follow-ups that the table asks for, and the next steps that somebody set by hand."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from operator import attrgetter

from valuation.engine.rows import FollowUpRow
from valuation.jobs.stages import Course


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowUp:
    """One thing to do for one evaluation on one day.

    Attributes
    ----------
    id : str
        Its own among the follow-ups of the visit, the same however often it is worked out or moved.
    title : str
        What the visit is called.
    place, reach : str
        Where the piano stands; who is asked, with the telephone number.
    """

    id: str
    visit: str
    day: date
    what: str
    title: str = ""
    place: str = ""
    reach: str = ""


def follow_ups(
    courses: Mapping[str, Course],
    table: Sequence[FollowUpRow],
    *,
    titles: Mapping[str, str] | None = None,
    by_hand: Iterable[FollowUp] = (),
    done: Collection[tuple[str, str]] = (),
) -> tuple[FollowUp, ...]:
    """Return everything to be done, the longest due first.

    Parameters
    ----------
    courses : mapping of visit to Course
        As they stand today; a follow-up falls away once another stage has begun.
    by_hand : iterable of FollowUp
        Next steps that somebody set; for visits with or without a course.
    done : collection of (visit, id)
        What has been done or dropped.

    Returns
    -------
    tuple of FollowUp
        By day, then by visit.

    Raises
    ------
    ValueError
        If a next step set by hand bears the id of a follow-up of the same visit.
    """
    titles = titles or {}
    due: dict[tuple[str, str], FollowUp] = {}
    asked: dict[str, list[FollowUpRow]] = {}
    for row in table:
        asked.setdefault(row.stage, []).append(row)
    for visit, course in courses.items():
        for row in asked.get(course.stage.id, ()):
            again = f"-{course.times}" if course.times > 1 else ""
            day = course.since + timedelta(days=row.after_days)
            id_ = f"{row.id}{again}"
            due[visit, id_] = FollowUp(id=id_, visit=visit, day=day, what=row.what, title=titles.get(visit, ""))
    for step in by_hand:
        if (step.visit, step.id) in due:
            raise ValueError(f"visit {step.visit}: the id '{step.id}' is that of a follow-up; give it one of its own")
        due[step.visit, step.id] = step
    left = (follow_up for key, follow_up in due.items() if key not in done)
    return tuple(sorted(left, key=attrgetter("day", "visit", "id")))


def no_longer_due(
    courses: Mapping[str, Course], table: Sequence[FollowUpRow], due: Iterable[FollowUp], *, since: date
) -> tuple[FollowUp, ...]:
    """Return the follow-ups that a calendar may still show though they are done, dropped or gone: each once.

    Parameters
    ----------
    due : iterable of FollowUp
        What is to be done now.
    since : date
        Nothing of before that day.
    """
    now = {(step.visit, step.id) for step in due}
    found: dict[tuple[str, str], FollowUp] = {}
    for visit, course in courses.items():
        begun: dict[str, int] = {}
        before = ""
        for event in course.events:
            if event.stage != before:
                begun[event.stage] = begun.get(event.stage, 0) + 1
            for row in table if event.stage != before else ():
                day = event.day + timedelta(days=row.after_days)
                if row.stage == event.stage and day >= since:
                    id_ = f"{row.id}-{begun[event.stage]}" if begun[event.stage] > 1 else row.id
                    found[visit, id_] = FollowUp(id=id_, visit=visit, day=day, what=row.what)
            before = event.stage
    return tuple(step for key, step in sorted(found.items()) if key not in now)
