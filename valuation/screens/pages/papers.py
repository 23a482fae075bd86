"""Papers: what the client gets is made here, kept under a number, handed out again, and held against today's tables."""

from __future__ import annotations

import streamlit as st

from valuation.engine.pack import pack_of
from valuation.engine.rows import Tables
from valuation.language import say, speaking
from valuation.report.paper_words import PAPER_NAMES
from valuation.screens import frame, page_list, shop
from valuation.screens.paper_making import make_here
from valuation.screens.papers import asked
from valuation.screens.papers import kept as kept_shown
from valuation.screens.state import Draft, held
from valuation.service.papers import print_form
from valuation.service.written import list_papers, shop_facts

_HERE = page_list.PAPERS


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    found = frame.appraised(draft, book)
    kept = list_papers(draft.store, draft.visit_id)
    st.title(say("Papers"), anchor=False)
    st.markdown(say("A paper is made from what is stored, gets a number, and is never changed. Older ones are kept."))
    _who_writes(draft)
    wanted = asked.asked_for(draft, book, found, kept[-1] if kept else None)
    if wanted is not None:
        make_here(draft, book, wanted, say("Make it: {paper}", paper=say(PAPER_NAMES[wanted.what])))
    kept_shown.kept_papers(draft, book)
    _form(draft, book)
    frame.end(book)


def _who_writes(draft: Draft) -> None:
    """Say so where the papers bear no name of a workshop."""
    if shop_facts(draft.store, demo=draft.demo).name:
        return
    with st.container(horizontal=True, vertical_alignment="center", key="no_name"):
        st.markdown(say("The papers bear no name of a workshop yet."))
        if frame.may_open(page_list.SHOP) and st.button(say("Enter it on the page 'The shop'"), key="to_shop"):
            frame.go(page_list.SHOP)


def _form(draft: Draft, book: Tables) -> None:
    """Hand out the form to be filled in by pencil."""
    st.header(say("The form to fill in by pencil"), anchor=False)
    st.markdown(
        say("For where a screen can't go: every check for this kind of piano, empty. As chosen above: language, paper.")
    )
    usually = {"language": shop.language_chosen(), "size": pack_of(book).country.paper, "units": draft.system}
    language, size, units = (str(held(draft.key(f"paper_{name}")) or usual) for name, usual in usually.items())
    kind = draft.visit.piano.kind

    def form() -> bytes:
        with speaking(language):
            return print_form(book, kind, paper=size, system=units)

    st.download_button(
        say("Download the form"), form, f"form-{kind}.pdf", "application/pdf", key="get_form", on_click="ignore"
    )


if __name__ == "__main__":
    page()
