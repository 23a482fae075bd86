"""Everything that was ever entered at this visit: who, when, what. Nothing is overwritten."""

from __future__ import annotations

import streamlit as st

from valuation.language import say, say_many
from valuation.screens import frame, page_list
from valuation.screens.recorded import clock_words, field_words, value_words
from valuation.screens.state import fill, held

_FIRST, _MORE = 10, 100


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(page_list.HISTORY)
    st.title(say("History"), anchor=False)
    entries = draft.store.history(draft.visit_id)
    st.markdown(say_many("{count} entry, the newest first.", "{count} entries, the newest first.", len(entries)))
    key = draft.key("history_shown")
    shown = held(key) or _FIRST
    for entry in reversed(entries[-shown:]):
        words = value_words(draft.visit, entry.field, entry.value, book, draft.system)
        if entry.undoes:
            words = say("taken back; again: {words}", words=words)
        when = f"{entry.at.astimezone():%Y-%m-%d} {clock_words(entry.at)}"
        said = [when, entry.who or say("nobody said who"), f"{field_words(draft.visit, entry.field, book)}: {words}"]
        st.text(" · ".join(said))
    if shown < len(entries):
        st.button(say("Show older ones"), key="older", on_click=fill, args=(key, shown + _MORE))
    frame.end(book)


if __name__ == "__main__":
    page()
