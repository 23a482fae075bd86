"""Jobs as a board with a lane for each stage, and as rows: no dragging, everything by buttons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.report.format import money
from valuation.report.labels import listed, short_day
from valuation.screens import frame, page_list, shop
from valuation.screens.job import moves as job_moves
from valuation.screens.safe import md
from valuation.screens.state import fill, make_current, session_catching
from valuation.service import jobs as service_jobs
from valuation.service.job_cards import card_facts, sums_by_stage
from valuation.service.jobs import JobLine
from valuation.service.outcomes import Happened
from valuation.service.visits import Shop

IN_A_LANE = 4
"""Cards shown in each lane of the board; the rest is one tap away, as rows."""


def board(store: Shop, book: Tables, counts: Mapping[str, int], asked: Mapping[str, str], today: date) -> None:
    """Draw a lane for each stage along the way where anything stands; the others as counts that lead to rows.

    Parameters
    ----------
    counts : mapping of stage to int
        As `service_jobs.stage_counts` gives them.
    asked : mapping of str to str
        What was searched for.
    """
    ahead = ["", *(row.id for row in book.stages if row.step and row.id not in service_jobs.gone_home(book.stages))]
    filled = [stage for stage in ahead if counts.get(stage)]
    found = shop.what_happened(store, book)
    sums = sums_by_stage(found)
    with st.container(horizontal=True, key="lanes", gap="medium"):
        for stage in filled:
            with st.container(key=f"lane_{stage or 'none'}", gap="small"):
                _lane(
                    store,
                    book,
                    stage,
                    counts[stage],
                    asked,
                    today,
                    found,
                    "" if any(asked.values()) else _sum(sums.get(stage), book),
                )
    empty = [job_moves.stage_name(stage, book) for stage in ahead if stage and stage not in filled]
    if empty:
        st.markdown(md(say("Nothing stands at: {stages}.", stages=listed(empty))))
    others = [stage for stage in dict.fromkeys([*(row.id for row in book.stages), *counts]) if stage not in ahead]
    st.header(say("Done, or beside the way"), anchor=False)
    with st.container(horizontal=True, key="beside"):
        for stage in others:
            name, count = job_moves.stage_name(stage, book), counts.get(stage, 0)
            label = say("{stage}: {count}", stage=name, count=count)
            st.button(md(label), key=f"rows_{stage}", on_click=_show_rows, args=(stage,), disabled=not count)


def _sum(told: float | None, book: Tables) -> str:
    return say("Told in all: {amount}", amount=money(told, book.settings.currency)) if told else ""


def _lane(
    store: Shop, book: Tables, stage: str, count: int, asked: Mapping[str, str], today: date, found: Happened, told: str
) -> None:
    st.header(md(f"{job_moves.stage_name(stage, book)} ({count})"), anchor=False)
    if told:
        st.markdown(md(told))
    lines = service_jobs.lane(store, book, stage, **asked, limit=IN_A_LANE)
    facts = card_facts(store, found, [line.visit for line in lines])
    for line in lines:
        with st.container(border=True, key=f"jobcard_{line.visit}", gap="small"):
            st.text(line.title)
            if fact := facts.get(line.visit):
                price = money(fact.price, book.settings.currency) if fact.price else ""
                if said := " · ".join(filter(None, (fact.client, fact.phone, price))):
                    st.text(said)
            _when(line, book, today)
            with st.container(horizontal=True, gap="small"):
                _on(store, line, book)
                _open(store, line, book)
    if count > len(lines):
        words = say_many("{count} more", "{count} more", count - len(lines))
        st.button(words, key=f"rows_{stage or 'none'}", on_click=_show_rows, args=(stage,))


def _show_rows(stage: str) -> None:
    fill("jobs_view", "rows")
    fill("jobs_stage", stage)
    fill("jobs_first", 0)


def rows(store: Shop, book: Tables, lines: Sequence[JobLine], today: date) -> None:
    """Draw evaluations one below the other: what, where it stands, what is next, and what can be done."""
    widths = [3, 2, 3, 3]
    with st.container(key="rows_head"):
        for column, words in zip(
            st.columns(widths), (say("Evaluation"), say("Stage"), say("Next"), ""), strict=True
        ):  # fmt: skip
            column.markdown(f"**{words}**" if words else "")
    for line in lines:
        with st.container(key=f"jobrow_{line.visit}"):
            what, stage, following, act = st.columns(widths, vertical_alignment="center")
            _named(what, line)
            stage.markdown(md(_since(line, book)))
            with following:
                _when(line, book, today, since=False)
            with act, st.container(horizontal=True, gap="small"):
                _on(store, line, book)
                _open(store, line, book)


def _named(place, line: JobLine) -> None:
    with place, st.container(gap=None):
        st.text(line.title)
        with st.container(key=f"jobfacts_{line.visit}"):
            st.text(_facts(line))


def _facts(line: JobLine) -> str:
    said = [say(line.kind), str(line.year or ""), line.maker, line.client, line.place]
    if line.demo:
        said.append(say("invented"))
    return " · ".join(filter(None, said))


def _since(line: JobLine, book: Tables) -> str:
    name = job_moves.stage_name(line.stage, book)
    return say("{stage}, since {day}", stage=name, day=_day(line.since)) if line.since else name


def _when(line: JobLine, book: Tables, today: date, *, since: bool = True) -> None:
    """Draw what is next and when; what is due is said to be so."""
    began = md(say("since {day}", day=_day(line.since))) if since and line.since else ""
    if line.due_on is None:
        st.markdown(began)
        return
    words = say("{step}, {day}", step=job_moves.due_words(line, book), day=_day(line.due_on))
    if line.due_on <= today:
        late = (today - line.due_on).days
        mark = say_many("due for {count} day", "due for {count} days", late) if late else say("due today")
        told = f"{md(words)} · **{md(mark)}**"
    else:
        told = md(words)
    st.markdown("  \n".join(filter(None, (began, told))))


def _on(store: Shop, line: JobLine, book: Tables) -> None:
    """Draw the button that begins the next stage."""
    ahead = service_jobs.stage_ahead(line.stage, book)
    if ahead is not None:
        words = say("Now: {stage}", stage=say(ahead.name))
        key = f"on_{line.visit}_{ahead.id}"
        st.button(
            md(words),
            key=key,
            help=line.title,
            on_click=session_catching().press,
            args=(job_moves.begin_stage, store, line, ahead.id, book),
        )


def _open(store: Shop, line: JobLine, book: Tables) -> None:
    if st.button(say("Open"), key=f"job_{line.visit}", help=line.title):
        make_current(line.visit, store, book)
        frame.go(page_list.JOB)


def _day(day: date) -> str:
    """Return a day in figures that doesn't break at a line's end."""
    return short_day(day).replace("-", "\u2011")


def due_rows(store: Shop, book: Tables, lines: Sequence[JobLine], today: date) -> None:
    """Draw what is due, each with a button that says it is done."""
    for line in lines:
        with st.container(key=f"jobrow_{line.visit}"):
            what, step, act = st.columns([3, 4, 3], vertical_alignment="center")
            _named(what, line)
            with step:
                _when(line, book, today, since=False)
                st.markdown(md(_since(line, book)))
            with act, st.container(horizontal=True, gap="small"):
                st.button(
                    say("Done"), key=f"done_{line.visit}_{line.due}", help=line.title,
                    on_click=session_catching().press, args=(job_moves.mark_done, store, line, book),
                )  # fmt: skip
                _open(store, line, book)
