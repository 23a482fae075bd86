"""The nearest sales, adjusted to this piano, and where each adjustment comes from."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.format import exact, percent
from valuation.report.labels import with_capital
from valuation.sales import Comparable
from valuation.sales.words import (
    ATTRIBUTE_NAMES,
    attribute_name,
    coefficient_name,
    described,
    difference_words,
    origin_words,
    signed,
    source_words,
    step_words,
    used_coefficients,
    weak_words,
)
from valuation.screens import kit, marks
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft
from valuation.service.sales import Market


def grid(market: Market, draft: Draft, book: Tables) -> None:
    """Draw the nearest sales with what was adjusted in each."""
    nearest = market.grid
    if nearest.suggests is None:
        st.markdown(say("There is no sale to compare with."))
        return
    st.markdown(
        say(
            "Compared as **{state}**: they suggest {low} to {high}, the middle **{middle}** ({count} sales counted).",
            state=say(market.state), low=exact(nearest.suggests.low), high=exact(nearest.suggests.high),
            middle=exact(nearest.suggests.likely), count=len(nearest.counted),
        )
    )  # fmt: skip
    differ = {a.attribute for one in nearest.comparables for a in one.adjustments}
    if weak := weak_words(nearest):
        st.markdown(weak)
    used = [attribute for attribute in ATTRIBUTE_NAMES if attribute in differ]
    rows = []
    for one in nearest.comparables:
        by = {a.attribute: signed(a.money) for a in one.adjustments}
        name = say("{sale} (weak)", sale=one.sale.id) if one.weak else one.sale.id
        rows.append([name, exact(one.sale.price), *(by.get(attribute, "") for attribute in used), exact(one.adjusted)])
    headers = [say("Sale"), say("Price"), *(with_capital(attribute_name(name)) for name in used), say("Adjusted")]
    caption = say(
        "{currency}. Price and adjustments add up. Weak: much had to be adjusted.", currency=book.settings.currency
    )
    st.html(marks.table(caption, headers, rows, dense=True))
    st.markdown(bullets(f"**{md(one.sale.id)}**: {md(_described(one))}" for one in nearest.comparables))
    if draft.visit.piano.features:
        st.markdown(say("Features of build are not in the adjusted prices; the prices by condition above count them."))
    if box := kit.folded(draft.key("origins"), say("Where each adjustment comes from")):
        with box:
            _origins(market)


def _described(one: Comparable) -> str:
    return say("{sold}; adjusted by {share} in all", sold=described(one), share=percent(one.gross_share))


def _origins(market: Market) -> None:
    model, comparables = market.model, market.grid.comparables
    rows = [
        [one.sale.id, attribute_name(a.attribute), difference_words(a), signed(a.money), source_words(a)]
        for one in comparables
        for a in one.adjustments
    ]
    headers = [say("Sale"), say("For"), say("Difference"), say("Money"), say("By")]
    st.html(marks.table(say("Each adjustment"), headers, rows, dense=True))
    used = used_coefficients(model, [a for one in comparables for a in one.adjustments])
    rows = [[coefficient_name(one.name), step_words(one), origin_words(one)] for one in used]
    if rows:
        headers = [say("Coefficient"), say("One step"), say("From")]
        st.html(marks.table(say("Each coefficient behind them"), headers, rows, dense=True))
