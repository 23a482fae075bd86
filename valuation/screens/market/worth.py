"""What the piano is worth by the shop's sales and table, by kind of value and by condition."""

from __future__ import annotations

import streamlit as st

from valuation.engine.pack import PURPOSES, not_for
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.format import money, money_range
from valuation.sales.words import (
    confidence_words,
    state_name,
    value_name,
    value_sources,
)
from valuation.screens import marks
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft
from valuation.service.sales import Market


def values(draft: Draft, market: Market) -> None:
    """Draw what the piano is worth by each kind of value; and who has to tell it where the shop may not."""
    st.header(say("What it is worth, and which value is meant"), anchor=False)
    model = market.model
    currency = model.tables.settings.currency
    rows = [
        [
            value_name(one),
            money(one.amount.likely),
            money_range(one.amount),
            confidence_words(one, held=model.held),
        ]
        for one in market.values
    ]
    headers = [say("Value"), say("Likely"), say("Low to high"), say("How sure")]
    st.html(marks.table(say("Money in {currency}. Below 0 it costs.", currency=currency), headers, rows, dense=True))
    with st.expander(say("What each value means")):
        kinds = [[value_name(one), say(one.kind.name)] for one in market.values]
        st.html(marks.table(say("Kinds of value"), [say("Value"), say("Kind of value")], kinds))
        st.markdown(bullets(dict.fromkeys(md(value_sources(one)) for one in market.values)))
    purpose = st.pills(
        say("What is the value wanted for"), PURPOSES, format_func=say, key=draft.key("purpose"),
        default=PURPOSES[0], required=True,
    )  # fmt: skip
    if note := not_for(purpose, model.tables):
        with st.container(key="stop_purpose"):
            st.markdown(f"**{md(note)}**")


def by_state(market: Market, book: Tables) -> None:
    """Draw what such a piano fetches in each condition."""
    rows = [
        [state_name(state, market.state), money(band.likely), money_range(band)]
        for state, band in market.by_state.items()
    ]
    caption = say("{currency}, achieved in a private sale on the day of the visit.", currency=book.settings.currency)
    st.html(marks.table(caption, [say("Condition"), say("Likely"), say("8 in 10")], rows))
