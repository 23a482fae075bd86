"""The papers that were made, each to be handed out, made again, sent, or held against today's tables."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.report.moved import verdict_word
from valuation.report.paper_words import (
    made_words,
    paper_name,
)
from valuation.screens import papers_compared
from valuation.screens.paper_making import hand_out, refused
from valuation.screens.safe import md
from valuation.screens.state import Draft
from valuation.service import UserError
from valuation.service.written import (
    Paper,
    as_it_stands,
    list_papers,
    paper_again,
    paper_mail,
)

_SHOWN = 8


def kept_papers(draft: Draft, book: Tables) -> None:
    """Draw every paper that was made, the newest first."""
    st.header(say("Made so far"), anchor=False)
    kept = list_papers(draft.store, draft.visit_id)[::-1]
    if not kept:
        st.markdown(say("None yet."))
        return
    st.markdown(say_many("{count} paper about this piano.", "{count} papers about this piano.", len(kept)))
    everything = len(kept) > _SHOWN and st.toggle(say("Show the older ones too"), key=draft.key("all_papers"))
    for paper in kept if everything else kept[:_SHOWN]:
        _one(draft, book, paper)


def _one(draft: Draft, book: Tables, paper: Paper) -> None:
    with st.container(border=True, key=f"paper_{paper.id}", gap="small"):
        st.subheader(
            md(say("No. {number}: {paper}", number=paper.printed_number, paper=paper_name(paper))), anchor=False
        )
        st.text(made_words(paper, None))
        st.markdown(md(_state(draft, book, paper)))
        with st.container(horizontal=True):
            hand_out(draft, paper, f"get_{paper.id[:12]}")
            again = st.button(
                say("Make it again from what was kept"), key=draft.key(f"again_{paper.id[:12]}"),
                help=paper.printed_number,
            )  # fmt: skip
        as_text = st.toggle(say("As the text of an e-mail"), key=draft.key(f"mail_{paper.id[:12]}"))
        compare = st.toggle(say("With today's tables"), key=draft.key(f"today_{paper.id[:12]}"))
        if as_text:
            _mail(draft, paper)
        if again:
            _again(draft, paper)
        if compare:
            papers_compared.with_todays_tables(draft, book, paper)


def _state(draft: Draft, book: Tables, paper: Paper) -> str:
    said = say("It said: {verdict}.", verdict=verdict_word(paper.figures)) if "verdict" in paper.figures else ""
    if as_it_stands(paper, draft.recorded, book):
        return f"{said} {say('Nothing that it rests on has changed since.')}"
    return f"{said} {say('The visit or the tables have changed since.')}"


def _mail(draft: Draft, paper: Paper) -> None:
    """Show a paper as text, to be copied into an e-mail."""
    try:
        mail = paper_mail(draft.store, paper.id)
    except UserError as error:
        refused(error)
        return
    st.code(mail.subject, language=None, wrap_lines=True)
    st.code(mail.text, language=None, wrap_lines=True)


def _again(draft: Draft, paper: Paper) -> None:
    """Make a paper again and say whether it is the same."""
    try:
        again = paper_again(draft.store, paper.id)
    except UserError as error:
        refused(error)
        return
    with st.container(border=True, key=f"again_told_{paper.id}"):
        if again.same:
            st.markdown(say("Made again: the same, byte for byte."))
            return
        if again.same_figures:
            st.markdown(say("Made again: every figure is the same, but the file is not."))
        else:
            st.markdown(say("Made again: this version of the tool works out other figures. The kept one stands."))
        if again.lost_photos:
            st.markdown(
                say_many(
                    "{count} photo in it is missing or damaged by now.",
                    "{count} photos in it are missing or damaged by now.",
                    len(again.lost_photos),
                )
            )
        st.text(say("The kept one was made with version {version} of the tool.", version=again.made_with))
