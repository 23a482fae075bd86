"""What happened: how far evaluations get, how long clients take, which may become jobs, what is coming."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.learn.decisions import Curve
from valuation.screens import frame, page_list, shop
from valuation.screens.happened import charts as happened_charts
from valuation.screens.happened import coming
from valuation.screens.happened import tables as happened_tables
from valuation.screens.looks import in_these_looks
from valuation.screens.safe import bullets, md
from valuation.service.outcomes import Happened
from valuation.service.visits import Shop

_PARTS = {
    "way": later("How far they get"),
    "became": later("What became of them"),
    "time": later("How long it takes"),
    "open": later("The open ones"),
    "coming": later("What is coming"),
}


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.HAPPENED)
    store = frame.open_store()
    st.title(say("What happened"), anchor=False)
    found = shop.what_happened(store, book)
    if found.invented:
        with st.container(key="mark"):
            st.markdown(f"**{say('Invented demo data')}**: {say('so far there are no evaluations of your own.')}")
    if not found.evaluations:
        st.markdown(
            say("No evaluation is known yet with what its client was told: that is kept when the stage 'evaluated' "
                "begins on the page of a job.")
        )  # fmt: skip
        frame.end(book)
        return
    part = st.pills(
        say("Show"), list(_PARTS), format_func=lambda part: say(_PARTS[part]), key="happened_part", default="way",
        required=True, label_visibility="collapsed",
    )  # fmt: skip
    _draw(part or "way", store, found, book)
    frame.end(book)


def _draw(part: str, store: Shop, found: Happened, book: Tables) -> None:
    currency = book.settings.currency
    if part == "way":
        happened_tables.way(found, book)
    elif part == "became":
        _became(found, book, currency)
    elif part == "time" and found.yes and found.no and found.undecided:
        _time(found.yes, found.no, found.undecided)
    elif part == "open" and found.carry is not None:
        st.markdown(bullets(map(md, happened_tables.carry_words(found.carry))))
        happened_tables.open_ones(found, currency)
        happened_tables.reliability(found.carry)
        st.markdown(say("These chances are the workshop's own business. They never enter what a client is told."))
    elif part == "coming":
        coming.coming(store, found)


def _became(found: Happened, book: Tables, currency: str) -> None:
    by = st.pills(
        say("By"), list(happened_tables.BY), format_func=lambda one: say(happened_tables.BY[one]), key="happened_by",
        default="month", required=True,
    )  # fmt: skip
    happened_tables.conversions(found, by or "month", currency)
    happened_tables.reasons_lost(found, book)


def _time(yes: Curve, no: Curve, undecided: Curve) -> None:
    words = happened_charts.decisions_words(yes, no, undecided)
    st.markdown(
        say("Who hasn't decided by today is counted as undecided, not left out and not as a no. A no ends it as a yes "
            "does: the two compete. Bands: 9 in 10.")
    )  # fmt: skip
    figure = in_these_looks(happened_charts.decisions_chart(yes, no, undecided))
    st.plotly_chart(figure, theme=None, key="decisions_chart", alt=" ".join(words), config={"staticPlot": True})
    st.markdown(bullets(map(md, words)))


if __name__ == "__main__":
    page()
