"""The talk with the client in six steps, walked through as a family and a technician would."""

from __future__ import annotations

import re

import pytest
from demo_shop import draft, go, opened, start, told
from streamlit.testing.v1 import AppTest

from valuation.engine.appraisal import Appraisal
from valuation.facts.words import WAYS
from valuation.report.client_words import way_name
from valuation.report.format import cents
from valuation.report.talk.steps import NOT_YET, SIX, step_name
from valuation.report.their_version import their_version
from valuation.report.wishes import A_LOT, SOME, THEMES, Wishes
from valuation.report.words import verdict_sentence
from valuation.screens.safe import md
from valuation.screens.wishes import wishes_of
from valuation.service import appraise, decide_at, load_shop, study_of

EVALUATED, NOT_EVALUATED = (1, 2, 3, 4, 6, 7, 8), 5


@pytest.fixture
def app() -> AppTest:
    return start()


def at_the_table(app: AppTest, number: int, step: str = "how") -> AppTest:
    """Open one of the invented pianos and go to a step of the talk."""
    return stand_at(go(opened(app, number), "client"), step)


def stand_at(app: AppTest, step: str) -> AppTest:
    """Go to a step by its button."""
    app.button(key=f"step_{step}").click().run()
    assert not app.exception
    assert app.title[0].value == step_name(step)
    return app


def wished(app: AppTest) -> Wishes:
    """What has been kept of what was said."""
    return wishes_of(draft(app))


def say(app: AppTest, name: str, value: object) -> AppTest:
    """Tap an answer."""
    app.pills(key=draft(app).key(f"wish_{name}")).set_value(value).run()
    assert not app.exception
    return app


def open_box(app: AppTest, name: str) -> AppTest:
    """Open what is folded away."""
    app.session_state[draft(app).key(name)] = True
    return app.run()


def type_in(app: AppTest, name: str, text: str) -> AppTest:
    app.text_input(key=draft(app).key(f"wish_{name}")).set_value(text).run()
    assert not app.exception
    return app


def appraised(app: AppTest) -> Appraisal:
    """The appraisal of the visit on the table as it stands."""
    visit = draft(app).visit
    return appraise(visit, load_shop(), on=visit.on)


def priced(app: AppTest, way: str) -> str:
    """What a way costs as the client wants it, worked out apart from the page."""
    visit = draft(app).visit
    study = study_of(visit, load_shop(), on=visit.on)
    version = their_version(study, decide_at(study), wished(app), way)
    return f"{cents(version.quote.total)} EUR"


@pytest.mark.parametrize("number", EVALUATED)
def test_each_of_six_steps_is_there_with_a_way_on_and_a_way_back(app, number):
    at_the_table(app, number)
    for step, following in zip(SIX, [*SIX[1:], None], strict=True):
        assert app.title[0].value == step_name(step)
        keys = [button.key for button in app.button]
        assert [key.removeprefix("step_") for key in keys if key and key.removeprefix("step_") in SIX] == list(SIX)
        if following:
            app.button(key=f"on_to_{following}").click().run()
            assert not app.exception
    app.button(key=f"back_to_{SIX[-2]}").click().run()
    assert app.title[0].value == step_name(SIX[-2])


def test_no_way_leads_to_a_page_of_the_workshop_but_one_quiet_one(app):
    for step in SIX:
        at_the_table(app, 6, step)
        assert not [button.key for button in app.button if (button.key or "").startswith("go_")]
    app.button(key="leave_table").click().run()
    assert app.title[0].value == md(verdict_sentence(appraised(app)))


def test_a_step_stands_in_the_address_and_an_unknown_one_is_the_first(app):
    at_the_table(app, 2, "unknown")
    assert app.query_params["step"] in ("unknown", ["unknown"])
    app.query_params["step"] = "no such step"
    app.run()
    assert app.title[0].value == step_name("how")


def test_the_verdict_is_not_told_until_it_is_asked_for(app):
    at_the_table(app, 2)
    for step in SIX:
        assert "We would " not in told(stand_at(app, step))
    app.toggle(key=draft(app).key("advice")).set_value(True).run()
    assert "We would let it go and find another piano." in told(app)
    assert "We earn money with repairs and rebuilds." in told(app)


def test_while_they_say_what_matters_no_figure_of_ours_stands_there(app):
    at_the_table(app, 6, "matters")
    open_box(app, "as_a_sum")
    shown = [element.value for kind in (app.header, app.markdown) for element in kind]
    shown += [field.label for field in (*app.text_input, *app.pills)]
    assert len(shown) > len(THEMES)
    assert not any(re.search(r"\d", text) for text in shown), shown
    assert not any(way_name(way) in text for text in shown for way in WAYS)


def test_what_matters_is_kept_and_marked_beside_the_ways(app):
    at_the_table(app, 6, "matters")
    say(app, "cost", A_LOT)
    say(app, "family", SOME)
    assert wished(app) == Wishes(cost=A_LOT, family=SOME)
    text = told(stand_at(app, "ways"))
    assert text.count("◆◆ matters a lot to you") == 2
    assert text.count("◆ matters to you") == 1
    stand_at(app, "matters")
    say(app, "cost", None)
    assert wished(app) == Wishes(family=SOME)


