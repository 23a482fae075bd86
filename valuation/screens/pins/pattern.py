"""Where the loose pins are: the readings speak for an answer, the person gives it."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import CheckRow, Tables
from valuation.facts.answers import CANNOT_SEE, NOT_LOOKED_AT
from valuation.language import say
from valuation.readings.pin_field import PinField
from valuation.report.labels import choice_looks, choice_word
from valuation.screens import answers, clashes
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft, held


def pattern(draft: Draft, check: CheckRow, field: PinField, book: Tables) -> None:
    """Offer the check that asks where the loose pins are; the person answers it, never the tool."""
    st.markdown(md(say(check.why)))
    if field.pattern in check.choices:
        word = md(choice_word(check, field.pattern))
        st.markdown(say("The readings speak for **{word}**: {why}. You answer it.", word=word, why=md(field.because)))
    else:
        st.markdown(say("The readings can't tell."))
    field_of_store = f"finding.{check.id}"
    key = draft.field_key(f"pins_{check.id}", field_of_store)
    finding = draft.finding(check.id)
    said = NOT_LOOKED_AT
    if finding:
        said = CANNOT_SEE[0] if finding.cannot_see else check.choices[finding.grade]
    draft.watch(key, said, _take_pattern, draft, check, key)
    words = {word: choice_word(check, grade) for grade, word in check.choices.items()}
    shown = {NOT_LOOKED_AT: say(NOT_LOOKED_AT), **words, CANNOT_SEE[0]: say(CANNOT_SEE[0])}
    st.pills(
        md(say(check.name)), list(shown), format_func=lambda said: md(shown[said]), key=key, required=True,
        label_visibility="collapsed",
    )  # fmt: skip
    clashes.settle(draft, field_of_store, book)
    st.markdown(
        bullets(f"**{md(choice_word(check, grade))}**: {md(choice_looks(check, grade))}" for grade in check.choices)
    )


def _take_pattern(draft: Draft, check: CheckRow, key: str) -> None:
    finding, said = draft.finding(check.id), held(key)
    if said is not None:
        note = finding.note if finding and said != NOT_LOOKED_AT else ""
        draft.record(check.id, answers.read_choice(check, said, note, draft.visit, draft.book)[0])
