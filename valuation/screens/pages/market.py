"""Market: the shop's own sales, what they say of this piano, and whether the verdict uses them."""

from __future__ import annotations

import streamlit as st

from valuation.engine.pack import PURPOSES, not_for
from valuation.engine.rows import Tables
from valuation.errors import UserError
from valuation.language import later, numeral, say
from valuation.report.format import exact, money, money_range, percent
from valuation.report.labels import with_capital
from valuation.report.words import verdict_sentence
from valuation.sales import Comparable, PriceIndex, SalesModel
from valuation.sales.words import (
    ATTRIBUTE_NAMES,
    attribute_name,
    coefficient_name,
    confidence_words,
    described,
    difference_words,
    left_out_reason,
    odd_words,
    origin_words,
    signed,
    source_words,
    state_name,
    step_words,
    twice_words,
    used_coefficients,
    value_name,
    value_sources,
    weak_words,
    weight_words,
)
from valuation.screens import frame, market_chart, marks, page_list, shop
from valuation.screens.looks import in_these_looks
from valuation.screens.safe import bullets, md
from valuation.screens.sales_form import edit_sale, table_of_sales, take_along
from valuation.screens.sales_source import choose_sales
from valuation.screens.state import Draft, held, who
from valuation.service import NotInForce
from valuation.service.bands import BANDS, put_rescaled, rescaled_bands
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
    _rescale(draft, model)
    _use(draft)
    _verdicts(draft, market, book)
    _values(draft, market)
    _by_state(market, book)
    _grid(market, draft, book)
    _map(draft, market)
    _odd(market)
    _own(draft, sales, book)
    frame.end(book)


def _market(draft: Draft, model: SalesModel, book: Tables) -> Market:
    """Return what the sales say, whether or not the verdict uses them."""
    sold = model.prices_by_state(draft.visit.piano)
    study = shop.study_of(draft.visit, draft.set_levels, book, sold)
    return look_at_market(model, study, shop.appraisal_of(draft.visit, draft.set_levels, book, sold))


def _rescale(draft: Draft, model: SalesModel) -> None:
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


def _use(draft: Draft) -> None:
    """Draw the switch: whether the verdict uses the sales."""
    if draft.sales is None:
        return
    use = draft.key("use_sales")
    draft.watch(use, draft.use_sales, _turn, draft, use)
    st.toggle(say("Use these sales for the verdict"), key=use)


def _turn(draft: Draft, key: str) -> None:
    draft.use_sales = bool(held(key))


def _verdicts(draft: Draft, market: Market, book: Tables) -> None:
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


def _values(draft: Draft, market: Market) -> None:
    st.header(say("What it is worth, and which value is meant"), anchor=False)
    model = market.model
    currency = model.tables.settings.currency
    rows = [
        [
            value_name(one),
            say(one.kind.name),
            money(one.amount.likely),
            money_range(one.amount),
            confidence_words(one, held=model.held),
        ]
        for one in market.values
    ]
    headers = [say("Value"), say("Kind of value"), say("Likely"), say("Low to high"), say("How sure")]
    st.html(marks.table(say("Money in {currency}. Below 0 it costs.", currency=currency), headers, rows))
    st.markdown(bullets(dict.fromkeys(md(value_sources(one)) for one in market.values)))
    purpose = st.pills(
        say("What is the value wanted for"), PURPOSES, format_func=say, key=draft.key("purpose"),
        default=PURPOSES[0], required=True,
    )  # fmt: skip
    if note := not_for(purpose, model.tables):
        with st.container(key="stop_purpose"):
            st.markdown(f"**{md(note)}**")


def _by_state(market: Market, book: Tables) -> None:
    st.header(say("What such a piano fetches, by condition"), anchor=False)
    rows = [
        [state_name(state, market.state), money(band.likely), money_range(band)]
        for state, band in market.by_state.items()
    ]
    caption = say("{currency}, achieved in a private sale on the day of the visit.", currency=book.settings.currency)
    st.html(marks.table(caption, [say("Condition"), say("Likely"), say("8 in 10")], rows))


def _grid(market: Market, draft: Draft, book: Tables) -> None:
    st.header(say("The nearest sales, adjusted to this piano"), anchor=False)
    grid = market.grid
    if grid.suggests is None:
        st.markdown(say("There is no sale to compare with."))
        return
    st.markdown(
        say(
            "Compared as **{state}**: they suggest {low} to {high}, the middle **{middle}** ({count} sales counted).",
            state=say(market.state), low=exact(grid.suggests.low), high=exact(grid.suggests.high),
            middle=exact(grid.suggests.likely), count=len(grid.counted),
        )
    )  # fmt: skip
    differ = {a.attribute for one in grid.comparables for a in one.adjustments}
    if weak := weak_words(grid):
        st.markdown(weak)
    used = [attribute for attribute in ATTRIBUTE_NAMES if attribute in differ]
    rows = []
    for one in grid.comparables:
        by = {a.attribute: signed(a.money) for a in one.adjustments}
        name = say("{sale} (weak)", sale=one.sale.id) if one.weak else one.sale.id
        rows.append([name, exact(one.sale.price), *(by.get(attribute, "") for attribute in used), exact(one.adjusted)])
    headers = [say("Sale"), say("Price"), *(with_capital(attribute_name(name)) for name in used), say("Adjusted")]
    caption = say(
        "{currency}. Price and adjustments add up. Weak: much had to be adjusted.", currency=book.settings.currency
    )
    st.html(marks.table(caption, headers, rows, dense=True))
    st.markdown(bullets(f"**{md(one.sale.id)}**: {md(_described(one))}" for one in grid.comparables))
    if draft.visit.piano.features:
        st.markdown(say("Features of build are not in the adjusted prices; the prices by condition above count them."))
    with st.expander(say("Where each adjustment comes from")):
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


def _map(draft: Draft, market: Market) -> None:
    model = market.model
    if not model.sales:
        return
    st.header(say("The map of the sales"), anchor=False)
    axis = st.pills(
        say("Price against"), market_chart.AXES, format_func=say, key=draft.key("map_axis"),
        default=market_chart.AXES[0], required=True,
    )  # fmt: skip
    figure, said = market_chart.sales_map(
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


def _odd(market: Market) -> None:
    model = market.model
    st.header(say("Odd sales"), anchor=False)
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


def _own(draft: Draft, sales: SalesBook, book: Tables) -> None:
    st.header(say("Your sales"), anchor=False)
    if sales.sales:
        table_of_sales(draft, sales, book.settings.currency)
        take_along(draft, sales)
    with st.expander(say("Enter or change a sale")):
        edit_sale(draft, sales, book)


if __name__ == "__main__":
    page()
