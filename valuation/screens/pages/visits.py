"""The first page: what this is for, a visit to start, and the visits that there are."""

from __future__ import annotations

from uuid import UUID, uuid5

import streamlit as st

from valuation.engine.pack import said_country
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import say
from valuation.screens import backups, frame, kit, page_list, shop, start_visit, visit_list
from valuation.screens.state import device, fill, held, session_catching, who
from valuation.service import UserError, read_visit_bytes
from valuation.service.visits import Shop

_FILES = UUID("5f4b8b0e-6f0a-4c7e-9a55-0c6b4f6d2a17")
"""Drawn once; with it a file that was put in is the same visit however often it is stored."""


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.FIRST)
    store = frame.open_store()
    visit_list.go_where_pressed(store, book)
    st.title(say("Is an old piano worth it?"), anchor=False)
    st.markdown(
        say("Go through it at the piano. You get its condition, what work costs, what it is worth, a verdict that says "
            "why, and the papers for the client.")
    )  # fmt: skip
    start_visit.start(store)
    backups.tell_if_late(store)
    _first_week(book)
    visit_list.latest_or_found(store, book)
    if box := kit.folded("open_file", say("Open a visit file")):
        with box:
            _upload(store, book)
    _demo_shop(store)
    frame.end(book)


def _first_week(book: Tables) -> None:
    """Lead an owner to the first week as long as nobody has said where the shop works."""
    if said_country(book) or not frame.may_open(page_list.FIRST_WEEK):
        return
    with st.container(key="to_first_week"):
        st.markdown(say("The tables still hold what the tool ships with."))
        if st.button(say("Set the shop's country and its own figures"), key="begin_first_week"):
            frame.go(page_list.FIRST_WEEK)


def _demo_shop(store: Shop) -> None:
    """Say that the demo is invented; it goes only after a question, and comes back by a tap."""
    catching = session_catching()
    if store.has_demo():
        with st.container(key="mark", gap="small"):
            st.markdown(
                f"**{say('Invented demo data')}**: "
                + say("an invented workshop in an invented town; nothing here is a real piano.")
            )
            kit.ask(
                catching, "remove_demo", say("Take the demo away"),
                say("Take all invented visits away, with what was entered in them? Your own visits stay."),
                say("Yes, take them away"), _remove_demo, store,
            )  # fmt: skip
    elif held("demo_gone"):
        with st.container(key="mark", horizontal=True, vertical_alignment="center"):
            st.markdown(say("The demo is gone."))
            kit.action(catching, "demo_back", say("Bring it back"), store.load_demo)


def _remove_demo(store: Shop) -> None:
    store.remove_demo()
    fill("demo_gone", True)


def _upload(store: Shop, book: Tables) -> None:
    file = st.file_uploader(
        say("A visit file (TOML, as the manual describes)"), type=["toml"], key="visit_file", max_upload_size=1
    )
    if file is None:
        return
    try:
        read = read_visit_bytes(file.getvalue(), file.name, book, shop.today())
    except UserError as error:
        frame.tell(error)
        return
    with st.container(border=True, key="read_well"):
        st.text(say("{file}: read without a fault. {title}", file=file.name, title=read.title))
        kit.action(
            session_catching(), "open_upload", say("Store it as a visit"), _take_in, store, read, file.file_id,
            primary=True,
        )  # fmt: skip


def _take_in(store: Shop, read: Visit, file: str) -> None:
    """Store a file as a visit: however often that is pressed, once for each file that was put in."""
    visit = uuid5(_FILES, file).hex
    store.import_visit(read, who=who(), device=device(), now=shop.now(), visit_id=visit)
    fill(visit_list.PRESSED, (visit, page_list.VERDICT))


if __name__ == "__main__":
    page()
