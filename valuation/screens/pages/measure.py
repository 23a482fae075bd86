"""What was measured: figures, what they say and what not, and over into the findings."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.screens import frame, page_list
from valuation.screens.measure_fields import SUBJECTS
from valuation.screens.measured import show_reading
from valuation.screens.pins.widgets import keep
from valuation.screens.safe import md
from valuation.service import UserError

_HERE = f"{page_list.FOLDER}/measure.py"


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    st.title(say("Measurements"), anchor=False)
    st.markdown(
        say(
            "What was measured, what it says, and what it doesn't. "
            "Taken over as a finding it is graded by the cut points of the tables, like any other check."
        )
    )
    key = draft.key("measured")
    draft.watch(key, draft.typed.get(key, next(iter(SUBJECTS))), keep, draft, key)
    chosen = st.pills(say("What was measured"), list(SUBJECTS), format_func=say, key=key, required=True)
    subject = chosen or next(iter(SUBJECTS))
    st.header(say(subject), anchor=False)
    try:
        reading = SUBJECTS[subject](draft, book)
    except UserError as error:
        with st.container(border=True, key="fault_measure"):
            for problem in error.problems:
                st.markdown(say("**Not read:** {problem}", problem=md(problem)))
    else:
        if reading is not None:
            show_reading(draft, reading, book)
    frame.end(book)


if __name__ == "__main__":
    page()
