"""Our tables: the shop's prices and all else it knows, changed, looked at, put in force and taken back."""

from __future__ import annotations

import streamlit as st

from valuation.language import later, say
from valuation.report.table_names import table_name
from valuation.screens import frame, kit, page_list, shop
from valuation.screens.our_tables import versions
from valuation.screens.our_tables.draft_box import draft_box
from valuation.screens.our_tables.force import effect, taken_back
from valuation.screens.our_tables.prices import prices
from valuation.screens.our_tables.table import whole_table
from valuation.screens.state import held
from valuation.service.tables_draft import draft_of
from valuation.service.tables_prices import DATED

_VIEWS = {"prices": later("Prices by the day"), "all": later("All tables"), "versions": later("Versions")}
_PRICED = tuple(table for table in DATED if table != "bands")
"""Tables with few prices; the bands are many, and are seen better as a whole."""


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.TABLES)
    store = frame.open_store()
    seen = shop.tables_in_force()
    drafted = draft_of(store.store, seen)
    st.title(say("Our tables"), anchor=False)
    with st.container(key="tables_head"):
        if said := held(versions.SAID):
            with st.container(border=True, key="tables_said_box"):
                st.text(said)
                taken_back(store)
        versions.in_force(seen)
        versions.waiting(store, seen)
    view = kit.view("tables_view", say("What is shown"), {name: say(words) for name, words in _VIEWS.items()}, "prices")
    if view == "versions":
        versions.versions(store, seen)
    elif view == "prices":
        names = {table: table_name(table) for table in _PRICED}
        prices(store, drafted, kit.view("tables_priced", say("Table"), names, _PRICED[0]))
    else:
        whole_table(store, drafted)
    draft_box(store, drafted)
    effect(store, drafted)
    frame.end(book)


if __name__ == "__main__":
    page()
