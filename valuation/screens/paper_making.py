"""Making a paper from a page, telling what became of it, and handing out its file: shared by the pages that do so."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID, uuid5

import streamlit as st

from valuation.engine.pack import local
from valuation.engine.rows import Tables
from valuation.jobs.bench_plan import SURE
from valuation.language import say, speaking
from valuation.report.paper_words import paper_name
from valuation.screens import frame, shop
from valuation.screens.safe import md
from valuation.screens.state import Draft, who
from valuation.service import NotInForce, UserError
from valuation.service.bench import earliest_date
from valuation.service.scoreboard import prices_held
from valuation.service.written import (
    BySales,
    FromTheBooks,
    Paper,
    Wanted,
    fetch_paper,
    list_papers,
    make_paper,
    option_quoted,
)
from valuation.store.papers import QUOTATION


def make_here(draft: Draft, book: Tables, wanted: Wanted, label: str) -> None:
    """Draw the button that makes a paper, and below it what became of it.

    Parameters
    ----------
    wanted : Wanted
        What is asked for.
    label : str
        What the button says.
    """
    if draft.unsaved:
        st.markdown(say("Something that was entered is not saved yet. Save it first: a paper is made from what is."))
        return
    papers = list_papers(draft.store, draft.visit_id)
    request = _request(draft, wanted, papers)
    # the key goes with the request: a second click on a button that has done its work finds nothing to do
    if not st.button(label, key=draft.key(f"make_{wanted.what}_{request[:12]}"), type="primary"):
        _just_made(draft, wanted.what, papers)
        return
    # the paper bears the request's id. It is noted before the paper is made: a quick second click starts another run
    # beside this one, which may find the paper kept and breaks this one off before anything could be noted after it
    draft.made = request
    try:
        with st.spinner(say("The paper is being made …")):
            make_paper(
                draft.store, draft.visit_id, wanted, book, request=request, who=who(), now=shop.now(),
                today=shop.today(), by_sales=_by_sales(draft, book, wanted.language),
                books=_from_the_books(draft, book, wanted),
            )  # fmt: skip
    except UserError as error:
        refused(error)
    except NotInForce as error:
        frame.nothing_in_force(error)
    else:
        st.rerun()  # so that the button is the next paper's at once


def _from_the_books(draft: Draft, book: Tables, wanted: Wanted) -> FromTheBooks:
    """Return what the shop's own books say on such a paper."""
    if wanted.what == "evaluation":
        return FromTheBooks(held=prices_held(draft.store, book, on=shop.today()))
    found = frame.appraised(draft, book) if wanted.what == QUOTATION else None
    if found is None or not found.ready:
        return FromTheBooks()
    dates = earliest_date(
        draft.store, book, found, option_quoted(wanted, found), draft.visit, on=shop.today()
    )  # fmt: skip
    return FromTheBooks(done_by=None if dates is None or dates.beyond else dates.by(SURE))


def _just_made(draft: Draft, what: str, papers: Sequence[Paper]) -> None:
    """Hand out the paper that was made last on this device, as long as no other one is asked for."""
    paper = next((paper for paper in papers if paper.id == draft.made and paper.what == what), None)
    if paper is not None:
        with st.container(border=True, key="paper_made"):
            st.markdown(
                md(say("No. {number} is made and kept: {paper}.", number=paper.printed_number, paper=paper_name(paper)))
            )
            hand_out(draft, paper, f"made_{paper.id[:12]}")


def as_pdf(draft: Draft, what: str, label: str, *, advice: bool = False) -> None:
    """Draw the button that makes one sort of paper in the shop's own language, size and units.

    Parameters
    ----------
    what : str
        One of `valuation.service.written.WRITTEN`.
    label : str
        What the button says.
    advice : bool
        They asked what the workshop would do.
    """
    last = next((paper for paper in list_papers(draft.store, draft.visit_id)[::-1]), None)
    size = last.size if last else Wanted().size
    wanted = Wanted(what=what, language=shop.language_chosen(), size=size, units=draft.system, advice=advice)
    make_here(draft, draft.book, wanted, label)


def refused(error: UserError) -> None:
    """Say in a sentence why a paper can't be made or given out."""
    with st.container(border=True, key="paper_refused"):
        for problem in error.problems:
            st.text(problem.message)


def hand_out(draft: Draft, paper: Paper, key: str) -> None:
    """Draw the button that gives out a paper as the client got it; its file is read when it is pressed."""
    st.download_button(
        say("Download No. {number}", number=paper.printed_number), lambda: fetch_paper(draft.store, paper.id),
        f"{draft.name}-{paper.printed_number}-{paper.what}.pdf", "application/pdf", key=draft.key(key),
        on_click="ignore",
    )  # fmt: skip


def _request(draft: Draft, wanted: Wanted, papers: Sequence[Paper]) -> str:
    """Return the id of what is asked for: the same until a paper has been made, by whomever."""
    asked = (papers[-1].id if papers else "", wanted, draft.use_sales)
    return uuid5(UUID(draft.visit_id), repr(asked)).hex


def _by_sales(draft: Draft, book: Tables, language: str) -> BySales | None:
    """Return the prices by the shop's own sales, None where the verdict doesn't use them."""
    sold = frame.sold(draft, book)
    if sold is None or draft.sales is None:
        return None
    with speaking(language, local(book, language)):
        # here, not above: most papers come without sales
        from valuation.sales.on_paper import compared_rows

        found = shop.appraisal_of(draft.visit, draft.set_levels, book, sold)
        rows = compared_rows(
            shop.fit_of(draft.sales, draft.visit, book),
            shop.study_of(draft.visit, draft.set_levels, book, sold),
            found.value_now.likely,
        )
        return BySales(sold=sold, hash=draft.sales.hash, words=frame.prices_from(draft, book), comparables=rows)
