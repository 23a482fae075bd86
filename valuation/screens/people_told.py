"""What is kept about people, why, and how long, in the words of the page."""

from __future__ import annotations

import streamlit as st

from valuation.engine.pack import ORIENTATION, cited, pack_of, said_country
from valuation.engine.rows import RetentionRow, Tables
from valuation.engine.rows.country import EVALUATION, INVOICE, MEMORY, ORDER
from valuation.language import say, say_many
from valuation.report.labels import day_words
from valuation.screens.safe import bullets, md
from valuation.screens.state import held, session_catching
from valuation.service import backups, people
from valuation.service.visits import Shop

_MOST_YEARS = 30


def what_is_kept(store: Shop, book: Tables) -> None:
    """Draw what is kept, why and how long."""
    st.header(say("What is kept, why, and how long"), anchor=False)
    _country(store, book)
    lines = [
        say("Names, places, stories, notes, wishes, photos and papers of a visit: to say what a piano is worth and to "
            "offer work, as the client asked."),
        _of_evaluations(people.years_of(store, book, EVALUATION)),
        _of_orders(people.years_of(store, book, ORDER)),
        _of_invoices(people.years_of(store, book, INVOICE)),
        say("Findings, hours, prices and steps, without a name: for what they teach the shop's tables. They lead to "
            "nobody, and stay."),
        say("Who of the workshop entered what: so that everybody can see how an evaluation came about."),
        _of_copies(store),
        say("Nothing of it leaves the workshop by this tool: neither its makers nor anybody else gets any of it."),
        say("Of whoever was forgotten, a mark stays from which nobody can be read: it keeps old copies, exports and "
            "devices that were away from bringing the person back."),
    ]  # fmt: skip
    st.markdown(bullets(filter(None, lines)))
    if rows := people.law_of(store, book):
        checked = day_words(min(row.checked_on for row in rows))
        laws = [f"{cited(row)} {row.note}".strip() for row in pack_of(book).about("data")]
        st.markdown(bullets(md(law) for law in laws))
        st.markdown(f"{say(ORIENTATION)} {say('Last checked: {day}.', day=checked)}")


def _country(store: Shop, book: Tables) -> None:
    if not said_country(book):
        st.markdown(
            say("Nobody has said yet in which country the shop works. Until then nothing is ever due, and agreed jobs "
                "can't be forgotten.")
        )  # fmt: skip
        return
    st.markdown(say("The shop works in: {country}.", country=say(pack_of(book).country.name)))
    own = store.setting(people.YEARS)
    session_catching().watch("people_years", own, lambda: store.set_setting(people.YEARS, held("people_years")))
    st.number_input(
        say("Your own years for visits that never became a job"), min_value=0, max_value=_MOST_YEARS, step=1,
        key="people_years", placeholder=say("may stay empty"),
    )  # fmt: skip


def _of_evaluations(row: RetentionRow | None) -> str:
    if row is None:
        return ""
    years = _years(row)
    if not row.source:
        return say("Where no job came of it: until {years} after the year in which something was last entered, as the "
                   "shop has set itself.", years=years)  # fmt: skip
    if row.basis == MEMORY:
        return say("Where no job came of it: until {years} after the year in which something was last entered.",
                   years=years)  # fmt: skip
    return say("Where no job came of it: until {years} after the year in which something was last entered, so long as "
               "claims may come ({law}).", years=years, law=md(row.source))  # fmt: skip


def _of_orders(row: RetentionRow | None) -> str:
    if row is None:
        return ""
    return say("Of an agreed job what was agreed, with name and place, and the quotation: until {years} after the year "
               "of its last step, because tax law demands it ({law}).",
               years=_years(row), law=md(row.source))  # fmt: skip


def _of_invoices(row: RetentionRow | None) -> str:
    if row is None:
        return ""
    return say("Invoices are not in this tool; keep them in your books for {years} ({law}).",
               years=_years(row), law=md(row.source))  # fmt: skip


def _years(row: RetentionRow) -> str:
    return say_many("{count} year", "{count} years", row.years)


def _of_copies(store: Shop) -> str:
    days = [copy.day for copy in backups.list_copies(store.store.folder) if copy.day]
    if not days:
        return ""
    return say("Copies of the data hold what was there when they were made, for about half a year: the oldest is of "
               "{day}. One that is brought back is made to forget again.", day=day_words(min(days)))  # fmt: skip
