"""Step 6, where you stand: a way as they want it with its price, their questions, and what we would do if they ask."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import HISTORY
from valuation.facts.words import WAYS
from valuation.language import say
from valuation.report.client_words import way_name
from valuation.report.conversation import advice, ask_others
from valuation.report.own_choices import Question, questions
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.talk.where_you_stand import Version, to_ask, version_of
from valuation.report.their_version import STAYS
from valuation.report.wishes import FIELD
from valuation.screens import kit
from valuation.screens.client import drawn
from valuation.screens.paper_making import as_pdf
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft, held
from valuation.screens.wishes import wish, wishes_of

_AT_ONCE = ("finish", "key_tops")
"""Questions that are asked at once; the others one tap later."""

_NEW_FINISH = ("sheen", "lettering")
"""Questions that a new finish brings along."""


def show(draft: Draft, wanted: AsWanted) -> None:
    """Draw the step."""
    leaning = wishes_of(draft).leaning
    kit.choice(
        draft.catching, _key(draft, "leaning"), say("Today we lean to this. It is no order."),
        {way: way_name(way) for way in WAYS}, leaning or None, _take, draft, "leaning",
    )  # fmt: skip
    version = version_of(leaning, wanted) if leaning else None
    with st.container(key="stand"):
        left, right = st.columns([6, 5], gap="medium")
        with left, st.container(key="version"):
            if version is None:
                st.markdown(md(say("You need not lean to any way yet. Tap one, and you see what it comes to.")))
            else:
                _version(draft, version)
        with right:
            if version is not None and version.tax:
                _choices(draft, leaning, wanted)
            _to_take_home(draft)
    _advice(draft, wanted)


def _version(draft: Draft, version: Version) -> None:
    stays = version.way in STAYS
    st.header(md(say("Your version: {way}", way=version.name) if stays else version.name), anchor=False)
    if version.said:
        st.markdown(md(" ".join(version.said)))
    if version.price:
        st.html(drawn.price(version))
        with st.container(key="version_more", horizontal=True):
            label = say("What is in this price") if stays else say("What happens then")
            if box := kit.folded(draft.key("version_jobs"), label):
                with box:
                    st.markdown(bullets(map(md, version.jobs)))
            if version.further and (box := kit.folded(draft.key("version_finds"), say("All that may be found"))):
                with box:
                    st.html(drawn.finds((*version.finds, *version.further)))


def _choices(draft: Draft, way: str, wanted: AsWanted) -> None:
    """Ask what is theirs alone; what it does to the price stands beside what they chose."""
    asked = {question.question: question for question in questions(wanted.case)}
    for name in _AT_ONCE:
        _question(draft, asked[name], way)
    new = wishes_of(draft).finish == "finish_new"
    if box := kit.folded(draft.key("more_choices"), say("More that is yours to choose")):
        with box:
            for name, question in asked.items():
                if name not in _AT_ONCE and (new or name not in _NEW_FINISH):
                    _question(draft, question, way)
            if new:
                _field(draft, "colour", say("Colour of the new finish, in your words"))
            parts = [part.part for part in wanted.case.found.parts if part.part in wanted.case.parts]
            names = {part: wanted.case.part_name(part) for part in parts if part != HISTORY}
            left = [part for part in wishes_of(draft).left_original if part in names]
            kit.choice(
                draft.catching, _key(draft, "left_original"), say("Leave these as they are"), names, left, _take, draft,
                "left_original", several=True,
            )  # fmt: skip


def _question(draft: Draft, question: Question, way: str) -> None:
    names = {answer.choice: answer.name for answer in question.answers}
    chosen = question.chosen if question.chosen in names else None
    kit.choice(
        draft.catching, _key(draft, question.question), question.name, names, chosen, _take, draft, question.question
    )
    with st.container(key=f"answer_{question.question}"):
        if question.answer is not None:
            st.markdown(f"{md(question.answer.plain)} {md(_sentence(question.answer.costs[way]))}")


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."


def _to_take_home(draft: Draft) -> None:
    _field(draft, "questions", say("What you still want to ask, or to talk over at home"))
    if box := kit.folded(draft.key("to_ask"), say("Questions to take home, and who else to ask")):
        with box:
            st.markdown(bullets(map(md, to_ask())))
            st.markdown(md(say("A second opinion is welcome. You could ask:")))
            st.markdown(bullets(map(md, ask_others(draft.book))))


def _advice(draft: Draft, wanted: AsWanted) -> None:
    """Say what the workshop would do, if it is asked; and make the sheet that they take home."""
    key = draft.key("advice")
    with st.container(key="advice", horizontal=True):
        st.toggle(md(say("Tell us what you would do")), key=key)
        as_pdf(draft, "summary", say("Make the sheet to take home"), advice=bool(held(key)))
    if held(key):
        with st.container(key="advice_given"):
            st.markdown(md(" ".join(advice(wanted.case))))


def _field(draft: Draft, name: str, label: str) -> None:
    kit.field(draft.catching, _key(draft, name), label, wishes_of(draft).chosen(name), _take, draft, name)


def _key(draft: Draft, name: str) -> str:
    return draft.field_key(f"wish_{name}", f"{FIELD}{name}")


def _take(said: object, draft: Draft, name: str) -> None:
    wish(draft, name, said)
