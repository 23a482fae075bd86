"""Tuning pins typed by keyboard in a real browser: nothing lost, nothing out of reach."""

from __future__ import annotations

import pytest
from widths import every_width

pytestmark = pytest.mark.browser

A_KEY, BETWEEN = 130, 200
"""Faster than two readings a second: how long a key takes, and the while between two readings [ms]."""

BASS = [60, 72, 25, 60, 55, 72, 48, 28]
TENOR = [52, 45, 66, 18, 71, 58, 62, 49]
TREBLE = [70, 75, 66, 81, 29, 64, 72, 68]


def on_the_page(visitor) -> None:
    visitor.open(5)
    visitor.go("pins", "Tuning pins")
    visitor.page.get_by_role("radio", name="in-lb").click()
    visitor.settle()


def by_pin(visitor) -> None:
    visitor.page.get_by_role("radio", name="Pin by pin").click()
    visitor.page.locator("[class*=st-key-pins_grid_] canvas").first.wait_for()
    visitor.settle()


def section(visitor, name: str) -> None:
    visitor.page.get_by_role("radio", name=name, exact=True).click()
    visitor.page.locator(f"[class*=st-key-pins_grid_{name.lower()}] canvas").first.wait_for()
    visitor.settle()


def open_first_cell(visitor) -> None:
    """Choose the first cell and open it once, as the page says: its editor is loaded then."""
    grid = visitor.page.locator("[class*=st-key-pins_grid_]").first
    grid.evaluate("e => e.scrollIntoView({block: 'center'})")
    visitor.page.wait_for_timeout(300)
    box = grid.locator("canvas").first.bounding_box()
    for _ in range(5):  # a grid that has only just come does not hear a click yet
        visitor.page.mouse.click(box["x"] + 0.3 * box["width"], box["y"] + 66, delay=90)
        visitor.page.wait_for_timeout(500)
        if grid.locator("#glide-cell-1-0[aria-selected=true]").count():
            break
    visitor.page.keyboard.press("Enter")
    visitor.page.locator("input.gdg-input").wait_for()
    visitor.page.keyboard.press("Escape")
    visitor.page.locator("input.gdg-input").wait_for(state="detached")


def type_down(visitor, numbers: list[int]) -> None:
    for number in numbers:
        visitor.page.keyboard.type(f"{number}", delay=A_KEY)
        visitor.page.keyboard.press("Enter")
        visitor.page.wait_for_timeout(BETWEEN)


def row(visitor, name: str) -> str:
    return visitor.page.get_by_role("textbox", name=f"{name}, in in-lb").input_value()


def unfold(visitor, name: str) -> None:
    """Open a box of what the pins say, if it isn't; what comes and goes above it may have shut it."""
    box = visitor.page.locator("details", has=visitor.page.locator("summary", has_text=name))
    for _ in range(3):
        visitor.settle()
        if box.get_attribute("open") is not None:
            return
        box.locator("summary").click()


@every_width
def test_24_readings_typed_fast_into_the_grid_all_arrive_at_their_pins(visitor):
    on_the_page(visitor)
    by_pin(visitor)
    for name, numbers in (("Bass", BASS), ("Tenor", TENOR), ("Treble", TREBLE)):
        section(visitor, name)
        open_first_cell(visitor)
        type_down(visitor, numbers)
        unfold(visitor, "Map of the pin field")
        visitor.page.get_by_text(f"{name}, keys").filter(has_text="8 tried").wait_for()
    visitor.page.get_by_text("4 of 24 tried were loose").wait_for()
    visitor.page.get_by_role("radio", name="Row by row").click()
    visitor.page.get_by_role("textbox", name="Bass, in in-lb").wait_for()
    visitor.settle()
    for name, first, numbers in (("Bass", 1, BASS), ("Tenor", 29, TENOR), ("Treble", 53, TREBLE)):
        assert row(visitor, name) == " ".join(f"{first + i}.1:{number}" for i, number in enumerate(numbers))
    assert visitor.complaints == []


@every_width
def test_24_readings_typed_fast_into_rows_all_arrive_though_the_page_is_drawn_between(visitor):
    on_the_page(visitor)
    visitor.page.get_by_role("textbox", name="Bass, in in-lb").click()
    for numbers in (BASS, TENOR, TREBLE):
        for i, number in enumerate(numbers):
            visitor.page.keyboard.type(f"{number} ", delay=60)
            if i in (2, 5):
                visitor.page.wait_for_timeout(1300)  # long enough for what stands there to be taken
        visitor.page.keyboard.press("Tab")
    visitor.page.get_by_text("4 of 24 tried were loose").wait_for()
    visitor.settle()
    for name, numbers in (("Bass", BASS), ("Tenor", TENOR), ("Treble", TREBLE)):
        assert row(visitor, name).split() == [f"{number}" for number in numbers]
    assert visitor.complaints == []


def test_a_row_is_taken_while_the_field_is_still_open(visitor):
    on_the_page(visitor)
    visitor.page.get_by_role("textbox", name="Bass, in in-lb").click()
    visitor.page.keyboard.type("60 25 55", delay=60)
    visitor.page.get_by_text("1 of 3 tried were loose").wait_for()
    assert visitor.page.evaluate("document.activeElement.value") == "60 25 55"


@every_width
def test_the_grid_fits_and_can_be_reached(visitor):
    on_the_page(visitor)
    visitor.page.get_by_role("textbox", name="Tenor, in in-lb").fill("40.1:20 41.2:22 42.1:25 45.1:60 50.3:70 55")
    visitor.page.keyboard.press("Enter")
    visitor.page.get_by_text("3 of 6 tried were loose").wait_for()
    by_pin(visitor)
    for box in ("By torque, against the range of the tables", "Map of the pin field"):
        unfold(visitor, box)
    visitor.settle()
    assert visitor.sideways() <= 0
    beyond = visitor.page.evaluate(
        "[...document.querySelectorAll('.pinfield span, .pinbars span')].map(e => e.getBoundingClientRect())"
        ".filter(r => r.right > window.innerWidth || r.left < 0).length"
    )
    assert beyond == 0
    assert visitor.axe_faults() == []
    assert visitor.page.get_by_role("img", name="Tenor, keys 29 to 52: 6 tried, 3 loose").count() == 1
