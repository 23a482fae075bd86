"""A person found: handed out, corrected, restricted, forgotten."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.screens import shop
from valuation.screens.people import acts
from valuation.screens.recorded import FACT_NAMES
from valuation.screens.safe import md
from valuation.screens.state import held, who
from valuation.service import people
from valuation.service.handed_out import hand_out
from valuation.service.people import Holding
from valuation.service.visits import Shop

_FIELD, _VALUE, _GONE = "correct_field", "correct_value", "correct_gone"


def find(store: Shop, book: Tables) -> None:
    """Draw the search, and what can be done with what it finds."""
    st.header(say("Find a person"), anchor=False)
    words = st.text_input(
        say("Name, place, or any words"), key="people_words", live="0.5s", type="search",
        placeholder=say("name, maker, place, client, serial number"),
        help=say("Looked for in everything that was ever entered, also where it was corrected since."),
    )  # fmt: skip
    found = people.find(store, str(words or ""))
    if not found:
        if words:
            st.markdown(say("Nothing is kept in which all these words stand."))
        return
    st.markdown(say_many("{count} visit; choose those of this person.", "{count} visits; choose those of this person.",
                         len(found)))  # fmt: skip
    chosen = []
    for one in found[: acts.MOST_SHOWN]:
        holding = one.holding
        if st.checkbox(md(acts.line(holding)), key=acts.tick(holding.visit)):
            chosen.append(holding)
    if len(found) > acts.MOST_SHOWN:
        st.markdown(say("More are found than shown: add a word."))
    if chosen:
        _acts(store, book, chosen, tuple(one.holding.visit for one in found[: acts.MOST_SHOWN]))


def _acts(store: Shop, book: Tables, chosen: list[Holding], found: tuple[str, ...]) -> None:
    names = tuple(holding.visit for holding in chosen)

    def button(words: str, key: str, act: Callable[..., str], **how: Any) -> None:
        st.button(words, key=key, on_click=acts.act, args=(act, found, names), **how)

    with st.container(border=True, key="people_acts"):
        st.download_button(
            say("Hand out all that is kept"), lambda: _handed_out(store, names), f"data-{shop.today()}.zip",
            "application/zip", key="hand_out", on_click="ignore",
        )  # fmt: skip
        if all(not holding.kept_as for holding in chosen):
            button(say("Restrict: keep it, use it for nothing"), "restrict", lambda: _restrict(store, names))
            if len(names) == 1:
                _correct(store, names[0], button)
        _forget(store, book, names, button)


def _handed_out(store: Shop, names: tuple[str, ...]) -> bytes:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "data.zip"
        hand_out(store, names, path, now=shop.now())
        return path.read_bytes()


def _restrict(store: Shop, names: tuple[str, ...]) -> str:
    people.restrict(store, names)
    acts.off_the_table(names)
    return say_many("{count} visit is restricted.", "{count} visits are restricted.", len(names))


def _correct(store: Shop, visit: str, button: Callable[..., None]) -> None:
    with st.expander(say("Correct"), key="people_correct"):
        st.selectbox(say("What"), people.CORRECTABLE, format_func=lambda name: say(FACT_NAMES[name]), key=_FIELD)
        st.text_area(say("As it should read"), key=f"{_VALUE}_{acts.turn()}")
        st.checkbox(say("What stood there before was wrong, and goes for good"), key=f"{_GONE}_{acts.turn()}")
        button(say("Correct it"), "correct", lambda: _corrected(store, visit))


def _corrected(store: Shop, visit: str) -> str:
    """Correct a field as its widgets stand at the tap: the run that drew the button may know less."""
    field, value, gone = held(_FIELD), held(f"{_VALUE}_{acts.turn()}"), held(f"{_GONE}_{acts.turn()}")
    people.correct(store, visit, str(field), str(value or ""), forget_earlier=bool(gone), who=who(), now=shop.now())
    return say("It is corrected.")


def _forget(store: Shop, book: Tables, names: tuple[str, ...], button: Callable[..., None]) -> None:
    st.markdown(
        say(
            "Forgetting takes out names, places, contacts, stories, notes, wishes, photos and papers, everywhere and "
            "for good. What taught the tables stays without a name; what tax law demands of an agreed job is set apart."
        )
    )
    sure = st.checkbox(say("I mean it: it can't be undone"), key=f"forget_sure_{acts.turn()}")
    st.checkbox(
        say("Remove older copies of the data, too, once a fresh one is made and checked"),
        key=f"{acts.COPIES}_{acts.turn()}",
    )
    with st.container(horizontal=True):
        button(
            say("Forget this person"), "forget", lambda: acts.forgotten(store, book, names), type="primary",
            disabled=not sure,
        )  # fmt: skip
        if len(names) == 1:
            button(
                say("The visit was a mistake: throw it away"), "throw_away",
                lambda: _thrown_away(store, book, names[0]), disabled=not sure,
            )  # fmt: skip


def _thrown_away(store: Shop, book: Tables, name: str) -> str:
    people.throw_away(store, name, book, shop.today())
    acts.off_the_table((name,))
    return say("The visit is thrown away.")
