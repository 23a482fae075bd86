"""What is done with people's data: each act once, with word of what came of it."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.report.labels import day_words
from valuation.screens import frame, shop
from valuation.screens.state import close_current, current, fill, held
from valuation.service import people
from valuation.service.people import Holding
from valuation.service.visits import Shop, UserError

_SAID, _TURN = "people_said", "people_turn"
COPIES = "forget_copies"
MOST_SHOWN = 50


def told(store: Shop) -> None:
    """Say what came of the last act, once."""
    said = held(_SAID)
    fill(_SAID, None)
    if isinstance(said, UserError):
        frame.tell(said)
    elif said:
        with st.container(border=True, key="people_said_box"):
            st.text(str(said))
    if store.traces:
        st.text(store.traces)


def act(do: Callable[[], str], found: tuple[str, ...] = (), chosen: tuple[str, ...] = ()) -> None:
    """Do what was asked, and say what came of it; the list of what was chosen begins anew.

    Parameters
    ----------
    do : callable
        Returns what to say.
    found, chosen : tuple of str
        Visits that were listed, and those of them that were ticked, when the button was drawn: what is ticked at the
        tap must be the same.
    """
    if tuple(name for name in found if held(tick(name))) != chosen:
        fill(_SAID, say("What is chosen has just changed: look at it, and tap again."))
        return
    try:
        fill(_SAID, do())
    except UserError as error:
        fill(_SAID, error)
    fill(_TURN, turn() + 1)
    shop.forget_what_is_ready()


def turn() -> int:
    """Return how often something was done: what was ticked begins anew."""
    done = held(_TURN)
    return done if isinstance(done, int) else 0


def tick(visit: str) -> str:
    """Return the key by which a visit is ticked."""
    return f"person_{visit}_{turn()}"


def line(holding: Holding) -> str:
    """Return what is kept of one visit, in a line."""
    said = [
        holding.title,
        holding.client,
        holding.place,
        day_words(holding.day) if holding.day else "",
        say_many("{count} entry", "{count} entries", holding.entries),
        say_many("{count} photo", "{count} photos", holding.photos),
        say_many("{count} paper", "{count} papers", holding.papers),
        say("restricted") if holding.kept_as else "",
    ]
    return " · ".join(filter(None, said))


def forgotten(store: Shop, book: Tables, names: tuple[str, ...]) -> str:
    """Forget people, and return what to say."""
    kept = people.erase(store, names, book, shop.today())
    off_the_table(names)
    said = [say_many("{count} visit was forgotten.", "{count} visits were forgotten.", len(names))]
    if kept:
        said.append(say_many("Of {count} tax law keeps something.", "Of {count} tax law keeps something.", kept))
    if held(f"{COPIES}_{turn()}"):
        _, gone = people.let_old_copies_go(store, shop.today())
        said.append(say_many("{count} older copy was removed.", "{count} older copies were removed.", gone))
    return " ".join(said)


def off_the_table(names: tuple[str, ...]) -> None:
    """Take a visit that is gone off the table."""
    draft = current()
    if draft is not None and draft.visit_id in names:
        close_current()
        st.query_params.clear()
