"""The whole conversation by Streamlit's own test runner: verdict, change by hand, what the client says, papers."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal

import pytest
from demo_shop import draft, go, opened, start, told
from printed import plain
from test_client_page import open_box, say, stand_at, type_in
from test_papers_page import choose, kept, make, words_of

from valuation.report.words import verdict_sentence
from valuation.service import appraise, load_shop
from valuation.service.papers import WRITTEN

A_LOT = 3
WAYS = ("Keep it as it is", "Repair part of it", "Rebuild it", "Another piano instead", "Let it go")


@pytest.mark.parametrize("number", [2, 6], ids=["retired", "kept for love"])
def test_from_the_verdict_over_what_the_client_says_to_every_paper(number):
    page = go(opened(start(), number), "work")
    page.pills(key=draft(page).key("pin_hammers")).set_value("replace").run()
    page.text_input(key=draft(page).key("why_hammers")).set_value("so that it sings again").run()
    stand_at(go(page, "client"), "matters")
    say(page, "family", A_LOT)
    type_in(open_box(page, "as_a_sum"), "to_hear_money", "1500")
    stand_at(page, "stand")
    say(page, "leaning", "keep")
    say(page, "finish", "finish_kept")
    type_in(page, "questions", "Who carries it down?")
    assert draft(page).visit.client.to_hear == 1500
    go(page, "verdict")
    found = appraise(draft(page).visit, load_shop(), on=draft(page).visit.on, set_levels=draft(page).set_levels)
    assert page.title[0].value == verdict_sentence(found)
    assert "changed by hand: so that it sings again" in told(page)
    go(page, "papers")
    for what in WRITTEN:
        make(choose(page, "what", what))
        assert not page.exception
    papers = kept(page)
    assert sorted(paper.what for paper in papers) == sorted(WRITTEN)
    assert len({paper.printed_number for paper in papers}) == len(WRITTEN)
    text = {paper.what: words_of(paper) for paper in papers}
    for what in ("evaluation", "summary"):
        assert "so that it sings again" in text[what]
        assert all(way in text[what] for way in WAYS)
    assert plain(verdict_sentence(found)) in text["evaluation"]
    assert "Who carries it down?" in text["evaluation"]
    # the sheet advises only where they asked, and tells their version instead
    assert "Today you lean to: Keep it as it is." in text["summary"]
    assert "What we would do" not in text["summary"]
    assert "1,500 EUR, as you said" in text["evaluation"]
    assert "so that it sings again" in text["quotation"]
    _lines_add_up(text["quotation"])


def _lines_add_up(text: str) -> None:
    """Hold the total of a printed quotation against its lines, as a reader would."""
    number = r"([\d,]+(?:\.\d\d)?)"

    def figure(said: str) -> Decimal:
        return Decimal(said.replace(",", ""))

    before_tax, rate, tax, total = map(
        figure, re.search(rf"Before tax {number} MwSt\., (\d+)\s?% {number} In all {number} This ", text).groups()
    )
    assert tax == (before_tax * rate / 100).quantize(Decimal("0.01"), ROUND_HALF_UP)
    assert before_tax + tax == total
    # the visit was long ago: once the day is over until which it holds, the price is no offer any more
    assert f"This price is fixed: {total:,} EUR." in text or f"This was the price: {total:,} EUR." in text
    # a line ends in its price, after a sentence and before the name of the next work
    lines = re.search(r"The work: .*? Price (.*?) Before tax", text).group(1)
    prices = re.findall(r"(?<=[.!?]) ([\d,]+)(?= [A-Z]|$)", lines)
    assert prices
    assert sum(map(figure, prices)) == before_tax
