"""One gate for values: what does not fit its field is refused where it is entered, set aside where it is there."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from poisoned import let_in, plain_entry, write_export
from sqlalchemy import update

from valuation.errors import StoreError, VisitError
from valuation.facts import FACTS, why_unfit
from valuation.facts.kinds import last_day
from valuation.service import jobs as service_jobs
from valuation.service.due import calendar, due_steps
from valuation.service.job_files import ENDINGS, file_of
from valuation.service.known import known_of
from valuation.service.outcomes import happened
from valuation.service.visits import Shop, open_shop
from valuation.store import entries, schema

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA = {"who": "Anna", "device": "tablet", "now": NOW}
FAR = ("9999-12-31", "9999-01-01", "2036-12-02", "1699-12-31", "0001-01-01")


@pytest.mark.parametrize("day", FAR)
@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("date", lambda day: day),
        ("job.next", lambda day: {"what": "ask again", "day": day}),
        ("job.event.a", lambda day: {"stage": "evaluated", "day": day}),
        (
            "job.event.a",
            lambda day: {"stage": "evaluated", "day": "2026-11-01", "told": {"on": day, "verdict": "keep"}},
        ),
        ("job.done.restring.a", lambda day: {"hours": 2, "day": day}),
        ("job.followed.ask_if_clear", lambda day: {"day": day}),
    ],
)
def test_a_day_beyond_all_sense_is_refused_and_stops_nothing_where_it_is_there(shop, visit, tables, field, value, day):
    with pytest.raises(VisitError, match=r"(more than 10 years ahead|too long ago)"):
        shop.put(visit, field, value(day), **ANNA)
    let_in(shop, visit, field, value(day))
    assert_answers(shop, visit, tables)
    recorded = shop.open_visit(visit, tables)
    assert [entry.field for entry in recorded.set_aside] == [field]
    assert recorded.visit.on == NOW.date()
    if field.startswith("job."):
        assert field in service_jobs.open_job(shop, visit, tables, on=TODAY).set_aside
    assert shop.history(visit, field)[-1].value == value(day)
    shop.put(visit, field, value("2026-11-05"), **ANNA)
    assert shop.open_visit(visit, tables).set_aside == ()


def assert_answers(shop: Shop, visit: str, tables) -> None:
    """Everything that goes through all jobs, and through this one, gives an answer."""
    for sort in service_jobs.SORTS:
        lines, total = service_jobs.list_jobs(shop, tables, sort=sort)
        assert total == len(lines) == 1
    service_jobs.list_jobs(shop, tables, due_by=TODAY)
    for step in due_steps(shop, tables, known_of(shop, tables, on=TODAY)):
        assert date(1700, 1, 1) <= step.day <= date(2040, 1, 1)
    assert calendar(shop, tables, now=NOW, name="Jobs", words={}).startswith(b"BEGIN:VCALENDAR")
    assert all(file_of(shop, ending) for ending in ENDINGS)
    happened(shop, tables, on=TODAY)
    service_jobs.open_job(shop, visit, tables, on=TODAY)
    assert shop.list_visits()[1] == 1


def test_a_day_that_fitted_once_always_fits_and_all_devices_say_the_same(shop, visit, tables):
    shop.put(visit, "job.next", {"what": "the guarantee ends", "day": "2036-12-01"}, **ANNA)
    late = open_shop({"VALUATION_DATA": str(shop.store.folder), "DATABASE_URL": ""}, date(2050, 1, 1), with_demo=False)
    late.close()
    assert service_jobs.open_job(shop, visit, tables, on=TODAY).next_on == date(2036, 12, 1)
    assert service_jobs.list_jobs(shop, tables)[0][0].due_on == date(2036, 12, 1)


def test_a_card_that_an_older_version_made_of_a_day_beyond_is_made_anew_on_opening(shop, visit, tables, environ):
    value = {"what": "ask again", "day": "9999-12-31"}
    let_in(shop, visit, "job.next", value)
    with shop.store.writing() as connection:
        connection.execute(
            update(schema.visit).values(next_on=date.max.toordinal(), next_what="ask again", day="9999-12-31")
        )
        connection.execute(update(schema.job).values(next_day="9999-12-31", next_step="ask again"))
    shop.close()
    again = open_shop(environ, TODAY, with_demo=False)
    try:
        assert_answers(again, visit, tables)
        [line] = service_jobs.list_jobs(again, tables)[0]
        assert (line.due_on, line.next_what, line.day) == (None, "", TODAY)
        assert again.history(visit, "job.next")[0].value == value
        with again.store.reading() as connection:
            assert entries.cards_beyond(connection, date(1700, 1, 1), last_day(TODAY)) == []
    finally:
        again.close()


@pytest.mark.parametrize("at", [datetime(1969, 12, 31, tzinfo=UTC), datetime(2200, 1, 2, tzinfo=UTC)])
def test_an_entry_from_a_clock_beyond_all_sense_is_refused_whole(shop, tmp_path, at):
    file = write_export(tmp_path / "x.zip", {"1" * 32: [plain_entry("piano.kind", "grand", at)]})
    with pytest.raises(StoreError, match=r"x.zip: visits/1+.json: entry 1: its time, .* see to the clock"):
        shop.import_zip(file, now=NOW)
    assert shop.list_visits()[1] == 0


def test_an_import_keeps_what_does_not_fit_and_says_how_much(shop, tables, tmp_path):
    own = [
        plain_entry("piano.kind", "grand"),
        plain_entry("title", "Parlour"),
        plain_entry("story", "\ud800"),
        plain_entry("client.budget", 1e300),
        plain_entry("job.next", {"what": "ask", "day": "9999-12-31"}),
    ]
    file = write_export(tmp_path / "x.zip", {"1" * 32: own})
    assert shop.import_zip(file, now=NOW).set_aside == 3
    assert_answers(shop, "1" * 32, tables)
    recorded = shop.open_visit("1" * 32, tables)
    assert list(recorded.why_set_aside) == ["client.budget", "job.next", "story"]
    assert {"story", "client.budget", "job.next"} & recorded.counted.keys() == set()
    shop.export_zip(tmp_path / "again.zip", now=NOW)
    assert shop.import_zip(tmp_path / "again.zip", now=NOW).entries_new == 0


def test_settings_that_cant_stand_there_count_as_not_set(shop, tmp_path):
    settings = {"language": ["de"], "units": {"a": 1}, "shop.name": "\ud800", "shop.hours_a_month": "many", "x": 1}
    shop.import_zip(write_export(tmp_path / "x.zip", {}, settings), now=NOW)
    assert [shop.setting(name, "usual") for name in settings] == [*["usual"] * 4, 1]


@pytest.mark.parametrize(("years", "fits"), [(10, True), (11, False), (-326, True), (-327, False)])
def test_the_bounds_of_days_are_those_that_are_said(years, fits):
    day = date(2026, 12, 1).replace(year=2026 + years)
    assert (not why_unfit("job.followed.x", {"day": day.isoformat()}, TODAY)) == fits


@pytest.mark.parametrize("entered", [date(2024, 2, 29), date(2026, 12, 31), date(9995, 1, 1)])
def test_any_day_has_a_last_day_ahead_of_it(entered):
    assert last_day(entered) - entered <= timedelta(days=3654)
    assert last_day(entered) > entered


def test_every_fact_of_a_visit_is_declared():
    from dataclasses import fields

    from valuation.facts.visit import Client, Piano, Visit
    from valuation.report.wishes import Wishes

    beside = {"piano", "client", "findings", "taken_over", "on"}
    assert {f"piano.{f.name}" for f in fields(Piano)} - {"piano.renewed"} <= set(FACTS)
    assert {f"client.{f.name}" for f in fields(Client)} <= set(FACTS)
    assert {f.name for f in fields(Visit)} - beside <= set(FACTS)
    assert {f"wish.{f.name}" for f in fields(Wishes)} <= set(FACTS)


def test_the_words_of_ways_are_those_of_the_engine():
    from valuation.engine.decision import KEEP, PARTIAL, REBUILD
    from valuation.engine.prospects import ANOTHER, LET_GO
    from valuation.facts.words import WAYS

    assert WAYS == (KEEP, PARTIAL, REBUILD, ANOTHER, LET_GO)


def test_an_agreement_with_two_lines_under_one_name_is_refused_and_stops_no_import(shop, tables, tmp_path):
    line = {"key": "new_hammers", "operation": "new_hammers", "price": 900.0}
    agreed = {"day": "2026-11-01", "price": 5000.0, "if_found": [line, line | {"price": 1.0}]}
    told = why_unfit("job.agreement", agreed, TODAY)
    assert told == "'if_found': 'new_hammers' stands twice in the list of if-found lines"
    own = [plain_entry("piano.kind", "grand", NOW), plain_entry("job.agreement", agreed, NOW)]
    report = shop.import_zip(write_export(tmp_path / "x.zip", {"c" * 32: own}), now=NOW)
    assert (report.entries_new, report.set_aside) == (2, 1)
    assert_answers(shop, "c" * 32, tables)
