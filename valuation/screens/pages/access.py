"""Access: each browser that was let in, and the means to end it."""

from __future__ import annotations

import os

import streamlit as st

from valuation.access.accounts import Accounts, Role
from valuation.access.setup import accounts
from valuation.language import later, say, say_many
from valuation.report.labels import day_words
from valuation.screens import frame, page_list, shop
from valuation.screens.recorded import clock_words
from valuation.screens.sign_in import own_session
from valuation.store.sessions import Session, Sessions

_ROLES = {Role.OWNER: later("owner"), Role.TECHNICIAN: later("technician")}
_FIRST = 4
"""So many browsers stand there at once, one's own first."""


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.ACCESS)
    st.title(say("Access"), anchor=False)
    let_in = accounts()
    if let_in is None:
        st.markdown(
            say("Whoever opens the address that the start command prints is in, in that browser, as the owner.")
        )
    else:
        st.markdown(say("Only people on the workshop's list are let in; the manual says where it is kept."))
    sessions = Sessions.of(os.environ)
    every = sorted(sessions.all(shop.now()), key=lambda session: session.id != own_session())
    for session in every[:_FIRST]:
        _draw(session, sessions, let_in)
    if rest := every[_FIRST:]:
        with st.expander(say_many("{count} more", "{count} more", len(rest))):
            for session in rest:
                _draw(session, sessions, let_in)
    st.markdown(
        say("Whose access is ended has to come in again; until then nothing can be read or entered on that device.")
    )
    if let_in is not None:
        _draw_list(let_in)
    frame.end(book)


def _draw(session: Session, sessions: Sessions, let_in: Accounts | None) -> None:
    with st.container(border=True, key=f"session_{session.id}"):
        if session.email:
            role = let_in.role_of(session.email) if let_in else None
            as_what = say(_ROLES[role]) if role else say("no longer on the list")
            st.text(f"{session.name} · {session.email} · {as_what}")
        st.text(
            say(
                "since {day}, {time}; until {until}",
                day=day_words(session.began.astimezone().date()),
                time=clock_words(session.began),
                until=day_words(session.until.astimezone().date()),
            )
        )
        if session.browser:
            st.text(session.browser)
        if session.id == own_session():
            st.text(say("This is the browser you are using."))
        st.button(say("End access"), key=f"end_{session.id}", on_click=sessions.end, args=(session.id,))


def _draw_list(let_in: Accounts) -> None:
    st.header(say("People on the list"), anchor=False)
    for role, listed in ((Role.OWNER, let_in.owners), (Role.TECHNICIAN, let_in.people - let_in.owners)):
        for address in sorted(listed):
            st.text(f"{address} · {say(_ROLES[role])}")


if __name__ == "__main__":
    page()
