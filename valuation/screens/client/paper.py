"""One page to leave at the end of the visit: printed from the browser, signed by hand, an order for nothing."""

from __future__ import annotations

from html import escape

import streamlit as st

from valuation.language import say
from valuation.report.conversation import Conversation
from valuation.screens import marks
from valuation.screens.paper_making import as_pdf
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft
from valuation.screens.wishes import wishes_of


def one_page(draft: Draft, told: Conversation) -> None:
    """Draw the page as it is to be printed; which piano it is stands above it, as on every page."""
    with st.container(key="how_to_print"):
        st.markdown(md(say("Print this page from your browser. On most machines the keys are Ctrl and P.")))
        as_pdf(draft, "summary", say("Or make it as a PDF that is kept"))
    with st.container(key="sheet", gap="small"):
        st.title(md(say("What we talked about")), anchor=False)
        if draft.visit.technician:
            st.text(say("Looked at by: {name}", name=draft.visit.technician))
        if told.first:
            st.markdown(f"**{md(' '.join(told.first))}**")
        st.markdown(md(" ".join(told.found)))
        st.html(f'<div class="paper">{_table(told)}</div>')
        if told.told_us:
            st.markdown(f"**{md(say('You told us'))}**: {md(' '.join(told.told_us))}")
        if asked := wishes_of(draft).questions:
            st.text(say("Still open: {questions}", questions=asked))
        st.markdown(bullets(md(text) for text in (" ".join(told.unseen), *told.by_hand)))
        st.markdown(f"**{md(told.holds)}** {md(' '.join(told.who))}")
        st.markdown(md(say("Our signatures say that we have talked. They order nothing.")))
        names = (say("For the workshop"), say("For the client"), say("Day"))
        st.html(f'<div class="sign">{"".join(f"<span>{escape(name)}</span>" for name in names)}</div>')


def _table(told: Conversation) -> str:
    first = told.chances[0]
    played = {count.way: count for count in first.counts}
    headers = [
        say("Way"),
        say("Price, and good years"),
        say("Worth then"),
        first.question,
        say("A good side"),
        say("A bad side"),
    ]
    rows = []
    for way in told.ways:
        count = played[way.way].of_100
        rows.append(
            [
                way.name,
                way.price,
                way.worth,
                say("no piano") if count is None else say("in {count} of 100", count=count),
                way.good[0].text if way.good else "",
                way.bad[0].text if way.bad else "",
            ]
        )
    return marks.table(say("The ways, in the order in which we told them"), headers, rows)
