"""The owner's front page: whom to ring, whether evaluations become jobs, and whether the hours are there."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.screens import frame, front_pictures, page_list, shop


def page() -> None:
    """Draw the page; what can't be told yet is left out."""
    _, book = frame.begin(page_list.TODAY)
    store = frame.open_store()
    st.title(say("Today"), anchor=False)
    with st.spinner(say("Working it out ..."), show_time=False):
        found = shop.what_happened(store, book)
    if found.invented:
        with st.container(key="mark"):
            st.markdown(f"**{say('Invented demo data')}**: {say('so far there are no evaluations of your own.')}")
    with st.container(key="front", gap="medium"):
        front_pictures.whom_to_ring(store, book)
        front_pictures.what_becomes_jobs(store, book)
        front_pictures.hours_there(store, book)
    frame.end(book)


if __name__ == "__main__":
    page()
