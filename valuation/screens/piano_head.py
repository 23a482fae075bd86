"""Which piano a page is about, and what has to be known of its visit: that it is invented, not counted, not stored."""

from __future__ import annotations

import streamlit as st

from valuation.facts.visit import Visit
from valuation.language import say
from valuation.report.labels import day_words, size_words, year_words
from valuation.screens.recorded import field_words
from valuation.screens.safe import md
from valuation.screens.state import Draft


def which_piano(draft: Draft) -> None:
    """Say which piano it is, that it is invented, where its prices come from, and what isn't counted."""
    with st.container(key="piano", gap=None):
        st.text(draft.visit.title)
        with st.container(key="piano_facts"):
            st.text(facts(draft.visit))
    if draft.demo:
        with st.container(key="mark"):
            st.markdown(f"**{say('Invented demo data')}**: {say('the piano, its people and all prices are made up.')}")
    if draft.sales is not None and draft.use_sales:
        with st.container(key="mark_sales"):
            name = f"**{md(draft.sales.name)}**"
            st.markdown(say("Prices come from the sales of {name} too: see the page 'Market'.", name=name))
    if aside := draft.recorded.set_aside:
        with st.container(key="mark_aside"):
            why = draft.recorded.why_set_aside
            told = {f"{field_words(draft.visit, e.field, draft.book)}: {why[e.field]}": None for e in aside}
            st.markdown(md(say("Kept, but not counted: {why}.", why="; ".join(told))))


def not_stored(draft: Draft) -> None:
    """Say what could not be stored: what was typed stays, and nothing is lost as long as this page is open."""
    if not draft.unsaved:
        return
    with st.container(border=True, key="fault_unsaved"):
        st.markdown(f"**{say('NOT SAVED YET. What you entered stays here; leave this page open.')}**")
        for waiting in draft.unsaved.values():
            st.text(f"{field_words(draft.visit, waiting.field, draft.book)}: {waiting.why}")
        st.button(say("Try to save again"), key="try_again", type="primary", on_click=draft.press,
                  args=(draft.try_again,))  # fmt: skip


def facts(visit: Visit) -> str:
    """Return in one line which piano it is."""
    piano = visit.piano
    said = [
        say(piano.kind),
        year_words(piano),
        size_words(piano),
        piano.maker,
        visit.place,
        say("visited {day}", day=day_words(visit.on)),
    ]
    return " · ".join(fact for fact in said if fact)
