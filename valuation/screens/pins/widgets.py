"""What the fields of the page of tuning pins share: a choice that is kept, and how a fault is told."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.readings.pins import TORQUE
from valuation.screens.safe import md
from valuation.screens.state import Draft, held

FIELD = f"finding.{TORQUE}"
"""Where the readings stand in the store."""


def choose(draft: Draft, name: str, label: str, choices: dict[str, str], usual: str, *, bare: bool = False) -> str:
    """Ask for one of some choices, ids and their words; it stays when the page is left.

    Parameters
    ----------
    bare : bool
        The label is for those alone who don't see the page.
    """
    key = draft.key(name)
    draft.watch(key, draft.typed.get(key, usual), keep, draft, key)
    chosen = st.pills(label, list(choices), format_func=lambda one: choices.get(one, ""), key=key, required=True,
                      label_visibility="collapsed" if bare else "visible")  # fmt: skip
    return chosen or usual


def keep(draft: Draft, key: str) -> None:
    """Keep what a widget holds with the draft."""
    draft.typed[key] = held(key) or ""


def tell(draft: Draft, name: str, fault: str) -> None:
    """Tell what could not be taken down, and that what was entered before still counts."""
    with st.container(key=draft.key(f"fault_pins_{name}")):
        st.markdown(say("**Not taken down:** {fault}. What was entered before still counts.", fault=md(fault)))
