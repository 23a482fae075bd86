"""What was found so far, and the way to the walk. The verdict stays hidden until asked for: clients look over."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from valuation.drawing import draw, in_words
from valuation.engine.appraised_advice import CautionResult
from valuation.engine.appraised_condition import FindingResult
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.checks import states_seen
from valuation.report.not_yet import look_first
from valuation.report.words import clarity_sentence, settle_sentence, verdict_sentence
from valuation.screens import frame, page_list, walk_door
from valuation.screens.entered import entered
from valuation.screens.safe import md
from valuation.screens.saved import saved_line
from valuation.screens.state import Draft
from valuation.service import write_visit_text


def page() -> None:
    """Draw the page."""
    draft, book = frame.before_drawing(page_list.INSPECT)
    found, stops = frame.seen_so_far(draft, book)
    frame.head(page_list.INSPECT, draft)
    st.title(say("Inspect"), anchor=False)
    saved_line(draft, book)
    with st.container():  # always there: what comes and goes above a widget would take a tap on it back
        _stops(stops)
    walk_door.lead(draft)
    _picture(draft, found, book)
    entered(draft, found, book)
    _elsewhere(draft, book)
    _peek(draft, book)
    frame.end(book)


def _picture(draft: Draft, found: Sequence[FindingResult], book: Tables) -> None:
    """Draw the piano with how each part looks by what was found."""
    kind = draft.visit.piano.kind
    states = states_seen(found, book, draft.visit)
    names = {part.id: say(part.called or part.name) for part in book.parts if part.id in states}
    st.image(draw(kind, states, names=names), alt=in_words(kind, states, names), width=390)


def _stops(stops: Sequence[CautionResult]) -> None:
    for caution in stops:
        with st.container(key=f"stop_{caution.caution}"):
            st.markdown(f"**{say('STOP.')}** {md(say(caution.text))}")


def _elsewhere(draft: Draft, book: Tables) -> None:
    with st.container(horizontal=True):
        if st.button(say("Check next"), key="to_check_next"):
            frame.go(page_list.NEXT)
        if st.button(say("Type in a form"), key="to_type_in"):
            frame.go(page_list.TYPE_IN)
        st.download_button(
            say("Download the visit file"), lambda: write_visit_text(draft.visit, book), f"{draft.name}.toml",
            "application/toml", key="keep_visit", on_click="ignore",
        )  # fmt: skip


def _peek(draft: Draft, book: Tables) -> None:
    if st.toggle(say("Show the verdict"), key=draft.key("peek")):
        found = frame.appraised(draft, book)
        with st.container(border=True, key="peeked"):
            st.markdown(f"**{md(verdict_sentence(found))}**")
            if found.ready:
                st.markdown(md(clarity_sentence(found)))
                st.markdown(md(settle_sentence(found)))
            else:
                st.markdown(md(look_first(found, draft.visit, book).minutes))


if __name__ == "__main__":
    page()
