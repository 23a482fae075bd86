"""Bringing in the past: columns by any name, every fault told, a row brought in twice stands once."""

from __future__ import annotations

import io
from datetime import UTC, date, datetime

import openpyxl
import pytest

from valuation import service
from valuation.files.past_rows import cells_of_text, guessed, past_rows, read_past_day, read_sum
from valuation.service import jobs as service_jobs
from valuation.service.past import bring_in, read_past
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
    return past_rows(rows, head, guessed(head), "old.csv", today=TODAY)


def test_a_list_comes_in_with_its_jobs_and_agreements_and_twice_is_once(shop):
    found, faults = read(LIST)
    assert faults == []
    assert bring_in(shop, found, who="Anna", device="desk", now=NOW) == (2, 0)
    assert bring_in(shop, found, who="Anna", device="desk", now=NOW) == (0, 2)
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
    assert bring_in(shop, found, who="", device="", now=NOW) == (2, 0)


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
    found, faults = past_rows(rows, head, guessed(head), "old.xlsx", today=TODAY)
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
