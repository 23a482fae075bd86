"""What the chosen proposals would change, and taking them into the tables."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import say, say_many
from valuation.learn import Proposal
from valuation.screens import frame, kit, lesson_words, shop
from valuation.screens.learning import choices
from valuation.screens.safe import md
from valuation.screens.state import fill, held, session_catching, who
from valuation.service import UserError
from valuation.service.lesson_effects import effects
from valuation.service.lessons import Lessons, take_chosen
from valuation.service.visits import Shop

SAID = "lessons_said"


def effect(lesson: Lessons, chosen: list[Proposal], book: Tables) -> None:
    """Draw what the chosen proposals would do to evaluations."""
    st.header(say("What it would change"), anchor=False)
    if not chosen:
        st.markdown(say("Choose proposals above, and see here what they would do to evaluations, open and past."))
        return
    st.button(
        say_many("Show the effect of {count} proposal", "Show the effect of {count} proposals", len(chosen)),
        key="show_effect", on_click=fill, args=(choices.SEEN, tuple(p.id for p in chosen)),
    )  # fmt: skip
    if held(choices.SEEN) != tuple(proposal.id for proposal in chosen):
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


def take(store: Shop, lesson: Lessons, chosen: list[Proposal], *, invented: bool) -> None:
    """Draw the way to take them in, once their effect was seen."""
    st.header(say("Take it in"), anchor=False)
    seen = held(choices.SEEN) == tuple(proposal.id for proposal in chosen)
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
        fill(SAID, "; ".join(map(str, error.problems)))
        return
    fill(SAID, told)
    choices.choose(chosen, False)
