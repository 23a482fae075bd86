"""What pianos like this one fetched by the shop's own sales, and what that says of this one."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.sales import PriceIndex, SalesModel
from valuation.sales.words import weight_words
from valuation.screens import frame, kit, page_list, shop
from valuation.screens.market import nearest, sold, used, worth
from valuation.screens.safe import md
from valuation.screens.sales_form import edit_sale, table_of_sales, take_along
from valuation.screens.sales_source import choose_sales
from valuation.screens.state import Draft
from valuation.service import NotInForce
from valuation.service.sales import Market, SalesBook, look_at_market, make_book

_HERE = f"{page_list.FOLDER}/market.py"
_NO_SALES = make_book(later("sales entered here"), (), PriceIndex())


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    st.title(say("Market"), anchor=False)
    st.markdown(say("What pianos like this one fetched by the shop's own sales, and what that says of this one."))
    if draft.said:
        st.markdown(f"**{md(draft.said)}**")
        draft.said = ""
    choose_sales(draft, book)
    sales = draft.sales or _NO_SALES
    if any(sale.source == "invented" for sale in sales.sales):
        with st.container(key="mark_invented"):
            st.markdown(say("**Invented sales**: not one of them took place, and their prices are made up."))
    try:
        model = shop.fit_of(sales, draft.visit, book)
        market = _market(draft, model, book)
    except NotInForce as error:
        frame.nothing_in_force(error)
    st.markdown(md(weight_words(model)))
    used.rescale(draft, model)
    used.use_of_sales(draft)
    used.verdicts(draft, market, book)
    worth.values(draft, market)
    _deeper(draft, sales, market, book)
    frame.end(book)


def _market(draft: Draft, model: SalesModel, book: Tables) -> Market:
    """Return what the sales say, whether or not the verdict uses them."""
    sold_at = model.prices_by_state(draft.visit.piano)
    study = shop.study_of(draft.visit, draft.set_levels, book, sold_at)
    return look_at_market(model, study, shop.appraisal_of(draft.visit, draft.set_levels, book, sold_at))


def _deeper(draft: Draft, sales: SalesBook, market: Market, book: Tables) -> None:
    """Draw all else, one tap deeper."""
    with st.expander(say("What such a piano fetches, by condition")):
        worth.by_state(market, book)
    with st.expander(say("The nearest sales, adjusted to this piano")):
        nearest.grid(market, draft, book)
    if market.model.sales and (box := kit.folded(draft.key("map"), say("The map of the sales"))):
        with box:
            sold.sales_map(draft, market)
    with st.expander(say("Odd sales")):
        sold.odd(market)
    if sales.sales:
        with st.expander(say("Your sales")):
            table_of_sales(draft, sales, book.settings.currency)
            take_along(draft, sales)
    with st.expander(say("Enter or change a sale")):
        edit_sale(draft, sales, book)


if __name__ == "__main__":
    page()
