"""Step 5, what we don't know."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from valuation.language import say
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.talk.not_known import not_known
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft


def show(draft: Draft, wanted: AsWanted) -> None:
    """Draw the step."""
    del draft
    told = not_known(wanted.case)
    with st.container(key="unknown"):
        left, right = st.columns(2, gap="medium")
        with left:
            _told(say("What nobody has seen"), (*told.unseen, told.look))
            _told(say("How sure the figures are"), told.sure)
        with right:
            _told(say("Where they come from"), told.from_where)
            _told(say("Who says this"), told.who)


def _told(heading: str, sentences: Sequence[str]) -> None:
    st.header(md(heading), anchor=False)
    st.markdown(bullets(md(text) for text in sentences if text))
