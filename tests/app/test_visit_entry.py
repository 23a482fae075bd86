"""Entering a visit, as Streamlit's own test runner sees it: what is given is in the store at once."""

from __future__ import annotations

import os
from datetime import UTC, datetime

import pytest
from demo_shop import all_visits, demo_id, draft, go, inspected, line_of, open_form, opened, start, told, type_in
from streamlit.testing.v1 import AppTest

from valuation.errors import Problem, StoreError
from valuation.screens import shop
from valuation.service import load_shop
from valuation.service.visits import Shop
from valuation.store.sessions import Sessions
from valuation.store.walk_links import WalkLinks

AUTH = {
    "redirect_uri": "https://pianos.example/oauth2callback",
    "cookie_secret": "a secret of these tests, long enough",
    "client_id": "of the tests",
    "client_secret": "of the tests",
    "server_metadata_url": "https://provider.invalid/.well-known/openid-configuration",
}


PLATE = "Is the plate cracked?"
"""Name of a check that is made at every piano."""


@pytest.fixture
def page() -> AppTest:
    """The list of visits."""
    return start()


def stored(page: AppTest, field: str) -> object:
    """What the store itself holds in a field, read by its own history."""
    entries = shop.store().history(draft(page).visit_id, field)
    return entries[-1].value if entries else None


def begin(page: AppTest, kind: str = "upright", **fields: str) -> AppTest:
    page.button(key="start").click().run()
    page.pills(key="start_kind").set_value(kind)
    for name, text in fields.items():
        page.text_input(key=f"start_{name}").set_value(text)
    page.run()
    page.button(key="start_visit").click().run()
    assert not page.exception
    return page


def test_a_visit_starts_with_its_kind_alone_and_everything_else_unknown(page):
    begin(page)
    assert page.title[0].value == "The piano"
    visit = draft(page).visit
    assert (visit.piano.kind, visit.piano.year, visit.piano.size_mm, visit.findings) == ("upright", None, None, ())
    assert visit.on == shop.today()
    assert not draft(page).demo
    assert "Invented demo data" not in told(page)


def test_who_starts_a_visit_stands_beside_every_entry(page):
    begin(page, who="Edda Rehlau", place="the old school")
    fact(page, "piano_maker", "Halvorsen (invented)")
    assert {entry.who for entry in shop.store().history(draft(page).visit_id)} == {"Edda Rehlau"}
    assert draft(page).visit.place == "the old school"
    assert draft(page).visit.title == "Upright, the old school"


def fact(page: AppTest, name: str, text: str) -> AppTest:
    page.text_input(key=draft(page).key(f"fact_{name}")).set_value(text).run()
    assert not page.exception
    return page


@pytest.mark.parametrize(
    ("name", "typed", "field", "value"),
    [
        ("piano_year", "1908", "piano.year", 1908),
        ("piano_size_mm_metric", "52 in", "piano.size_mm", 1320.8),
        ("piano_size_mm_metric", "1320", "piano.size_mm", 1320),
        ("piano_size_mm_metric", "132 cm", "piano.size_mm", 1320),
        ("humidity", "44", "humidity", 44),
        ("client_budget", "4000", "client.budget", 4000),
        ("piano_renewed_strings", "1964", "piano.renewed.strings", 1964),
        ("minutes", "75", "minutes", 75),
    ],
)
def test_a_fact_is_in_the_store_as_soon_as_it_is_typed(page, name, typed, field, value):
    begin(page)
    fact(page, name, typed)
    assert stored(page, field) == pytest.approx(value)
    fact(page, name, "")
    assert stored(page, field) is None


@pytest.mark.parametrize(
    ("name", "typed", "fault"),
    [
        ("piano_year", "next year", "is not"),
        ("piano_year", "2199", "2199"),
        ("piano_size_mm_metric", "132 kg", "kg"),
        ("title", " ", "can't be left out"),
        ("date", "tomorrow", "is not a day"),
        ("humidity", "140", "out of range"),
    ],
)
def test_a_fact_that_can_not_be_read_is_told_stays_typed_and_changes_nothing(page, name, typed, fault):
    begin(page)
    before = draft(page).visit
    fact(page, name, typed)
    assert f"{fault}" in told(page)
    assert "Not taken down:" in told(page)
    assert draft(page).visit == before
    go(go(page, "inspect"), "piano")
    assert page.text_input(key=draft(page).key(f"fact_{name}")).value == typed


