"""The page of the bench, as Streamlit's own test runner sees it."""

from __future__ import annotations

import pytest
from demo_shop import go, start, told

from valuation.screens import shop


@pytest.fixture
def page():
    return go(start(), "bench")


def show(page, part):
    page.pills(key="bench_part").set_value(part).run()
    assert not page.exception
    return page


def say_who(page, place: int = 0, turn: int = 0, **typed: str):
    for name, text in typed.items():
        page.text_input(key=f"person_{name}_{place}_{turn}").set_value(text).run()
    page.button(key="people_keep").click().run()
    assert not page.exception


def test_dates_come_as_odds_once_it_is_said_who_works(page):
    assert "**Invented demo data**: the people, their hours and the jobs are made up." in told(page)
    assert not shop.store().setting("shop.people")
    show(page, "people")
    assert page.text_input(key="person_name_0_0").value == ""  # the invented ones are none of the shop's
    say_who(page, name="Jule", hours="30", cost="42", leave="2027-01-04 – 2027-01-15")
    [person] = shop.store().setting("shop.people")
    assert person == {
        "name": "Jule", "hours_a_week": 30.0, "cost_an_hour": 42.0, "leave": [["2027-01-04", "2027-01-15"]]
    }  # fmt: skip
    show(page, "dates")
    assert "Done by, in 9 of 10" in told(page)


def test_without_the_demo_nobody_works_at_the_bench_until_it_is_said(page):
    shop.store().remove_demo()
    assert "nobody is said to work at the bench" in told(show(page, "dates"))


def test_people_that_can_not_be_are_told_and_not_kept(page):
    show(page, "people")
    say_who(page, name="Jule", hours="30", leave="in August")
    assert "'in August' is no leave" in told(page)
    assert not shop.store().setting("shop.people")


def test_whom_to_ring_comes_with_telephone_and_price_and_nobody_who_said_no(page):
    visit = next(card.id for card in shop.store().list_visits(limit=99)[0] if card.stage == "evaluated")
    shop.store().put(visit, "client.phone", "0123 456", who="", device="", now=shop.now())
    show(page, "ring")
    assert "0123 456" in told(page)
    assert "price" in told(page)
    rung = {one.visit for one in shop.ringing_of(shop.store(), shop.tables())}
    no = {card.id for card in shop.store().list_visits(limit=99)[0] if card.stage in ("declined", "retired")}
    assert rung
    assert not rung & no
