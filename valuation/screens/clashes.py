"""Two people entered different things without seeing each other's: both are shown, one tap settles it."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say
from valuation.screens import shop
from valuation.screens.recorded import clock_words, value_words
from valuation.screens.safe import md
from valuation.screens.state import Draft, device, who
from valuation.service.visits import StoreError


def settle(draft: Draft, field: str, book: Tables) -> None:
    """Draw both answers of a field on which two people differ, each with who gave it and when; else nothing."""
    entries = draft.recorded.clashes.get(field, ())
    if not entries:
        return
    with st.container(key=draft.key(f"clash_{field.replace('.', '_')}")):
        st.markdown(f"**{say('Two people entered different things here. Which holds?')}**")
        for entry in entries:
            by = entry.who or say("somebody")
            words = value_words(draft.visit, field, entry.value, book, draft.system)
            label = say("{words}: {who}, {time}", words=words, who=by, time=clock_words(entry.at))
            key = draft.key(f"settle_{field.replace('.', '_')}_{entry.id}")
            st.button(md(label), key=key, on_click=draft.press, args=(_settle, draft, field, entry.id))


def _settle(draft: Draft, field: str, chosen: str) -> None:
    try:
        draft.store.settle(draft.visit_id, field, chosen, who=who(), device=device(), now=shop.now())
        draft.read(draft.book)
    except StoreError as error:
        draft.said = str(error)
