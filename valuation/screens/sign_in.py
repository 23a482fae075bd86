"""Who uses a page: `valuation.access` has let them in, or nobody gets here, and tells the pages by `st.user`."""

from __future__ import annotations

from urllib.parse import unquote

import streamlit as st

from valuation.access.accounts import Role
from valuation.access.hosts import LOCAL
from valuation.access.setup import has_sign_in
from valuation.language import say
from valuation.screens.state import enter_as


def require_sign_in() -> None:
    """Let a signed-in person through, and whoever is at this machine where no sign-in is set up; stop all others."""
    if has_sign_in():
        if not _told("email"):
            st.title(say("Sign in"), anchor=False)
            st.markdown(say("Visits hold names and addresses of clients: only people of the workshop may see them."))
            st.stop()
        enter_as(_told("name") or _told("email"))
    elif (st.get_option("server.address") or "") not in LOCAL:
        st.title(say("Nobody is let in"), anchor=False)
        st.markdown(
            say(
                "This tool was started for the whole network, but no sign-in is set up, so anybody there could read "
                "the names and addresses of clients. "
                "Set up a sign-in as the manual says, or start it for this machine only."
            )
        )
        st.stop()


def is_signed_in() -> bool:
    """Tell whether the person signed in, so that the name is given and can't be typed."""
    return has_sign_in() and bool(_told("email"))


def role() -> Role:
    """Return as what the person is in: at this machine alone, everybody is the owner."""
    if not has_sign_in():
        return Role.OWNER
    return Role.OWNER if _told("role") == Role.OWNER else Role.TECHNICIAN


def own_session() -> str:
    """Return the id of the session by which the person is in; empty where none is known."""
    return _told("session")


def _told(what: str) -> str:
    return unquote(str(st.user.get(what) or ""))
