"""The shop: who enters, units and language, the demo, one file with everything in it, photos, and the network."""

from __future__ import annotations

import streamlit as st

from valuation.language import LANGUAGES, later, say
from valuation.screens import frame, shop
from valuation.screens.safe import md
from valuation.screens.state import enter_as, held, who
from valuation.service_visits import Shop

_UNITS = {"metric": later("mm and N·m"), "imperial": later("inches and in-lb")}
_SHOP_FACTS = {
    "shop.name": later("Name of the workshop"),
    "shop.address": later("Address"),
    "shop.contact": later("Telephone or e-mail"),
    "shop.second_opinion": later("Who else a client may ask"),
}


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(frame.SHOP)
    store = frame.open_store()
    st.title(say("The shop"), anchor=False)
    _person()
    _settings(store)
    _demo(store)
    _network()
    frame.end(book)


def _person() -> None:
    st.text_input(
        say("Who enters on this device"), value=who(), key="who_enters", live="0.5s",
        on_change=lambda: enter_as(held("who_enters")),
    )  # fmt: skip


def _settings(store: Shop) -> None:
    st.header(say("Words and units"), anchor=False)

    def keep(name: str, key: str) -> None:
        store.set_setting(name, held(key))

    st.pills(
        say("Language"), list(LANGUAGES), format_func=LANGUAGES.get, key="set_language", required=True,
        default=shop.language_chosen(), on_change=keep, args=("language", "set_language"),
    )  # fmt: skip
    st.pills(
        say("Show measures in"), list(_UNITS), format_func=lambda unit: say(_UNITS[unit]), key="set_units",
        required=True, default=store.setting("units") or "metric", on_change=keep, args=("units", "set_units"),
    )  # fmt: skip
    st.header(say("As it stands on what the client gets"), anchor=False)
    for name, label in _SHOP_FACTS.items():
        key = f"set_{name.replace('.', '_')}"
        st.text_input(
            say(label), value=store.setting(name) or "", key=key, max_chars=300, on_change=keep, args=(name, key)
        )


def _demo(store: Shop) -> None:
    st.header(say("The demo shop"), anchor=False)
    if store.has_demo():
        st.markdown(say("The visits of an invented workshop are here, each marked as invented."))
        st.button(
            say("Take the demo away and begin with my own, empty shop"), key="remove_demo", on_click=store.remove_demo
        )
    else:
        st.markdown(say("The demo is not here."))
        st.button(say("Bring the demo in"), key="load_demo", on_click=store.load_demo)


def _network() -> None:
    st.header(say("On the workshop's network"), anchor=False)
    st.markdown(
        say(
            "This tool listens on this machine only. Before others may reach it, set up a sign-in and an encrypted "
            "connection: the README says how, step by step."
        )
    )
    st.markdown(md(say("The data lies in: {place}", place=shop.where_the_data_lies())))


if __name__ == "__main__":
    page()
