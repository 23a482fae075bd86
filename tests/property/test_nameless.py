"""What is left of a visit without its person: no word of anybody's own, and all that it teaches."""

from __future__ import annotations

import json
import random
from datetime import UTC, date, datetime, timedelta

from declared_values import STAFF, Ids, fields, value_of
from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.facts.kinds import Kind
from valuation.files.recorded_visit import to_visit
from valuation.jobs.recorded_job import to_recorded_job
from valuation.record import Entry, by_field, first_id, present, value_text
from valuation.record.nameless import NO_NAME, nameless
from valuation.service import demo_visits, load_shop, read_visit_file
from valuation.service.store import _DEMO_JOBS
from valuation.service.visits import from_visit

BOOK = load_shop()
VISIT = "c" * 32
SECRET = "Zarathea Vinterquist"
AT = datetime(2026, 3, 10, 9, tzinfo=UTC)

FIELDS = {field: kind for field, _, kind in fields(Ids(BOOK))} | {"client.telephone": Kind(), "job.later.a": Kind()}
"""All that are declared, and two that no version knows."""

WORDS = (
    "good",
    "bass",
    "visited",
    "no_money",
    "2026-03-10",
    "restring",
    "replace",
    SECRET,
    f"said {SECRET}",
    SECRET[:8],
)
KEYS = (
    *("grade", "readings", "value", "section", "note", "stage", "day", "reason", "told", "agreed", "option", "plan"),
    *("operations", "hours", "materials", "material", "amount", "state", "verdict", "caption", SECRET, "low", "likely"),
)
values = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 3000) | st.floats(0, 99, width=16) | st.sampled_from(WORDS),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4),
    max_leaves=8,
)


def said(key: str, chance: random.Random) -> str:
    """A word of anybody's; but who of the shop did it is no client, and stays."""
    return "Bo" if key in STAFF else chance.choice(WORDS)


@st.composite
def steps_of_one(draw: st.DrawFn) -> tuple:
    """A field with a value that fits it, in which any word may be somebody's own; or with anything at all."""
    field = draw(st.sampled_from(sorted(FIELDS)))
    chance = draw(st.randoms(use_true_random=False))
    fits = draw(st.booleans())
    value = value_of(FIELDS[field], chance, lambda key, _: said(key, chance)) if fits else draw(values)
    return field, value, draw(st.integers(0, 60 * 36)), draw(st.booleans())


steps = st.lists(steps_of_one(), max_size=25)


def history(drawn: list) -> list[Entry]:
    """Entries in any order of time, some of which replace what stood in their field."""
    made: list[Entry] = []
    for number, (field, value, minutes, over) in enumerate(drawn):
        before = tuple(e.id for e in made if e.field == field) if over else ()
        at = AT + timedelta(minutes=minutes)
        made.append(
            Entry(id=f"{number * 7919 % 2**20:032x}", visit=VISIT, at=at, who="Bo", device=SECRET, field=field,
                  value=value, follows=before, seq=number + 1)
        )  # fmt: skip
    return made


@settings(deadline=None, max_examples=300)
@given(steps)
def test_no_word_of_anybodys_own_is_left_whatever_stood_where(drawn):
    left = nameless(history(drawn), reasons={"no_money"}, sources={"radio"})
    told = " ".join(f"{e.id} {e.visit} {e.device} {e.field} {value_text(e.value)} {' '.join(e.follows)}" for e in left)
    assert SECRET[:8] not in told
    assert VISIT not in told


@settings(deadline=None, max_examples=300)
@given(steps)
def test_the_same_entry_counts_in_each_field_as_before(drawn):
    before = history(drawn)
    left = nameless(before, reasons=(), sources=())
    places = {e.seq: e for e in before}
    for entries in by_field(left).values():
        head = present(entries)
        was = present([e for e in before if e.field == places[head.seq].field])
        assert was.seq == head.seq
        assert head.at.date() == was.at.date()
    assert [e.seq for e in sorted(left, key=lambda e: e.order)] == [
        e.seq for e in sorted(before, key=lambda e: e.order) if e.seq in {e.seq for e in left}
    ]


def test_of_the_demo_pianos_all_that_is_appraised_stays():
    for _, path in demo_visits():
        visit = read_visit_file(path, BOOK, date.max)
        facts = from_visit(visit)
        whole = [
            Entry(id=first_id(VISIT, name), visit=VISIT, at=AT, field=name, value=value)
            for name, value in facts.items()
        ]
        left = to_visit(nameless(whole, reasons=(), sources=()), BOOK)
        was = to_visit(whole, BOOK)
        assert left.set_aside == ()
        assert left.visit.title == NO_NAME
        assert [(f.check, f.grade, f.readings, f.cannot_see) for f in left.visit.findings] == [
            (f.check, f.grade, f.readings, f.cannot_see) for f in was.visit.findings
        ]
        for name in ("kind", "size_mm", "year", "year_is_about", "tier", "features", "renewed"):
            assert getattr(left.visit.piano, name) == getattr(was.visit.piano, name), name
        for name in ("wants_to_play", "to_have", "to_hear", "budget", "playing_year", "horizon_years"):
            assert getattr(left.visit.client, name) == getattr(was.visit.client, name), name
        assert (left.visit.client.name, left.visit.place, left.visit.story, left.visit.piano.maker) == ("", "", "", "")


def test_of_the_demo_jobs_all_that_teaches_stays():
    for name, facts in json.loads(_DEMO_JOBS.read_text(encoding="utf-8")).items():
        whole = [
            Entry(id=first_id(VISIT, field), visit=VISIT, at=AT, field=field, value=value)
            for field, value in facts.items()
        ]
        reasons = {row.id for row in BOOK.reasons}
        left = to_recorded_job(nameless(whole, reasons=reasons, sources=()), BOOK, on=date.max)
        was = to_recorded_job(whole, BOOK, on=date.max)
        assert [(e.day, e.stage, e.told, e.agreed) for e in left.events] == [
            (e.day, e.stage, e.told, e.agreed) for e in was.events
        ], name
        assert [(w.operation, w.hours, w.day, w.materials) for _, w in left.work] == [
            (w.operation, w.hours, w.day, w.materials) for _, w in was.work
        ], name
        assert [(t.fault, t.severity) for t in left.teardown] == [(t.fault, t.severity) for t in was.teardown], name
        assert (left.before, left.after, left.absent, left.kept_original, left.referred) == (
            was.before, was.after, was.absent, was.kept_original, was.referred,
        ), name  # fmt: skip
        assert left.course == was.course or (left.course.stage, left.course.since) == (
            was.course.stage,
            was.course.since,
        )
