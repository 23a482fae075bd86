"""Jobs in Chromium: every part of their pages at every width, by touch and by keyboard."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from icalendar import Calendar
from openpyxl import load_workbook
from pypdf import PdfReader
from widths import every_width, on_a_phone

pytestmark = pytest.mark.browser

PARTS = {
    "jobs": ("jobs_view", 3),
    "job": ("job_part", 6),
    "happened": ("happened_part", 5),
    "bench": ("bench_part", 3),
    "books": ("books_part", 7),
}
"""The pages of jobs, the key of the choice of their parts, and how many parts there are."""


def parts(visitor):
    """Go through every part of the pages of jobs; give the name of each."""
    visitor.open(1)
    for section, (pills, count) in PARTS.items():
        visitor.go(section)
        offered = visitor.page.locator(f"[class*='st-key-{pills}'] [role=radio]")
        offered.first.wait_for()
        names = offered.all_inner_texts()
        assert len(names) == count, section
        for number, name in enumerate(names):
            offered.nth(number).click()
            visitor.settle()
            yield f"{section}: {name}"
    visitor.go("learning", "Learning")
    visitor.page.locator(".st-key-work_out button").click()
    visitor.page.get_by_role("heading", name="What there is to learn from").wait_for()
    visitor.settle()
    yield "learning worked out"


@every_width
def test_every_part_fits_and_brings_no_error(visitor):
    for part in parts(visitor):
        assert visitor.sideways() <= 0, part
        assert visitor.cut() == [], part
    assert visitor.complaints == []


@on_a_phone
def test_every_target_of_every_part_is_big_enough_for_a_finger(visitor):
    for part in parts(visitor):
        assert visitor.too_small() == [], part


@pytest.mark.parametrize("visitor", [390, 1280], ids=["phone", "desk"], indirect=True)
def test_axe_finds_nothing_in_any_part(visitor):
    for part in parts(visitor):
        assert visitor.axe_faults() == [], part


def test_a_card_goes_to_the_next_stage_and_back_by_keyboard_alone(visitor, store):
    visitor.open(7)
    visitor.go("jobs", "Jobs")
    card = visitor.page.locator("[class*='st-key-jobcard_']").filter(has_text="Doctor Hagen's upright")
    card.get_by_role("button", name="Now: discussed").focus()
    visitor.page.keyboard.press("Enter")
    visitor.page.get_by_text("Doctor Hagen's upright: now discussed.").wait_for()
    visitor.settle()
    lane = visitor.page.locator(".st-key-lane_discussed")
    assert lane.get_by_text("Doctor Hagen's upright").count() == 1
    visitor.page.get_by_role("button", name="Take it back").focus()
    visitor.page.keyboard.press("Enter")
    visitor.page.get_by_text("Taken back:").wait_for()
    visitor.settle()
    assert visitor.page.locator(".st-key-lane_evaluated").get_by_text("Doctor Hagen's upright").count() == 1
    assert visitor.complaints == []


@on_a_phone
def test_a_double_tap_on_a_card_is_one_step(visitor, store):
    visitor.open(7)
    visitor.go("jobs", "Jobs")
    card = visitor.page.locator("[class*='st-key-jobcard_']").filter(has_text="Doctor Hagen's upright")
    button = card.get_by_role("button", name="Now: discussed")
    button.dblclick()
    visitor.page.get_by_text("now discussed.").wait_for()
    visitor.settle()
    visit = next(card.id for card in store.list_visits()[0] if card.title == "Doctor Hagen's upright")
    stages = [e.value["stage"] for e in store.history(visit) if e.field.startswith("job.event.")]
    assert stages.count("discussed") == 1
    assert stages.count("accepted") == 0


def show_part(visitor, name: str) -> None:
    """Show one part of the page of a job."""
    visitor.page.get_by_role("radio", name=name, exact=True).click()
    visitor.settle()


def downloaded(visitor, button) -> bytes:
    with visitor.page.expect_download() as waiting:
        button.click()
    return Path(waiting.value.path()).read_bytes()


def test_files_and_the_page_for_the_client_come_down_whole(visitor):
    visitor.open(1)
    visitor.go("jobs", "Jobs")
    visitor.page.get_by_text("Take along").click()
    files = visitor.page.locator(".st-key-job_files")
    calendar = downloaded(visitor, files.get_by_role("button", name="Calendar of what is to be done"))
    assert Calendar.from_ical(calendar).walk("VEVENT")
    book = load_workbook(io.BytesIO(downloaded(visitor, files.get_by_role("button", name="As XLSX"))))
    assert book.active.max_row == 9
    visitor.go("job", "This job")
    show_part(visitor, "Last check")
    pdf = downloaded(visitor, visitor.page.get_by_role("button", name="The page as PDF"))
    sheet = PdfReader(io.BytesIO(pdf)).pages[0]
    assert "What was done to this piano" in sheet.extract_text()


@on_a_phone
def test_hours_entered_by_a_tap_straight_out_of_their_field_are_stored_once_though_the_next_tap_comes_at_once(
    visitor, store
):
    visitor.open(3)
    visitor.go("job", "This job")
    visit = next(card.id for card in store.list_visits()[0] if card.title == "Upright of the music school, room 3")
    before = entered_hours(store, visit)
    show_part(visitor, "Work done")
    visitor.page.get_by_role("textbox", name="Other hours", exact=True).fill("3.5")
    visitor.page.get_by_role("button", name="Enter the hours").tap()
    visitor.page.get_by_role("radio", name="Its way", exact=True).tap()
    visitor.page.locator("[class*='st-key-hours_enter']").wait_for(state="detached")
    visitor.settle()
    after = entered_hours(store, visit)
    assert after == [*before, 3.5]


def entered_hours(store, visit: str) -> list[float]:
    return [entry.value["hours"] for entry in store.history(visit) if entry.field.startswith("job.done.")]
