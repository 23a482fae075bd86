"""The first week: where the shop works, then the figures that matter most, and what each answer does."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.screens import frame, page_list, shop
from valuation.screens.first_week import answers, country, law


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.FIRST_WEEK)
    store = frame.open_store()
    st.title(say("The first week"), anchor=False)
    answers.tell()
    st.markdown(
        say(
            "The tool ships with invented prices and with judgements from memory. Here you make them yours: first "
            "where you work, then the figures that move verdicts most. Stop whenever you like; each answer counts "
            "from today, and the page 'Our tables' takes it back."
        )
    )
    country.section(store, book)
    law.section(book)
    answers.section(store, book, shop.today())
    frame.end(book)


if __name__ == "__main__":
    page()
