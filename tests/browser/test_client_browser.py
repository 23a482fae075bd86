"""The talk with the client in Chromium: by touch, by mouse, by keyboard alone, and on paper."""

from __future__ import annotations

from io import BytesIO

import pytest
from pypdf import PdfReader
from widths import at_tablet_and_desk

from valuation.facts.words import WAYS
from valuation.report.client_words import way_name

pytestmark = pytest.mark.browser

NAMES = [way_name(way) for way in WAYS]


def sit_down(visitor, number: int):
    """Open an invented piano and go to the page with the client."""
    visitor.open(number)
    visitor.go("client", "What shall become of this piano?")
    return visitor.page


def answer(visitor, question: str, word: str) -> None:
    """Give one answer, by finger or by mouse."""
    visitor.page.get_by_role("radiogroup", name=question).get_by_role("radio", name=word, exact=True).click()
    visitor.settle()


def ways_in_order(page) -> list[list[str]]:
    """The names of the ways in each row, in the order in which they are seen."""
    return page.evaluate(
        """[...document.querySelectorAll('dl.ways')].map(row => [...row.querySelectorAll('dt')]
        .map(e => [e.textContent, e.getBoundingClientRect()])
        .sort(([, a], [, b]) => a.top - b.top || a.left - b.left).map(([name]) => name))"""
    )


@at_tablet_and_desk
def test_the_whole_talk_from_the_first_look_to_the_page_that_is_left(visitor):
    page = sit_down(visitor, 6)
    assert ways_in_order(page)[0] == NAMES
    answer(visitor, "Keep it with us", "a lot")
    answer(visitor, "Spend little", "some")
    page.locator("[class*='st-key-matter_3_family']").wait_for()
    assert all(row == NAMES for row in ways_in_order(page))
    field = page.get_by_role("textbox", name="Or say it as a sum")
    field.fill("900")
    field.press("Enter")
    page.get_by_text("To hear this very piano is worth 900 EUR to you.").wait_for()
    visitor.settle()
    answer(visitor, "The finish of the case", "kept and mended")
    page.get_by_role("button", name="case", exact=True).click()
    page.get_by_text("To be left as it is: case.").wait_for()
    page.get_by_text("Tell us what you would do").click()
    page.get_by_text("We earn money with repairs and rebuilds.").wait_for()
    answer(visitor, "Today I lean to", "Repair part of it")
    asked = page.get_by_role("textbox", name="What do you still want to ask")
    asked.fill("May we see the workshop?")
    answer(visitor, "Show", "One page to leave here")
    page.get_by_role("heading", level=1, name="What we talked about").wait_for()
    visitor.settle()
    for words in ("Still open: May we see the workshop?", "For the client", "They order nothing."):
        assert page.get_by_text(words).count() == 1, words
    assert page.get_by_text("Today you lean to: Repair part of it.").count() == 1
    assert visitor.complaints == []


@at_tablet_and_desk
def test_axe_finds_nothing_in_the_talk_once_answered_nor_on_the_page_to_leave(visitor):
    page = sit_down(visitor, 4)
    answer(visitor, "How it looks", "a lot")
    page.get_by_text("Tell us what you would do").click()
    visitor.settle()
    assert visitor.axe_faults() == []
    answer(visitor, "Show", "One page to leave here")
    page.get_by_role("heading", level=1, name="What we talked about").wait_for()
    assert visitor.axe_faults() == []


def test_the_talk_can_be_held_by_keyboard_alone(visitor):
    page = sit_down(visitor, 2)
    press = page.keyboard.press
    page.evaluate("document.activeElement.blur()")
    seen = []
    for _ in range(40):
        press("Tab")
        seen.append(
            page.evaluate("document.activeElement.closest('[role=radiogroup]')?.getAttribute('aria-label') || ''")
        )
        if seen[-1].startswith("Keep it with us"):
            break
    assert seen[-1].startswith("Keep it with us"), seen
    for key in ("ArrowRight", "ArrowRight", "Space"):
        press(key)
        visitor.settle()
    page.locator("[class*='st-key-matter_3_family']").wait_for()
    for _ in range(30):
        press("Tab")
        if page.evaluate("document.activeElement.getAttribute('aria-label') || ''").startswith("Or say it as a sum"):
            break
    page.keyboard.type("20000")
    press("Enter")
    page.get_by_text("To hear this very piano is worth 20,000 EUR to you.").wait_for()
    assert visitor.complaints == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("number", [1, 3, 4])
def test_the_page_to_leave_prints_on_one_sheet(visitor, paper, number):
    page = sit_down(visitor, number)
    answer(visitor, "Show", "One page to leave here")
    page.get_by_role("heading", level=1, name="What we talked about").wait_for()
    visitor.settle()
    sheet = PdfReader(BytesIO(page.pdf(format=paper)))
    text = " ".join(sheet.pages[0].extract_text().split())
    assert len(sheet.pages) == 1
    for words in (*NAMES, "For the client", "Good years"):
        assert words in text, words
    for screen_only in ("Print this page", "Table rows", "The whole talk"):
        assert screen_only not in text, screen_only


def test_the_whole_talk_prints_with_every_way_and_without_what_is_only_for_the_screen(visitor):
    page = sit_down(visitor, 3)
    sheets = PdfReader(BytesIO(page.pdf(format="A4")))
    text = " ".join(" ".join(sheet.extract_text() for sheet in sheets.pages).split())
    assert len(sheets.pages) >= 3
    for words in ("What could go wrong", "Bad sides", "What we did not see", "These figures hold until"):
        assert words in text, words
    assert text.count("Another piano instead") >= 10
    assert "Table rows" not in text
