"""The figures that matter most, one question at a time, and what each answer does to three known pianos."""

from __future__ import annotations

from datetime import date

import streamlit as st

from valuation.engine.figures import unsaid
from valuation.engine.rows import Tables
from valuation.engine.rows.figures import FigureRow
from valuation.language import say, say_many
from valuation.report.figure_words import figure_name, question, unit_of
from valuation.report.format import exact, money, number, typed_numeral
from valuation.report.labels import option_name
from valuation.screens import marks, shop
from valuation.screens.safe import bullets, md
from valuation.screens.state import fill, held, session_catching, who
from valuation.service.first_week import KnownPiano, figure_now, known_pianos, say_figure
from valuation.service.visits import Shop, UserError

_THOUSAND = 1000
_SAID, _BEFORE, _LATER = "first_said", "first_before", "first_later"


def note_said(words: str, *, wrong: bool = False) -> None:
    """Keep what is to be said at the top of the page in the next run."""
    fill(_SAID, (words, wrong))


def tell() -> None:
    """Say what the last answer did, or why it could not be taken."""
    said = held(_SAID)
    with st.container(key="first_told"):
        if isinstance(said, tuple):
            words, wrong = said
            with st.container(border=True, key="fault_first" if wrong else "first_told_box"):
                st.text(words)


def section(store: Shop, book: Tables, on: date) -> None:
    """Draw the next question, what the last answer did, and what is still open."""
    left, whole = unsaid(book, on), len(book.figures)
    st.header(say("The figures that matter most"), anchor=False)
    st.markdown(
        say("{done} of {all} are yours. They are in the order in which they move verdicts over usual pianos, reckoned "
            "with the tables that the tool ships with.", done=whole - len(left), all=whole)
    )  # fmt: skip
    _effects(book, on)
    later = held(_LATER)
    put_off = later if isinstance(later, tuple) else ()
    waiting = [row for row in left if (row.kind, row.of) not in put_off] or list(left)
    if waiting:
        _question(store, book, on, waiting[0])
    else:
        st.markdown(say("All of them are yours now."))
    if left:
        with st.expander(say_many("{count} is not set yet", "{count} are not set yet", len(left)), key="first_left"):
            st.markdown(bullets(md(figure_name(book, row.kind, row.of, on)) for row in left))


def _question(store: Shop, book: Tables, on: date, row: FigureRow) -> None:
    key = f"first_answer_{row.kind}_{row.of}".replace("/", "_")
    figure = figure_now(book, row.kind, row.of, on)
    now = exact(figure) if figure >= _THOUSAND else number(figure)
    with st.container(border=True, key="first_question"):
        st.markdown(f"**{md(question(book, row.kind, row.of, on))}**")
        st.markdown(
            md(
                say(
                    "The tables have {now} {unit}. Turned as far as it is unsure it moves the verdict's lead by "
                    "{moves} on the average, and turns it for {turns} of 100 usual pianos.",
                    now=now, unit=unit_of(book, row.kind), moves=money(row.moves), turns=round(row.turns),
                )
            )
        )  # fmt: skip
        st.text_input(say("Your figure ({unit})", unit=unit_of(book, row.kind)), key=key, live="0.5s",
                      placeholder=number(figure))  # fmt: skip
        with st.container(horizontal=True, key="first_buttons"):
            press = session_catching().press
            st.button(say("That is our figure"), key="first_take", type="primary", on_click=press,
                      args=(_take, store, book, on, row, key))  # fmt: skip
            st.button(say("{now} is right for us", now=now), key="first_keep", on_click=press,
                      args=(_say, store, book, on, row, None))  # fmt: skip
            st.button(say("Ask me later"), key="first_skip", on_click=press, args=(_put_off, row))


def _take(store: Shop, book: Tables, on: date, row: FigureRow, key: str) -> None:
    typed = str(held(key) or "").strip()
    try:
        wanted = float(typed_numeral(typed).replace(",", ""))
    except ValueError:
        note_said(say("'{text}' is not a number; write one such as 74 or 2.5", text=typed[:40]), wrong=True)
        return
    _say(store, book, on, row, wanted)


def _say(store: Shop, book: Tables, on: date, row: FigureRow, wanted: float | None) -> None:
    name = figure_name(book, row.kind, row.of, on)
    try:
        say_figure(store, row.kind, row.of, wanted, who=who(), on=on, now=shop.now())
    except UserError as error:
        note_said(str(error), wrong=True)
        return
    fill(_BEFORE, book)
    note_said(say("Yours from today: {figure}", figure=name))


def _put_off(row: FigureRow) -> None:
    later = held(_LATER)
    fill(_LATER, (*(later if isinstance(later, tuple) else ()), (row.kind, row.of)))
    fill(_SAID, None)


def _effects(book: Tables, on: date) -> None:
    before = held(_BEFORE)
    with st.container(key="first_effects"):
        if not isinstance(before, Tables):
            return
        pairs = zip(known_pianos(before, on), known_pianos(book, on), strict=True)
        headers = [say("Known piano"), say("Before"), say("Now")]
        rows = [[one.title, _words(one, book), _words(then, book)] for one, then in pairs]
        st.html(marks.table(say("What the last answer does to three known pianos, all invented"), headers, rows))


def _words(piano: KnownPiano, book: Tables) -> str:
    option, lead = option_name(piano.verdict), money(piano.lead)
    if piano.price is None:
        return say("{option}; leads by {lead}", option=option, lead=lead)
    price = money(piano.price, book.settings.currency)
    return say("{option}, {price}; leads by {lead}", option=option, price=price, lead=lead)
