"""The verdict on one screen: the sentence, the drawing, the ways side by side, three reasons, what to look at next."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import Reason
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.format import money
from valuation.report.labels import in_sentence, place_name
from valuation.report.words import check_sentence, clarity_sentence, reason_in_short, settle_sentence, verdict_sentence
from valuation.screens import frame, glance, hand_changes_shown, not_yet, page_list, scopes_shown, verdict_deeper
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft

_HERE = page_list.VERDICT
_REASONS = 3


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    found = frame.appraised(draft, book)
    kind = draft.visit.piano.kind
    st.title(md(verdict_sentence(found)), anchor=False)
    if found.ready:
        with st.container(key="clarity"):
            st.markdown(md(clarity_sentence(found)))
    glance.stops(found)
    picture, words = st.columns([4, 5], gap="medium")
    with picture:
        glance.drawing(found, kind, book)
    with words, st.container(key="answer", gap="small"):
        if found.ready:
            _answer(found, draft, book)
        else:
            not_yet.first_looks(found, draft, book)
            verdict_deeper.take_visit(draft, book)
    if found.ready:
        verdict_deeper.more(found, draft, book)
    frame.end(book)


def _answer(found: Appraisal, draft: Draft, book: Tables) -> None:
    glance.side_by_side(found, book)
    hand_changes_shown.told(draft, found)
    if said := frame.prices_from(draft, book):
        st.markdown(md(said))
    scopes_shown.beside(found)
    st.header(say("Why"), anchor=False)
    weighed = [reason for reason in found.reasons if reason.code != "stop_rule"][:_REASONS]
    st.markdown(
        bullets(_reason(reason, found) for reason in weighed) or md(say("There is nothing to weigh it against."))
    )
    _next(found, draft)


def _reason(reason: Reason, found: Appraisal) -> str:
    """Return a reason in a few words, and on which side it stands; the whole sentences are one tap deeper."""
    ours = reason.speaks_for == found.verdict
    what = in_sentence(reason_in_short(reason, found))
    amount = md(money(reason.weight, found.currency))
    return (
        say("**For it**: {what}, {amount}", what=md(what), amount=amount)
        if ours
        else say("**Against it**: {what}, {amount}", what=md(what), amount=amount)
    )


def _next(found: Appraisal, draft: Draft) -> None:
    st.header(say("What to look at next"), anchor=False)
    worth = [] if found.stop_looking else [c for c in found.next_checks if c.gain >= 1 or c.swing >= 1]
    if not worth:
        st.markdown(md(settle_sentence(found)))
        return
    st.markdown(md(check_sentence(worth[0], found)))
    place = in_sentence(place_name(worth[0].access))
    if st.button(say("Look at it: {place}", place=place), key="enter_next"):
        draft.stand_at(worth[0].access)
        frame.go(page_list.INSPECT)


if __name__ == "__main__":
    page()
