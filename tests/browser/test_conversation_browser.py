"""The whole conversation in Chromium, from the technician's verdict to the papers taken home; and how it prints."""

from __future__ import annotations

import re
from io import BytesIO

import numpy as np
import pytest
from playwright.sync_api import expect
from printed import plain, read_back
from pypdf import PdfReader
from test_client_browser import answer, stand_at
from test_papers_browser import downloaded, kept, make, papers_of
from widths import at_tablet_and_desk

from valuation.service.written import fetch_paper

pytestmark = pytest.mark.browser
HEIRLOOM, CONCERT = 6, 8
PRINTED = {
    "verdict": ("Repair part of it.", "Good years", "Why", "What to look at next", "not a certified appraisal"),
    "papers": ("Papers", "Made so far", "Written evaluation"),
}
ONLY_ON_SCREEN = ("Table rows", "Tuning pins", "With the client", "One page, as text", "Make it:", "Take it along")


@at_tablet_and_desk
def test_the_whole_conversation_ends_in_papers_that_say_what_was_said(visitor, store, tmp_path):
    page = visitor.page
    visitor.open(HEIRLOOM)
    page.get_by_role("heading", level=1, name="Repair part of it.").wait_for()

    # the technician sets a part by hand, and says why
    visitor.go("work", "Work and price")
    page.get_by_role("radiogroup", name="Set keys by hand").get_by_role("radio", name="keep", exact=True).click()
    visitor.settle()
    why = page.get_by_role("textbox", name=re.compile("Why"))
    why.fill("they were done in 2019")
    why.press("Enter")
    visitor.settle()

    # the client says what matters, and what is to be kept
    visitor.go("client", "How it is")
    stand_at(visitor, "matters")
    answer(visitor, "To have it", "a lot")
    page.get_by_text("Say it as a sum").click()
    worth = page.get_by_role("textbox", name="To hear this very piano again")
    worth.fill("16000")
    worth.press("Enter")
    visitor.settle()
    stand_at(visitor, "stand")
    answer(visitor, "Today we lean to this. It is no order.", "Repair part of it")
    answer(visitor, "The finish of the case", "kept and mended")
    page.get_by_text("More that is yours to choose").click()
    page.get_by_role("button", name="case", exact=True).click()
    page.get_by_text("At your wish this stays as it is: case.").wait_for()
    visitor.settle()

    # both are taken home: the leaf with the drawing, and the evaluation
    visitor.go("papers", "Papers")
    choose_paper(visitor, "Sheet of their piano")
    make(visitor)
    summary = kept(store, HEIRLOOM)[-1]
    _, pdf = downloaded(visitor, f"Download No. {summary.printed_number}", tmp_path)
    told = read_back(pdf)
    assert told.pages == 2
    choose_paper(visitor, "Written evaluation")
    make(visitor)
    evaluation = kept(store, HEIRLOOM)[-1]
    assert evaluation.printed_number != summary.printed_number
    _, pdf = downloaded(visitor, f"Download No. {evaluation.printed_number}", tmp_path)
    whole = read_back(pdf)
    assert pdf == fetch_paper(store, evaluation.id)
    for printed in (told, whole):
        for words in ("Repair part of it.", "kept and mended", "they were done in 2019", "case"):
            assert plain(words) in printed.text, words
    assert "16,000 EUR, as you said" in whole.text
    assert visitor.complaints == []


def choose_paper(visitor, name: str) -> None:
    """Choose a paper, and wait until its button has taken the place of the one before."""
    answer(visitor, "Which paper", name)
    making = visitor.page.locator("[class*='st-key-make_'] button")
    expect(making).to_have_text([f"Make it: {name}"], timeout=30_000)


def test_a_paper_is_chosen_made_and_downloaded_by_keyboard_alone(visitor, store):
    page = visitor.page
    visitor.open(HEIRLOOM)
    page.evaluate("document.activeElement.blur()")
    before = len(kept(store, HEIRLOOM))
    _tab_to(page, "Papers")
    page.keyboard.press("Enter")
    page.get_by_role("heading", level=1, name="Papers").wait_for()
    visitor.settle()
    _tab_to(page, "Written evaluation")
    for key in ("ArrowRight", "Space"):
        page.keyboard.press(key)
        visitor.settle()
    _tab_to(page, "Make it: Sheet of their piano")
    page.keyboard.press("Enter")
    page.locator(".st-key-paper_made").wait_for()
    visitor.settle()
    paper = kept(store, HEIRLOOM)[-1]
    assert (len(kept(store, HEIRLOOM)), paper.what) == (before + 1, "summary")
    _tab_to(page, f"Download No. {paper.printed_number}")
    with page.expect_download() as download:
        page.keyboard.press("Enter")
    assert download.value.suggested_filename.endswith("-summary.pdf")
    assert visitor.complaints == []


