"""The books: what the shop earned an hour, on what it loses, and what it said against what came."""

from __future__ import annotations

import streamlit as st

from valuation.language import later, say
from valuation.report.labels import day_words
from valuation.screens import frame, page_list, shop
from valuation.screens.books import promises
from valuation.screens.books import tables as books_tables
from valuation.screens.safe import bullets, md
from valuation.service.books import EVER, QUARTER, YEAR

_SPANS = {QUARTER: later("Last quarter"), YEAR: later("Last twelve months"), EVER: later("All")}
_PARTS = {
    "earned": later("Earned"),
    "priced": later("Against what was priced"),
    "said": later("Against what was said"),
    "promises": later("Promises"),
    "visits": later("Visits"),
    "after": later("The year after"),
    "hand": later("In hand"),
}


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.BOOKS)
    store, currency = frame.open_store(), book.settings.currency
    st.title(say("The books"), anchor=False)
    span = st.pills(
        say("Jobs that went home"), list(_SPANS), format_func=lambda one: say(_SPANS[one]), key="books_span",
        default=QUARTER, required=True,
    )  # fmt: skip
    found = shop.books_of(store, book, span or QUARTER)
    if found.invented:
        with st.container(key="mark"):
            st.markdown(f"**{say('Invented demo data')}**: {say('so far there are no jobs of your own.')}")
    if span != EVER:
        st.markdown(md(say("{first} to {last}", first=day_words(found.first), last=day_words(found.last))))
    st.markdown(bullets(map(md, (*books_tables.first_words(found, book, currency), *promises.first_words(found)))))
    part = st.pills(
        say("Show"), list(_PARTS), format_func=lambda one: say(_PARTS[one]), key="books_part", default="earned",
        required=True, label_visibility="collapsed",
    )  # fmt: skip
    if part == "priced":
        books_tables.priced(found)
        books_tables.estimates(found, book)
    elif part == "said":
        books_tables.said_and_found(found, book)
    elif part == "promises":
        promises.promises(found)
    elif part == "visits":
        books_tables.visits(found, currency)
    elif part == "after":
        books_tables.year_after(found, currency)
    elif part == "hand":
        books_tables.in_hand(found)
    else:
        by = st.pills(
            say("By"), list(books_tables.BY), format_func=lambda one: say(books_tables.BY[one]), key="books_by",
            default="operation", required=True,
        )  # fmt: skip
        books_tables.earned(found, by or "operation", book, currency)
    frame.end(book)


if __name__ == "__main__":
    page()
