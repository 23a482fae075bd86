"""Who may come in. On this machine alone nobody is asked; on a network everybody signs in first, or nobody comes in."""

from __future__ import annotations

import streamlit as st
from streamlit.errors import StreamlitSecretNotFoundError

from valuation.language import say
from valuation.screens.state import enter_as

_THIS_MACHINE = ("127.0.0.1", "localhost", "::1")
_PROVIDER = "auth"
"""Section of Streamlit's secrets that names the workshop's OpenID provider."""


def require_sign_in() -> None:
    """Let a signed-in person through, and anybody at this machine where no sign-in is set up; stop all others."""
    if _is_set_up():
        if not st.user.is_logged_in:
            st.title(say("Sign in"), anchor=False)
            st.markdown(say("Visits hold names and addresses of clients: only people of the workshop may see them."))
            st.button(say("Sign in"), key="sign_in", type="primary", on_click=st.login)
            st.stop()
        enter_as(str(st.user.get("name") or st.user.get("email") or ""))
    elif (st.get_option("server.address") or "") not in _THIS_MACHINE:
        st.title(say("Nobody is let in"), anchor=False)
        st.markdown(
            say(
                "This tool was started for the whole network, but no sign-in is set up, so anybody there could read "
                "the names and addresses of clients. "
                "Set up a sign-in as the README says, or start it for this machine only."
            )
        )
        st.stop()


def is_signed_in() -> bool:
    """Tell whether the person signed in, so that the name is given and can't be typed."""
    return _is_set_up() and bool(st.user.is_logged_in)


def _is_set_up() -> bool:
    try:
        return _PROVIDER in st.secrets
    except StreamlitSecretNotFoundError:
        return False
