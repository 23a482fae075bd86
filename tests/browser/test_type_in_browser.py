"""A form typed in by keyboard alone."""

from __future__ import annotations

import re

import pytest

from tests.served import settle
from valuation.report.checks import checks_of
from valuation.service import load_shop

pytestmark = pytest.mark.browser


def start_visit(visitor, kind: str = "upright") -> str:
    """Start a visit with its kind alone; return its id."""
    visitor.page.goto(visitor.address)
    visitor.settle()
    visitor.page.locator(".st-key-start button").click()
    visitor.page.locator(".st-key-start_kind").get_by_role("radio", name=kind.capitalize(), exact=True).click()
    visitor.settle()
    visitor.page.locator(".st-key-start_visit button").click()
    visitor.page.get_by_role("heading", level=1, name="The piano").wait_for()
    visitor.settle()
    return re.search(r"visit=([0-9a-f]{32})", visitor.page.url)[1]


def opened(page) -> bool:
    """Open the section of the form that has the focus; tell whether one has."""
    section = page.evaluate("document.activeElement.tagName === 'SUMMARY' && document.activeElement.innerText")
    if not section or "No. " not in section:
        return False
    page.keyboard.press("Enter")
    page.locator("details[open]", has_text=section.splitlines()[-1]).get_by_role("textbox").first.wait_for()
    settle(page)
    return True


def test_a_visit_is_typed_in_by_keyboard_alone(visitor, store):
    visit = start_visit(visitor)
    visitor.go("type_in", "Type in a form")
    keyboard, page = visitor.page.keyboard, visitor.page
    for _ in range(60):  # from the top of the page to the first section, as a person without a mouse would
        keyboard.press("Tab")
        if opened(page):
            break
    keyboard.press("Tab")
    assert page.evaluate("document.activeElement.ariaLabel").startswith("No. 1 ")
    tables = load_shop()
    checks = {check.name: check for check in checks_of(store.open_visit(visit, tables).visit, tables)}
    typed = 0
    while typed < 40:
        if opened(page):
            keyboard.press("Tab")
        label = page.evaluate("document.activeElement.getAttribute('aria-label') || ''")
        name = re.match(r"No\. \d+ · (.*?)(:\u2060? ?1 |, (bass|tenor|treble|anywhere) \(| \([^()]*\)$|$)", label)
        if not name:
            break
        check = checks[name[1]]
        keyboard.type("2" if check.answer == "choice" else f"{check.cut_marked:g}", delay=10)
        keyboard.press("Tab")
        visitor.settle()
        typed += 1
    assert typed == 40
    assert len(store.open_visit(visit, tables).visit.findings) >= 30
    assert page.get_by_text("Not taken down").count() == 0
