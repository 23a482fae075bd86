"""Learning: what the shop's own jobs say of its tables, proposed with evidence and effect, taken in by the owner."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say
from valuation.learn.condition_tables import LEAST_OPENED, LEAST_READ
from valuation.learn.proposals import LEAST_JOBS
from valuation.screens import frame, kit, lesson_words, page_list, shop
from valuation.screens.learning import choices, taking
from valuation.screens.safe import bullets, md
from valuation.screens.state import fill, held
from valuation.service.visits import Shop

_ASKED = "lessons_asked"


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.LEARNING)
    store = frame.open_store()
    st.title(say("Learning"), anchor=False)
    st.markdown(
        say("What finished jobs and opened pianos say of the tables. Each change is proposed with what it rests on. "
            "Nothing changes until you take it in.")
    )  # fmt: skip
    if said := held(taking.SAID):
        with st.container(border=True, key="lessons_said_box"):
            st.text(said)
    if not held(_ASKED):
        st.button(say("Work out what there is to learn"), key="work_out", type="primary", on_click=_ask)
        st.markdown(say("It may take a minute where there are many visits."))
    else:
        _lessons(store, book)
    frame.end(book)


def _ask() -> None:
    fill(_ASKED, True)
    fill(taking.SAID, "")


def _lessons(store: Shop, book: Tables) -> None:
    with kit.working() as heard:
        lesson, invented = shop.lessons_of(store, book, heard)
    if invented:
        with st.container(key="mark"):
            st.markdown(
                f"**{say('Invented demo data')}**: "
                + say("so you can see how it looks; nothing of it can be taken in.")
            )
    st.header(say("What there is to learn from"), anchor=False)
    st.markdown(bullets(map(md, lesson_words.lacking(lesson))))
    st.markdown(
        say("What clients decided teaches the chances, the waiting times and the hours on the page 'What happened': "
            "they follow every entry and change no table.")
    )  # fmt: skip
    if not lesson.proposals:
        st.markdown(
            say("There is nothing to propose. Hours take at least {jobs} finished jobs of a family; the odds of a "
                "fault at least {opened} pianos, and how sure a check is at least {read} findings, of which teardown "
                "showed the truth. What moves by less than one in a hundred is left alone, and what chance alone "
                "could move.",
                jobs=LEAST_JOBS, opened=LEAST_OPENED, read=LEAST_READ)
        )  # fmt: skip
        return
    chosen = choices.proposals(lesson, book)
    taking.effect(lesson, chosen, book)
    taking.take(store, lesson, chosen, invented=invented)


if __name__ == "__main__":
    page()
