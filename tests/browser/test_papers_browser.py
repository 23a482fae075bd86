"""Papers in Chromium: made by finger and by mouse, downloaded, opened, and held against today's tables."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from conftest import title_of
from printed import plain, read_back
from widths import at_tablet_and_desk, every_width

from valuation.report.words import verdict_sentence
from valuation.service import appraise, demo_visits, load_shop, read_visit_file
from valuation.service.written import fetch_paper, list_papers

pytestmark = pytest.mark.browser
SCHOOL, PARLOUR = 3, 2


def papers_of(visitor, number: int):
    """Open an invented piano and go to its papers."""
    visitor.open(number)
    visitor.go("papers", "Papers")
    return visitor.page


def make(visitor) -> None:
    """Press the button that makes a paper, and wait until it is handed out."""
    visitor.page.locator("[class*='st-key-make_'] button").click(delay=90)
    visitor.page.locator(".st-key-paper_made").wait_for()
    visitor.settle()


def downloaded(visitor, name: str, folder: Path) -> tuple[str, bytes]:
    """Press a button that hands out a file; return the name that the browser gave it, and what is in it."""
    with visitor.page.expect_download() as download:
        visitor.page.get_by_role("button", name=name).first.click(delay=90)
    download.value.save_as(folder / "file.pdf")
    return download.value.suggested_filename, (folder / "file.pdf").read_bytes()


def kept(store, number: int):
    """The papers of an invented piano, as the store has them."""
    cards, _ = store.list_visits(limit=1000)
    return list_papers(store, next(card.id for card in cards if card.title == title_of(number)))


@at_tablet_and_desk
def test_an_evaluation_is_made_and_downloaded_and_holds_the_verdict(visitor, store, tmp_path):
    page = papers_of(visitor, SCHOOL)
    make(visitor)
    paper = kept(store, SCHOOL)[-1]
    name, pdf = downloaded(visitor, f"Download No. {paper.printed_number}", tmp_path)
    assert name.endswith(f"-{paper.printed_number}-evaluation.pdf")
    assert pdf == fetch_paper(store, paper.id)
    path = next(path for _, path in demo_visits() if path.stem.startswith(f"{SCHOOL}_"))
    book = load_shop()
    visit = read_visit_file(path, book, paper.written_on)
    printed = read_back(pdf)
    assert plain(verdict_sentence(appraise(visit, book, on=visit.on))) in printed.text
    assert paper.printed_number in printed.text
    assert printed.marked
    page.get_by_role("button", name="Make it again from what was kept").first.click(delay=90)
    page.get_by_text("Made again: the same, byte for byte.").wait_for()
    page.get_by_text("With today's tables").first.click()
    page.get_by_text("The tables are the same as then.").wait_for()
    assert visitor.complaints == []


def test_three_quick_clicks_make_one_paper(visitor, store):
    before = len(kept(store, PARLOUR))
    page = papers_of(visitor, PARLOUR)
    page.locator("[class*='st-key-make_'] button").evaluate(
        "button => [0, 120, 240].forEach(after => setTimeout(() => button.click(), after))"
    )
    page.locator(".st-key-paper_made").wait_for()
    visitor.settle()
    assert len(kept(store, PARLOUR)) == before + 1


@at_tablet_and_desk
def test_a_quotation_in_german_on_letter_paper_and_the_form_come_as_chosen(visitor, store, tmp_path):
    page = papers_of(visitor, SCHOOL)
    for word in ("Quotation", "Deutsch", "Letter, 8½ by 11 in", "inches and in-lb"):
        page.get_by_role("radio", name=word, exact=True).click()
        visitor.settle()
    page.get_by_role("radio", name="Retire", exact=True).click()
    page.get_by_text("There is no work in 'retire', so there is nothing to quote.").wait_for()
    page.get_by_role("radio", name="Rebuild", exact=True).click()
    visitor.settle()
    make(visitor)
    paper = kept(store, SCHOOL)[-1]
    _, pdf = downloaded(visitor, f"Download No. {paper.printed_number}", tmp_path)
    assert (read_back(pdf).language, read_back(pdf).size_mm) == ("de", (216, 279))
    assert "Angebot" in read_back(pdf).text
    name, form = downloaded(visitor, "Download the form", tmp_path)
    assert (name, read_back(form).language, read_back(form).size_mm) == ("form-upright.pdf", "de", (216, 279))


@pytest.mark.parametrize("visitor", [390, 1280], ids=["phone", "desk"], indirect=True)
@pytest.mark.parametrize(
    ("spoken", "called", "greeting"), [("English", "Quotation", "Dear "), ("Deutsch", "Angebot", "Guten Tag, ")]
)
def test_a_paper_stands_there_as_the_text_of_an_email_with_its_sums(visitor, store, spoken, called, greeting):
    page = papers_of(visitor, SCHOOL)
    for word in ("Quotation", spoken):
        page.get_by_role("radio", name=word, exact=True).click()
        visitor.settle()
    make(visitor)
    paper = kept(store, SCHOOL)[-1]
    page.get_by_text("As the text of an e-mail").first.click()
    page.locator(f".st-key-paper_{paper.id} [data-testid=stCode]").nth(1).wait_for()
    subject, text = page.locator(f".st-key-paper_{paper.id} [data-testid=stCode]").all()
    assert called in subject.inner_text()
    said = text.inner_text()
    assert said.startswith(greeting)
    [total] = re.findall(r"^(?:In all|Insgesamt): ([\d.,]+)$", said, re.MULTILINE)
    assert total in read_back(fetch_paper(store, paper.id)).text, "what the paper says"
    visitor.settle()
    assert visitor.sideways() <= 0
    assert visitor.cut() == []
    assert visitor.axe_faults() == []


@every_width
def test_axe_finds_nothing_and_nothing_is_cut_once_papers_were_made_and_compared(visitor):
    page = papers_of(visitor, PARLOUR)
    make(visitor)
    page.get_by_text("With today's tables").first.click()
    page.locator("[class*='st-key-compared_']").wait_for()
    visitor.settle()
    assert visitor.axe_faults() == []
    assert visitor.sideways() <= 0
    assert visitor.cut() == []