def test_a_telephone_number_is_kept_beside_the_visit_and_counted(page):
    begin(page)
    fact(page, "client_phone", "0123 456-78")
    assert stored(page, "client.phone") == "0123 456-78"
    assert "Not taken down" not in told(page)
    assert "Kept, but not counted" not in told(page)
    fact(page, "client_phone", "x" * 2000)
    assert "Not taken down:" in told(page)
    assert stored(page, "client.phone") == "0123 456-78"


def test_age_and_size_class_follow_from_year_and_size(page):
    begin(page, "grand")
    fact(page, "piano_year", "1908")
    fact(page, "piano_size_mm_metric", "192 cm")
    assert f"{shop.today().year - 1908} years old" in told(page)
    assert "192 cm: parlour grand" in told(page)


def test_a_finding_is_in_the_store_before_the_page_is_drawn_again_and_survives_a_new_session(page):
    begin(page)
    type_in(page, "plate_crack", "1")
    assert stored(page, "finding.plate_crack") == {"grade": "none"}
    assert "Saved" in told(page)
    again = open_form(start(visit=draft(page).visit_id))
    assert again.text_input(key=line_of(again, "plate_crack")).value == "1"


def test_undo_takes_back_the_last_answer_and_the_field_shows_it(page):
    opened(page, 1)
    before = draft(page).finding("plate_crack").grade
    type_in(page, "plate_crack", "4")
    page.button(key="undo").click().run()
    assert not page.exception
    assert page.text_input(key=line_of(page, "plate_crack")).value == "1"
    assert stored(page, "finding.plate_crack") == {"grade": before}
    assert f"Taken back: {PLATE}" in told(page)


def test_there_is_nothing_to_undo_where_nothing_was_entered_here(page):
    go(opened(page, 1), "inspect")
    page.button(key="undo").click().run()
    assert "There is nothing of yours to take back" in told(page)


def elsewhere(page: AppTest, field: str, value: object, follows: tuple[str, ...] | None = None) -> None:
    """Another device enters something."""
    shop.store().put(
        draft(page).visit_id, field, value, follows=follows, who="Ole", device="other", now=datetime.now(UTC)
    )


def test_what_another_device_entered_shows_at_the_next_step_in_the_field_itself(page):
    open_form(opened(page, 1))
    elsewhere(page, "finding.plate_crack", {"grade": "slight"})
    page.run()
    assert page.text_input(key=line_of(page, "plate_crack")).value == "2"


def test_what_another_device_entered_shows_although_something_else_was_just_entered_here(page):
    open_form(opened(page, 1))
    elsewhere(page, "finding.plate_crack", {"grade": "slight"})
    type_in(page, "bass_bridge_split", "4")
    assert draft(page).finding("bass_bridge_split").grade == "severe"
    assert page.text_input(key=line_of(page, "plate_crack")).value == "2"
    assert draft(page).finding("plate_crack").grade == "slight"


def differing(page: AppTest) -> None:
    """Say slight of the plate here, and severe on another device that has not seen it."""
    opened(page, 1)
    seen = (draft(page).recorded.heads["finding.plate_crack"].id,)
    type_in(page, "plate_crack", "2")
    elsewhere(page, "finding.plate_crack", {"grade": "severe"}, follows=seen)


def test_two_different_answers_are_both_shown_and_one_tap_settles_it(page):
    differing(page)
    go(page, "inspect")
    clash = draft(page).recorded.clashes["finding.plate_crack"]
    assert [entry.value["grade"] for entry in clash] == ["slight", "severe"]
    assert "Two people entered different things here" in told(page)
    mine = next(entry for entry in clash if entry.who != "Ole")
    page.button(key=draft(page).key(f"settle_finding_plate_crack_{mine.id}")).click().run()
    assert not page.exception
    assert not draft(page).recorded.clashes
    assert draft(page).finding("plate_crack").grade == "slight"


def test_an_answer_over_a_clash_settles_it_too(page):
    differing(page)
    page.run()
    type_in(page, "plate_crack", "3")
    assert not draft(page).recorded.clashes
    assert draft(page).finding("plate_crack").grade == "marked"


