"""With the client: the ways side by side, what matters, chances, what is not known. A calm page for two people."""

from __future__ import annotations

from pathlib import Path
from typing import NoReturn

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.chances import Chance
from valuation.report.client_words import way_name
from valuation.report.conversation import Conversation, conversation
from valuation.report.labels import with_capital
from valuation.report.ways import ROWS, row_name
from valuation.screens import frame, marks
from valuation.screens.client import marks as client_marks
from valuation.screens.client import paper as client_paper
from valuation.screens.client import says as client_says
from valuation.screens.hand_changes import by_hand
from valuation.screens.not_yet import instead
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft
from valuation.screens.wishes import wishes_of
from valuation.service import decide_at

_HERE = f"{frame.FOLDER}/client.py"
_STYLE = Path(__file__).parents[1] / "client.css"
_WHOLE, _PAPER = "whole", "paper"


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    st.html(_STYLE)
    found, study = frame.appraised(draft, book), frame.studied(draft, book)
    told = conversation(study, decide_at(study), found, wishes_of(draft), by_hand(draft))
    if not found.ready:
        _not_yet(found, told, draft, book)
    if _view(draft) == _PAPER:
        client_paper.one_page(draft, told)
        return
    st.title(md(say("What shall become of this piano?")), anchor=False)
    st.markdown(md(_opening_words()))
    _before_all_else(told)
    _found(told, draft)
    _ways(told)
    client_says.what_matters(draft, told, found)
    _sides(told, draft)
    _chances(told)
    _not_known(told)
    client_says.own_choices(draft, told, found)
    _who(told, draft)
    client_says.what_would_you_do(draft, told)
    client_says.where_you_stand(draft, told)
    frame.end(book)


def _not_yet(found: Appraisal, told: Conversation, draft: Draft, book: Tables) -> NoReturn:
    """Draw how the piano is as far as it was seen, and what comes first; of ways and prices nothing is told yet."""
    st.title(md(say("What shall become of this piano?")), anchor=False)
    _before_all_else(told)
    for sentence in told.advice:
        st.markdown(md(sentence))
    _found(told, draft)
    instead(found, draft, book)


def _view(draft: Draft) -> str:
    names = {_WHOLE: say("The whole talk"), _PAPER: say("One page to leave here")}
    with st.container(key="view"):
        chosen = st.pills(
            md(say("Show")), list(names), format_func=names.get, key=draft.key("client_view"), default=_WHOLE,
            required=True,
        )  # fmt: skip
    return chosen or _WHOLE


def _opening_words() -> str:
    return say(
        "There are five ways to go. No one way is right for everybody. Read what each one means, then say what matters "
        "to you. You need not decide today."
    )


def _before_all_else(told: Conversation) -> None:
    if told.first:
        with st.container(key="stop_first"):
            st.markdown(f"**{md(say('Before all else'))}**")
            st.markdown(bullets(map(md, told.first)))


def _found(told: Conversation, draft: Draft) -> None:
    st.header(md(say("How the piano is")), anchor=False)
    if told.found:
        st.markdown(bullets(map(md, told.found)))
    else:
        st.markdown(md(say("Nobody has looked at any part of it yet.")))
    with st.expander(md(say("What these parts are"))):
        st.markdown(bullets(f"**{md(name)}**: {md(what)}" for name, what in told.glossary))
    if draft.visit.client.wishes:
        st.markdown(md(say("What you told us you wish:")))
        st.text(draft.visit.client.wishes)


def _ways(told: Conversation) -> None:
    st.header(md(say("Five ways, side by side")), anchor=False)
    names = {way.way: way.name for way in told.ways}
    for row in ROWS:
        st.subheader(md(row_name(row)), anchor=False)
        st.html(client_marks.side_by_side(names, {way.way: way.rows[row] for way in told.ways}))
        if note := told.notes.get(row):
            st.markdown(md(note))
    with st.expander(md(say("Each job, in plain words"))):
        for way in told.ways:
            if way.jobs:
                st.markdown(f"**{md(way.name)}**")
                st.markdown(bullets(map(md, way.jobs)))
    if told.by_hand:
        st.markdown(md(say("Set by hand, not by the sums:")))
        st.markdown(bullets(map(md, told.by_hand)))


def _sides(told: Conversation, draft: Draft) -> None:
    wishes = wishes_of(draft)
    for row, good in (("good", True), ("bad", False)):
        st.subheader(md(row_name(row)), anchor=False)
        st.html(client_marks.sides(told.ways, good=good, wishes=wishes))


def _chances(told: Conversation) -> None:
    st.header(md(say("What may come of it")), anchor=False)
    st.markdown(md(_chance_words()))
    for chance in told.chances:
        _chance(chance)
    st.subheader(md(told.best.question), anchor=False)
    st.html(client_marks.best_of_hundred(told.best))
    st.markdown(md(_best_words()))


def _chance_words() -> str:
    return say(
        "Think of 100 pianos like this one, each gone the same way. A full mark is one for which the answer is yes, an "
        "open mark one for which it is no. Nobody can tell which of them yours is."
    )


def _best_words() -> str:
    return say(
        "This counts money, good years of playing, and what you said keeping it is worth to you. What can't be counted "
        "is not in it."
    )


def _chance(chance: Chance) -> None:
    st.subheader(md(chance.question), anchor=False)
    st.html(client_marks.hundreds(chance))


def _not_known(told: Conversation) -> None:
    st.header(md(say("What we did not see")), anchor=False)
    st.markdown(bullets(map(md, told.unseen)))
    if told.surprises:
        st.subheader(md(say("What opening it may bring")), anchor=False)
        st.markdown(md(say("If it comes to that we stop and ask you. You choose then, with these prices, in writing.")))
        headers = [say("Part"), say("What would be seen"), *map(way_name, told.surprises[0].words)]
        rows = [[with_capital(s.name), s.seen, *s.words.values()] for s in told.surprises]
        st.html(marks.table(say("Done only if it is found"), headers, rows))


def _who(told: Conversation, draft: Draft) -> None:
    st.header(md(say("Who says this, and who else to ask")), anchor=False)
    if draft.visit.technician:
        st.text(say("Looked at by: {name}", name=draft.visit.technician))
    st.markdown(f"**{md(told.holds)}** {md(say('After that we look at the prices again.'))}")
    st.markdown(bullets(map(md, told.who)))
    st.markdown(md(say("A second opinion is welcome. You could ask:")))
    st.markdown(bullets(map(md, told.ask_others)))


if __name__ == "__main__":
    page()
