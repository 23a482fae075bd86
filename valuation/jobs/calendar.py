"""Follow-ups as a calendar file (RFC 5545), to be read by whatever calendar the workshop has."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from itertools import chain
from typing import TYPE_CHECKING
from uuid import UUID, uuid5

from valuation.jobs.follow_ups import FollowUp

if TYPE_CHECKING:
    from icalendar import Event

_NAMESPACE = UUID("5a8b1d0e-6f0c-4b5e-9c53-1f7a2f0c9d41")
"""Drawn once; with it the same follow-up has the same name for ever, on every machine."""


def uid_of(follow_up: FollowUp) -> str:
    """Return the name under which a calendar knows a follow-up: the same whenever it is written, and when it moves.

    Examples
    --------
    >>> from datetime import date
    >>> first = FollowUp(id="ask", visit="v1", day=date(2026, 3, 1), what="ask")
    >>> moved = FollowUp(id="ask", visit="v1", day=date(2026, 4, 1), what="ask again")
    >>> uid_of(first) == uid_of(moved)
    True
    """
    return str(uuid5(_NAMESPACE, f"{len(follow_up.visit)}:{follow_up.visit}:{follow_up.id}"))


ALARM_AT = timedelta(hours=9)
"""When on its day a calendar reminds of a step."""


def calendar_of(
    follow_ups: Iterable[FollowUp],
    *,
    made: datetime,
    name: str = "Follow-ups",
    cancelled: Iterable[FollowUp] = (),
) -> bytes:
    """Return a calendar file with one entry for each follow-up, on its whole day, with an alarm.

    Parameters
    ----------
    cancelled : iterable of FollowUp
        What an earlier file may have brought and is done or gone: a calendar that only sees it missing would keep it.
    made : datetime
        When the file is made, with its time zone. A file made later replaces the entries of an earlier one.
    name : str
        What the calendar is called.

    Returns
    -------
    bytes
        Text in UTF-8, lines as RFC 5545 wants them.

    Raises
    ------
    ValueError
        If `made` has no time zone.

    Notes
    -----
    Read in again, an entry is found by its name and not doubled; ``SEQUENCE`` grows with the time of making, so that
    a calendar takes a day that has moved, and a step that is cancelled.

    References
    ----------
    .. [1] RFC 5545, Internet Calendaring and Scheduling Core Object Specification (iCalendar), 2009, sections 3.6.1,
       3.6.6, 3.8.1.11, 3.8.4.7 and 3.8.7.4.
    """
    from icalendar import Calendar  # slow to import, needed nowhere else

    if made.tzinfo is None:
        raise ValueError("the time of making needs its time zone; give it as datetime.now(UTC) does")
    stamp = made.astimezone(UTC).replace(microsecond=0)
    calendar = Calendar()
    calendar.add("prodid", "-//Is an old piano worth it//follow-ups//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    head, end, after = calendar.to_ical().rpartition(b"END:VCALENDAR")
    entries = chain(
        (_entry(follow_up, stamp, "CONFIRMED") for follow_up in follow_ups),
        (_entry(gone, stamp, "CANCELLED") for gone in cancelled),
    )
    return b"".join([head, *(entry.to_ical() for entry in entries), end, after])  # tens of thousands fill no memory


def _entry(follow_up: FollowUp, stamp: datetime, status: str) -> Event:
    from icalendar import Alarm, Event

    entry = Event()
    entry.add("uid", uid_of(follow_up))
    entry.add("dtstamp", stamp)
    entry.add("last-modified", stamp)
    entry.add("sequence", int(stamp.timestamp()) // 60)
    entry.add("dtstart", follow_up.day)
    entry.add("dtend", follow_up.day + timedelta(days=1))
    entry.add("status", status)
    summary = f"{follow_up.title}: {follow_up.what}" if follow_up.title else follow_up.what
    entry.add("summary", summary)
    entry.add("transp", "TRANSPARENT")
    if follow_up.place:
        entry.add("location", follow_up.place)
    if follow_up.reach:
        entry.add("description", follow_up.reach)
    if status == "CONFIRMED":
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", summary)
        alarm.add("trigger", ALARM_AT)
        entry.add_component(alarm)
    return entry
