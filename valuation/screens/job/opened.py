"""What taking it apart showed, what stays original, and photos before and after."""

from __future__ import annotations

import streamlit as st

from valuation.engine.network import fits
from valuation.engine.rows import SEVERITIES, STATES, FaultRow, PartRow, Tables
from valuation.jobs.recorded_job import truth_value
from valuation.language import say
from valuation.record.job_card import TRUTH
from valuation.report.format import of_100
from valuation.report.labels import STATE_MARKS, with_capital
from valuation.screens import clashes, frame
from valuation.screens.job.photos import photo_fields
from valuation.screens.safe import md
from valuation.screens.state import Draft, held
from valuation.service.jobs import AFTER_PHOTOS, BEFORE_PHOTOS, ORIGINAL, RecordedJob

_NOT_OPENED = "not opened"


def opened(draft: Draft, job: RecordedJob, book: Tables) -> None:
    """Draw one opened part at a time: how badly each of its faults truly was there; then what had been expected."""
    st.markdown(
        say("What each part truly was once it was open to the eye, whatever the plan said. Say it for every fault "
            "that could be seen, also where it was not there: from this the tables learn. What nobody saw stays "
            "'not opened'.")
    )  # fmt: skip
    parts = {row.id: row for row in parts_of(draft, book)}
    told = {truth.fault: truth.severity for truth in job.teardown}
    faults = {part: faults_of(draft, book, part) for part in parts}

    def name(part: str) -> str:
        seen = sum(row.id in told for row in faults[part])
        return f"{with_capital(say(parts[part].name))} ({seen}/{len(faults[part])})"

    key = draft.key("opened_part")
    part = st.pills(say("Which part was open"), list(parts), format_func=name, key=key) or ""
    if part:
        with st.container(key=draft.key(f"opened_{part}"), gap="small"):
            for row in faults[part]:
                _truth(draft, row, told, book)
        _expected(draft, part, book)
    _original(draft, job, book)


def parts_of(draft: Draft, book: Tables) -> list[PartRow]:
    """Return the parts that this piano has."""
    features = set(draft.visit.piano.features)
    return [row for row in book.parts if not row.only_with or features & set(row.only_with)]


def faults_of(draft: Draft, book: Tables, part: str) -> list[FaultRow]:
    """Return the faults that a part of this piano can have."""
    piano = draft.visit.piano
    return [row for row in book.faults if row.part == part and fits(row, piano.kind, piano.features)]


def _truth(draft: Draft, row: FaultRow, told: dict[str, str], book: Tables) -> None:
    field = f"{TRUTH}{row.id}"
    st.markdown(f"**{md(with_capital(say(row.name)))}**")
    clashes.settle(draft, field, book)
    key = draft.field_key(f"truth_{row.id}", field)
    draft.watch(key, told.get(row.id, _NOT_OPENED), _take_truth, draft, row, field, key)
    st.pills(
        md(say("Truly: {fault}", fault=say(row.name))), [_NOT_OPENED, *SEVERITIES],
        format_func=lambda severity: md(_looks(row, severity)), key=key, required=True, label_visibility="collapsed",
    )  # fmt: skip


def _looks(row: FaultRow, severity: str) -> str:
    if severity in (_NOT_OPENED, SEVERITIES[0]):
        return say("not opened") if severity == _NOT_OPENED else say("not there")
    return f"{say(severity)}: {say(getattr(row, severity))}"


def _expected(draft: Draft, part: str, book: Tables) -> None:
    """Tell what was expected of the part, once asked: told before, it would be copied."""
    shown = st.expander(say("What was expected after the visit"), key=draft.key(f"expected_{part}"), on_change="rerun")
    if not shown.open:
        return
    with shown:
        found = frame.appraisal_or_none(draft, book)
        states = next((row.states for row in found.parts if row.part == part), ()) if found else ()
        ranked = sorted(zip(states, STATES, strict=False), reverse=True)[:2]
        odds = ", ".join(f"{STATE_MARKS[state]} {say(state)} {of_100(share)}" for share, state in ranked)
        st.markdown(md(odds or say("Nothing was found at the visit.")))


def _take_truth(draft: Draft, row: FaultRow, field: str, key: str) -> None:
    severity = held(key)
    draft.keep(field, None if severity in (None, _NOT_OPENED) else truth_value(row, severity))


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
