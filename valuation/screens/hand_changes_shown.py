"""Levels that a person has set: marked where they stand, with the reason, which is asked for at each change."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.language import say
from valuation.report.conversation import by_hand_words
from valuation.screens.hand_changes import by_hand, give_reason, reason_for
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft, held

_LONGEST = 300


def sentences(draft: Draft, found: Appraisal) -> tuple[str, ...]:
    """Return what was set by hand, each with its level and its reason."""
    names = {part.part: part.name for part in found.parts}
    return tuple(
        by_hand_words(names[part], level, reason) for part, (level, reason) in by_hand(draft).items() if part in names
    )


def told(draft: Draft, found: Appraisal) -> None:
    """Say which parts were set by hand; the verdict holds with them."""
    if said := sentences(draft, found):
        st.markdown(md(say("On the page 'Work and price' these were changed by hand. The verdict holds with them.")))
        st.markdown(bullets(map(md, said)))


def mark(draft: Draft, part: str) -> str:
    """Return the mark of a part that was set by hand, as Markdown; empty for one that wasn't."""
    if part not in draft.set_levels:
        return ""
    reason = reason_for(draft, part)
    words = say("changed by hand: {reason}", reason=reason) if reason else say("changed by hand, no reason given")
    return f" · **{md(words)}**"


def ask_why(draft: Draft, part: str, name: str) -> None:
    """Ask why a part was set by hand; nothing is asked of the others."""
    if part not in draft.set_levels:
        return
    key = draft.field_key(f"why_{part}", f"reason.{part}")
    draft.watch(key, reason_for(draft, part), _take_reason, draft, part, key)
    st.text_input(md(say("Set by hand: {part}. Why?", part=name)), key=key, max_chars=_LONGEST)


def _take_reason(draft: Draft, part: str, key: str) -> None:
    give_reason(draft, part, str(held(key) or ""))
