"""Bringing in the past: columns by any name, every fault told, a row brought in twice stands once."""

from __future__ import annotations

import io
from datetime import UTC, date, datetime, timedelta

import openpyxl
import pytest

from valuation import service
from valuation.errors import UserError
from valuation.files.old_lists import cells_of_text, guessed, read_past_day, read_sum
from valuation.files.past_hours import HOURS, past_hours
from valuation.files.past_prices import PRICES, past_prices
from valuation.files.past_rows import PIANOS, past_rows
from valuation.language import speaking
from valuation.service import jobs as service_jobs
from valuation.service.past import (
    BroughtIn,
    bring_in,
    bring_in_hours,
    bring_in_prices,
    listed,
    operations_by_name,
    pianos_by_name,
    read_past,
)
from valuation.service.people import erase
from valuation.service.tables_draft import draft_of
from valuation.service.visits import open_shop

TODAY = date(2026, 12, 1)
NOW = datetime(2026, 12, 1, 10, tzinfo=UTC)
LIST = """Kunde;Telefon;Art;Hersteller;Baujahr;Besuch;Auftrag;Preis;Ausgeliefert
A. Invented;0123 4;Klavier;Nobody;1912;4.5.2019;1.6.2019;4.200,00;2.10.2019
B. Invented;;Flügel;;1890;2020-02-03;;;
"""


@pytest.fixture
def shop(environ):
    shop = open_shop(environ, TODAY, with_demo=False)
    yield shop
    shop.close()


def read(text: str):
    head, rows = cells_of_text(text)
    return past_rows(rows, head, guessed(head, PIANOS), "old.csv", today=TODAY)


def test_a_list_comes_in_with_its_jobs_and_agreements_and_twice_is_once(shop):
    found, faults = read(LIST)
    assert faults == []
    assert bring_in(shop, found, who="Anna", device="desk", now=NOW) == BroughtIn(new=2, there=0)
    assert bring_in(shop, found, who="Anna", device="desk", now=NOW) == BroughtIn(new=0, there=2)
    cards, total = shop.list_visits()
    assert total == 2
    tables = service.load_shop()
    old = next(card for card in cards if card.client == "A. Invented")
    job = service_jobs.open_job(shop, old.id, tables, on=TODAY)
    assert (job.course.stage.id, job.course.since) == ("delivered", date(2019, 10, 2))
    assert (job.ledger.price, job.ledger.agreed_on) == (4200.0, date(2019, 6, 1))
    recorded = shop.open_visit(old.id, tables)
    assert (recorded.visit.piano.year, recorded.visit.on) == (1912, date(2019, 5, 4))
    assert shop.history(old.id, "client.phone")[0].value == "0123 4"


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("A;;Orgel;;1912;4.5.2019;;;", "Art", "'Orgel' is no kind of piano; write upright or grand"),
        ("A;;Klavier;;1912;04/05/2019;;;", "Besuch", "can mean only one; write it like 2026-05-04"),
        ("A;;Klavier;;1912;31.2.2019;;;", "Besuch", "there is no such day"),
        ("A;;Klavier;;1912;;;;", "Besuch", "the cell is empty"),
        ("A;;Klavier;;so alt;4.5.2019;;;", "Baujahr", "is not a year"),
        ("A;;Klavier;;3019;4.5.2019;;;", "Baujahr", "out of range"),
        ("A;;Klavier;;1912;4.5.2019;1.6.2019;1.250;", "Preis", "can mean two sums"),
        ("A;;Klavier;;1912;4.5.2019;;900;", "Preis", "needs the day of the yes"),
        ("A;;Klavier;;1912;4.5.2019;1.4.2019;;", "Auftrag", "2019-04-01 is before 2019-05-04"),
        ("A;;Klavier;;1912;4.5.2030;;;", "Besuch", "lies ahead"),
    ],
)
def test_every_fault_is_told_with_row_and_column_and_its_row_left_out(shop, row, column, words):
    found, faults = read(LIST + row + "\n")
    assert [(fault.line, fault.where) for fault in faults] == [(4, column)]
    assert words in faults[0].message
    assert [bool(one.facts) for one in found] == [True, True, False]
    assert bring_in(shop, found, who="", device="", now=NOW) == BroughtIn(new=2, there=0)


def test_without_the_columns_that_are_needed_it_says_which():
    _, faults = read("Kunde;Preis\nA;5\n")
    assert [fault.message for fault in faults] == [
        "say which column is 'Upright or grand'", "say which column is 'Day of the visit'"
    ]  # fmt: skip


