"""Learning: what the shop's own jobs say of its tables, proposed with evidence and effect, taken in by the owner."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.learn import Proposal
from valuation.learn.condition_tables import LEAST_OPENED, LEAST_READ
from valuation.learn.proposals import LEAST_JOBS
from valuation.screens import frame, kit, lesson_words, page_list, shop
from valuation.screens.safe import bullets, md
from valuation.screens.state import fill, held, session_catching, who
from valuation.service import UserError
from valuation.service.lesson_effects import effects
from valuation.service.lessons import Lessons, take_chosen
from valuation.service.visits import Shop

_ASKED, _SEEN, _SAID, _CHOSEN = "lessons_asked", "lessons_seen", "lessons_said", "lessons_chosen"


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.LEARNING)
    store = frame.open_store()
    st.title(say("Learning"), anchor=False)
    st.markdown(
        say("What finished jobs and opened pianos say of the tables. Each change is proposed with what it rests on. "
            "Nothing changes until you take it in.")
    )  # fmt: skip
    if said := held(_SAID):
        with st.container(border=True, key="lessons_said_box"):
            st.text(said)
    if not held(_ASKED):
        st.button(say("Work out what there is to learn"), key="work_out", type="primary", on_click=_ask)
        st.markdown(say("It may take a minute where there are many visits."))
    else:
        _lessons(store, book)
    frame.end(book)


def _ask() -> None:
    fill(_ASKED, True)
    fill(_SAID, "")


def _lessons(store: Shop, book: Tables) -> None:
    with kit.working() as heard:
        lesson, invented = shop.lessons_of(store, book, heard)
    if invented:
        with st.container(key="mark"):
            st.markdown(
                f"**{say('Invented demo data')}**: "
                + say("so you can see how it looks; nothing of it can be taken in.")
            )
    st.header(say("What there is to learn from"), anchor=False)
    st.markdown(bullets(map(md, lesson_words.lacking(lesson))))
    st.markdown(
        say("What clients decided teaches the chances, the waiting times and the hours on the page 'What happened': "
            "they follow every entry and change no table.")
    )  # fmt: skip
    if not lesson.proposals:
        st.markdown(
            say("There is nothing to propose. Hours take at least {jobs} finished jobs of a family; the odds of a "
                "fault at least {opened} pianos, and how sure a check is at least {read} findings, of which teardown "
                "showed the truth. What moves by less than one in a hundred is left alone, and what chance alone "
                "could move.",
                jobs=LEAST_JOBS, opened=LEAST_OPENED, read=LEAST_READ)
        )  # fmt: skip
        return
    chosen = _proposals(lesson, book)
    _effect(lesson, chosen, book)
    _take(store, lesson, chosen, invented=invented)


def _proposals(lesson: Lessons, book: Tables) -> list[Proposal]:
    """Draw the proposals of one sort, each to be chosen; return all that are chosen."""
    sorts = lesson_words.groups(lesson.proposals)
    st.header(say("What is proposed"), anchor=False)
    if held("lessons_sort") not in sorts:
        fill("lessons_sort", next(iter(sorts)))
    names = {sort: f"{lesson_words.group_name(sort)} ({len(sorts[sort])})" for sort in sorts}
    sort = st.pills(
        say("About"), list(sorts), format_func=lambda one: md(names[one]), key="lessons_sort", required=True,
        label_visibility="collapsed",
    )  # fmt: skip
    chosen = frozenset(held(_CHOSEN) or ())
    here = sorts[sort or next(iter(sorts))]
    with st.container(horizontal=True):
        st.button(say("Choose all of these"), key="choose_all", on_click=_choose, args=(here, True))
        st.button(say("Choose none of these"), key="choose_none", on_click=_choose, args=(here, False))
    for proposal in here:
        key = f"take_{proposal.id}"
        fill(key, proposal.id in chosen)
        words = f"**{md(lesson_words.proposal_name(proposal, book))}**: {md(lesson_words.evidence(proposal))}"
        st.checkbox(words, key=key, on_change=_choose_one, args=(proposal, key))
    _cells(here, book)
    return [proposal for proposal in lesson.proposals if proposal.id in chosen]


def _cells(here: list[Proposal], book: Tables) -> None:
    names = {proposal.id: lesson_words.proposal_name(proposal, book) for proposal in here}
    shown = st.selectbox(
        say("Show every cell that would change"), list(names), index=None, format_func=lambda one: names.get(one, ""),
        key="lessons_cells",
        placeholder=say("choose a proposal"),
    )  # fmt: skip
    for proposal in here:
        if proposal.id == shown:
            st.html(lesson_words.changes_table(proposal, book))


def _choose_one(proposal: Proposal, key: str) -> None:
    _choose([proposal], held(key))


def _choose(proposals: list[Proposal], wanted: bool) -> None:
    ids = {proposal.id for proposal in proposals}
    chosen = set(held(_CHOSEN) or ())
    fill(_CHOSEN, frozenset(chosen | ids if wanted else chosen - ids))
    fill(_SEEN, None)


def _effect(lesson: Lessons, chosen: list[Proposal], book: Tables) -> None:
    st.header(say("What it would change"), anchor=False)
    if not chosen:
        st.markdown(say("Choose proposals above, and see here what they would do to evaluations, open and past."))
        return
    st.button(
        say_many("Show the effect of {count} proposal", "Show the effect of {count} proposals", len(chosen)),
        key="show_effect", on_click=fill, args=(_SEEN, tuple(p.id for p in chosen)),
    )  # fmt: skip
    if held(_SEEN) != tuple(proposal.id for proposal in chosen):
        return
    try:
        with kit.working() as heard:
            found = effects(lesson, chosen, on=shop.today(), heard=heard)
    except UserError as error:
        frame.tell(error)
        return
    st.markdown(md(lesson_words.effects_words(found)))
    if table := lesson_words.effects_table(found, book.settings.currency):
        st.html(table)


def _take(store: Shop, lesson: Lessons, chosen: list[Proposal], *, invented: bool) -> None:
    st.header(say("Take it in"), anchor=False)
    seen = held(_SEEN) == tuple(proposal.id for proposal in chosen)
    if chosen and not seen:
        st.markdown(say("First look at the effect, above."))
    st.button(
        say_many("Take {count} proposal into our tables", "Take {count} proposals into our tables", len(chosen)),
        key="take_in", type="primary", disabled=invented or not chosen or not seen,
        on_click=session_catching().press, args=(_taken, store, lesson, chosen),
    )  # fmt: skip
    st.markdown(say("The tables as they are now are kept, and you can go back to them on the page 'Our tables'."))


def _taken(store: Shop, lesson: Lessons, chosen: list[Proposal]) -> None:
    told = say_many("{count} proposal was taken into the tables.", "{count} proposals were taken into the tables.",
                    len(chosen))  # fmt: skip
    why = say("What our jobs teach: {what}", what="; ".join(lesson_words.proposal_name(p, lesson.now) for p in chosen))
    try:
        take_chosen(store, shop.tables_in_force(), lesson, chosen, on=shop.today(), who=who(), why=why, now=shop.now())
    except UserError as error:
        fill(_SAID, "; ".join(map(str, error.problems)))
        return
    fill(_SAID, told)
    _choose(chosen, False)


if __name__ == "__main__":
    page()
