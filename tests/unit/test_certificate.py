"""The last check in words, and the page that goes home with the finished piano."""

from __future__ import annotations

import io
import json
from datetime import UTC, date, datetime
from uuid import uuid4

import pytest
from pypdf import PdfReader

from valuation import service
from valuation.jobs.recorded_job import to_recorded_job
from valuation.record import Entry
from valuation.report.document import as_text
from valuation.report.occasion import Shop
from valuation.service.certificate import certificate, last_check, miss_words, print_certificate, result_words
from valuation.service.store import _DEMO_JOBS

TODAY = date(2026, 12, 1)
SHOP = Shop(name="Invented workshop", address=("Nowhere 1",), reach=("nobody@example.org",))


@pytest.fixture(scope="module")
def book():
    return service.load_shop()


@pytest.fixture(scope="module")
def visit(book):
    return service.read_visit_file(service.demo_visits()[0][1], book, TODAY)


def job_of(fields, book):
    at = datetime(2026, 11, 1, 9, tzinfo=UTC)
    entries = [Entry(id=uuid4().hex, visit="0" * 32, at=at, field=name, value=value) for name, value in fields.items()]
    return to_recorded_job(entries, book, on=TODAY)


@pytest.fixture(scope="module")
def finished() -> dict:
    return json.loads(_DEMO_JOBS.read_text(encoding="utf-8"))["1_fine_old_grand"]


def page(fields, book, visit, **more):
    return certificate(job_of(fields, book), visit, book, shop=SHOP, written_on=TODAY, **more)


def pages(content, paper="a4") -> list[str]:
    pdf = print_certificate(content, made_on=TODAY, paper=paper)
    return [sheet.extract_text() for sheet in PdfReader(io.BytesIO(pdf)).pages]


def test_the_page_says_what_was_made_new_what_stayed_and_what_was_measured(finished, book, visit):
    said = as_text(page(finished, book, visit))
    assert "strings (restrung throughout)" in said
    assert "Plate, soundboard with ribs, back, rim and frame, cabinet and finish." in said
    assert "1 of 228 outside: A2" in said
    assert "all 80 within; 8 notes not measured" in said
    assert "Delivered on: 21" in said


def test_it_promises_nothing_beyond(finished, book, visit):
    said = as_text(page(finished, book, visit))
    assert "It promises nothing beyond" in said
    assert "is not a certified appraisal" in said
    assert not {"guarantee", "warranty", "perfect", "as good as new"} & set(said.lower().split())


def test_what_nobody_wrote_down_is_said_to_be_so(book, visit):
    said = as_text(page({}, book, visit))
    assert "No work was written down." in said
    assert "What stayed original was not written down." in said
    assert "Nothing was measured on the finished piano." in said
    assert "not yet delivered" in said


def test_only_work_that_was_entered_counts_as_done(book, visit, finished):
    agreed = {name: value for name, value in finished.items() if not name.startswith("job.done.")}
    assert "No work was written down." in as_text(page(agreed, book, visit))


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("system", ["metric", "imperial"])
def test_it_is_one_leaf_whatever_was_done_and_however_much_missed(book, visit, paper, system):
    fields = {f"job.done.{name}.a": {"hours": 1} for name in book.of_kind("operations", "grand")}
    fields["job.original"] = [part.id for part in book.parts]
    for row in book.of_kind("handover", "grand").values():
        strings = (1, 2, 3) if row.taken == "pin" else (0,)
        for when in ("before", "after"):
            fields[f"job.{when}.{row.id}"] = [
                [key, string, -50.0 if key % 2 else 99.0]
                for key in range(row.from_key, row.to_key + 1)
                for string in strings
            ]
    content = page(fields, book, visit, system=system)
    assert len(pages(content, paper)) <= 2


def test_it_says_what_a_buyer_has_to_be_told_of_the_work(book, visit):
    kept = next(row for row in book.of_kind("operations", "grand").values() if row.told)
    said = as_text(page({f"job.done.{kept.id}.a": {"hours": 1}}, book, visit))
    assert f"If you sell it one day, the buyer has to be told: {kept.told}" in said
    assert "has to be told" not in as_text(page({"job.done.tune.a": {"hours": 1}}, book, visit))


def test_the_same_job_prints_the_same_bytes(finished, book, visit):
    content = page(finished, book, visit)
    assert print_certificate(content, made_on=TODAY) == print_certificate(content, made_on=TODAY)


def test_a_standard_that_holds_only_after_other_work_is_left_out(finished, book, visit):
    without = {
        name: value for name, value in finished.items() if not name.startswith(("job.done.new_block", "job.event"))
    }
    standards = [checked.standard.id for checked in last_check(job_of(without, book), visit, book)]
    assert "pin_torque" not in standards
    assert "pitch" in standards


def test_a_miss_says_what_was_read_and_by_how_much(finished, book, visit):
    checked = last_check(job_of(finished, book), visit, book)[0]
    [miss] = checked.misses
    assert result_words(checked) == "1 of 228 outside"
    assert miss_words(miss, checked.standard, "metric") == "10.9 N·m, 0.4 N·m below 11.3 N·m"
    assert miss_words(miss, checked.standard, "imperial") == "96.5 in-lb, 3.5 in-lb below 100 in-lb"


def test_readings_that_no_standard_of_today_has_are_left_alone(book, visit):
    fields = {"job.after.of_long_ago": [[1, 0, 2.0]], "job.after.pitch": [[1, 1, 2.0], [2, 0, 0.5]]}
    checks = {checked.standard.id: checked for checked in last_check(job_of(fields, book), visit, book)}
    assert checks["pitch"].measured == 1