def test_a_workbook_with_days_and_sums_as_such_is_read_as_a_csv_is(shop):
    book = openpyxl.Workbook()
    book.active.append(["Client", "Kind", "Visit", "Accepted", "Price"])
    book.active.append(["C. Invented", "grand", datetime(2018, 3, 2), datetime(2018, 4, 2), 5250.5])  # noqa: DTZ001
    out = io.BytesIO()
    book.save(out)
    head, rows = read_past(out.getvalue(), "old.xlsx")
    found, faults = past_rows(rows, head, guessed(head, PIANOS), "old.xlsx", today=TODAY)
    assert faults == []
    assert found[0].facts["job.agreement"] == {"day": "2018-04-02", "price": 5250.5}


def test_formulas_in_a_list_are_text(shop):
    found, faults = read('Kunde;Art;Besuch\n"=1+1";Klavier;4.5.2019\n')
    assert faults == []
    bring_in(shop, found, who="", device="", now=NOW)
    assert shop.list_visits()[0][0].client == "=1+1"


def test_days_and_sums_that_can_mean_two_things_are_refused():
    for text in ("05/04/2019", "4.5.19", "soon"):
        with pytest.raises(ValueError, match=r"write it like 2026-05-04 or 4\.5\.2026"):
            read_past_day(text)
    for text in ("1.250", "1,250", "1,2,3"):
        with pytest.raises(ValueError, match="two sums"):
            read_sum(text)


def test_somebody_who_was_forgotten_does_not_come_back_and_holds_nobody_up(shop):
    found, _ = read(LIST)
    bring_in(shop, found, who="", device="", now=NOW)
    erase(shop, [shop.list_visits(search="B. Invented")[0][0].id], service.load_shop(), TODAY)
    more, _ = read(LIST + "C. Invented;;Klavier;;1912;4.5.2019;;;\n")
    assert bring_in(shop, more, who="", device="", now=NOW) == BroughtIn(new=1, there=1, forgotten=1)
    assert {card.client for card in shop.list_visits()[0]} == {"A. Invented", "C. Invented"}


WORKED = """Klavier;Arbeit;Stunden;Tag;Wer
A. Invented;restrung throughout;6,5;3.7.2019;Jo
A. Invented;restring;1:30;4.7.2019;Ada
A. Invented;restring;1:30;4.7.2019;Ada
"""


def read_hours(shop, text: str, **said: str):
    head, rows = cells_of_text(text)
    pianos, known = pianos_by_name(shop), operations_by_name(service.load_shop()) | said
    columns = guessed(head, HOURS)
    return past_hours(rows, head, columns, "hours.csv", pianos=pianos, operations=known, today=TODAY)


def test_hours_of_old_jobs_stand_in_their_ledgers_and_twice_is_once(shop):
    bring_in(shop, read(LIST)[0], who="", device="", now=NOW)
    found, faults = read_hours(shop, WORKED)
    assert faults == []
    assert bring_in_hours(shop, found, who="Anna", device="desk", now=NOW) == BroughtIn(new=3, there=0)
    assert bring_in_hours(shop, found, who="Anna", device="desk", now=NOW) == BroughtIn(new=0, there=3)
    visit = pianos_by_name(shop)["a. invented"][0]
    work = [entry for _, entry in service_jobs.open_job(shop, visit, service.load_shop(), on=TODAY).work]
    assert {(w.operation, w.hours, w.day, w.who) for w in work} == {
        ("restring", 6.5, date(2019, 7, 3), "Jo"), ("restring", 1.5, date(2019, 7, 4), "Ada")
    }  # fmt: skip
    assert sum(w.hours for w in work) == 9.5  # the same hours twice in one list are two entries


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("Nobody;restring;2;3.7.2019;Jo", "Klavier", "'Nobody' is no piano here; bring in the list of pianos first"),
        ("A. Invented;Saiten;2;3.7.2019;Jo", "Arbeit", "'Saiten' is no operation; say below the columns which one"),
        ("A. Invented;restring;viel;3.7.2019;Jo", "Stunden", "'viel' is not a sum"),
        ("A. Invented;restring;0;3.7.2019;Jo", "Stunden", "more than 0 and fewer than 1000 hours"),
        ("A. Invented;restring;2;3.7.2030;Jo", "Tag", "lies ahead"),
        ("A. Invented;restring;;3.7.2019;Jo", "Stunden", "the cell is empty"),
    ],
)
def test_every_fault_of_hours_is_told(shop, row, column, words):
    bring_in(shop, read(LIST)[0], who="", device="", now=NOW)
    found, faults = read_hours(shop, WORKED + row + "\n")
    assert [(fault.line, fault.where) for fault in faults] == [(5, column)]
    assert words in faults[0].message
    assert bring_in_hours(shop, found, who="", device="", now=NOW).new == 3