def test_what_the_store_does_not_take_stays_is_told_and_goes_in_when_tried_again(page, monkeypatch):
    open_form(opened(page, 1))
    before = draft(page).visit
    with monkeypatch.context() as full:
        full.setattr(Shop, "put", _refuse)
        type_in(page, "plate_crack", "4")
        assert "NOT SAVED YET" in told(page)
        assert "the disk is full" in told(page)
        assert page.text_input(key=line_of(page, "plate_crack")).value == "4"
        assert draft(page).visit == before
        page.button(key="try_again").click().run()
        assert "NOT SAVED YET" in told(page)
    page.button(key="try_again").click().run()
    assert "NOT SAVED YET" not in told(page)
    assert stored(page, "finding.plate_crack") == {"grade": "severe"}


def _refuse(*_, **__):
    raise StoreError([Problem("valuation.sqlite", 0, "", "the disk is full; make room and try again")])


def walks(page: AppTest) -> list[str]:
    """Where the links of the page to the walk lead."""
    links = [link.proto.url for link in page.get("link_button")]
    return [url for url in links if url.startswith("/walk/#t=")]


def test_inspect_leads_to_the_walk_by_a_link_that_lets_in_to_this_visit_alone(page):
    begin(page, who="Edda Rehlau")
    go(page, "inspect")
    (url,) = walks(page)
    links = WalkLinks(shop.store().store.folder)
    link = links.find(url.removeprefix("/walk/#t="))
    assert (link.visit, link.who) == (draft(page).visit_id, "Edda Rehlau")
    page.run()
    assert walks(page) == [url]
    page.button(key="end_walks").click().run()
    assert links.find(url.removeprefix("/walk/#t=")).revoked
    assert walks(page) != [url]


def test_inspect_shows_what_stands_with_the_piano_drawn(page):
    begin(page)
    draft(page).keep("finding.plate_crack", {"grade": "severe", "note": "by the light of a lamp"})
    inspected(page)
    assert "cracked (by the light of a lamp)" in told(page)
    (picture,) = page.get("image")
    assert "iron frame failed" in picture.proto.imgs[0].alt


def test_check_next_offers_three_checks_and_leads_to_each_on_the_walk(page):
    opened(page, 5)
    go(page, "check_next")
    checks = [url.partition("&c=")[2] for url in walks(page)]
    assert 1 <= len(checks) <= 3
    assert set(checks) <= {row.id for row in load_shop().checks}


def test_one_may_stop_looking_where_nothing_left_can_turn_the_verdict(page):
    go(opened(page, 2), "check_next")
    assert "You can stop looking" in told(page)
    assert not walks(page)


@pytest.mark.parametrize(
    ("typed", "value"),
    [("1", {"grade": "none"}), ("cr", {"grade": "severe"}), ("x", {"cannot_see": True}), ("none", {"grade": "none"})],
)
def test_a_form_is_typed_in_short(page, typed, value):
    begin(page)
    open_form(page)
    page.text_input(key=draft(page).key("short_plate_crack__metric")).set_value(typed).run()
    assert stored(page, "finding.plate_crack") == value


def test_a_form_takes_figures_and_rows_with_their_units(page):
    begin(page)
    open_form(page)
    page.text_input(key=draft(page).key("short_hammer_groove__metric")).set_value("1/16 in").run()
    page.text_input(key=draft(page).key("short_pin_torque_bass_metric")).set_value("60 55 in-lb").run()
    assert stored(page, "finding.hammer_groove")["readings"][0]["value"] == pytest.approx(1.5875)
    assert [round(r["value"], 2) for r in stored(page, "finding.pin_torque")["readings"]] == [6.78, 6.21]
    page.text_input(key=draft(page).key("short_hammer_groove__metric")).set_value("deep").run()
    assert "Not taken down:" in told(page)


def test_the_list_is_searched_and_sorted(page):
    page.text_input(key="search").set_value("villa anselm").run()
    assert [button.key for button in page.button if button.key.startswith("open_")] == [f"open_{demo_id(1)}"]
    page.text_input(key="search").set_value("no such piano").run()
    assert "There is no visit like that" in told(page)
    all_visits(page.text_input(key="search").set_value("").run())
    page.pills(key="list_kind").set_value("grand").run()
    page.pills(key="list_sort").set_value("title").run()
    titles = [element.value for element in page.subheader]
    assert titles == sorted(titles, key=str.casefold)
    assert titles


