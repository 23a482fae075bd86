"""The talk with the client in Chromium: by touch, by mouse and by keyboard, each step on one screen."""

from __future__ import annotations

import pytest
from widths import at_tablet_and_desk, every_width

from valuation.report.talk.steps import SIX, step_name

pytestmark = pytest.mark.browser

MOST_HIGH = {390: 2 * 844, 820: 1180}
"""So high a step may be at most: two screens of a phone, one of a tablet [px]."""


def sit_down(visitor, number: int):
    """Open an invented piano and go to the talk with the client."""
    visitor.open(number)
    visitor.go("client", step_name("how"))
    return visitor.page


def stand_at(visitor, step: str) -> None:
    """Go to a step of the talk."""
    visitor.page.locator(f".st-key-step_{step} button").click()
    visitor.page.get_by_role("heading", level=1, name=step_name(step), exact=True).wait_for()
    visitor.settle()


def answer(visitor, question: str, word: str) -> None:
    """Give one answer, by finger or by mouse."""
    visitor.page.get_by_role("radiogroup", name=question).get_by_role("radio", name=word, exact=True).click()
    visitor.settle()


@pytest.mark.parametrize("number", [1, 6])
@pytest.mark.parametrize("visitor", [390, 820], ids=["phone", "tablet"], indirect=True)
def test_each_step_fits_its_screens(visitor, number):
    page = sit_down(visitor, number)
    for step in SIX:
        stand_at(visitor, step)
        high = page.evaluate("document.querySelector('[data-testid=stMainBlockContainer]').scrollHeight")
        assert high <= MOST_HIGH[page.viewport_size["width"]], step
        assert visitor.sideways() <= 0, step
    assert visitor.complaints == []


@every_width
def test_axe_finds_nothing_in_any_step(visitor):
    sit_down(visitor, 4)
    for step in SIX:
        stand_at(visitor, step)
        assert visitor.axe_faults() == [], step


@at_tablet_and_desk
def test_the_whole_talk_from_the_first_look_to_their_version(visitor):
    page = sit_down(visitor, 6)
    stand_at(visitor, "matters")
    answer(visitor, "To have it", "a lot")
    stand_at(visitor, "ways")
    page.get_by_text("matters a lot to you").first.wait_for()
    page.get_by_role("button", name="Another piano instead").click()
    page.locator("table.side thead").get_by_text("Another piano instead").wait_for()
    visitor.settle()
    stand_at(visitor, "stand")
    answer(visitor, "Today we lean to this. It is no order.", "Repair part of it")
    page.get_by_text("To sign: one price").wait_for()
    before = page.locator("div.price p.sum").inner_text()
    answer(visitor, "The finish of the case", "new")
    page.get_by_text("The case is stripped and gets a new finish.").wait_for()
    assert page.locator("div.price p.sum").inner_text() != before
    page.get_by_text("Tell us what you would do").click()
    page.get_by_text("We earn money with repairs and rebuilds.").wait_for()
    assert visitor.complaints == []


def test_a_step_is_read_from_its_heading_and_no_way_but_one_leads_away(visitor):
    page = sit_down(visitor, 2)
    assert page.locator("[class*='st-key-go_']").count() == 0
    row = page.get_by_role("navigation", name="The steps of the talk")
    for step in SIX:
        page.locator(f".st-key-step_{step} button").focus()
        page.keyboard.press("Enter")
        page.get_by_role("heading", level=1, name=step_name(step), exact=True).wait_for()
        visitor.settle()
        assert row.locator("[aria-current=step]").count() == 1
        if step != SIX[0]:
            assert page.evaluate("document.activeElement.textContent") == step_name(step)
    page.locator(".st-key-leave_table button").click()
    page.locator(".st-key-way").wait_for()
    assert visitor.complaints == []