def test_a_name_that_several_pianos_go_by_is_asked_about(shop):
    again = LIST + "A. Invented;;Klavier;;1913;4.5.2020;;;\n"
    bring_in(shop, read(again)[0], who="", device="", now=NOW)
    _, faults = read_hours(shop, WORKED)
    assert faults[0].message == "'A. Invented' may be 2 pianos; write the serial number or the name of the visit"


def test_words_of_the_shop_are_told_once_and_rows_may_be_left_out(shop):
    bring_in(shop, read(LIST)[0], who="", device="", now=NOW)
    rows = "A. Invented;Saiten;2;3.7.2019;Jo\nA. Invented;Büro;2;3.7.2019;Jo\n"
    found, faults = read_hours(shop, WORKED + rows, saiten="restring", büro="")
    assert faults == []
    assert [bool(row.facts) for row in found] == [True, True, True, True, False]


def draft(shop):
    return draft_of(shop.store, shop.tables_in_force(TODAY))


def read_prices(shop, text: str):
    head, rows = cells_of_text(text)
    book = service.load_shop()
    names = listed(book, draft(shop).texts, TODAY)
    return past_prices(rows, head, guessed(head, PRICES), "prices.csv", listed=names)


def test_a_price_list_goes_into_the_draft_with_low_and_high_in_step_and_twice_is_once(shop):
    found, faults = read_prices(shop, "Material,Price,Unit,Hours\nwood glue,18,kg,\nrestring,,,30\n")
    assert faults == []
    assert bring_in_prices(shop, draft(shop), found, who="Anna", now=NOW) == BroughtIn(new=2, there=0)
    drafted = draft_of(shop.store, shop.tables_in_force(TODAY))
    assert drafted.problems == ()
    before, glue = (row for row in drafted.tables.materials if row.id == "wood_glue")
    assert (before.price_likely, before.valid_to) == (15.0, TODAY - timedelta(days=1))  # what held before is kept
    assert glue.valid_from == TODAY
    assert (glue.price_low, glue.price_likely, glue.price_high) == (12.0, 18.0, 28.8)
    assert {row.hours_likely for row in drafted.tables.operations if row.id == "restring"} == {30.0}
    again, _ = read_prices(shop, "Material,Price,Unit\nwood glue,18,kg\n")
    assert bring_in_prices(shop, draft(shop), again, who="Anna", now=NOW) == BroughtIn(new=0, there=1)


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("unobtainium,4,kg,", "Material", "'unobtainium' is no material or operation"),
        ("wood glue,4,box,", "Unit", "our table has it by the unit 'kg'; write the price of that"),
        ("wood glue,0,kg,", "Price", "a price is more than 0"),
        ("wood glue,,kg,4", "Price", "it is a material; write its price"),
        ("restring,90,,20", "Price", "it is an operation; leave this cell empty"),
        ("restring,90,,", "Hours", "it is an operation; write its hours"),
        ("to_workshop,,,2", "Hours", "nobody at the bench works on it"),
    ],
)
def test_every_fault_of_a_price_list_is_told(shop, row, column, words):
    found, faults = read_prices(shop, f"Material,Price,Unit,Hours\n{row}\n")
    assert [(fault.line, fault.where) for fault in faults] == [(2, column)]
    assert words in faults[0].message
    assert bring_in_prices(shop, draft(shop), found, who="", now=NOW) == BroughtIn(new=0, there=0)


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("A;;Orgel;;1912;4.5.2019;;;", "'Orgel' ist keine Bauart; Klavier oder Flügel schreiben"),
        ("A;;Klavier;;3019;4.5.2019;;;", "3019 kann nicht sein; möglich ist 1700 bis 2100"),
        ("A;;Klavier;;1912;31.2.2019;;;", "'31.2.2019': Diesen Tag gibt es nicht; bitte prüfen"),
        ("A;;Klavier;;1912;;;;", "die Zelle ist leer; bitte ausfüllen"),
    ],
)
def test_faults_are_told_in_the_language_of_the_page(row, words):
    with speaking("de"):
        _, faults = read(LIST + row + "\n")
    assert [fault.message for fault in faults] == [words]


def test_a_file_that_cannot_be_read_is_told_of_in_german_too():
    with speaking("de"), pytest.raises(UserError, match="die Datei ist weder"):
        read_past(b"", "old.pdf")
