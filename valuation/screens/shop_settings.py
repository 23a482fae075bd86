"""What the shop has set: language, units, and what of it stands on papers."""

from __future__ import annotations

import streamlit as st

from valuation.engine.pack import barred, pack_of
from valuation.engine.rows import Tables
from valuation.language import LANGUAGES, later, say
from valuation.report.labels import listed
from valuation.report.paper_words import UNIT_NAMES
from valuation.screens import shop
from valuation.screens.safe import md
from valuation.screens.state import held, session_catching
from valuation.service.visits import Shop

_SHOP_FACTS = {
    "shop.name": later("Name of the workshop"),
    "shop.address": later("Address"),
    "shop.contact": later("Telephone or e-mail"),
    "shop.town": later("Town from which a letter is dated"),
    "shop.fee": later("What a visit costs, and whether it counts towards work"),
    "shop.second_opinion": later("Who else a client may ask"),
    "shop.terms": later("In which steps a job is paid"),
    "shop.warranty": later("Warranty on the work"),
    "shop.takers": later("Who takes old pianos near you"),
    "shop.qualification": later("What whoever evaluates has learned"),
}


def words_and_units(store: Shop) -> None:
    """Draw the language and the units."""
    st.header(say("Words and units"), anchor=False)
    language = _kept(store, "language", shop.language_chosen())
    units = _kept(store, "units", store.setting("units") or "metric")
    st.pills(
        say("Language"), list(LANGUAGES), format_func=lambda one: LANGUAGES.get(one, one), key=language, required=True
    )
    st.pills(
        say("Show measures in"),
        list(UNIT_NAMES),
        format_func=lambda unit: say(UNIT_NAMES[unit]),
        key=units,
        required=True,
    )


def on_papers(store: Shop, book: Tables) -> None:
    """Draw what of the shop stands on its papers."""
    for name, label in _SHOP_FACTS.items():
        key = _kept(store, name, store.setting(name) or "")
        typed = st.text_input(say(label), key=key, max_chars=300)
        if words := barred(typed, book):
            st.markdown(
                say("No paper of a workshop may bear this in {country}: {words}.",
                    country=say(pack_of(book).country.name), words=md(listed(words)))
            )  # fmt: skip


def _kept(store: Shop, name: str, content: str) -> str:
    """Have a setting of the shop kept as its widget says; return the widget's key."""
    key = f"set_{name.replace('.', '_')}"
    session_catching().watch(key, content, lambda: store.set_setting(name, held(key)))
    return key
