"""Starting a visit: one big button, then its kind; everything else may follow, or stay unknown."""

from __future__ import annotations

from uuid import uuid4

import streamlit as st

from valuation.engine.rows import KINDS
from valuation.language import say
from valuation.screens import frame, kit, page_list, shop, visit_list
from valuation.screens.state import device, enter_as, fill, held, session_catching, who
from valuation.service import UserError
from valuation.service.visits import Shop

_STARTING = "starting"
"""Id of the visit that is being started: however often 'Start' is pressed, it is started once."""

_FAULT = "start_fault"


def start(store: Shop) -> None:
    """Draw the button; once pressed, what is needed to start."""
    catching = session_catching()
    with st.container(key="start_now"):
        if not held(_STARTING):
            label = say("Start a visit")
            act = (fill, _STARTING, uuid4().hex)
            st.button(label, key="start", type="primary", width="stretch", on_click=catching.press, args=act)
            return
    with st.container(border=True, key="start_form"):
        st.markdown(say("Which kind it is will do to start with; all else can stay unknown or follow later."))
        kind = st.pills(
            say("Kind of piano"), list(KINDS), format_func=lambda kind: say(kind).capitalize(), key="start_kind"
        )
        unknown = say("may stay empty")
        st.text_input(say("Name of the visit"), key="start_title", live="0.5s", placeholder=unknown)
        st.text_input(say("Where it stands"), key="start_place", live="0.5s", placeholder=unknown)
        st.text_input(
            say("Who is at the piano"), key="start_who", value=who(), live="0.5s", placeholder=say("your name")
        )
        kit.action(
            catching, "start_visit", say("Start"), _begin, store, held(_STARTING), primary=True,
            disabled=kind is None,
        )  # fmt: skip
        if fault := held(_FAULT):
            frame.tell(fault)
            fill(_FAULT, None)


def _begin(store: Shop, visit: str) -> None:
    kind, title, place, name = (
        str(held(f"start_{field}") or "").strip() for field in ("kind", "title", "place", "who")
    )
    enter_as(name)
    word = say(kind).capitalize()
    facts = {
        "title": title or (say("{kind}, {place}", kind=word, place=place) if place else word),
        "date": shop.today().isoformat(),
        "piano.kind": kind,
        "place": place,
        "technician": who(),
    }
    told = {name: value for name, value in facts.items() if value}
    try:
        store.start_visit(told, who=who(), device=device(), now=shop.now(), visit_id=visit)
    except UserError as error:
        fill(_FAULT, error)
        return
    fill(visit_list.PRESSED, (visit, page_list.PIANO))
    fill(_STARTING, None)