def test_the_demo_goes_only_after_a_question_and_comes_back_by_a_tap(page):
    page.button(key="remove_demo").click().run()
    assert "Take all invented visits away" in told(page)
    assert shop.store().has_demo()
    page.button(key="remove_demo_no").click().run()
    page.button(key="remove_demo").click().run()
    page.button(key="remove_demo_yes").click().run()
    assert "There is no visit yet" in told(page)
    begin(page)
    go(page, "visits")
    page.button(key="demo_back").click().run()
    assert "9 visits" in told(all_visits(page))


def test_units_and_language_are_the_shop_s_and_hold_for_the_next_visit(page):
    go(page, "shop")
    page.pills(key="set_units").set_value("imperial").run()
    go(page, "visits")
    open_form(opened(page, 1))
    assert draft(page).system == "imperial"
    [groove] = [field for field in page.text_input if field.key == line_of(page, "hammer_groove")]
    assert float(groove.value) == pytest.approx(
        draft(page).finding("hammer_groove").readings[0].value / 25.4, abs=5e-5
    )  # NIST SP 811 (2008), appendix B.8: 1 in = 25.4 mm
    assert "(in)" in groove.label


def test_the_history_shows_who_entered_what(page):
    type_in(begin(page, who="Jule"), "plate_crack", "1")
    go(page, "history")
    assert any(f"Jule · {PLATE}: none" in text.value for text in page.text)


def test_a_visit_that_is_not_there_is_told_and_the_list_is_shown():
    page = start(visit="0" * 32)
    assert not page.exception
    assert any("there is no visit" in text.value for text in page.text)
    assert page.title[0].value == "Is an old piano worth it?"


def test_open_findings_that_today_s_tables_do_not_know_are_kept_and_told(page):
    opened(page, 1)
    elsewhere(page, "finding.a_check_of_long_ago", {"grade": "none"})
    page.run()
    assert "Kept, but not counted" in told(page)
    assert draft(page).visit == draft(page).store.open_visit(draft(page).visit_id, load_shop()).visit


def test_without_a_sign_in_a_server_for_the_whole_network_lets_nobody_in(monkeypatch):
    monkeypatch.setattr("valuation.screens.sign_in.st.get_option", lambda _: "0.0.0.0")
    page = start()
    assert page.title[0].value == "Nobody is let in"
    assert len(page.button) == 0


def signed_in(page: AppTest, **user: str) -> AppTest:
    page.secrets["auth"], page.secrets["access"] = AUTH, {"owners": ["edda@workshop.example"]}
    page.user = user
    return page.run()


def test_with_a_sign_in_set_up_nobody_comes_in_unasked(page):
    signed_in(page)
    assert page.title[0].value == "Sign in"
    assert len(page.button) == 0


def test_who_signed_in_stands_beside_the_entries(page):
    signed_in(page, name="Edda%20Rehl%C3%A4u", email="edda%40workshop.example", role="owner")
    type_in(opened(page, 1), "plate_crack", "2")
    assert shop.store().history(draft(page).visit_id)[-1].who == "Edda Rehläu"


def test_an_owner_finds_who_is_let_in_and_a_technician_no_page_of_the_owner(page):
    now = datetime.now(UTC)
    Sessions.of(os.environ).begin(now=now, days=3, email="ben@workshop.example", name="Ben", browser="a tablet")
    signed_in(page, name="Edda", email="edda%40workshop.example", role="owner")
    go(page, "access")
    assert "Ben · ben@workshop.example · no longer on the list" in told(page)
    assert "edda@workshop.example · owner" in told(page)
    (end,) = [button for button in page.button if button.label == "End access"]
    end.click().run()
    assert Sessions.of(os.environ).all(now) == []
    signed_in(page, name="Ben", email="ben%40workshop.example", role="technician")
    assert (
        page.title[0].value == "Is an old piano worth it?"
    )  # the page on which the owner was isn't there for a technician
    assert {"go_shop", "go_learning", "go_access"}.isdisjoint(button.key for button in page.button)
    assert "sign_out" in [button.key for button in page.button]


def test_what_a_browser_still_sends_of_an_old_widget_overwrites_nobody(page):
    open_form(opened(page, 1))
    old = line_of(page, "plate_crack")
    elsewhere(page, "finding.plate_crack", {"grade": "slight"})
    page.run()
    page.session_state[old] = "4"  # as if it had been under way while the other's entry came in
    page.run()
    assert line_of(page, "plate_crack") != old
    assert stored(page, "finding.plate_crack") == {"grade": "slight"}
