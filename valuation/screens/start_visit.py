"""Starting a visit: one big button, then its kind; everything else may follow, or stay unknown."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import KINDS, Tables
from valuation.language import say
from valuation.screens import frame, page_list, shop
from valuation.screens.state import device, enter_as, fill, held, make_current, who
from valuation.service import UserError
from valuation.service.visits import Shop

_STARTING = "starting"


def start(store: Shop, book: Tables) -> None:
    """Draw the button; once pressed, what is needed to start."""
    with st.container(key="start_now"):
        if not held(_STARTING):
            label = say("Start a visit")
            st.button(label, key="start", type="primary", width="stretch", on_click=fill, args=(_STARTING, True))
            return
    with st.container(border=True, key="start_form"):
        st.markdown(say("Which kind it is will do to start with; all else can stay unknown or follow later."))
        kind = st.pills(
            say("Kind of piano"), list(KINDS), format_func=lambda kind: say(kind).capitalize(), key="start_kind"
        )
        unknown = say("may stay empty")
        title = st.text_input(say("Name of the visit"), key="start_title", live="0.5s", placeholder=unknown)
        place = st.text_input(say("Where it stands"), key="start_place", live="0.5s", placeholder=unknown)
        name = st.text_input(
            say("Who is at the piano"), key="start_who", value=who(), live="0.5s", placeholder=say("your name")
        )
        if st.button(say("Start"), key="start_visit", type="primary", disabled=kind is None):
            enter_as(name)
            _begin(str(kind), title.strip(), place.strip(), store, book)


def _begin(kind: str, title: str, place: str, store: Shop, book: Tables) -> None:
    word = say(kind).capitalize()
    facts = {
        "title": title or (say("{kind}, {place}", kind=word, place=place) if place else word),
        "date": shop.today().isoformat(),
        "piano.kind": kind,
        "place": place,
        "technician": who(),
    }
    try:
        visit = store.start_visit(
            {name: value for name, value in facts.items() if value}, who=who(), device=device(), now=shop.now()
        )
    except UserError as error:
        frame.tell(error)
        return
    fill(_STARTING, False)
    make_current(visit, store, book)
    frame.go(page_list.PIANO)
