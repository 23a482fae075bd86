"""All evaluations on their way to a finished job: a board, rows, and what is due; files for a calendar and the desk."""

from __future__ import annotations

from typing import Any

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say, say_many
from valuation.screens import frame, page_list, shop
from valuation.screens.job import files as job_files
from valuation.screens.job import lists as job_lists
from valuation.screens.job import moves as job_moves
from valuation.screens.safe import md
from valuation.screens.state import fill, held, session_catching
from valuation.service import jobs as service_jobs
from valuation.service.visits import Shop

_PAGE = 20
_MANY = 1000
"""More that is due is not counted on every drawing."""

_ALL = "all"
_VIEWS = {"board": later("Board"), "rows": later("Rows"), "due": later("Due")}
_KINDS = {"": later("All"), "upright": later("Uprights"), "grand": later("Grands")}
_SORTS = {
    "due": later("What is due first"),
    "since": later("Longest in its stage"),
    "recent": later("Newest in its stage"),
    "changed": later("Last changed"),
    "day": later("Day of the visit"),
    "title": later("Name"),
    "client": later("Client"),
}


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.JOBS)
    store = frame.open_store()
    st.title(say("Jobs"), anchor=False)
    _said(store)
    asked = _asked()
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
        key="jobs_view", required=True, on_change=_from_the_top,
        label_visibility="collapsed",
    )  # fmt: skip
    return chosen or "board"


def _asked() -> dict[str, str]:
    search = st.text_input(
        say("Search"), key="jobs_search", live="0.5s", type="search", on_change=_from_the_top,
        placeholder=say("name, maker, place, client, serial number"),
    )  # fmt: skip
    kind = st.pills(
        say("Kind"), list(_KINDS), format_func=lambda k: say(_KINDS[k]), key="jobs_kind", default="", required=True,
        on_change=_from_the_top,
    )  # fmt: skip
    return {"search": search, "kind": kind or ""}


def _listed(store: Shop, book: Tables, asked: dict[str, str], *, due: bool) -> None:
    first = held("jobs_first") or 0
    more: dict[str, Any] = {"due_by": shop.today()} if due else _which(book)
    lines, total = service_jobs.list_jobs(store, book, **(asked | more), limit=_PAGE, offset=first)
    if not total:
        st.markdown(say("Nothing is due.") if due else say("There is no evaluation like that."))
        return
    if due:
        st.markdown(say_many("{count} evaluation waits for somebody.", "{count} evaluations wait for somebody.", total))
        job_lists.due_rows(store, book, lines, shop.today())
    else:
        st.markdown(say_many("{count} evaluation", "{count} evaluations", total))
        job_lists.rows(store, book, lines, shop.today())
    _turn_pages(first, total)


def _which(book: Tables) -> dict[str, object]:
    """Let stage and order be chosen."""
    names = {_ALL: say("All stages"), "": say("no stage yet"), **{row.id: say(row.name) for row in book.stages}}
    if held("jobs_stage") not in names:
        fill("jobs_stage", _ALL)
    stage, order = st.columns(2)
    chosen = stage.selectbox(
        say("Stage"), list(names), format_func=lambda one: names.get(one, ""), key="jobs_stage", on_change=_from_the_top
    )  # fmt: skip
    sort = order.selectbox(
        say("In the order of"), list(_SORTS), format_func=lambda s: say(_SORTS[s]), key="jobs_sort",
        on_change=_from_the_top,
    )  # fmt: skip
    return {"stages": None if chosen == _ALL else [chosen], "sort": sort}


def _from_the_top() -> None:
    fill("jobs_first", 0)


def _turn_pages(first: int, total: int) -> None:
    if total <= _PAGE:
        return
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button(
            say("Earlier in the list"), key="jobs_back", disabled=first == 0,
            on_click=fill, args=("jobs_first", max(0, first - _PAGE)),
        )  # fmt: skip
        where = say("{first} to {last} of {total}", first=first + 1, last=min(first + _PAGE, total), total=total)
        st.markdown(md(where))
        st.button(
            say("Further down the list"), key="jobs_on", disabled=first + _PAGE >= total,
            on_click=fill, args=("jobs_first", first + _PAGE),
        )  # fmt: skip


if __name__ == "__main__":
    page()
