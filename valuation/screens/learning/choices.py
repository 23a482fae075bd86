"""What is proposed, sort by sort: each proposal to be chosen, with what it rests on and its cells."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say
from valuation.learn import Proposal
from valuation.screens import lesson_words
from valuation.screens.safe import md
from valuation.screens.state import fill, held
from valuation.service.lessons import Lessons

SEEN, _CHOSEN = "lessons_seen", "lessons_chosen"


def proposals(lesson: Lessons, book: Tables) -> list[Proposal]:
    """Draw the proposals of one sort, each to be chosen; return all that are chosen."""
    sorts = lesson_words.groups(lesson.proposals)
    st.header(say("What is proposed"), anchor=False)
    if held("lessons_sort") not in sorts:
        fill("lessons_sort", next(iter(sorts)))
    names = {sort: f"{lesson_words.group_name(sort)} ({len(sorts[sort])})" for sort in sorts}
    sort = st.pills(
        say("About"), list(sorts), format_func=lambda one: md(names[one]), key="lessons_sort", required=True,
        label_visibility="collapsed",
    )  # fmt: skip
    chosen = frozenset(held(_CHOSEN) or ())
    here = sorts[sort or next(iter(sorts))]
    with st.container(horizontal=True):
        st.button(say("Choose all of these"), key="choose_all", on_click=choose, args=(here, True))
        st.button(say("Choose none of these"), key="choose_none", on_click=choose, args=(here, False))
    for proposal in here:
        key = f"take_{proposal.id}"
        fill(key, proposal.id in chosen)
        words = f"**{md(lesson_words.proposal_name(proposal, book))}**: {md(lesson_words.evidence(proposal))}"
        st.checkbox(words, key=key, on_change=_choose_one, args=(proposal, key))
    _cells(here, book)
    return [proposal for proposal in lesson.proposals if proposal.id in chosen]


def _cells(here: list[Proposal], book: Tables) -> None:
    names = {proposal.id: lesson_words.proposal_name(proposal, book) for proposal in here}
    shown = st.selectbox(
        say("Show every cell that would change"), list(names), index=None, format_func=lambda one: names.get(one, ""),
        key="lessons_cells",
        placeholder=say("choose a proposal"),
    )  # fmt: skip
    for proposal in here:
        if proposal.id == shown:
            st.html(lesson_words.changes_table(proposal, book))


def _choose_one(proposal: Proposal, key: str) -> None:
    choose([proposal], held(key))


def choose(proposals: list[Proposal], wanted: bool) -> None:
    """Choose proposals, or choose them no more."""
    ids = {proposal.id for proposal in proposals}
    chosen = set(held(_CHOSEN) or ())
    fill(_CHOSEN, frozenset(chosen | ids if wanted else chosen - ids))
    fill(SEEN, None)
