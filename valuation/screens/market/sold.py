"""The shop's sales among one another: their map, and the odd ones."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.sales.words import (
    left_out_reason,
    odd_words,
    twice_words,
)
from valuation.screens.looks import in_these_looks
from valuation.screens.market import chart
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft
from valuation.service.sales import Market


def sales_map(draft: Draft, market: Market) -> None:
    """Draw each sale by its price against what is chosen, with this piano among them."""
    model = market.model
    axis = st.pills(
        say("Price against"), chart.AXES, format_func=say, key=draft.key("map_axis"),
        default=chart.AXES[0], required=True,
    )  # fmt: skip
    figure, said = chart.sales_map(
        model,
        market.by_state,
        market.state,
        frozenset(one.sale.id for one in market.grid.comparables),
        model.traits_of_piano(draft.visit.piano, market.state).year,
        axis,
    )
    st.markdown(
        say(
            "Prices in {currency}, brought to the day of the visit by the price index. "
            "The diamond is this piano; 8 in 10 lie on the thick line through it. Filled: the nearest sales.",
            currency=model.tables.settings.currency,
        )
    )
    st.plotly_chart(in_these_looks(figure), theme=None, key="market_chart", alt=said, config={"staticPlot": True})


def odd(market: Market) -> None:
    """Draw which sales stand out, which look told twice, and which aren't used."""
    model = market.model
    prices = {sale.id: sale.price for sale in model.sales}
    odd = [check for check in market.checks if check.unlike or check.heavy]
    if not market.checks:
        st.markdown(say("Looked for from the first sale on."))
    elif not odd:
        st.markdown(say("None stands out: no sale is unlike the others, and none decides its own fit."))
    if odd:
        st.markdown(bullets(f"**{md(check.sale)}**: {md(odd_words(check, prices[check.sale]))}" for check in odd))
        st.markdown(
            say("They count the less the farther off: look whether they are told right, and take out what isn't.")
        )
    if market.twice:
        st.markdown(bullets(md(twice_words(*pair)) for pair in market.twice))
    if model.not_used:
        left_out = "; ".join(f"{sale} ({left_out_reason(why)})" for sale, why in model.not_used)
        st.markdown(say("**Not used**: {sales}", sales=md(left_out)))
