"""The commands `jobs export` and `jobs calendar`: the files are opened with the libraries that others use."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from click.testing import CliRunner, Result
from icalendar import Calendar
from openpyxl import load_workbook
from sqlalchemy import text

from valuation import service
from valuation.cli import main
from valuation.jobs.calendar import uid_of
from valuation.service.due import KEPT_DAYS, NEXT_STEP, calendar, due_steps
from valuation.service.job_files import COLUMNS, file_of
from valuation.service.known import known_of
from valuation.service.visits import Shop, open_shop
from valuation.service.workbook import LEDGER_SHEETS

NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
ANNA = {"who": "Anna", "device": "tablet", "now": NOW}
NASTY = '=HYPERLINK("http://tracker.example";"x")'


@pytest.fixture
def run(tmp_path: Path):
    """Run a command with the store in a folder of its own."""

    def run(*words: str) -> Result:
        return CliRunner().invoke(
            main, list(words), env={"VALUATION_DATA": str(tmp_path / "store"), "DATABASE_URL": ""}
        )

    return run


@pytest.fixture
def shop(environ) -> Shop:
    """The demo, and one visit with a nasty name, on each database."""
    shop = open_shop(environ, NOW.date())
    name = shop.start_visit({"piano.kind": "grand", "title": NASTY, "client.name": "+49 (invented)"}, **ANNA)
    shop.put(name, "job.event.a", {"stage": "evaluated", "day": "2026-11-20"}, **ANNA)
    shop.put(name, "job.source", "-cmd", **ANNA)
    yield shop
    shop.close()


def test_every_column_of_the_view_is_in_the_files_and_no_other(shop):
    with shop.store.reading() as connection:
        assert list(connection.execute(text("SELECT * FROM evaluations")).keys()) == list(COLUMNS)


def test_a_workbook_opens_with_every_cell_of_its_type_and_no_formula(shop):
    book = load_workbook(io.BytesIO(file_of(shop, ".xlsx")))
    assert book.sheetnames == ["evaluations", *LEDGER_SHEETS]
    assert {sheet.freeze_panes for sheet in book} == {"A2"}
    sheet = book["evaluations"]
    head, *rows = sheet.iter_rows()
    assert [cell.value for cell in head] == list(COLUMNS)
    assert len(rows) == 9
    assert not [cell for row in rows for cell in row if cell.data_type == "f"]
    by_title = {row[2].value: dict(zip(COLUMNS, row, strict=True)) for row in rows}
    nasty = by_title[NASTY]
    assert nasty["title"].quotePrefix
    grand = by_title["Grand from the Villa Anselm"]
    assert grand["evaluated_on"].value.date() == date(2026, 3, 13)
    assert grand["referred"].value is True
    assert grand["hours_done"].value > 100
    assert grand["invented"].value is True
    assert nasty["invented"].value is False
    assert nasty["price_likely"].value is None


def test_every_sheet_has_the_columns_of_its_view_with_days_and_money_as_such(shop):
    book = load_workbook(io.BytesIO(file_of(shop, ".xlsx")))
    for name, columns in LEDGER_SHEETS.items():
        head, *rows = book[name].iter_rows()
        with shop.store.reading() as connection:
            found = connection.execute(text(f"SELECT * FROM {name}"))
            assert [cell.value for cell in head] == list(columns) == list(found.keys())
            assert len(rows) == len(found.all())
        for row in rows:
            for cell, kind in zip(row, columns.values(), strict=True):
                if cell.value is not None:
                    assert isinstance(cell.value, datetime if kind is date else (int, float) if kind is float else kind)
    deposit = next(row for row in book["money_moved"].iter_rows(min_row=2) if row[3].value == "deposit")
    assert (deposit[5].number_format, deposit[4].number_format) == ("#,##0.00", "yyyy-mm-dd")


def test_a_csv_is_written_as_the_country_writes_it(shop):
    content = file_of(shop, ".csv", decimal=",").decode("utf-8")
    rows = list(csv.DictReader(io.StringIO(content), delimiter=";"))
    prices = [row["price_likely"] for row in rows if row["price_likely"]]
    assert prices
    assert all("," in price and "." not in price for price in prices)


def test_a_csv_holds_the_same_and_no_cell_begins_like_a_formula(shop):
    rows = list(csv.DictReader(io.StringIO(file_of(shop, ".csv").decode("utf-8"))))
    assert len(rows) == 9
    assert not [cell for row in rows for cell in row.values() if cell.startswith(("=", "+", "-", "@"))]
    [nasty] = [row for row in rows if row["title"] == f"'{NASTY}"]
    assert (nasty["source"], nasty["client"], nasty["stage"], nasty["invented"]) == (
        "'-cmd", "'+49 (invented)", "evaluated", "false",
    )  # fmt: skip


def test_a_parquet_file_has_days_numbers_and_truth_values(shop):
    table = pq.read_table(io.BytesIO(file_of(shop, ".parquet")))
    assert table.column_names == list(COLUMNS)
    rows = {row["title"]: row for row in table.to_pylist()}
    grand = rows["Grand from the Villa Anselm"]
    assert (grand["evaluated_on"], grand["kind"], grand["year"]) == (date(2026, 3, 13), "grand", 1908)
    assert grand["price_low"] < grand["price_likely"] < grand["price_high"]
    assert rows[NASTY]["referred"] is None


def test_an_empty_shop_makes_files_with_their_head_alone(environ):
    shop = open_shop(environ, NOW.date(), with_demo=False)
    assert pq.read_table(io.BytesIO(file_of(shop, ".parquet"))).num_rows == 0
    assert file_of(shop, ".csv").decode() == ",".join(COLUMNS) + "\n"
    shop.close()


def test_the_calendar_is_read_back_by_a_calendar_s_own_library(shop):
    book = service.load_shop()
    words = {row.what: f"({row.what})" for row in book.follow_ups}
    made = calendar(shop, book, now=NOW, name="Jobs", words=words)
    everything = Calendar.from_ical(made).walk("VEVENT")
    events = [event for event in everything if event["status"] == "CONFIRMED"]
    every = due_steps(shop, book, known_of(shop, book, on=NOW.date()))
    oldest = NOW.date() - timedelta(days=KEPT_DAYS)
    steps = [step for step in every if step.day >= oldest or step.id == NEXT_STEP]
    assert len(events) == len(steps) > 3
    left_out = [step for step in every if step not in steps]  # due for half a year: on the page, no longer in calendars
    told = {str(event["uid"]): str(event["status"]) for event in everything}
    assert left_out
    assert all(told.get(uid_of(step), "CANCELLED") == "CANCELLED" for step in left_out)
    assert [event.decoded("dtstart") for event in events] == [max(step.day, NOW.date()) for step in steps]
    for event in events:
        [alarm] = event.walk("VALARM")
        assert (alarm["action"], alarm.decoded("trigger")) == ("DISPLAY", timedelta(hours=9))
    assert {str(event.get("location", "")) for event in events} > {""}
    assert any("+49 (invented)" in str(event.get("description", "")) for event in events)
    titles = [str(event["summary"]) for event in events]
    assert f"{NASTY}: (ask whether the evaluation has come and is clear)" in titles
    again = Calendar.from_ical(calendar(shop, book, now=NOW, name="Jobs", words=words)).walk("VEVENT")
    assert [event["uid"] for event in again] == [event["uid"] for event in everything]


def test_what_is_done_or_gone_is_cancelled_in_the_next_calendar_and_comes_back_under_its_name(shop):
    book = service.load_shop()
    visit = next(card.id for card in shop.list_visits(limit=99)[0] if card.title == NASTY)

    def status(minutes: int) -> dict[str, tuple[str, int]]:
        made = calendar(shop, book, now=NOW + timedelta(minutes=minutes), name="Jobs", words={})
        found = Calendar.from_ical(made).walk("VEVENT")
        return {str(e["uid"]): (str(e["status"]), int(e["sequence"])) for e in found if NASTY in str(e["summary"])}

    before = status(0)
    assert {word for word, _ in before.values()} == {"CONFIRMED"}
    shop.put(visit, "job.next", {"what": "ring again", "day": "2026-12-05"}, **ANNA)
    set_by_hand = status(1)
    assert all(set_by_hand[uid][0] == "CANCELLED" and set_by_hand[uid][1] > before[uid][1] for uid in before)
    [mine] = set_by_hand.keys() - before.keys()
    assert set_by_hand[mine][0] == "CONFIRMED"
    shop.put(visit, "job.event.b", {"stage": "declined", "day": "2026-12-01"}, **ANNA)
    shop.put(visit, "job.next", None, **ANNA)
    assert {word for word, _ in status(2).values()} == {"CANCELLED"}
    assert set(status(2)) == set(set_by_hand)


def test_the_commands_write_the_files(run, tmp_path):
    out = run("jobs", "export", str(tmp_path / "evaluations.csv"))
    assert (out.exit_code, out.stdout) == (0, "")
    assert out.stderr == f"{len(service.demo_visits())} evaluations written: {tmp_path / 'evaluations.csv'}\n"
    assert len((tmp_path / "evaluations.csv").read_text(encoding="utf-8").splitlines()) == 9
    assert run("jobs", "calendar", str(tmp_path / "jobs.ics")).exit_code == 0
    assert Calendar.from_ical((tmp_path / "jobs.ics").read_bytes()).walk("VEVENT")


def test_other_endings_and_places_that_can_not_be_written_are_refused(run, tmp_path):
    out = run("jobs", "export", str(tmp_path / "evaluations.ods"))
    assert (out.exit_code, out.stdout) == (2, "")
    assert out.stderr == (
        "evaluations.ods: evaluations are written as .csv, .xlsx or .parquet; give it such an ending\n"
    )
    assert "a calendar is written as .ics" in run("jobs", "calendar", str(tmp_path / "jobs.txt")).stderr
    nowhere = run("jobs", "export", str(tmp_path / "no folder" / "evaluations.csv"))
    assert nowhere.stderr == (f"evaluations.csv: there is no folder '{tmp_path / 'no folder'}'; make it first\n")
