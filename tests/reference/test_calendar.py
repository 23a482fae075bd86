"""The calendar file against RFC 5545 and against a reader that isn't ours."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from valuation.jobs.calendar import calendar_of
from valuation.jobs.follow_ups import FollowUp

MADE = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
ODD = FollowUp(
    id="ask",
    visit="v1",
    day=date(2026, 3, 16),
    what="fragen, ob es angekommen ist; dann\\weiter\nEND:VCALENDAR",
    title="Klavier im Wohnzimmer von Frau Lindner-Größenwald, zweiter Stock, mit der Bitte um Rückruf " + "ü" * 60,
)
PLAIN = FollowUp(id="last", visit="v1", day=date(2026, 12, 31), what="ask a last time")


def events(text: bytes) -> list:
    return list(Calendar.from_ical(text).walk("VEVENT"))


def test_each_follow_up_comes_back_whole_on_its_day():
    back = events(calendar_of([ODD, PLAIN], made=MADE))
    assert [str(e["summary"]) for e in back] == [f"{ODD.title}: {ODD.what}", PLAIN.what]
    assert [(e.start, e.end) for e in back] == [
        (date(2026, 3, 16), date(2026, 3, 17)),
        (date(2026, 12, 31), date(2027, 1, 1)),
    ]
    assert {e["dtstamp"].dt for e in back} == {MADE}


def test_the_file_keeps_to_the_letter_of_the_standard():
    # RFC 5545, 3.1: lines end in CRLF and are no longer than 75 octets; 3.6, 3.7.3, 3.7.4: version and prodid once.
    raw = calendar_of([ODD, PLAIN], made=MADE)
    assert raw.endswith(b"END:VCALENDAR\r\n")
    lines = raw.split(b"\r\n")
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)
    assert [
        sum(line.startswith(key) for line in lines) for key in (b"VERSION:2.0", b"PRODID:", b"BEGIN:VCALENDAR")
    ] == [
        1,
        1,
        1,
    ]
    # 3.6.1: a UID and a DTSTAMP in each; 3.3.4: a day is written as eight digits, and says that it is one.
    unfolded = re.sub(rb"\r\n[ \t]", b"", raw)
    assert unfolded.count(b"\r\nUID:") == unfolded.count(b"\r\nDTSTAMP:20260301T093000Z") == 2
    assert b"DTSTART;VALUE=DATE:20260316\r\n" in unfolded


def test_read_in_again_nothing_is_doubled_even_when_a_day_has_moved():
    moved = FollowUp(id="ask", visit="v1", day=date(2026, 4, 2), what="ask again")
    known = {str(e["uid"]): e for e in events(calendar_of([ODD, PLAIN], made=MADE))}
    later = {str(e["uid"]): e for e in events(calendar_of([moved, PLAIN], made=MADE + timedelta(hours=1)))}
    assert set(later) == set(known)
    assert len(known) == 2
    assert all(later[uid]["sequence"] > known[uid]["sequence"] for uid in known)


def test_the_same_follow_ups_make_the_same_bytes_wherever_the_clock_stands():
    there = MADE.astimezone(timezone(timedelta(hours=9)))
    assert calendar_of([ODD], made=MADE) == calendar_of([ODD], made=there)


def test_a_time_without_its_zone_is_refused():
    with pytest.raises(ValueError, match="needs its time zone"):
        calendar_of([ODD], made=datetime(2026, 3, 1))  # noqa: DTZ001


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(st.text(max_size=90), st.text(max_size=30), st.text(max_size=30)), max_size=4))
def test_any_text_comes_back_and_never_becomes_a_line_of_its_own(words):
    made = [FollowUp(id=id_, visit=visit, day=date(2026, 1, 2), what=what) for what, visit, id_ in words]
    back = events(calendar_of(made, made=MADE))
    assert len(back) == len(made)
    printable = [re.sub(r"\s+", " ", re.sub(r"[\x00-\x1f\x7f]", " ", f.what)).strip() for f in made]
    assert [re.sub(r"\s+", " ", re.sub(r"[\x00-\x1f\x7f]", " ", str(e["summary"]))).strip() for e in back] == printable
    assert len({str(e["uid"]) for e in back}) == len({(f.visit, f.id) for f in made})
