"""Step 1, how it is: the drawing with what was found on it, one sentence and its photos each."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import streamlit as st

from valuation.language import say, say_many
from valuation.report.labels import with_capital
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.talk.how_it_is import SHOWN, HowItIs, Seen, how_it_is
from valuation.screens import kit
from valuation.screens.client import drawn
from valuation.screens.photos_shown import photos_of
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft

_PHOTO = 96
"""Width of a photo beside its sentence [px]."""


def show(draft: Draft, wanted: AsWanted) -> None:
    """Draw the step."""
    case = wanted.case
    told = how_it_is(case)
    st.markdown(md(told.decision))
    if told.first:
        with st.container(key="stop_first"):
            for text in told.first:
                st.markdown(f"**{md(text)}**")
    with st.container(key="how"):
        picture, words = st.columns(2, gap="medium")
        with picture:
            numbers = {item.part: (item.number,) for item in told.seen[:SHOWN]}
            st.html(drawn.piano(case.visit.piano.kind, told.states, told.names, numbers))
        with words:
            _sentences(draft, told)
    _one_tap_deeper(draft, told)


def _sentences(draft: Draft, told: HowItIs) -> None:
    shown = told.seen[:SHOWN]
    if not shown:
        st.markdown(md(say("We found nothing wrong on the parts that we looked at.")))
    for item in shown:
        with st.container(horizontal=True, key=f"seen_{item.number}", vertical_alignment="top"):
            st.markdown(f"**{item.number} {md(item.name)}.** {md(item.text)}")
            photos = _photos(draft, item.checks)
            if photos:
                path, caption = photos[0]
                st.image(str(path), alt=caption or say("Photo: {what}", what=item.text), width=_PHOTO)
    with st.container(key="rest"):
        for text in (*told.rest, told.unseen):
            if text:
                st.markdown(md(text))


def _one_tap_deeper(draft: Draft, told: HowItIs) -> None:
    """Draw what is there for whoever asks: what else was found, what they told us, what the parts are, all photos."""
    more = [f"**{md(item.name)}**: {md(' '.join(texts))}" for item in told.seen if (texts := _untold(item))]
    pictures = _pictures(draft)
    with st.container(key="deeper", horizontal=True):
        if box := kit.folded(draft.key("more"), say("More that we found, and what the parts are")):
            with box:
                st.markdown(
                    bullets([*more, *(f"{md(with_capital(name))}: {md(what)}" for name, what in told.glossary)])
                )
                if wishes := draft.visit.client.wishes.strip():
                    st.markdown(md(say("What you told us before:")))
                    st.text(wishes)
        if pictures:
            label = say_many("{count} photo", "All {count} photos", len(pictures))
            if box := kit.folded(draft.key("all_photos"), label):
                with box, st.container(horizontal=True):
                    for path, caption in pictures:
                        st.image(str(path), caption=caption, alt=caption, width=2 * _PHOTO)


def _untold(item: Seen) -> tuple[str, ...]:
    """Return what the page does not say of a part at once."""
    return item.more if item.number <= SHOWN else (item.text, *item.more)


def _photos(draft: Draft, checks: Sequence[str]) -> list[tuple[Path, str]]:
    return [photo for check in checks for photo in photos_of(draft, check)]


def _pictures(draft: Draft) -> list[tuple[Path, str]]:
    """Return every photo of the visit, each with words: its own, or what was looked at."""
    names = {row.id: say(row.name) for row in draft.book.of_kind("checks", draft.visit.piano.kind).values()}
    checks = dict.fromkeys(photo.check for photo in draft.recorded.photos)
    return [
        (path, caption or names.get(check, say("Photo")))
        for check in checks
        for path, caption in photos_of(draft, check)
    ]
