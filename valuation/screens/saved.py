"""The quiet line that says what was stored last, the way to take it back, and what others have entered meanwhile."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.screens.recorded import clock_words, field_words, value_words
from valuation.screens.safe import md
from valuation.screens.state import Draft, current, device
from valuation.service.visits import StoreError

_LOOK_EVERY_S = 15.0


def saved_line(draft: Draft, book: Tables) -> None:
    """Draw what this device entered last and when it was stored, and one button that takes it back."""
    last = draft.last_entry(device())
    with st.container(horizontal=True, vertical_alignment="center", key="saved"):
        if last is None:
            st.markdown(say("Each answer is stored as you give it."))
        else:
            name = field_words(draft.visit, last.field, book)
            words = value_words(draft.visit, last.field, last.value, book, draft.system)
            st.text(say("Saved {time}: {name}: {words}", time=clock_words(last.at), name=name, words=words))
        st.button(say("Undo"), key="undo", on_click=draft.press, args=(_undo, draft, book),
                  help=say("Takes back your last entry"))  # fmt: skip
    with st.container():  # always there, so that what is below keeps its place
        if draft.said:
            st.markdown(md(draft.said))
            draft.said = ""
    draft.just_read = True
    _others(draft.visit_id, max(entry.seq for entry in draft.recorded.heads.values()))


def _undo(draft: Draft, book: Tables) -> None:
    try:
        undone = draft.undo()
    except StoreError as error:
        draft.said = str(error)
        return
    if undone is None:
        draft.said = say("There is nothing of yours to take back.")
    else:
        draft.said = say("Taken back: {name}.", name=field_words(draft.visit, undone.field, book))


@st.fragment(run_every=_LOOK_EVERY_S)
def _others(visit_id: str, shown: int) -> None:
    """Say that another device has entered something since this page was drawn; what one is typing is left alone."""
    draft = current()
    if draft is None or draft.visit_id != visit_id:
        return
    if draft.just_read:  # within the run of the page nobody can have entered anything since
        draft.just_read = False
        return
    try:
        here = device()
        count = sum(entry.seq > shown and entry.device != here for entry in draft.store.history(visit_id))
    except StoreError as error:
        st.text(str(error))
        return
    words = say_many("{count} new entry by others: show it", "{count} new entries by others: show them", count)
    if count and st.button(words, key="show_others"):
        st.rerun()
