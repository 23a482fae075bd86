"""The three pictures of the owner's front page, each with a line and the way to its list."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.report.format import exact
from valuation.report.labels import day_words, short_day
from valuation.screens import frame, page_list, shop
from valuation.screens.bars import Bar, bars
from valuation.screens.safe import md
from valuation.service.front import conversion_by_quarter
from valuation.service.people_at_work import people_of
from valuation.service.visits import Shop

_RUNG = 3
_DAYS = 4


def whom_to_ring(store: Shop, book: Tables) -> None:
    """Draw whom to ring, the one with the most at stake first."""
    currency = book.settings.currency
    wanted = shop.ringing_of(store, book)
    with st.container(border=True, key="front_ring", gap="small"):
        st.header(say("Whom to ring today"), anchor=False)
        if not wanted:
            st.markdown(say("Nobody has to be rung today."))
            return
        told = [one for one in wanted if one.at_stake >= 1][:_RUNG]
        if told:
            rows = [
                Bar(
                    name=one.client or one.title,
                    figure=" · ".join(filter(None, (f"{exact(one.at_stake)} {currency}", one.phone))),
                    low=0.0, high=one.at_stake,
                )
                for one in told
            ]  # fmt: skip
            caption = say("At stake: the price told times the chance that it becomes a job")
            st.html(bars(caption, (say("Client"), say("At stake")), rows, told[0].at_stake))
        count = len(wanted)
        label = say_many("All of them: {count} call", "All of them: {count} calls", count)
        if st.button(label, key="front_to_ring", type="primary"):
            frame.go_to_part(page_list.BENCH, "bench_part", "ring")


def what_becomes_jobs(store: Shop, book: Tables) -> None:
    """Draw how many evaluations become jobs, by quarter; nothing where none can be judged yet."""
    quarters = conversion_by_quarter(shop.what_happened(store, book).by["month"])
    if not quarters:
        return
    jobs, of = sum(q.jobs for q in quarters), sum(q.evaluations for q in quarters)
    with st.container(border=True, key="front_conversion", gap="small"):
        st.header(say("Evaluations that become jobs"), anchor=False)
        st.markdown(
            md(say("{jobs} of {evaluations} within half a year; of 100 such now {share}.", jobs=jobs, evaluations=of,
                   share=_hundred(quarters[-1].share.share)))
        )  # fmt: skip
        rows = [
            Bar(
                name=q.name,
                figure=say("{low} to {high} of 100 ({jobs} of {evaluations})", low=_hundred(q.share.low),
                           high=_hundred(q.share.high), jobs=q.jobs, evaluations=q.evaluations),
                low=q.share.low, high=q.share.high, at=q.share.share,
            )
            for q in quarters
        ]  # fmt: skip
        caption = say("By quarter; few cases lean on all. Band: 8 in 10. Only what is old enough to be judged.")
        st.html(bars(caption, (say("Quarter"), say("Become jobs")), rows, 1.0))
        if st.button(say("What became of them"), key="front_to_happened"):
            frame.go(page_list.HAPPENED)


def _hundred(share: float) -> str:
    return f"{100 * share:.0f}"


def hours_there(store: Shop, book: Tables) -> None:
    """Draw the hours promised against those there, and by when a new piano could be done."""
    plan, ahead = shop.bench_of(store, book)
    new = shop.new_piano_of(store, book)
    with st.container(border=True, key="front_hours", gap="small"):
        st.header(say("Hours promised, and hours there"), anchor=False)
        if new is not None:
            day = day_words(new.dates.by(0.9))
            st.markdown(
                md(say("A new piano with the usual {hours} hours can be done by {day}, in 9 of 10.",
                       hours=exact(new.hours), day=day))
                if not new.dates.beyond
                else md(say("A new piano can't be promised: the hours are not there."))
            )  # fmt: skip
        if plan:
            st.markdown(
                md(say("In hand: {hours} hours of agreed work; {week} hours a week are there.",
                       hours=exact(sum(one.left for one in plan)),
                       week=exact(sum(one.hours_a_week for one in people_of(store)))))
            )  # fmt: skip
        if ahead:
            rows = [
                Bar(
                    name=short_day(one.by),
                    figure=say("{promised} h promised, {there} h there", promised=exact(one.promised),
                               there=exact(one.there)) + (f" · {_missing(one.short)}" if one.short else ""),
                    low=0.0, high=one.promised, at=one.there,
                )
                for one in ahead[:_DAYS]
            ]  # fmt: skip
            full = max(max(one.promised, one.there) for one in ahead[:_DAYS]) or 1.0
            st.html(bars(say("Bar: promised by then. Mark: there."), (say("By when"), say("Hours")), rows, full))
        if new is None and not ahead:
            st.markdown(say("Say who works at the bench and how many hours, and promise a day: then it is told here."))
        elif plan:
            late = sum(1 for one in plan if one.kept is not None and one.kept < 0.5)
            if late:
                words = say_many("{count} promise is likelier broken than kept.",
                                 "{count} promises are likelier broken than kept.", late)  # fmt: skip
                st.markdown(f"**{md(words)}**")
        if st.button(say("The bench"), key="front_to_bench"):
            frame.go_to_part(page_list.BENCH, "bench_part", "people" if new is None and not ahead else "dates")


def _missing(hours: float) -> str:
    return say("{hours} h missing", hours=exact(hours))
