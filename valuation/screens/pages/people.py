"""People's data: find a person, hand out, correct, restrict, forget; what is due, kept by law, or left over."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.screens import frame, page_list
from valuation.screens.people import acts, found, kept
from valuation.screens.people_told import what_is_kept


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.PEOPLE)
    store = frame.open_store()
    st.title(say("People's data"), anchor=False)
    acts.told(store)
    found.find(store, book)
    kept.due(store, book)
    kept.by_law(store)
    kept.restricted(store)
    kept.left_over(store)
    what_is_kept(store, book)
    frame.end(book)


if __name__ == "__main__":
    page()
