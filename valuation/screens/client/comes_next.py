"""What comes next for a piano that is not evaluated yet: what has still to be looked at, and no way and no price."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.talk.comes_next import comes_next
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft


def show(draft: Draft, wanted: AsWanted) -> None:
    """Draw the step."""
    del draft
    told = comes_next(wanted.case)
    for text in told.why:
        st.markdown(md(text))
    st.header(md(say("What we have to look at first")), anchor=False)
    st.markdown(bullets(map(md, told.looks)))
    for text in told.after:
        st.markdown(md(text))
