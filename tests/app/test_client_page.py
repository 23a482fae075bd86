"""The page with the client, walked through as a family and a technician would."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest
from demo_shop import draft, go, opened, start
from streamlit.testing.v1 import AppTest

from valuation.engine.appraisal import Appraisal
from valuation.facts.words import WAYS
from valuation.report.client_words import way_name
from valuation.report.format import years_range
from valuation.report.wishes import A_LOT, SOME, THEMES, Wishes
from valuation.report.words import verdict_sentence
from valuation.screens.safe import md
from valuation.screens.wishes import wishes_of
from valuation.service import appraise, demo_visits, load_shop

STEMS = [path.stem for _, path in demo_visits()]
NAMES = [way_name(way) for way in WAYS]


@pytest.fixture
def app() -> AppTest:
    return start()


def at_the_table(app: AppTest, number: int) -> AppTest:
    """Open one of the invented pianos and go to the page with the client."""
    return go(opened(app, number), "client")


def wished(app: AppTest) -> Wishes:
    """What has been kept of what was said."""
    return wishes_of(draft(app))


def say(app: AppTest, name: str, value: object) -> AppTest:
    """Tap an answer."""
    app.pills(key=draft(app).key(f"wish_{name}")).set_value(value).run()
    assert not app.exception
    return app


def type_in(app: AppTest, name: str, text: str) -> AppTest:
    app.text_input(key=draft(app).key(f"wish_{name}")).set_value(text).run()
    assert not app.exception
    return app


class _Ways(HTMLParser):
    """The names and texts of the ways in one row."""

    def __init__(self) -> None:
        super().__init__()
        self.told: dict[str, str] = {}
        self._in = ""

    def handle_starttag(self, tag: str, attrs: list) -> None:  # noqa: ARG002
        if tag in ("dt", "dd"):
            self._in = tag

    def handle_data(self, data: str) -> None:
        if self._in == "dt":
            self.told[data] = ""
        elif self._in == "dd" and self.told:
            self.told[list(self.told)[-1]] += data


def rows(app: AppTest) -> list[dict[str, str]]:
    """Every row that tells of all ways: name to text."""
    found = []
    for html in app.html:
        if '<dl class="ways' in html.value:
            reader = _Ways()
            reader.feed(html.value)
            found.append(reader.told)
    return found


def told(app: AppTest) -> str:
    pieces = [e.value for kind in (app.title, app.header, app.subheader, app.markdown, app.text) for e in kind]
    return "\n".join([*pieces, *(html.value for html in app.html)]).replace("\\", "")


@pytest.mark.parametrize("number", [1, 2, 3, 4, 6, 7, 8])
def test_every_row_tells_of_every_way_in_the_same_order(app, number):
    at_the_table(app, number)
    found = rows(app)
    assert len(found) >= 7 + len(THEMES) + 2 + 3
    for row in found:
        assert list(row) == NAMES
        assert all(row.values()), row


def test_the_verdict_is_not_told_until_it_is_asked_for(app):
    at_the_table(app, 2)
    assert "We would " not in told(app)
    app.toggle(key=draft(app).key("advice")).set_value(True).run()
    assert "We would let it go and find another piano." in told(app)
    assert "We earn money with repairs and rebuilds." in told(app)


def test_what_matters_moves_up_and_is_marked_and_hides_nothing(app):
    at_the_table(app, 6)
    before = rows(app)
    assert "matters a lot to you" not in told(app)
    say(app, "looks", A_LOT)
    say(app, "family", SOME)
    titles = [element.value for element in app.subheader]
    looks, family, playing = (
        next(i for i, t in enumerate(titles) if name in t) for name in ("How it looks", "Keep it", "Play it")
    )
    assert looks < family < playing
    assert "◆◆ matters a lot to you" in titles[looks]
    after = rows(app)
    assert len(after) == len(before)
    assert all(list(row) == NAMES for row in after)
    assert wished(app) == Wishes(looks=A_LOT, family=SOME)
    say(app, "looks", None)
    assert wished(app) == Wishes(family=SOME)


def appraised(app: AppTest) -> Appraisal:
    """The appraisal of the visit on the table as it stands."""
    visit = draft(app).visit
    return appraise(visit, load_shop(), on=visit.on)


def test_what_hearing_it_is_worth_moves_the_verdict_on_every_page(app):
    at_the_table(app, 6)
    go(app, "verdict")
    before = app.title[0].value
    assert before == md(verdict_sentence(appraised(app)))
    go(app, "client")
    type_in(app, "to_hear_money", "1,000")
    assert draft(app).visit.client.to_hear == 1_000
    assert "To hear this very piano is worth 1,000 EUR to you." in told(app)
    go(app, "verdict")
    assert app.title[0].value == md(verdict_sentence(appraised(app)))
    assert app.title[0].value != before


def test_to_have_it_is_asked_apart_from_hearing_it(app):
    at_the_table(app, 2)
    type_in(app, "to_have_money", "2,500")
    assert (draft(app).visit.client.to_have, draft(app).visit.client.to_hear) == (2_500, 0)
    assert "To have this very piano is worth 2,500 EUR to you." in told(app)


def test_before_the_evaluation_it_says_what_to_look_at_and_tells_of_no_way(app):
    at_the_table(app, 5)
    assert rows(app) == []
    assert "Not evaluated yet." in told(app)
    assert "What to look at first" in [element.value for element in app.header]


def test_the_plain_question_sets_the_same_sum_and_nonsense_is_refused_with_what_was_said_kept(app):
    at_the_table(app, 2)
    say(app, "to_hear", 1600.0)
    assert draft(app).visit.client.to_hear == 1600.0
    for nonsense in ("a lot", "-5", "nan", "1e99"):
        type_in(app, "to_hear_money", nonsense)
        assert "That is not a sum of money." in told(app)
        assert draft(app).visit.client.to_hear == 1600.0
        assert app.text_input(key=draft(app).key("wish_to_hear_money")).value == nonsense
    type_in(app, "to_hear_money", "900")
    assert "That is not a sum of money." not in told(app)
    assert draft(app).visit.client.to_hear == 900


def test_own_choices_are_kept_priced_and_said_back(app):
    at_the_table(app, 1)
    say(app, "finish", "finish_new")
    say(app, "hardware", "hardware_plated")
    type_in(app, "colour", "dark red, as <b>before</b>")
    say(app, "left_original", ["hammers"])
    assert wished(app) == Wishes(
        finish="finish_new",
        hardware="hardware_plated",
        colour="dark red, as <b>before</b>",
        left_original=("hammers",),
    )
    text = told(app)
    assert "The finish of the case: new." in text
    assert "The case is stripped and gets a new finish." in text
    assert "not in this price, to be quoted" in text
    assert "At your wish this stays as it is: hammers." in text
    assert "Colour: dark red, as <b>before</b>" in [element.value for element in app.text]
    assert not any("<b>before" in html.value for html in app.html)


def test_what_was_said_stays_when_one_goes_to_another_page_and_back(app):
    at_the_table(app, 3)
    say(app, "waste", SOME)
    say(app, "leaning", "partial_repair")
    type_in(app, "questions", "Can it stay in the school while you work?")
    go(app, "work")
    go(app, "client")
    assert app.pills(key=draft(app).key("wish_waste")).value == SOME
    assert app.pills(key=draft(app).key("wish_leaning")).value == "partial_repair"
    assert "Still open: Can it stay in the school while you work?" in told(app)


def test_another_piano_begins_with_nothing_said(app):
    at_the_table(app, 3)
    say(app, "waste", SOME)
    go(app, "visits")
    at_the_table(app, 4)
    assert wished(app) == Wishes()


def test_a_stop_rule_stands_before_all_else(app):
    at_the_table(app, 4)
    text = told(app)
    assert text.index("The iron frame has a crack") < text.index("Nothing is repaired.")


def test_the_page_to_leave_holds_every_way_what_was_said_and_room_to_sign(app):
    at_the_table(app, 6)
    say(app, "family", A_LOT)
    app.pills(key=draft(app).key("client_view")).set_value("paper").run()
    assert not app.exception
    assert app.title[0].value == "What we talked about"
    text, option = told(app), appraised(app).option("partial_repair")
    years = f"Good years: {years_range(option.years)}."
    for needed in (*NAMES, years, "matters a lot", "These figures hold until 26 May 2026", "sign"):
        assert needed in text.replace("\xa0", " "), needed
    assert "Looked at by: Till Marbach" in text
    assert "They order nothing." in text


def test_a_pinned_part_is_told_as_set_by_hand(app):
    at_the_table(app, 1)
    go(app, "work")
    app.pills(key=draft(app).key("pin_hammers")).set_value("keep").run()
    go(app, "client")
    assert "hammers, keep: changed by hand" in told(app)
