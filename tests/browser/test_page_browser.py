"""The page in Chromium: what only a real browser shows."""

from __future__ import annotations

import json
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import pytest
from widths import every_width, on_a_phone

from valuation.screens.page_list import PAGES

pytestmark = pytest.mark.browser

SECTIONS = {
    "verdict": "",
    "piano": "The piano",
    "inspect": "Inspect",
    "check_next": "Check next",
    "client": "How it is",
    "papers": "Papers",
    "condition": "Condition",
    "work": "Work and price",
    "what_if": "What if",
    "table_rows": "Table rows behind a figure",
    "pins": "Tuning pins",
    "measure": "Measurements",
    "market": "Market",
    "type_in": "Type in a form",
    "history": "History",
    "job": "This job",
    "today": "Today",
    "jobs": "Jobs",
    "bench": "Bench",
    "books": "The books",
    "happened": "What happened",
    "learning": "Learning",
    "tables": "Our tables",
    "past": "Bring in the past",
    "first_week": "The first week",
    "people": "People's data",
    "shop": "The shop",
    "access": "Access",
}
"""Every page but the first, by the end of its button's key, and its heading."""

A_PHONES_SCREEN = 844
"""How high it is [px]."""

BY_AXE = (390, 820, 1280)
"""Widths at which axe looks [px]."""


def walk(visitor):
    """Go through the list and every section of one piano; give the name of each."""
    visitor.page.goto(visitor.address)
    visitor.settle()
    yield "visits"
    visitor.open(1)
    for section, heading in SECTIONS.items():
        visitor.go(section, heading)
        yield section


@dataclass(frozen=True)
class Seen:
    """What one section shows: see `Visitor` for each.

    Attributes
    ----------
    levels : list of int
        Those of its headings, in the order of the page.
    screens : float
        How many screens of a phone it is high before anything is opened [-].
    """

    sideways: int
    cut: list[str]
    too_small: list[str]
    levels: list[int]
    screens: float
    axe_faults: list[tuple[str, str, str]]


def look(visitor) -> Seen:
    levels = visitor.page.evaluate(
        "[...document.querySelectorAll('[data-testid=stMain] :is(h1, h2, h3, h4)')].map(e => +e.tagName[1])"
    )
    window = visitor.page.viewport_size
    high = visitor.page.evaluate("document.querySelector('[data-testid=stMainBlockContainer]').scrollHeight")
    sideways, cut, too_small = visitor.sideways(), visitor.cut(), visitor.too_small()
    faults = visitor.axe_faults() if window["width"] in BY_AXE else []
    visitor.page.set_viewport_size(window)
    return Seen(sideways, cut, too_small, levels, high / A_PHONES_SCREEN, faults)


@pytest.fixture(scope="module")
def walks() -> dict[tuple[int, str], tuple[dict[str, Seen], list[str]]]:
    """What was seen by width and look: one walk through all pages is enough for all that is asked of it."""
    return {}


@pytest.fixture
def walked(visitor, walks):
    """A function that gives what was seen in one look, section by section, and the complaints of the browser."""

    def seen(colours: str = "light") -> tuple[dict[str, Seen], list[str]]:
        key = visitor.page.viewport_size["width"], colours
        if key not in walks:
            visitor.page.emulate_media(color_scheme=colours)
            walks[key] = {section: look(visitor) for section in walk(visitor)}, visitor.complaints
        return walks[key]

    return seen


@every_width
def test_a_walk_through_all_sections_brings_no_error_and_no_sideways_scroll(walked):
    sections, complaints = walked()
    assert {name: seen.sideways for name, seen in sections.items() if seen.sideways > 0} == {}
    assert {name: seen.cut for name, seen in sections.items() if seen.cut} == {}
    assert complaints == []


@on_a_phone
def test_every_target_is_big_enough_for_a_finger(walked):
    assert {name: seen.too_small for name, seen in walked()[0].items() if seen.too_small} == {}