def test_up_to_three_ways_stand_side_by_side_and_all_five_can_be_chosen(app):
    at_the_table(app, 6, "ways")
    choice = app.pills(key=draft(app).key("compare"))
    assert choice.value == ["keep", "partial_repair"]
    assert len(choice.options) == len(WAYS)
    choice.set_value(["keep", "partial_repair", "let_go"]).run()
    assert heads(app) == ["Keep it as it is", "Repair part of it", "Let it go"]
    app.pills(key=draft(app).key("compare")).set_value(["keep", "partial_repair", "let_go", "rebuild"]).run()
    assert heads(app) == ["Repair part of it", "Rebuild it", "Let it go"]
    stand_at(app, "turns_up")
    assert app.pills(key=draft(app).key("compare")).value == ["partial_repair", "rebuild", "let_go"]


def heads(app: AppTest) -> list[str]:
    """The names of the ways that stand side by side."""
    return re.findall(r'scope="col">([^<]+)<', " ".join(html.value for html in app.html))


def test_what_hearing_it_is_worth_moves_the_verdict_on_every_page(app):
    at_the_table(app, 6)
    go(app, "verdict")
    before = app.title[0].value
    assert before == md(verdict_sentence(appraised(app)))
    go(app, "client")
    open_box(stand_at(app, "matters"), "as_a_sum")
    type_in(app, "to_hear_money", "1,000")
    assert draft(app).visit.client.to_hear == 1_000
    go(app, "verdict")
    assert app.title[0].value == md(verdict_sentence(appraised(app)))
    assert app.title[0].value != before


def test_nonsense_for_a_sum_is_refused_with_what_was_said_kept(app):
    open_box(at_the_table(app, 2, "matters"), "as_a_sum")
    type_in(app, "to_have_money", "2,500")
    assert (draft(app).visit.client.to_have, draft(app).visit.client.to_hear) == (2_500, 0)
    for nonsense in ("a lot", "-5", "nan", "1e99"):
        type_in(app, "to_have_money", nonsense)
        assert "That is not a sum of money." in told(app)
        assert draft(app).visit.client.to_have == 2_500
        assert app.text_input(key=draft(app).key("wish_to_have_money")).value == nonsense
    type_in(app, "to_have_money", "900")
    assert "That is not a sum of money." not in told(app)
    assert draft(app).visit.client.to_have == 900


def test_their_version_grows_with_what_they_choose(app):
    at_the_table(app, 6, "stand")
    assert "Tap one, and you see what it comes to." in told(app)
    say(app, "leaning", "partial_repair")
    before = priced(app, "partial_repair")
    assert before in told(app)
    say(app, "finish", "finish_new")
    assert priced(app, "partial_repair") in told(app)
    assert before not in told(app)
    open_box(app, "more_choices")
    say(app, "left_original", ["hammers"])
    type_in(app, "colour", "dark red, as <b>before</b>")
    assert priced(app, "partial_repair") in told(app)
    assert "At your wish this stays as it is: hammers." in told(app)
    assert wished(app) == Wishes(
        leaning="partial_repair", finish="finish_new", left_original=("hammers",), colour="dark red, as <b>before</b>"
    )
    assert not any("<b>before" in html.value for html in app.html)


def test_a_way_on_which_the_piano_goes_has_no_price_to_sign(app):
    at_the_table(app, 2, "stand")
    say(app, "leaning", "let_go")
    assert "To sign: one price" not in told(app)
    assert "What happens then" in [box.label for box in app.expander]


def test_what_was_said_stays_when_one_goes_to_another_page_and_back(app):
    at_the_table(app, 3, "stand")
    say(app, "leaning", "partial_repair")
    type_in(app, "questions", "Can it stay in the school while you work?")
    go(app, "work")
    stand_at(go(app, "client"), "stand")
    assert app.pills(key=draft(app).key("wish_leaning")).value == "partial_repair"
    kept = app.text_input(key=draft(app).key("wish_questions")).value
    assert kept == "Can it stay in the school while you work?"


def test_another_piano_begins_with_nothing_said(app):
    at_the_table(app, 3, "matters")
    say(app, "room", SOME)
    go(app, "visits")
    at_the_table(app, 4)
    assert wished(app) == Wishes()


def test_before_the_evaluation_it_says_what_was_seen_and_what_comes_next(app):
    at_the_table(app, NOT_EVALUATED)
    keys = [button.key for button in app.button if (button.key or "").removeprefix("step_") in (*SIX, *NOT_YET)]
    assert keys == [f"step_{step}" for step in NOT_YET]
    assert "This piano is not evaluated yet." in told(app)
    stand_at(app, "comes_next")
    assert "EUR" not in told(app)
    assert "What we have to look at first" in [element.value for element in app.header]


def test_a_stop_rule_stands_before_all_else(app):
    at_the_table(app, 4)
    texts = [element.value for element in app.markdown]
    stop = next(i for i, text in enumerate(texts) if "The iron frame has a crack" in text)
    assert stop <= 1


def test_a_pinned_part_is_told_as_set_by_hand(app):
    at_the_table(app, 1)
    go(app, "work")
    app.pills(key=draft(app).key("pin_hammers")).set_value("keep").run()
    stand_at(go(app, "client"), "ways")
    assert "hammers, keep: changed by hand" in told(app)
