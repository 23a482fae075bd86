"""Whether the verdict uses the sales, what that changes, and a table that lies off them."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.errors import UserError
from valuation.language import numeral, say
from valuation.report.words import verdict_sentence
from valuation.sales import SalesModel
from valuation.screens import frame, page_list, shop
from valuation.screens.safe import md
from valuation.screens.state import Draft, held, who
from valuation.service.bands import BANDS, put_rescaled, rescaled_bands
from valuation.service.sales import Market


def rescale(draft: Draft, model: SalesModel) -> None:
    """Offer the bands moved to the level of the sales, where the table looks off: as a file, and to be put in force."""
    if model.level is None or not model.level.off:
        return
    factor, seen = numeral(f"{model.level.factor:.2f}"), shop.tables_in_force()
    with st.expander(say("Move the table to where the sales lie")):
        st.markdown(
            say(
                "All bands of this kind would be multiplied by {factor}; what a state or a reputation is worth beside "
                "another stays. Prices hardly change while the sales are used; without them they do.",
                factor=factor,
            )
        )
        if any(sale.source == "invented" for sale in model.sales):
            st.markdown(say("These sales are invented: the table is not moved by them."))
            return
        try:
            text = rescaled_bands(seen.texts, model)
        except UserError as error:
            frame.tell(error)
            return
        st.download_button(
            say("The moved table, as CSV"), text.encode("utf-8"), BANDS, "text/csv", key="bands_out", on_click="ignore"
        )
        if frame.may_open(page_list.TABLES) and st.button(
            say("Put the moved table in force"), key="bands_in", type="primary"
        ):
            why = say("Bands moved to where our sales lie, by {factor}.", factor=factor)
            try:
                put_rescaled(draft.store.store, seen, model, today=shop.today(), who=who(), why=why, now=shop.now())
            except UserError as error:
                frame.tell(error)
                return
            draft.said = say("The table was moved; the one before is kept, on the page 'Our tables'.")
            st.rerun()


def use_of_sales(draft: Draft) -> None:
    """Draw the switch: whether the verdict uses the sales."""
    if draft.sales is None:
        return
    use = draft.key("use_sales")
    draft.watch(use, draft.use_sales, _turn, draft, use)
    st.toggle(say("Use these sales for the verdict"), key=use)


def _turn(draft: Draft, key: str) -> None:
    draft.use_sales = bool(held(key))


def verdicts(draft: Draft, market: Market, book: Tables) -> None:
    """Say the verdict by these sales beside that of the table alone."""
    if draft.sales is None:
        return
    by_sales = verdict_sentence(shop.appraisal_of(draft.visit, draft.set_levels, book, market.sold))
    by_table = verdict_sentence(shop.appraisal_of(draft.visit, draft.set_levels, book))
    st.markdown(
        say(
            "With these sales: **{by_sales}** By the table of price bands alone: **{by_table}**",
            by_sales=md(by_sales), by_table=md(by_table),
        )
    )  # fmt: skip