@on_a_phone
def test_no_page_is_longer_than_two_screens_before_something_is_opened(walked):
    assert {name: round(seen.screens, 2) for name, seen in walked()[0].items() if seen.screens > 2} == {}


def test_the_walk_leaves_no_page_out(walked):
    assert set(walked()[0]) == {"visits", *SECTIONS} == {Path(page).stem for page in PAGES}


@pytest.mark.parametrize("colours", ["light", "dark"])
@pytest.mark.parametrize("visitor", BY_AXE, ids=["phone", "tablet", "desk"], indirect=True)
def test_axe_finds_nothing(walked, colours):
    assert {name: seen.axe_faults for name, seen in walked(colours)[0].items() if seen.axe_faults} == {}


def test_headings_go_down_step_by_step(walked):
    for section, seen in walked()[0].items():
        levels = seen.levels
        assert levels[0] == 1, section
        assert levels.count(1) == 1, section
        assert all(after <= before + 1 for before, after in pairwise(levels)), (section, levels)


def test_the_row_that_stays_is_a_landmark_and_says_where_one_stands(visitor, store):
    visitor.open(1)
    page = visitor.page
    navigation = page.get_by_role("navigation", name="The way about")
    assert navigation.locator("[aria-current=page]").all_inner_texts() == ["Verdict"]
    assert page.title().startswith("Verdict · ")
    page.locator("[data-testid=stMain]").evaluate("main => main.scrollTo(0, 900)")
    visitor.go("papers", "Papers")
    assert navigation.bounding_box()["y"] == 0
    assert navigation.locator("[aria-current=page]").all_inner_texts() == ["Papers"]
    assert page.title().startswith("Papers · ")
    visitor.go("condition", "Condition")
    assert navigation.locator("[aria-current]").inner_text().startswith("Menu")
    assert page.evaluate("document.documentElement.lang") == "en"
    store.set_setting("language", "de")
    visitor.go("papers")
    assert page.evaluate("document.documentElement.lang") == "de"
    store.set_setting("language", None)
    assert visitor.complaints == []


def test_a_new_page_begins_at_its_top_and_is_read_from_its_heading(visitor):
    visitor.open(1)
    page = visitor.page
    page.locator("[data-testid=stMain]").evaluate("main => main.scrollTo(0, 900)")
    visitor.go("condition", "Condition")
    assert page.evaluate("document.activeElement.textContent") == "Condition"
    assert page.evaluate("document.querySelector('[data-testid=stMain]').scrollTop") == 0


def test_what_is_found_changes_the_verdict_that_was_asked_for(visitor):
    visitor.open(7)
    visitor.go("inspect", "Inspect")
    visitor.page.get_by_text("Show the verdict").click()
    visitor.page.locator(".st-key-peeked").get_by_text("Keep it as it is.").wait_for()
    visitor.page.locator(".st-key-to_type_in button").click()
    visitor.unfold("plate_crack")
    field = visitor.page.locator("[class*='st-key-short_plate_crack__']").get_by_role("textbox")
    field.fill("4")
    field.press("Enter")
    visitor.page.locator(".st-key-saved").get_by_text("Is the plate cracked?").wait_for()
    visitor.go("inspect", "Inspect")
    visitor.page.get_by_text("STOP.").first.wait_for()
    visitor.page.get_by_text("Show the verdict").wait_for()
    assert visitor.page.get_by_text("Keep it as it is.", exact=True).count() == 0
    assert visitor.complaints == []


@on_a_phone
def test_a_tap_straight_out_of_a_field_neither_loses_the_text_nor_the_tap(visitor):
    visitor.open(1)
    visitor.go("type_in", "Type in a form")
    visitor.unfold("hammer_groove")
    field = visitor.page.locator("[class*='st-key-short_hammer_groove__']").get_by_role("textbox")
    field.fill("0.4")
    visitor.page.locator(".st-key-go_verdict button").tap()
    visitor.page.get_by_role("heading", level=1, name="Type in a form").wait_for(state="detached")
    visitor.settle()
    visitor.go("condition", "Condition")
    visitor.page.locator("[class*='st-key-condition_action'] summary").click()
    visitor.page.get_by_text("0.4 mm (nothing wrong)").wait_for()


