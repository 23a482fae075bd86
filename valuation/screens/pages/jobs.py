"""All evaluations on their way to a finished job: a board, rows, and what is due; files for a calendar and the desk."""

from __future__ import annotations

from typing import Any

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say, say_many
from valuation.screens import frame, page_list, shop
from valuation.screens.job import asked as job_asked
from valuation.screens.job import files as job_files
from valuation.screens.job import lists as job_lists
from valuation.screens.job import moves as job_moves
from valuation.screens.state import fill, held, session_catching
from valuation.service import jobs as service_jobs
from valuation.service.visits import Shop

_MANY = 1000
"""More that is due is not counted on every drawing."""

_VIEWS = {"board": later("Board"), "rows": later("Rows"), "due": later("Due")}


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.JOBS)
    store = frame.open_store()
    st.title(say("Jobs"), anchor=False)
    _said(store)
    asked = job_asked.asked()
    view = _view(store, book)
    if view == "board":
        counts = service_jobs.stage_counts(store, **asked)
        if not sum(counts.values()):
            st.markdown(say("There is no evaluation like that."))
        else:
            job_lists.board(store, book, counts, asked, shop.today())
    else:
        _listed(store, book, asked, due=view == "due")
    job_files.offer(store, book)
    frame.end(book)


def _said(store: Shop) -> None:
    """Say what the last tap did, and let it be taken back."""
    words, can_be_undone = job_moves.said()
    if not words:
        return
    with st.container(horizontal=True, vertical_alignment="center", key="saved"):
        st.text(words)
        if can_be_undone:
            st.button(
                say("Take it back"),
                key="take_back",
                on_click=session_catching().press,
                args=(job_moves.take_back, store),
            )


def _view(store: Shop, book: Tables) -> str:
    due = service_jobs.due_count(store, book, on=shop.today(), most=_MANY)
    names = {view: say(name) for view, name in _VIEWS.items()}
    names["due"] = say("Due ({count})", count=due if due < _MANY else say("{count} or more", count=_MANY))
    if held("jobs_view") not in names:
        fill("jobs_view", "board")
    chosen = st.pills(
        say("Show"), list(names), format_func=lambda one: names.get(one, ""),
        key="jobs_view", required=True, on_change=job_asked.from_the_top,
        label_visibility="collapsed",
    )  # fmt: skip
    return chosen or "board"


def _listed(store: Shop, book: Tables, asked: dict[str, str], *, due: bool) -> None:
    first = held("jobs_first") or 0
    more: dict[str, Any] = {"due_by": shop.today()} if due else job_asked.which(book)
    lines, total = service_jobs.list_jobs(store, book, **(asked | more), limit=job_asked.PAGE, offset=first)
    if not total:
        st.markdown(say("Nothing is due.") if due else say("There is no evaluation like that."))
        return
    if due:
        st.markdown(say_many("{count} evaluation waits for somebody.", "{count} evaluations wait for somebody.", total))
        job_lists.due_rows(store, book, lines, shop.today())
    else:
        st.markdown(say_many("{count} evaluation", "{count} evaluations", total))
        job_lists.rows(store, book, lines, shop.today())
    job_asked.turn_pages(first, total)


if __name__ == "__main__":
    page()
