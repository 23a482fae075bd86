"""Step 3, the ways: two or three side by side at a time, by the same rows."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.report.client_words import way_name
from valuation.report.conversation import by_hand_words
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.talk.side_by_side import further_sides, side_by_side
from valuation.report.ways import jobs_of
from valuation.screens import kit
from valuation.screens.client import drawn, place
from valuation.screens.hand_changes import by_hand
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft


def show(draft: Draft, wanted: AsWanted) -> None:
    """Draw the step."""
    case = wanted.case
    st.markdown(md(say("There are five. No one of them is right for everybody. Up to three stand side by side.")))
    ways = place.compared(draft, case)
    told = side_by_side(ways, wanted)
    st.html(drawn.side_by_side(told))
    with st.container(key="small_print"):
        st.markdown(md(told.note))
    changes = by_hand(draft)
    with st.container():
        if changes:
            st.markdown(
                bullets(
                    md(by_hand_words(case.part_name(part), level, reason))
                    for part, (level, reason) in changes.items()
                    if part in case.parts
                )
            )
    if box := kit.folded(draft.key("jobs"), say("More on these ways: each job, and further sides")):
        with box:
            for way in ways:
                if way in case.prospects:
                    st.markdown(f"**{md(way_name(way))}**")
                    st.markdown(bullets(md(text) for text in (*jobs_of(way, case), *further_sides(way, case))))