def test_a_reload_keeps_the_demo_piano_and_the_section(visitor):
    visitor.open(6)
    visitor.go("condition", "Condition")
    visitor.page.reload()
    visitor.page.get_by_text("Grandmother Wilma's upright").first.wait_for()
    visitor.settle()
    assert visitor.page.get_by_role("heading", level=1).inner_text() == "Condition"


def test_an_uploaded_file_opens_and_what_it_says_stays_plain_text(visitor, tmp_path):
    title = "![x](http://tracker.example/x.png) www.example.org $5 and $6 a@example.org"
    file = tmp_path / "attic.toml"
    file.write_text(f'title = "{title}"\ndate = 2026-03-01\n[piano]\nkind = "upright"\n', encoding="utf-8")
    visitor.page.goto(visitor.address)
    visitor.settle()
    visitor.page.get_by_text("Open a visit file").click()
    visitor.page.locator("input[type=file]").set_input_files(file)
    visitor.page.get_by_role("button", name="Store it as a visit").click()
    visitor.page.get_by_text(title).first.wait_for()
    for section, heading in SECTIONS.items():
        visitor.go(section, heading)
        # the drawing and the links to the walk are the page's own
        own = ":not([src^='data:image/svg']):not([href*='/walk/'])"
        found = visitor.page.locator(f"[data-testid=stMain] :is(a, img:not(.piano), .katex){own}")
        assert found.count() == 0, section
    assert visitor.complaints == []


def test_a_faulty_file_is_told_line_by_line(visitor, tmp_path):
    file = tmp_path / "harp.toml"
    file.write_text('title = "x"\ndate = 2026-03-01\n[piano]\nkind = "harp"\n', encoding="utf-8")
    visitor.page.goto(visitor.address)
    visitor.settle()
    visitor.page.get_by_text("Open a visit file").click()
    visitor.page.locator("input[type=file]").set_input_files(file)
    visitor.page.get_by_text("harp.toml:4: piano.kind: 'harp' is not a kind of piano").wait_for()


def test_everything_can_be_taken_along_as_json(visitor, tmp_path):
    visitor.open(3)
    visitor.page.get_by_role("radio", name="Cautions and files").click()
    with visitor.page.expect_download() as caught:
        visitor.page.get_by_role("button", name="Everything, as JSON").click()
    caught.value.save_as(tmp_path / "visit.json")
    content = json.loads((tmp_path / "visit.json").read_text(encoding="utf-8"))
    assert content["verdict"] == "partial_repair"
    assert caught.value.suggested_filename.endswith(".json")


def test_a_figure_turned_by_the_keyboard_or_typed_moves_the_answer_which_stays_in_view(visitor):
    page = visitor.page
    visitor.open(6)
    visitor.go("what_if", "What if")
    answer, heart = page.locator(".st-key-what_if_answer"), "What it is worth to hear this very piano (EUR)"
    page.get_by_role("slider", name=heart).focus()
    page.keyboard.press("Home")
    answer.get_by_text("Now: Repair part of it.").wait_for(state="detached")
    typed = page.get_by_role("textbox", name=heart)
    assert typed.input_value() == "0"
    typed.fill("30000")
    typed.press("Enter")
    answer.get_by_text("Now: Repair part of it.").wait_for()
    typed.fill("a lot")
    typed.press("Enter")
    page.get_by_text("'a lot' is not a figure for this").wait_for()
    answer.get_by_text("Now: Repair part of it.").wait_for()
    page.locator("[data-testid=stMain]").evaluate("main => main.scrollTo(0, main.scrollHeight)")
    row = page.get_by_role("navigation", name="The way about").bounding_box()
    assert answer.bounding_box()["y"] >= row["y"] + row["height"] - 2
    assert answer.bounding_box()["y"] < 120
    assert visitor.complaints == []
