"""The row that stays on every page: where one can go at a tap, and all else behind one menu."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from html import escape
from pathlib import Path

import streamlit as st

from valuation.language import language, say
from valuation.screens.own_files import LANDMARKS
from valuation.screens.safe import md
from valuation.screens.sign_in import is_signed_in
from valuation.screens.state import who

Pages = Mapping[str, str]
"""File of each page and its name in English."""


def mark_place(here: str, step: str, ways: str = "") -> None:
    """Say where one stands and in which language, for `landmarks.js`, which tells those who don't see the page.

    Parameters
    ----------
    here, step : str
        See `valuation.screens.frame.head`.
    ways : str
        What the row of ways or steps is called, if not the way about.
    """
    told = {"here": Path(here).stem, "step": step, "language": language(), "ways": ways or say("The way about")}
    marks = " ".join(f'data-{name}="{escape(value, quote=True)}"' for name, value in told.items())
    with st.container(key="here"):
        choose = f'<style>:root {{ --choose-a-file: "{say("Choose a file")}"; }}</style>'  # see page.css
        st.html(
            f'<span {marks}></span>{choose}<script type="module" src="{LANDMARKS}"></script>',
            unsafe_allow_javascript=True,
        )  # fmt: skip


def draw(here: str, near: Pages, far: Mapping[str, Pages], go: Callable[[str], object]) -> None:
    """Draw the row.

    Parameters
    ----------
    here : str
        File of this page.
    near : mapping
        The pages in the row.
    far : mapping
        The pages behind the menu, by a heading; what has none isn't drawn.
    go : callable
        Goes to a page.
    """
    with st.container(horizontal=True, key="way", gap="small"):
        for path, title in near.items():
            _way(path, title, here, go)
        with st.popover(say("Menu"), key="way_more"):
            for index, (heading, ways) in enumerate(far.items()):
                if not ways:
                    continue
                st.markdown(f"**{md(heading)}**")
                with st.container(horizontal=True, key=f"ways_{index}"):
                    for path, title in ways.items():
                        _way(path, title, here, go)
            if is_signed_in():
                st.text(say("Signed in as {name}", name=who()))
                st.button(say("Sign out"), key="sign_out", on_click=st.logout)


def _way(path: str, title: str, here: str, go: Callable[[str], object]) -> None:
    pressed = st.button(say(title), key=f"go_{Path(path).stem}", type="primary" if path == here else "secondary")
    if pressed and path != here:
        go(path)
