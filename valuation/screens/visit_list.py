"""The visits that there are: the latest on the first page, all of them by a search; each with its verdict."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say, say_many
from valuation.report.labels import day_words
from valuation.report.words import verdict_sentence
from valuation.screens import frame, page_list, shop
from valuation.screens.job.moves import stage_name
from valuation.screens.safe import md
from valuation.screens.state import fill, held, make_current, session_catching
from valuation.service import NotInForce
from valuation.service.visits import Card, Shop

_FIRST, _PAGE = 2, 20
_SORTS = {"changed": later("Last changed"), "day": later("Day of the visit"), "title": later("Name")}
_KINDS = {"": later("All"), "upright": later("Uprights"), "grand": later("Grands")}
_ALL = "all_shown"
PRESSED = "card_pressed"
"""Visit that is to be opened, and on which page: of the card that was pressed, or one just begun."""


def go_where_pressed(store: Shop, book: Tables) -> None:
    """Go to the visit whose card was pressed, before the list is drawn: each card above it first asks for a verdict."""
    if pressed := held(PRESSED):
        visit, page = pressed
        make_current(visit, store, book)
        fill(PRESSED, None)
        frame.go(page)


def latest_or_found(store: Shop, book: Tables) -> None:
    """Draw the latest visits, or those that are searched for."""
    st.header(say("Visits"), anchor=False)
    search = st.text_input(
        say("Search"), key="search", live="0.5s", type="search", on_change=_from_the_top,
        placeholder=say("name, maker, place, client, serial number"),
    )  # fmt: skip
    if search or held(_ALL):
        _found(search, store, book)
        return
    cards, total = store.list_visits(limit=_FIRST)
    for card in cards:
        _card(card, store, book)
    if total > len(cards):
        words = say_many("{count} visit", "{count} visits", total)
        st.button(say("All of them: {count}", count=words), key="all_visits", on_click=fill, args=(_ALL, True))
    elif not total:
        st.markdown(say("There is no visit yet."))


def _found(search: str, store: Shop, book: Tables) -> None:
    with st.container(horizontal=True):
        kind = st.pills(
            say("Kind"), list(_KINDS), format_func=lambda k: say(_KINDS[k]), key="list_kind", default="", required=True,
            on_change=_from_the_top,
        )  # fmt: skip
        sort = st.pills(
            say("In the order of"), list(_SORTS), format_func=lambda s: say(_SORTS[s]), key="list_sort",
            default="changed", required=True, on_change=_from_the_top,
        )  # fmt: skip
    first = held("list_first") or 0
    cards, total = store.list_visits(search=search, kind=kind, sort=sort, limit=_PAGE, offset=first)
    if not total:
        st.markdown(say("There is no visit like that."))
        return
    st.markdown(say_many("{count} visit", "{count} visits", total))
    for card in cards:
        _card(card, store, book)
    _turn_pages(first, total)


def _from_the_top() -> None:
    fill("list_first", 0)


def _turn_pages(first: int, total: int) -> None:
    if total <= _PAGE:
        return
    with st.container(horizontal=True):
        st.button(
            say("Earlier in the list"), key="list_back", disabled=first == 0,
            on_click=fill, args=("list_first", max(0, first - _PAGE)),
        )  # fmt: skip
        st.markdown(say("{first} to {last} of {total}", first=first + 1, last=min(first + _PAGE, total), total=total))
        st.button(
            say("Further down the list"), key="list_on", disabled=first + _PAGE >= total,
            on_click=fill, args=("list_first", first + _PAGE),
        )  # fmt: skip


def _card(card: Card, store: Shop, book: Tables) -> None:
    with st.container(border=True, key=f"card_{card.id}"):
        st.subheader(md(card.title), anchor=False)
        if card.demo:
            st.markdown(f"**{say('Invented demo data')}**")
        st.text(_facts(card, book))
        st.markdown(_verdict(card, store, book))
        with st.container(horizontal=True):
            for key, words, target in (
                ("inspect", say("Inspect"), page_list.INSPECT),
                ("open", say("Verdict"), page_list.VERDICT),
            ):
                st.button(
                    words, key=f"{key}_{card.id}", help=card.title, on_click=session_catching().press,
                    args=(fill, PRESSED, (card.id, target)),
                )  # fmt: skip


def _facts(card: Card, book: Tables) -> str:
    said = [
        say(card.kind),
        str(card.year or ""),
        card.maker,
        card.place,
        card.client,
        say("visited {day}", day=day_words(card.day)) if card.day else "",
        stage_name(card.stage, book) if card.stage else "",
    ]
    return " · ".join(filter(None, said))


def _verdict(card: Card, store: Shop, book: Tables) -> str:
    recorded = store.open_visit(card.id, book)
    if not recorded.can_be_drawn:
        return md(frame.why_not_drawn())
    visit = recorded.visit
    if not visit.findings:
        return say("Nothing has been looked at yet.")
    try:
        found = shop.verdict_of(visit, book)
    except NotInForce as error:
        return md(error)
    clarity = f" {say(found.clarity).capitalize()}." if found.ready else ""
    return f"**{md(verdict_sentence(found))}**{clarity}"
