"""What is kept for longer than needed, by law, restricted, or left over."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.screens import shop
from valuation.screens.people import acts
from valuation.service import people
from valuation.service.visits import Shop


def due(store: Shop, book: Tables) -> None:
    """Draw what nobody needs any more."""
    st.header(say("Kept for longer than needed"), anchor=False)
    names = tuple(one.visit for one in people.due(store, book, shop.today()))
    if not names:
        st.markdown(say("Nothing."))
        return
    st.markdown(say_many("{count} visit", "{count} visits", len(names)))
    with st.expander(say("Which ones"), key="due_ones"):
        for holding in people.holdings(store, names[: acts.MOST_SHOWN]):
            st.text(acts.line(holding))
    sure = st.checkbox(say("I mean it: it can't be undone"), key=f"due_sure_{acts.turn()}")
    st.button(
        say("Forget them all"), key="forget_due", disabled=not sure, on_click=acts.act,
        args=(lambda: acts.forgotten(store, book, names),),
    )  # fmt: skip


def by_law(store: Shop) -> None:
    """Draw what tax law keeps."""
    kept = people.kept_by_law(store)
    if not kept:
        return
    st.header(say("Kept because tax law demands it"), anchor=False)
    for one in kept:
        with st.container(horizontal=True):
            st.text(say("{name}: until {day} ({law})", name=one.name, day=one.until, law=one.law))
            st.download_button(
                say("Hand out"), one.content, f"kept-{one.id[:8]}.zip", "application/zip", key=f"law_{one.id}",
                on_click="ignore",
            )  # fmt: skip


def restricted(store: Shop) -> None:
    """Draw what is kept and used for nothing."""
    found = people.restricted(store)
    if not found:
        return
    st.header(say("Restricted"), anchor=False)
    for holding in found:
        with st.container(horizontal=True):
            st.text(acts.line(holding))
            st.button(
                say("Use it again"), key=f"lift_{holding.visit}", on_click=acts.act,
                args=(lambda name=holding.visit: _lifted(store, name),),
            )  # fmt: skip


def _lifted(store: Shop, name: str) -> str:
    people.lift(store, [name])
    return say("The visit is in use again.")


def left_over(store: Shop) -> None:
    """Draw what is to be cleaned up."""
    st.header(say("Left over"), anchor=False)
    if over := sum(one.until < shop.today().isoformat() for one in people.kept_by_law(store)):
        st.markdown(say_many("{count} job that tax law keeps no longer.", "{count} jobs that tax law keeps no longer.",
                             over))  # fmt: skip
    looked = st.button(say("Look for files that nothing speaks of any more"), key="look_left_over")
    files = people.unspoken_files(store, shop.now()).count if looked else 0
    if looked:
        st.markdown(say_many("{count} file that nothing speaks of any more.",
                             "{count} files that nothing speaks of any more.", files))  # fmt: skip
    if over or files:
        st.button(say("Clean up"), key="clean_up", on_click=acts.act, args=(lambda: _cleaned(store),))


def _cleaned(store: Shop) -> str:
    people.clean(store, shop.now())
    return say("It is cleaned up.")