def test_the_verdict_leads_to_a_finding_and_to_the_client_by_keyboard_alone(visitor):
    page = visitor.page
    visitor.open(CONCERT)
    page.get_by_role("radio", name="Reasons", exact=True).click()
    visitor.settle()
    page.evaluate("document.activeElement.blur()")
    _tab_to(page, "How deep is the deepest groove?: 1.6 mm (marked)")
    page.keyboard.press("Enter")
    page.get_by_role("heading", level=1, name="Inspect").wait_for()
    visitor.settle()
    page.evaluate("document.activeElement.blur()")
    _tab_to(page, "Client")
    page.keyboard.press("Enter")
    page.get_by_role("heading", level=1, name="How it is").wait_for()
    assert visitor.complaints == []


def _tab_to(page, words: str, most: int = 80) -> None:
    """Press the tab key until what has these words has the focus, and see that it shows."""
    seen = []
    for _ in range(most):
        page.keyboard.press("Tab")
        seen.append(page.evaluate("(document.activeElement.innerText || '').trim()"))
        if seen[-1].startswith(words):
            shown = page.evaluate(
                "(e => { const s = getComputedStyle(e); return s.outlineStyle !== 'none' || s.boxShadow !== 'none' })"
                "(document.activeElement)"
            )
            assert shown, f"nothing shows that {words!r} has the focus"
            return
    pytest.fail(f"the tab key does not reach {words!r}: {seen}")


@at_tablet_and_desk
def test_axe_finds_nothing_in_the_verdict_once_a_part_is_set_by_hand(visitor):
    page = visitor.page
    visitor.open(CONCERT)
    visitor.go("work", "Work and price")
    page.get_by_role("radiogroup", name="Set hammers by hand").get_by_role("radio", name="replace", exact=True).click()
    visitor.settle()
    visitor.go("verdict")
    page.get_by_text("changed by hand").first.wait_for()
    assert visitor.axe_faults() == []


@pytest.mark.parametrize("section", PRINTED)
def test_a_page_prints_what_it_says_and_nothing_that_only_a_screen_has(visitor, section, as_pictures):
    page = visitor.page
    papers_of(visitor, HEIRLOOM)
    visitor.go(section)
    page.locator(".st-key-foot_printed").get_by_text("Prices, bands and hours").wait_for(state="attached")
    page.wait_for_timeout(500)
    page.emulate_media(media="print")
    visible = page.evaluate(
        "[...document.querySelectorAll('[data-testid=stDownloadButton], .st-key-way, [data-testid=stHeader]')]"
        ".filter(e => e.getBoundingClientRect().height > 0).map(e => e.outerHTML.slice(0, 90))"
    )
    assert visible == []
    for paper in ("A4", "Letter"):
        pdf = page.pdf(format=paper, print_background=True)
        sheets = PdfReader(BytesIO(pdf)).pages
        text = " ".join(" ".join(sheet.extract_text() for sheet in sheets).split())
        for words in PRINTED[section]:
            assert words in text, words
        for words in ONLY_ON_SCREEN:
            assert words not in text, words
        for number, picture in enumerate(as_pictures(pdf), 1):
            ink = np.asarray(picture.convert("L")) < 160
            edge = round(ink.shape[1] * 8 / 210)  # 8 mm of 210
            assert not ink[:, :edge].any(), f"page {number} is cut on the left"
            assert not ink[:, -edge:].any(), f"page {number} is cut on the right"
            assert ink.any(), f"page {number} is empty"
    page.emulate_media(media="screen")


@pytest.mark.parametrize("visitor", [820, 1280], ids=["tablet", "desk"], indirect=True)
def test_charts_of_the_verdict_are_printed_whole(visitor):
    page = visitor.page
    visitor.open(CONCERT)
    page.get_by_role("radio", name="What would change it").click()
    page.locator("[data-testid=stPlotlyChart] .main-svg").first.wait_for()
    page.wait_for_timeout(500)
    page.set_viewport_size({"width": 690, "height": 1000})  # a sheet of A4 between its margins
    page.emulate_media(media="print")
    cut = page.evaluate(
        "[...document.querySelectorAll('[data-testid=stPlotlyChart] .main-svg')]"
        ".filter(e => e.getBoundingClientRect().right > 691).map(e => e.getBoundingClientRect().right)"
    )
    assert cut == []
