"""What taking it apart showed, what stays original, and photos before and after."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import STATES, PartRow, Tables
from valuation.language import say
from valuation.record.job_card import TRUTH
from valuation.report.format import of_100
from valuation.report.labels import STATE_MARKS, with_capital
from valuation.screens import clashes, frame
from valuation.screens.photos import photo_fields
from valuation.screens.safe import md
from valuation.screens.state import Draft, held
from valuation.service.jobs import AFTER_PHOTOS, BEFORE_PHOTOS, ORIGINAL, RecordedJob

_NOT_OPENED = "not opened"


def opened(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw the true state of each part to be entered, beside what was thought before."""
    st.markdown(
        say("What each part truly was once it was open to the eye, whatever the plan said. From this the tables learn; "
            "what nobody saw stays 'not opened'.")
    )  # fmt: skip
    shown = {truth.part: truth.state for truth in job.teardown}
    found = frame.appraisal_or_none(draft, book)
    odds = {part.part: part.states for part in found.parts} if found else {}
    for part in parts_of(draft, book):
        field = f"{TRUTH}{part.id}"
        with st.container(key=draft.key(f"truth_row_{part.id}"), gap=None):
            st.markdown(f"**{md(with_capital(say(part.name)))}**")
            if odds.get(part.id):
                st.markdown(md(_thought(odds[part.id])))
            clashes.settle(draft, field, book)
            key = draft.field_key(f"truth_{part.id}", field)
            draft.watch(key, shown.get(part.id, _NOT_OPENED), _take_truth, draft, field, key)
            st.pills(
                md(say("Truly: {part}", part=say(part.name))), [_NOT_OPENED, *STATES], format_func=_state_words,
                key=key, required=True, label_visibility="collapsed",
            )  # fmt: skip
    _original(draft, job, book)


def parts_of(draft: Draft, book: Tables) -> list[PartRow]:
    """Return the parts that this piano has."""
    return [row for row in book.parts if row.present in ("always", *draft.visit.piano.features)]


def _thought(states: tuple[float, ...]) -> str:
    ranked = sorted(zip(states, STATES, strict=True), reverse=True)[:2]
    odds = ", ".join(f"{say(state)} {of_100(share)}" for share, state in ranked)
    return say("thought from the visit: {odds}", odds=odds)


def _state_words(state: str) -> str:
    return say("not opened") if state == _NOT_OPENED else f"{STATE_MARKS[state]} {say(state)}"


def _take_truth(draft: Draft, field: str, key: str) -> None:
    state = held(key)
    draft.keep(field, None if state in (None, _NOT_OPENED) else {"state": state})


def _original(draft: Draft, job: RecordedJob, book: Tables) -> None:
    st.header(say("What stays original"), anchor=False)
    clashes.settle(draft, ORIGINAL, book)
    names = {part.id: with_capital(say(part.name)) for part in parts_of(draft, book)}
    key = draft.field_key("original", ORIGINAL)
    draft.watch(key, [part for part in job.kept_original or () if part in names], _take_original, draft, key)
    st.pills(
        say("Parts that keep what they were built with; this stands on the client's page"), list(names),
        format_func=lambda part: md(names[part]), key=key, selection_mode="multi",
    )  # fmt: skip
    if job.kept_original is None:
        st.markdown(say("Nobody has said so far."))
        st.button(
            say("None of them"), key=draft.key("none_original"), on_click=draft.press, args=(draft.keep, ORIGINAL, [])
        )
    elif not job.kept_original:
        st.markdown(say("None of these parts stays original."))


def _take_original(draft: Draft, key: str) -> None:
    draft.keep(ORIGINAL, list(held(key) or []))


def photos(draft: Draft) -> None:
    """Draw the photos before and after, and the way to more."""
    before, after = st.columns(2)
    with before:
        st.header(say("Before"), anchor=False)
        photo_fields(draft, BEFORE_PHOTOS, say("the piano before the work"))
        _from_the_visit(draft)
    with after:
        st.header(say("After"), anchor=False)
        photo_fields(draft, AFTER_PHOTOS, say("the finished piano"))


def _from_the_visit(draft: Draft) -> None:
    taken = [photo for photo in draft.recorded.photos if photo.check not in (BEFORE_PHOTOS, AFTER_PHOTOS)]
    if not taken:
        return
    shown = st.expander(say("Photos of the visit ({count})", count=len(taken)), key=draft.key("visit_photos"))
    with shown, st.container(horizontal=True):
        for number, photo in enumerate(taken, start=1):
            path = draft.store.photo_path(photo.hash, thumbnail=True)
            if path is not None:
                words = photo.caption or say("Photo {number} of the visit", number=number)
                st.image(str(path), caption=None, alt=words, width=160)
