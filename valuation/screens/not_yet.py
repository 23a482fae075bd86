"""What a page shows as long as the piano is not evaluated yet: what to look at first, and no verdict and no price."""

from __future__ import annotations

from typing import NoReturn

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.labels import with_capital
from valuation.report.not_yet import look_first
from valuation.report.words import NOT_YET
from valuation.screens import frame, page_list
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft


def evaluated(draft: Draft, book: Tables) -> Appraisal:
    """Return the appraisal of an evaluated piano; of another, draw what comes first, the foot, and stop."""
    found = frame.appraised(draft, book)
    if not found.ready:
        st.markdown(f"**{md(say(NOT_YET))}**")
        instead(found, draft, book)
    return found


def instead(found: Appraisal, draft: Draft, book: Tables) -> NoReturn:
    """Draw what comes first and the foot of the page, and stop."""
    first_looks(found, draft, book)
    frame.end(book)
    st.stop()


def first_looks(found: Appraisal, draft: Draft, book: Tables) -> None:
    """Draw what has to be looked at before there is any verdict, by what has to be open for it."""
    first = look_first(found, draft.visit, book)
    st.header(say("What to look at first"), anchor=False)
    for text in (first.why, first.locked, first.minutes):
        if text:
            st.markdown(md(text))
    st.markdown(bullets(f"**{md(with_capital(s.name))}**: {md('; '.join(s.checks))}" for s in first.stations))
    if st.button(say("Look at it now"), key="enter_next", type="primary"):
        frame.go(page_list.NEXT)
