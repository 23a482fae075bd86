"""The owner's page of the books, as Streamlit's own test runner sees it, over the invented jobs."""

from __future__ import annotations

import pytest
from demo_shop import go, start, told

from valuation.screens import shop


@pytest.fixture
def page():
    return go(start(), "books")


def test_the_page_tells_what_an_hour_earned_and_at_what_it_was_priced(page):
    page.pills(key="books_span").set_value("ever").run()
    assert not page.exception
    assert "Earned an hour, in EUR before tax:" in told(page)
    assert "the lines were priced at" in told(page)
    assert "Invented demo data" in told(page)


@pytest.mark.parametrize("part", ["earned", "priced", "said", "promises", "visits", "after", "hand"])
def test_every_part_draws(page, part):
    page.pills(key="books_span").set_value("ever").run()
    page.pills(key="books_part").set_value(part).run()
    assert not page.exception


def test_without_jobs_the_page_says_so_and_invents_nothing(page):
    shop.store().remove_demo()
    page.pills(key="books_span").set_value("ever").run()
    assert not page.exception
    assert "nothing can be told" in told(page)
