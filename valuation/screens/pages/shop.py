"""The shop: who enters, units and language, the demo, one file with everything in it, photos, and the network."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.report.figure_words import unsaid_words
from valuation.screens import backups, frame, kit, page_list, shop, shop_settings
from valuation.screens.everything import everything
from valuation.screens.safe import md
from valuation.screens.sign_in import is_signed_in
from valuation.screens.state import enter_as, held, session_catching, who
from valuation.service.backups import state as backup_state
from valuation.service.visits import Shop

_COPIES = later("Copies of your data")


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.SHOP)
    store = frame.open_store()
    st.title(say("The shop"), anchor=False)
    _person()
    _not_set_yet(book)
    shop_settings.words_and_units(store)
    sections = {
        later("As it stands on what the client gets"): lambda: shop_settings.on_papers(store, book),
        later("The demo shop"): lambda: _demo(store),
        _COPIES: lambda: backups.section(store),
        later("Everything in one file"): lambda: everything(store, book),
        later("Photos"): lambda: _photos(store),
        later("On the workshop's network"): _network,
    }
    late = backup_state(store, shop.today()).late
    for title, draw in sections.items():
        with st.expander(say(title), expanded=late and title == _COPIES):
            draw()
    frame.end(book)


def _person() -> None:
    if is_signed_in():
        return
    session_catching().watch("who_enters", who(), lambda: enter_as(held("who_enters")))
    st.text_input(say("Who enters on this device"), key="who_enters", live="0.5s")


def _not_set_yet(book: Tables) -> None:
    """Name the figures that matter most and that are still those that the tool ships with."""
    with st.container(key="not_set_yet"):
        if told := unsaid_words(book, shop.today()):
            st.markdown(md(told))
            if st.button(say("Set the shop's country and its own figures"), key="begin_first_week"):
                frame.go(page_list.FIRST_WEEK)


def _demo(store: Shop) -> None:
    if store.has_demo():
        st.markdown(say("The visits of an invented workshop are here, each marked as invented."))
        kit.ask(
            session_catching(), "remove_demo", say("Take the demo away"),
            say("Take all invented visits away, with what was entered in them? Your own visits stay."),
            say("Yes, take them away"), store.remove_demo,
        )  # fmt: skip
    else:
        st.markdown(say("The demo is not here."))
        kit.action(session_catching(), "load_demo", say("Bring the demo in"), store.load_demo)


def _photos(store: Shop) -> None:
    if not st.button(say("Look whether all photos are there and whole"), key="look_at_photos"):
        return
    with kit.working() as heard:
        report = store.photo_report(heard)
    st.markdown(say("{count} photos looked at.", count=report.checked))
    if not report.lost:
        st.markdown(say("All photos are there and whole."))
    for photo in report.lost:
        titles = ", ".join(title for _, title in photo.visits)
        what = say("damaged") if photo.damaged else say("missing")
        st.text(say("{what}: {file} of {visits}", what=what, file=f"{photo.hash[:16]}.jpg", visits=titles))


def _network() -> None:
    st.markdown(
        say(
            "This tool listens on this machine only. Before others may reach it, set up a sign-in and an encrypted "
            "connection: the manual says how, step by step."
        )
    )
    st.markdown(md(say("The data lies in: {place}", place=shop.where_the_data_lies())))


if __name__ == "__main__":
    page()
