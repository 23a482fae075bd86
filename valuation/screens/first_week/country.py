"""Where the shop works: its money, how it is taxed by kind of line, language, units."""

from __future__ import annotations

import streamlit as st

from valuation.engine.pack import pack_of, said_country
from valuation.engine.rows import Tables, TaxRow
from valuation.language import LANGUAGES, say
from valuation.report.tax_words import tax_label
from valuation.screens import shop
from valuation.screens.first_week.answers import note_said
from valuation.screens.safe import md
from valuation.screens.state import fill, held, session_catching, who
from valuation.service.first_week import say_where
from valuation.service.visits import Shop, UserError

_COUNTRY, _TAX = "first_country", "first_tax"


def section(store: Shop, book: Tables) -> None:
    """Draw what is set, and the fields to set it."""
    st.header(say("Where you work"), anchor=False)
    said = said_country(book)
    if said:
        st.markdown(md(_told(book, store)))
    with st.expander(say("Choose the country"), expanded=not said, key=f"first_where_{said}"):
        names = {row.id: row.name for row in book.countries}
        if held(_COUNTRY) not in names:
            fill(_COUNTRY, said or None)
        chosen = st.pills(say("Country"), list(names), format_func=lambda c: say(names[c]), key=_COUNTRY)
        if chosen:
            _fields(store, book, chosen)


def _told(book: Tables, store: Shop) -> str:
    pack = pack_of(book)
    tax = next(row for row in book.taxes if row.id == book.settings.tax)
    units = say("inches and in-lb") if store.setting("units") == "imperial" else say("mm and N·m")
    return say(
        "{country}. Money: {currency}. Tax: {tax}. Language: {language}. Measures: {units}.",
        country=say(pack.country.name), currency=book.settings.currency,
        tax=tax_label(tax) if tax.shown else say("none is shown"),
        language=LANGUAGES[shop.language_chosen()], units=units,
    )  # fmt: skip


def _fields(store: Shop, book: Tables, chosen: str) -> None:
    row = next(row for row in book.countries if row.id == chosen)
    taxes = {tax.id: tax for tax in book.taxes if tax.country == chosen}
    if held(_TAX) not in taxes:
        usual = [
            name for name, one in taxes.items() if one.shown
        ]  # several where it hangs on the place: nobody's guess
        fill(_TAX, book.settings.tax if book.settings.tax in taxes else usual[0] if len(usual) == 1 else None)
    tax = st.selectbox(
        say("How the shop is taxed"), list(taxes), index=None, format_func=lambda name: say(taxes[name].name), key=_TAX,
        placeholder=say("Choose the place"),
    )  # fmt: skip
    if tax is None:
        return
    rates = _rates(taxes[tax])
    st.markdown(
        say("Then money is {currency}; pages speak {language} and show {units}.", currency=row.currency,
            language=LANGUAGES[row.language],
            units=say("inches and in-lb") if row.units == "imperial" else say("mm and N·m"))
    )  # fmt: skip
    st.button(
        say("We work here"), key="first_here", type="primary", on_click=session_catching().press,
        args=(_take, store, chosen, row.language, row.units),
    )  # fmt: skip
    fill("first_rates", rates)


def _rates(tax: TaxRow) -> dict[str, float]:
    """Draw the rates by kind of line, and return them."""
    if not tax.shown:
        if tax.says:
            st.markdown(md(say("On every paper: {sentence}", sentence=say(tax.says))))
        return {}
    labels = {
        "labour": say("Tax on labour, %"),
        "material": say("Tax on materials, %"),
        "outside": say("Tax on work bought in, %"),
        "resale": say("Tax on a piano sold, %"),
    }
    rates = {}
    with st.container(horizontal=True, key="first_rate_fields"):
        for kind, label in labels.items():
            now = round(100 * getattr(tax, kind), 6)
            shown = st.number_input(label, min_value=0.0, max_value=50.0, value=now, step=0.1, format="%g",
                                    key=f"first_rate_{tax.id}_{kind}")  # fmt: skip
            rates[kind] = round(shown / 100, 8)
    if tax.note:
        st.markdown(md(tax.note))
    return rates


def _take(store: Shop, chosen: str, language: str, units: str) -> None:
    rates = held("first_rates")
    tax = held(_TAX)
    try:
        say_where(
            store, chosen, str(tax), rates if isinstance(rates, dict) else {}, who=who(), on=shop.today(),
            now=shop.now(),
        )  # fmt: skip
    except UserError as error:
        note_said(str(error), wrong=True)
    else:
        store.set_setting("language", language)
        store.set_setting("units", units)
        shop.speak_as_chosen()
        note_said(say("From today the shop works there."))
