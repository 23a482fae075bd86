"""Our tables: the shop's prices and all else it knows, changed, looked at, put in force and taken back."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.screens import frame, shop
from valuation.screens.our_tables import versions
from valuation.screens.state import held


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(frame.TABLES)
    store = frame.open_store()
    seen = shop.tables_in_force()
    st.title(say("Our tables"), anchor=False)
    if said := held(versions.SAID):
        with st.container(border=True, key="tables_said_box"):
            st.text(said)
    versions.in_force(seen)
    versions.waiting(store, seen)
    versions.versions(store, seen)
    frame.end(book)


if __name__ == "__main__":
    page()
