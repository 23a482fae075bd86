"""The way from a page to the walk: a link and a code for another device, both with a token for the one visit."""

from __future__ import annotations

import io
from urllib.parse import urlsplit

import segno
import streamlit as st

from valuation.language import say, say_many
from valuation.screens import shop
from valuation.screens.state import Draft, who
from valuation.store.walk_links import DAYS, WalkLinks

_TALL = 860
"""Height of the walk within a page [px]."""


def address(draft: Draft, check: str = "") -> str:
    """Return the address of the walk below the server's name, at a check if one is named; one token a session."""
    key = f"walk_{draft.visit_id}"
    links = _links(draft)
    if key not in st.session_state or not _is_open(links, st.session_state[key]):
        st.session_state[key], _ = links.make(draft.visit_id, who=who(), now=shop.now())
    base = (st.get_option("server.baseUrlPath") or "").strip("/")
    at = f"&c={check}" if check else ""
    return f"{f'/{base}' if base else ''}/walk/#t={st.session_state[key]}{at}"


def lead(draft: Draft) -> None:
    """Draw the way to the walk: here, on another device, or within this page."""
    link(draft)
    with st.expander(say("On a phone or a tablet"), key="walk_elsewhere"):
        st.markdown(
            say(
                "One check a screen, with a camera and a keypad. It goes on without a network; what you enter there is "
                "sent as soon as there is one."
            )
        )
        _elsewhere(draft)
    if st.toggle(say("Enter it here, on this page"), key=draft.key("walk_here")):
        st.iframe(address(draft), height=_TALL)


def link(draft: Draft) -> None:
    """Draw the way to the walk on this device."""
    st.link_button(say("Go to the piano: the walk"), address(draft), type="primary", width="stretch")


def at_check(draft: Draft, check: str, name: str) -> None:
    """Draw the way to one check of the walk."""
    st.link_button(say("Enter it"), address(draft, check), help=name)


def _elsewhere(draft: Draft) -> None:
    place = urlsplit(st.context.url or "")
    whole = f"{place.scheme}://{place.netloc}{address(draft)}"
    if place.hostname in (None, "localhost", "127.0.0.1", "::1"):
        st.markdown(
            say(
                "This page answers on this machine alone. For a phone the server needs an address of its own, by https "
                "so that the walk opens without a network too; the manual tells how."
            )
        )
    else:
        picture = io.BytesIO()
        segno.make(whole, error="m").save(picture, kind="png", scale=6, border=4)
        st.image(picture.getvalue(), alt=say("Code with the link to the walk of this visit"), width=260)
    st.code(whole, language=None, wrap_lines=True)
    st.markdown(
        say("The link lets in to this visit alone, for {days} days. Whoever holds it can enter findings.", days=DAYS)
    )
    links = _links(draft)
    count = len(links.open_of(draft.visit_id, shop.now()))
    st.markdown(say_many("{count} link to this visit is open.", "{count} links to this visit are open.", count))
    st.button(say("End all links to this visit"), key="end_walks", on_click=draft.press,
              args=(links.revoke, draft.visit_id))  # fmt: skip


def _is_open(links: WalkLinks, token: str) -> bool:
    link = links.find(token)
    return link is not None and not link.revoked and link.until > shop.now()


def _links(draft: Draft) -> WalkLinks:
    return WalkLinks(draft.store.store.folder)
