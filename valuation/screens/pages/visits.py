"""The first page: what this is for, a visit to start, and the visits that there are."""

from __future__ import annotations

import streamlit as st

from valuation.engine.pack import said_country
from valuation.engine.rows import Tables
from valuation.language import later, say, say_many
from valuation.report.labels import day_words
from valuation.report.words import verdict_sentence
from valuation.screens import backups, frame, kit, page_list, shop, start_visit
from valuation.screens.job.moves import stage_name
from valuation.screens.safe import md
from valuation.screens.state import device, fill, held, make_current, session_catching, who
from valuation.service import NotInForce, UserError, read_visit_bytes
from valuation.service.visits import Card, Shop

_FIRST, _PAGE = 2, 20
_SORTS = {"changed": later("Last changed"), "day": later("Day of the visit"), "title": later("Name")}
_KINDS = {"": later("All"), "upright": later("Uprights"), "grand": later("Grands")}
_ALL = "all_shown"
_PRESSED = "card_pressed"
"""Visit and page of the card that was pressed."""


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.FIRST)
    store = frame.open_store()
    _go_where_pressed(store, book)
    st.title(say("Is an old piano worth it?"), anchor=False)
    st.markdown(
        say("Go through it at the piano. You get its condition, what work costs, what it is worth, a verdict that says "
            "why, and the papers for the client.")
    )  # fmt: skip
    start_visit.start(store, book)
    backups.tell_if_late(store)
    _first_week(book)
    _list(store, book)
    if box := kit.folded("open_file", say("Open a visit file")):
        with box:
            _upload(store, book)
    _demo_shop(store)
    frame.end(book)


def _go_where_pressed(store: Shop, book: Tables) -> None:
    """Go to the visit whose card was pressed, before the list is drawn: each card above it first asks for a verdict."""
    if pressed := held(_PRESSED):
        visit, page = pressed
        make_current(visit, store, book)
        fill(_PRESSED, None)
        frame.go(page)


def _first_week(book: Tables) -> None:
    """Lead an owner to the first week as long as nobody has said where the shop works."""
    if said_country(book) or not frame.may_open(page_list.FIRST_WEEK):
        return
    with st.container(key="to_first_week"):
        st.markdown(say("The tables still hold what the tool ships with."))
        if st.button(say("Set the shop's country and its own figures"), key="begin_first_week"):
            frame.go(page_list.FIRST_WEEK)


def _demo_shop(store: Shop) -> None:
    """Say that the demo is invented; it goes only after a question, and comes back by a tap."""
    catching = session_catching()
    if store.has_demo():
        with st.container(key="mark", gap="small"):
            st.markdown(
                f"**{say('Invented demo data')}**: "
                + say("an invented workshop in an invented town; nothing here is a real piano.")
            )
            kit.ask(
                catching, "remove_demo", say("Take the demo away"),
                say("Take all invented visits away, with what was entered in them? Your own visits stay."),
                say("Yes, take them away"), _remove_demo, store,
            )  # fmt: skip
    elif held("demo_gone"):
        with st.container(key="mark", horizontal=True, vertical_alignment="center"):
            st.markdown(say("The demo is gone."))
            kit.action(catching, "demo_back", say("Bring it back"), store.load_demo)


def _remove_demo(store: Shop) -> None:
    store.remove_demo()
    fill("demo_gone", True)


def _list(store: Shop, book: Tables) -> None:
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
                    args=(fill, _PRESSED, (card.id, target)),
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


def _upload(store: Shop, book: Tables) -> None:
    file = st.file_uploader(
        say("A visit file (TOML, as the manual describes)"), type=["toml"], key="visit_file", max_upload_size=1
    )
    if file is None:
        return
    try:
        read = read_visit_bytes(file.getvalue(), file.name, book, shop.today())
    except UserError as error:
        frame.tell(error)
        return
    with st.container(border=True, key="read_well"):
        st.text(say("{file}: read without a fault. {title}", file=file.name, title=read.title))
        if st.button(say("Store it as a visit"), key="open_upload", type="primary"):
            visit = store.import_visit(read, who=who(), device=device(), now=shop.now())
            make_current(visit, store, book)
            frame.go(page_list.VERDICT)


if __name__ == "__main__":
    page()
