"""The page 'People's data', as Streamlit's own test runner sees it."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from demo_shop import all_visits, draft, go, opened, start, told
from said_country import tables_of_a_shop_in
from streamlit.testing.v1 import AppTest

from valuation.screens import shop
from valuation.service import people

NAME, VISIT = "Zarathea Vinterquist", "c" * 32
AT = datetime(2019, 3, 10, 9, tzinfo=UTC)


@pytest.fixture
def page() -> AppTest:
    """The page, with one client's visit in the store beside the demo."""
    page = start()
    facts = {"piano.kind": "upright", "title": "Parlour", "client.name": NAME, "place": "Mossbank Lane"}
    shop.store().start_visit(facts, who="Bo", device="", now=AT, visit_id=VISIT)
    return go(page, "people")


def choose(page: AppTest, words: str = "vinterquist") -> AppTest:
    page.text_input(key="people_words").set_value(words).run()
    box = next(box for box in page.checkbox if box.key.startswith(f"person_{VISIT}"))
    box.check().run()
    assert not page.exception
    return page


def press(page: AppTest, key: str) -> AppTest:
    page.button(key=key).click().run()
    assert not page.exception
    return page


def be_sure(page: AppTest, what: str = "forget_sure") -> AppTest:
    next(box for box in page.checkbox if box.key.startswith(what)).check().run()
    return page


def test_it_says_what_is_kept_why_and_how_long_by_country(page, monkeypatch, tmp_path):
    assert "Nobody has said yet in which country the shop works." in told(page)
    monkeypatch.setenv("VALUATION_TABLES", str(tables_of_a_shop_in("de", tmp_path / "said")))
    page.run()
    assert not page.exception
    text = told(page)
    assert "until 6 years after the year of its last step, because tax law demands it (AO § 147, HGB § 257)" in text
    assert "never legal advice" in text
    assert (
        "have it put right or erased, but for what the law orders us to keep. (Reg (EU) 2016/679 Art. 13, 15–17)"
        in text
    )
    assert "Nothing of it leaves the workshop by this tool" in text
    page.number_input(key="people_years").set_value(1).run()
    assert "until 1 year after the year in which something was last entered, as the shop has set itself" in told(page)
    assert shop.store().setting(people.YEARS) == 1


def test_a_person_is_found_and_forgotten_only_by_whoever_is_sure(page):
    choose(page)
    assert page.button(key="forget").disabled
    be_sure(page)
    press(page, "forget")
    assert "1 visit was forgotten." in told(page)
    assert NAME not in told(page)
    assert people.find(shop.store(), NAME) == []
    page.text_input(key="people_words").set_value("vinterquist").run()
    assert "Nothing is kept in which all these words stand." in told(page)


def test_older_copies_can_go_too(page):
    shop.store().back_up_now(shop.today())
    be_sure(be_sure(choose(page)), "forget_copies")
    press(page, "forget")
    assert "older copy was removed." in told(page) or "older copies were removed." in told(page)
    folder = shop.store().store.folder
    assert [NAME.encode() in path.read_bytes() for path in folder.rglob("*.sqlite*")].count(True) == 0


def test_the_visit_that_is_on_the_table_is_put_away_with_its_person(page):
    press(all_visits(go(page, "visits")), f"open_{VISIT}")
    assert draft(page).visit_id == VISIT
    go(page, "people")
    press(be_sure(choose(page)), "forget")
    all_visits(go(page, "visits"))
    assert NAME not in told(page)
    assert "draft" not in page.session_state


def test_a_name_is_corrected_and_what_was_wrong_goes(page):
    choose(page)
    value = next(area for area in page.text_area if area.key.startswith("correct_value"))
    value.set_value("Zara Winter")
    next(box for box in page.checkbox if box.key.startswith("correct_gone")).check()
    press(page, "correct")
    assert "It is corrected." in told(page)
    assert [e.value for e in shop.store().history(VISIT, "client.name")] == ["Zara Winter"]


def test_what_is_restricted_leaves_the_list_and_comes_back(page):
    press(choose(page), "restrict")
    assert "1 visit is restricted." in told(page)
    go(page, "visits")
    page.text_input(key="search").set_value(NAME).run()
    assert "There is no visit like that." in told(page)
    go(page, "people")
    press(page, f"lift_{VISIT}")
    assert shop.store().list_visits(NAME)[1] == 1


def test_a_visit_made_by_mistake_is_thrown_away(page):
    press(be_sure(choose(page)), "throw_away")
    assert "The visit is thrown away." in told(page)


def test_what_is_due_goes_by_one_act(page, monkeypatch, tmp_path):
    monkeypatch.setenv("VALUATION_TABLES", str(tables_of_a_shop_in("at", tmp_path / "said")))
    page.run()
    assert "Kept for longer than needed" in told(page)
    press(be_sure(page, "due_sure"), "forget_due")
    assert people.find(shop.store(), NAME) == []
    assert "Nothing." in told(page)


def test_the_page_is_there_in_german(page):
    shop.store().set_setting("language", "de")
    page.run()
    assert page.title[0].value == "Personendaten"
    choose(page)
    assert page.button(key="forget").label == "Diese Person löschen"


def test_what_stands_in_the_way_is_told(page):
    opened(page, 1)
    go(page, "people")
    facts = {"piano.kind": "grand", "client.name": NAME, "title": "Hall",
             "job.event.a": {"stage": "accepted", "day": "2019-04-01", "agreed": {"option": "repair"}}}  # fmt: skip
    shop.store().start_visit(facts, who="Bo", device="", now=AT, visit_id="d" * 32)
    page.text_input(key="people_words").set_value("Hall").run()
    next(box for box in page.checkbox if box.key.startswith(f"person_{'d' * 32}")).check().run()
    press(be_sure(page), "forget")
    assert "say first in the shop's tables in which country it works" in told(page)


def test_an_act_on_others_than_those_ticked_at_the_tap_is_not_done(page):
    facts = {"piano.kind": "grand", "client.name": NAME, "title": "Hall"}
    shop.store().start_visit(facts, who="Bo", device="", now=AT, visit_id="d" * 32)
    be_sure(choose(page))
    next(box for box in page.checkbox if box.key.startswith(f"person_{'d' * 32}")).check()
    press(page, "forget")  # both taps reach the server at once
    assert "What is chosen has just changed: look at it, and tap again." in told(page)
    assert len(people.find(shop.store(), NAME)) == 2
