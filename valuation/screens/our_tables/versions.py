"""Which tables are in force, what was before, and the way back."""

from __future__ import annotations

from datetime import date

import streamlit as st

from valuation.language import say
from valuation.report.labels import day_words, short_day
from valuation.screens import shop
from valuation.screens.recorded import clock_words
from valuation.screens.safe import bullets, md
from valuation.screens.state import fill, held, session_catching, who
from valuation.service import UserError
from valuation.service.shop_tables import BROUGHT, COUNTS, InForce, TablesChange, go_back, history, take_back
from valuation.service.visits import Shop

SAID = "tables_said"


def in_force(seen: InForce) -> None:
    """Say which tables are in force, which wait, and which are set aside."""
    if seen.change is None:
        st.markdown(say("The tables that the tool ships with are in force: their prices are **invented**. Make them "
                        "yours here."))  # fmt: skip
    else:
        st.markdown(md(say("In force: {tables}", tables=_told(seen.change))))
    if seen.added:
        told = say("This version of the tool added to them, from the tables it ships with: {names}.",
                   names=", ".join(seen.added))  # fmt: skip
        st.markdown(md(told))
    if seen.set_aside:
        with st.container(border=True, key="fault_set_aside"):
            st.markdown(f"**{say('Set aside, since they can not be read:')}**")
            st.markdown(bullets(md(f"{_told(aside.change)}: {aside.why}") for aside in seen.set_aside))
            st.markdown(say("Nothing of them is lost. Put others in force, or have the tool of then open them."))


def waiting(store: Shop, seen: InForce) -> None:
    """Say what is to be in force from a later day, and let that be taken back."""
    if seen.waiting is None:
        return
    with st.container(border=True, key="tables_waiting"):
        st.markdown(
            md(say("From {day} on: {tables}", day=day_words(seen.waiting.from_day), tables=_told(seen.waiting)))
        )
        st.button(
            say("Take them back"), key="take_back", on_click=session_catching().press,
            args=(_take_back, store, seen.waiting),
        )  # fmt: skip


def versions(store: Shop, seen: InForce) -> None:
    """Draw all that was put in force, the latest first, each to be put in force again."""
    changes = history(store.store)
    st.header(say("Versions of the tables"), anchor=False)
    if not changes:
        st.markdown(say("These are the first; nothing has been replaced yet."))
        return
    why = st.text_input(say("Why go back"), key="back_why", placeholder=say("it is kept with them"), live="0.5s")
    for change in reversed(changes):
        with st.container(horizontal=True, vertical_alignment="center", key=f"version_{change.id[:12]}"):
            st.text(_told(change))
            if change.hash != seen.tables.hash and change != seen.waiting:
                st.button(
                    say("Put these in force again"), key=f"back_{change.id[:12]}", disabled=not why.strip(),
                    on_click=session_catching().press, args=(_back, store, change, seen),
                )  # fmt: skip


def _told(change: TablesChange) -> str:
    """Return in one line which tables these are: why, by whom, when, from which day, and their mark."""
    made = f"{short_day(change.at.astimezone().date())} {clock_words(change.at)}"
    by = f"{change.who}, {made}" if change.who else made
    day = "" if change.from_day == date.min else say("from {day}", day=short_day(change.from_day))
    states = {COUNTS: day, BROUGHT: say("came in with an import, never in force here")}
    state = states.get(change.state, say("taken back before their day"))
    return " · ".join(filter(None, (say(change.why), by, state, change.hash[:8])))


def _take_back(store: Shop, change: TablesChange) -> None:
    try:
        take_back(store.store, change, today=shop.today())
        fill(SAID, say("They are taken back; what is in force stays."))
    except UserError as error:
        fill(SAID, str(error))


def _back(store: Shop, change: TablesChange, seen: InForce) -> None:
    try:
        go_back(
            store.store, change, seen=seen, today=shop.today(), who=who(), why=str(held("back_why") or ""),
            now=shop.now(),
        )  # fmt: skip
        fill(SAID, say("The tables {name} are in force again; those before are kept.", name=change.hash[:8]))
    except UserError as error:
        fill(SAID, str(error))
