"""The bench: when each job is done in 9 of 10, whether the hours are there, whom to ring today, and who works here."""

from __future__ import annotations

import streamlit as st

from valuation.access.accounts import Role
from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.report.format import exact, money, of_100
from valuation.report.labels import day_words, short_day
from valuation.screens import frame, marks, page_list, shop
from valuation.screens.books import people as books_people
from valuation.screens.safe import md
from valuation.screens.sign_in import role
from valuation.screens.state import make_current
from valuation.service.outcomes import only_invented
from valuation.service.visits import Shop

_PARTS = {"dates": later("Dates"), "ring": later("Whom to ring"), "people": later("People")}
_MOST = 20


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.BENCH)
    store = frame.open_store()
    st.title(say("Bench"), anchor=False)
    part = st.pills(
        say("Show"), list(_PARTS), format_func=lambda one: say(_PARTS[one]), key="bench_part", default="dates",
        required=True, label_visibility="collapsed",
    )  # fmt: skip
    if part == "ring":
        _ring(store, book)
    elif part == "people":
        _people(store, book)
    else:
        _dates(store, book)
    frame.end(book)


def _dates(store: Shop, book: Tables) -> None:
    plan, ahead = shop.bench_of(store, book)
    if not plan:
        st.markdown(say("Nothing is in hand, or nobody is said to work at the bench: see 'People'."))
        return
    if only_invented(store):
        with st.container(key="mark"):
            st.markdown(f"**{say('Invented demo data')}**: {say('the people, their hours and the jobs are made up.')}")
    first = plan[0].dates.on
    st.markdown(
        md(say("Played through {count} times from {day} on: what each operation still takes, leave, and the days that "
               "glue, varnish and strings rest. The job promised first is taken up first.",
               count=len(plan[0].dates.days), day=day_words(first)))
    )  # fmt: skip
    rows = [
        [one.title, exact(one.left), short_day(one.dates.by(0.5)),
         say("later") if one.dates.beyond else short_day(one.dates.by(0.9)),
         short_day(one.promised) if one.promised else "–", of_100(one.kept) if one.kept is not None else "–"]
        for one in plan
    ]  # fmt: skip
    headers = [say("Job"), say("Still to do, h"), say("Done by, in 5 of 10"), say("Done by, in 9 of 10"),
               say("Promised"), say("Promise kept")]  # fmt: skip
    st.html(marks.table(say("In the order of the queue"), headers, rows, dense=True))
    if ahead:
        rows = [
            [short_day(one.by), exact(one.promised), exact(one.there), exact(one.short) if one.short else "–"]
            for one in ahead
        ]
        headers = [say("By when"), say("Promised, h"), say("There, h"), say("Missing, h")]
        st.html(marks.table(say("Hours promised, and hours that people have until then"), headers, rows))


def _ring(store: Shop, book: Tables) -> None:
    currency = book.settings.currency
    found = shop.ringing_of(store, book)
    if not found:
        st.markdown(say("Nobody has to be rung today."))
        return
    st.markdown(
        say("The one with the most at stake first: the price told times the chance that it becomes a job. Only the "
            "latest step of each; nobody who said no.")
    )  # fmt: skip
    names = {row.what: say(row.what) for row in book.follow_ups}
    for one in found[:_MOST]:
        with st.container(border=True, key=f"ring_{one.visit}", gap="small"):
            st.text(one.title)
            st.html(marks.to_call(one.client, one.phone or say("no telephone number")))
            said = []
            if one.what and one.due_on:
                said.append(say("{step}, {day}", step=names.get(one.what, one.what), day=short_day(one.due_on)))
            if one.expires_on:
                said.append(say("the quotation holds until {day}", day=short_day(one.expires_on)))
            if one.price is not None:
                said.append(say("price {price}", price=money(one.price, currency)))
            if one.chance is not None:
                said.append(say("chance {chance}", chance=of_100(one.chance)))
            st.markdown(md(" · ".join(said)))
            if st.button(say("Open"), key=f"ring_open_{one.visit}", help=one.title):
                make_current(one.visit, store, book)
                frame.go(page_list.JOB)
    if len(found) > _MOST:
        st.markdown(md(say("{count} more have less at stake.", count=len(found) - _MOST)))


def _people(store: Shop, book: Tables) -> None:
    if role() != Role.OWNER:
        st.markdown(say("An owner says who works here, how many hours, and what an hour costs."))
        return
    st.markdown(say("Hours at the bench, Monday to Friday. A person without a name is taken out."))
    books_people.people(store, book.settings.currency)


if __name__ == "__main__":
    page()
