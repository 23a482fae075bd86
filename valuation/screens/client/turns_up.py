"""Step 4, what may turn up: a hundred pianos for each way, by what becomes of them."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.talk.turns_up import turns_up
from valuation.screens.client import drawn, place
from valuation.screens.safe import md
from valuation.screens.state import Draft


def show(draft: Draft, wanted: AsWanted) -> None:
    """Draw the step."""
    st.markdown(
        md(say("Think of 100 pianos like yours that all go the same way. Nobody can tell which of them yours will be."))
    )
    ways = place.compared(draft, wanted.case)
    st.html(drawn.hundreds(turns_up(ways, wanted.case)))
