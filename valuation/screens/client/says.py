"""Where the client says something: what matters, what it is worth to them, their own choices, where they lean.

Each answer is kept at once. Nothing that is said here takes a way from the page or moves it to another place.
"""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import HISTORY
from valuation.facts.declared import MOST_WORTH
from valuation.facts.words import WAYS
from valuation.language import number_signs, say
from valuation.report.client_words import theme_name, way_name
from valuation.report.conversation import Conversation, Matter
from valuation.report.format import honest, typed_numeral
from valuation.report.own_choices import Question
from valuation.report.their_version import STAYS
from valuation.report.wishes import A_LOT, FIELD, LITTLE, SOME, THEMES
from valuation.screens import marks
from valuation.screens.client import marks as client_marks
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft, held
from valuation.screens.wishes import wish, wishes_of

_FREE_TEXT = 300


def what_matters(draft: Draft, told: Conversation, found: Appraisal) -> None:
    """Ask what matters and how much, what the piano is worth to them; then show each way on each of these."""
    st.header(md(say("What matters to you")), anchor=False)
    st.markdown(md(say("Say how much each of these matters. What matters most is then told first, for every way.")))
    wishes = wishes_of(draft)
    weights = {LITTLE: say("not so much"), SOME: say("some"), A_LOT: say("a lot")}
    with st.container(key="ask_matters"):
        half = (len(THEMES) + 1) // 2
        for column, themes in zip(st.columns(2, gap="medium"), (THEMES[:half], THEMES[half:]), strict=True):
            with column:
                for theme in themes:
                    chosen = wishes.matters(theme) or None
                    _pills(draft, theme, theme_name(theme), list(weights), weights.get, chosen)
    _worth(draft, told, found)
    with st.container():  # always there: what comes and goes above a widget would take a tap on it back
        if told.told_us or wishes.colour or wishes.questions:
            with st.container(key="heard"):
                st.markdown(f"**{md(say('You told us'))}**")
                st.markdown(bullets(map(md, told.told_us)))
                if wishes.colour:
                    st.text(say("Colour: {colour}", colour=wishes.colour))
                if wishes.questions:
                    st.text(say("Still open: {questions}", questions=wishes.questions))
    names = {way: way_name(way) for way in WAYS}
    for matter in told.matters:
        _matter(matter, names)


def _matter(matter: Matter, names: dict[str, str]) -> None:
    with st.container(key=f"matter_{matter.weight}_{matter.theme}", gap=None):
        words = client_marks.weight_words(matter.weight)
        beside = f" · {client_marks.weight_mark(matter.weight)} {words}" if words else ""
        st.subheader(f"{md(matter.name)}{beside}", anchor=False)
        st.html(client_marks.side_by_side(names, {way: (matter.by_way[way],) for way in WAYS}))


def _worth(draft: Draft, told: Conversation, found: Appraisal) -> None:
    st.subheader(md(say("What is this very piano worth to you?")), anchor=False)
    st.markdown(md(_plain_question(told.other_price)))
    with st.container(key="ask_worth"):
        rungs = {rung.to_hear: rung.words for rung in told.rungs}
        chosen = next((worth for worth in rungs if honest(worth) == honest(found.to_hear)), None)
        if not found.to_hear and wishes_of(draft).to_hear is None:
            chosen = None  # nobody has said anything yet
        _pills(draft, "to_hear", say("I would take this one at"), list(rungs), rungs.get, chosen)
        hear = say("Or say it as a sum: hearing it is worth, in {currency}", currency=found.currency)
        _sum_of_money(draft, "to_hear", hear, found.to_hear)
        have = say("Having it, played or not, is worth, in {currency}", currency=found.currency)
        _sum_of_money(draft, "to_have", have, found.to_have)
    with st.container():
        for sentence in told.heart:
            st.markdown(md(sentence))


def _plain_question(price: str) -> str:
    return say(
        "Think of another piano that plays as well. It costs about {price}. Up to which price would you still rather "
        "hear this one? What you would pay more is what hearing it is worth to you. It may be nothing.",
        price=price,
    )


def _sum_of_money(draft: Draft, name: str, label: str, stands: float) -> None:
    """Draw the field for one sum; what can't be read stays as it was typed, and is told."""
    key, fault = draft.field_key(f"wish_{name}_money", f"client.{name}"), _no_sum(name)
    hold = draft.watch if fault in draft.faults else draft.catching.follow
    hold(key, f"{stands:.0f}" if stands else "", _take_money, draft, name, key)
    st.text_input(md(label), key=key, max_chars=12)
    with st.container():
        if fault in draft.faults:
            with st.container(key=f"fault_{name}"):
                told = say("That is not a sum of money. Write it like 1500. What was said before still counts.")
                st.markdown(md(told))


def _no_sum(name: str) -> str:
    return f"{FIELD}{name}_typed"


