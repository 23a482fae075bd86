"""The page of what happened, as Streamlit's own test runner sees it."""

from __future__ import annotations

import pytest
from demo_shop import go, start, told
from invented_jobs import fill
from streamlit.testing.v1 import AppTest

from valuation.screens import shop


@pytest.fixture
def page() -> AppTest:
    """What happened in a shop of 400 evaluations."""
    first = start()
    shop.store().remove_demo()
    fill(shop.store(), 400, shop.today())
    return go(first, "happened")


def show(page: AppTest, part: str) -> AppTest:
    page.pills(key="happened_part").set_value(part).run()
    assert not page.exception
    return page


def test_how_far_evaluations_get_and_what_became_of_them(page):
    assert "Reached" in told(page)
    assert "delivered" in told(page).lower()
    show(page, "became")
    for by, shown in (
        ("source", "a teacher"),
        ("verdict", "Partial repair"),
        ("price", "EUR"),
        ("technician", "Edda"),
        ("month", "20"),
    ):
        page.pills(key="happened_by").set_value(by).run()
        assert not page.exception
        assert shown in told(page)
    assert "it would cost more than it is worth" in told(page)


def test_time_to_decide_is_drawn_and_told_in_words(page):
    show(page, "time")
    [chart] = page.get("plotly_chart")
    assert chart.proto.alt.startswith("After 14 days: yes")
    assert "After 90 days: yes" in told(page)
    assert "counted as undecided, not left out" in told(page)


def test_open_evaluations_have_chances_with_reasons_or_it_says_why_not(page):
    show(page, "open")
    assert "was predicted from the others" in told(page) or "one chance for all" in told(page)
    assert "of 100" in told(page)
    assert "They never enter what a client is told" in told(page)


def test_what_is_coming_stands_beside_what_the_shop_can_do(page):
    show(page, "coming")
    assert "Say what the shop can do in a month" in told(page)
    page.text_input(key="capacity").set_value("many").run()
    assert "'many' is not a number of hours" in told(page)
    page.text_input(key="capacity").set_value("240").run()
    assert not page.exception
    assert shop.store().setting("shop.hours_a_month") == 240
    assert "Say what the shop can do" not in told(page)


def test_a_new_entry_is_counted_at_the_next_drawing(page):
    before = told(page)
    visit = shop.store().list_visits(limit=1)[0][0].id
    day = shop.today().isoformat()
    shop.store().put(visit, "job.event.z", {"stage": "silent", "day": day}, who="", device="", now=shop.now())
    assert shop.what_happened(shop.store(), shop.tables()).known.courses[visit].stage.id == "silent"
    assert before


def test_the_demo_is_shown_as_invented_and_says_what_can_not_be_told_yet():
    page = go(start(), "happened")
    assert "so far there are no evaluations of your own" in told(page)
    assert "too few to tell" in told(page)
    show(page, "open")
    assert "It can't be told yet which evaluations become jobs: 5 are decided so far." in told(page)


def test_an_empty_shop_says_where_it_begins():
    page = start()
    shop.store().remove_demo()
    go(page, "happened")
    assert "No evaluation is known yet with what its client was told" in told(page)
