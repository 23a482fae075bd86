"""Which evaluations are asked for, in which order, and which of a long list are shown."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.screens.safe import md
from valuation.screens.state import fill, held

PAGE = 20
_ALL = "all"
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


def asked() -> dict[str, str]:
    """Let it be said which evaluations are wanted."""
    search = st.text_input(
        say("Search"), key="jobs_search", live="0.5s", type="search", on_change=from_the_top,
        placeholder=say("name, maker, place, client, serial number"),
    )  # fmt: skip
    kind = st.pills(
        say("Kind"), list(_KINDS), format_func=lambda k: say(_KINDS[k]), key="jobs_kind", default="", required=True,
        on_change=from_the_top,
    )  # fmt: skip
    return {"search": search, "kind": kind or ""}


def which(book: Tables) -> dict[str, object]:
    """Let stage and order be chosen."""
    names = {_ALL: say("All stages"), "": say("no stage yet"), **{row.id: say(row.name) for row in book.stages}}
    if held("jobs_stage") not in names:
        fill("jobs_stage", _ALL)
    stage, order = st.columns(2)
    chosen = stage.selectbox(
        say("Stage"), list(names), format_func=lambda one: names.get(one, ""), key="jobs_stage", on_change=from_the_top
    )  # fmt: skip
    sort = order.selectbox(
        say("In the order of"), list(_SORTS), format_func=lambda s: say(_SORTS[s]), key="jobs_sort",
        on_change=from_the_top,
    )  # fmt: skip
    return {"stages": None if chosen == _ALL else [chosen], "sort": sort}


def from_the_top() -> None:
    """Show a list from its beginning."""
    fill("jobs_first", 0)


def turn_pages(first: int, total: int) -> None:
    """Draw the way on and back in a long list."""
    if total <= PAGE:
        return
    with st.container(horizontal=True, vertical_alignment="center"):
        st.button(
            say("Earlier in the list"), key="jobs_back", disabled=first == 0,
            on_click=fill, args=("jobs_first", max(0, first - PAGE)),
        )  # fmt: skip
        where = say("{first} to {last} of {total}", first=first + 1, last=min(first + PAGE, total), total=total)
        st.markdown(md(where))
        st.button(
            say("Further down the list"), key="jobs_on", disabled=first + PAGE >= total,
            on_click=fill, args=("jobs_first", first + PAGE),
        )  # fmt: skip