def _take_money(draft: Draft, name: str, key: str) -> None:
    draft.faults.pop(_no_sum(name), None)
    text = str(held(key) or "").replace(" ", "")
    try:
        text = text.replace(",", "") if number_signs() == (".", ",") else typed_numeral(text)
        amount = float(text) if text else None
        if amount is not None and not 0 <= amount <= MOST_WORTH:
            raise ValueError(text)
    except ValueError:
        draft.faults[_no_sum(name)] = (text,)
        return
    wish(draft, name, amount)


def own_choices(draft: Draft, told: Conversation, found: Appraisal) -> None:
    """Ask what is the client's alone, and tell what it costs on each way on which the piano stays."""
    st.header(md(say("Choices that are yours")), anchor=False)
    st.markdown(md(say("How it is to look is for you to say. Here is what it would add to the price of each way.")))
    for question in told.questions:
        _question(draft, question)
    with st.container(key="ask_colour"):
        _text(draft, "colour", say("Colour of a new finish, in your words"))
    parts = {part.part: part.part for part in found.parts if part.part != HISTORY}
    names = dict(told.part_names)
    with st.container(key="ask_original"):
        st.subheader(md(say("What is to stay as it is")), anchor=False)
        key = _key(draft, "left_original")
        chosen = [part for part in wishes_of(draft).left_original if part in parts]
        draft.watch(key, chosen, _take_parts, draft, key)
        st.pills(
            md(say("Leave these as they are")), list(parts), format_func=lambda part: md(names[part]), key=key,
            selection_mode="multi",
        )  # fmt: skip
    said = tuple(dict.fromkeys(text for words in told.of_versions.values() for text in words))
    with st.container():
        if said:
            st.markdown(bullets(map(md, said)))


def _question(draft: Draft, question: Question) -> None:
    st.subheader(md(question.name), anchor=False)
    names = {answer.choice: answer.name for answer in question.answers}
    chosen = question.chosen if question.chosen in names else None
    with st.container(key=f"ask_{question.question}"):
        _pills(draft, question.question, question.name, list(names), names.get, chosen, hidden=True)
    caption = say("What it adds to the price")
    if question.alike:
        rows = [[answer.name, answer.costs[STAYS[0]]] for answer in question.answers]
        st.html(marks.table(caption, ["", say("Every way")], rows))
    else:
        rows = [[answer.name, *(answer.costs[way] for way in STAYS)] for answer in question.answers]
        st.html(marks.table(caption, ["", *(way_name(way) for way in STAYS)], rows))
    if question.answer is not None:
        st.markdown(md(question.answer.plain))


def what_would_you_do(draft: Draft, told: Conversation) -> None:
    """Say what the workshop would do, if it is asked."""
    asked = bool(held(draft.key("advice")))
    with st.container(key="advice_given" if asked else "ask_advice"):
        st.header(md(say("What would you do?")), anchor=False)
        st.toggle(md(say("Tell us what you would do")), key=draft.key("advice"))
        if asked:
            for sentence in told.advice:
                st.markdown(md(sentence))


def where_you_stand(draft: Draft, told: Conversation) -> None:
    """Ask where the client leans, and what they still want to ask."""
    names = {way.way: way.name for way in told.ways}
    with st.container(key="ask_where_you_stand"):
        st.header(md(say("Where you stand today")), anchor=False)
        _pills(draft, "leaning", say("Today I lean to"), list(names), names.get, wishes_of(draft).leaning or None)
        st.markdown(md(say("Leave it open if you like. This is no order.")))
        _text(draft, "questions", say("What do you still want to ask, or to talk over at home?"))


def _pills(draft: Draft, name: str, label: str, options: list, words, chosen, *, hidden: bool = False) -> None:
    key = _key(draft, name)
    draft.catching.follow(key, chosen if chosen in options else None, _take_choice, draft, name, key)
    st.pills(
        md(label), options, format_func=lambda option: md(words(option)), key=key,
        label_visibility="collapsed" if hidden else "visible",
    )  # fmt: skip


def _text(draft: Draft, name: str, label: str) -> None:
    key = _key(draft, name)
    draft.watch(key, wishes_of(draft).chosen(name), _take_text, draft, name, key)
    st.text_input(md(label), key=key, max_chars=_FREE_TEXT)


def _key(draft: Draft, name: str) -> str:
    return draft.field_key(f"wish_{name}", f"{FIELD}{name}")


def _take_choice(draft: Draft, name: str, key: str) -> None:
    draft.faults.pop(_no_sum(name), None)
    wish(draft, name, held(key))


def _take_parts(draft: Draft, key: str) -> None:
    wish(draft, "left_original", list(held(key) or []))


def _take_text(draft: Draft, name: str, key: str) -> None:
    wish(draft, name, str(held(key) or ""))
