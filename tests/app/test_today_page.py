"""The owner's front page: three answers, each leading to its list; what can't be told yet is left out."""

from __future__ import annotations

import re

import pytest
from demo_shop import go, start, told
from streamlit.testing.v1 import AppTest

from valuation.screens import shop


@pytest.fixture
def page() -> AppTest:
    return go(start(), "today")


def headers(page: AppTest) -> list[str]:
    return [element.value for element in page.header]


def test_it_tells_whom_to_ring_and_leads_to_all_of_them(page):
    assert headers(page)[0] == "Whom to ring today"
    assert "Dr. Ines Hagen" in told(page)
    page.button(key="front_to_ring").click().run()
    assert page.title[0].value == "Bench"
    assert page.pills(key="bench_part").value == "ring"


def test_conversion_leans_on_all_and_says_of_how_many(page):
    assert "Evaluations that become jobs" in headers(page)
    assert "of 6 within half a year" in told(page)


def test_the_hours_of_the_invented_people_answer_the_third_question_and_are_marked(page):
    assert "Invented demo data" in told(page)
    assert re.search(r"A new piano with the usual \d+ hours can be done by .+, in 9 of 10\.", told(page))
    assert re.search(r"In hand: \d+ hours of agreed work; 56 hours a week are there\.", told(page))


def test_what_cant_be_told_yet_is_left_out():
    shop.store().remove_demo()
    page = go(start(), "today")
    assert "Nobody has to be rung today." in told(page)
    assert "Evaluations that become jobs" not in headers(page)
    assert "hours of agreed work" not in told(page)


def test_a_card_of_the_board_says_whose_piano_it_is_and_what_was_told():
    page = go(start(), "jobs")
    assert any("Dr. Ines Hagen" in text.value and "EUR" in text.value for text in page.text)
    assert "Told in all: " in told(page)
