"""Where in the talk one stands: the row of steps, the way on and back, the ways that are held against each other.

It stands in the address, so that a reload finds it; nothing of it is stored.
"""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from valuation.facts.words import WAYS
from valuation.language import say
from valuation.report.case import Case
from valuation.report.client_words import way_name
from valuation.report.talk.side_by_side import AT_ONCE, ways_to_compare
from valuation.report.talk.steps import step_name
from valuation.screens import kit
from valuation.screens.safe import md
from valuation.screens.state import Draft

_STEP, _WAYS = "step", "ways"


def step_asked(steps: Sequence[str]) -> str:
    """Return the step that the address asks for, the first where it asks for none of these."""
    asked = st.query_params.get(_STEP, "")
    return asked if asked in steps else steps[0]


def row_of_steps(steps: Sequence[str], here: str) -> None:
    """Draw the row of steps, each by its number and its name; on a phone the name is for those who don't see it."""
    with st.container(horizontal=True, key="steps", gap="small"):
        for number, step in enumerate(steps, 1):
            words = f"**{number}** {md(step_name(step))}"
            if st.button(words, key=f"step_{step}", type="primary" if step == here else "secondary") and step != here:
                _to(step)


def onward(steps: Sequence[str], here: str) -> None:
    """Draw the way to the step before and to the next."""
    place = steps.index(here)
    with st.container(horizontal=True, key="onward"):
        # each with a key of its own step, so that a quick second click on it leads no further
        if place and st.button(say("Back"), key=f"back_to_{steps[place - 1]}"):
            _to(steps[place - 1])
        if place + 1 < len(steps):
            following = steps[place + 1]
            if st.button(md(say("Next: {step}", step=step_name(following))), key=f"on_to_{following}", type="primary"):
                _to(following)


def _to(step: str) -> None:
    st.query_params[_STEP] = step
    st.rerun()


def compared(draft: Draft, case: Case) -> tuple[str, ...]:
    """Draw the choice of ways to hold against each other, and return those that are."""
    shown = ways_to_compare(_chosen(), case)
    with st.container(key="compare"):
        kit.choice(
            draft.catching, draft.key("compare"), say("Ways to hold side by side"),
            {way: way_name(way) for way in WAYS}, list(shown), _choose, list(shown), several=True, bare=True,
        )  # fmt: skip
    return shown


def _chosen() -> list[str]:
    return [way for way in st.query_params.get(_WAYS, "").split(",") if way]


def _choose(now: list[str], before: list[str]) -> None:
    """Keep what was chosen with the latest last, so that it isn't the one that gives way."""
    kept = [way for way in before if way in now]
    st.query_params[_WAYS] = ",".join([*kept, *(way for way in now if way not in kept)][-AT_ONCE:])
