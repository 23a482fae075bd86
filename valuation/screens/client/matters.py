"""Step 2, what matters to you: five questions, and who likes may name a sum. No figure of ours stands beside them."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.facts.declared import MOST_WORTH
from valuation.language import number_signs, say
from valuation.report.client_words import theme_meaning, theme_name
from valuation.report.format import typed_numeral
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.wishes import A_LOT, FIELD, LITTLE, SOME, THEMES
from valuation.screens import kit
from valuation.screens.safe import md
from valuation.screens.state import Draft
from valuation.screens.wishes import wish, wishes_of


def show(draft: Draft, wanted: AsWanted) -> None:
    """Draw the step."""
    st.markdown(md(say("There is no right answer, and nothing is lost by leaving one open. It can be changed later.")))
    wishes = wishes_of(draft)
    weights = {LITTLE: say("hardly"), SOME: say("somewhat"), A_LOT: say("a lot")}
    with st.container(key="ask_matters"):
        for theme in THEMES:
            with st.container(key=f"ask_{theme}", horizontal=True, vertical_alignment="center"):
                st.markdown(f"**{md(theme_name(theme))}**  \n{md(theme_meaning(theme))}")
                kit.choice(
                    draft.catching, _key(draft, theme), theme_name(theme), weights, wishes.matters(theme) or None,
                    _take, draft, theme, bare=True,
                )  # fmt: skip
    if box := kit.folded(draft.key("as_a_sum"), say("Say it as a sum, if that is easier for you")):
        with box:
            _sums(draft, wanted.case.found)


def _sums(draft: Draft, found: Appraisal) -> None:
    st.markdown(md(say("How much is it worth to you that it is this piano and no other? Nobody will hold you to it.")))
    have = say("To have this very piano, even if nobody plays it, in {currency}", currency=found.currency)
    _sum(draft, "to_have", have, found.to_have)
    hear = say("To hear this very piano again, in {currency}", currency=found.currency)
    _sum(draft, "to_hear", hear, found.to_hear)


def _sum(draft: Draft, name: str, label: str, stands: float) -> None:
    """Draw the field for one sum; what can't be read stays as it was typed, and is told."""
    unread = draft.faults.get(_fault(name))
    content = unread[0] if unread else f"{stands:.0f}" if stands else ""
    kit.field(
        draft.catching, draft.field_key(f"wish_{name}_money", f"client.{name}"), label, content, _take_sum, draft, name
    )
    with st.container():  # always there: what comes and goes above a widget would take a tap on it back
        if unread:
            with st.container(key=f"fault_{name}"):
                told = say("That is not a sum of money. Write it like 1500. What was said before still counts.")
                st.markdown(md(told))


def _fault(name: str) -> str:
    return f"{FIELD}{name}_typed"


def _key(draft: Draft, name: str) -> str:
    return draft.field_key(f"wish_{name}", f"{FIELD}{name}")


def _take(weight: object, draft: Draft, theme: str) -> None:
    wish(draft, theme, weight)


def _take_sum(typed: object, draft: Draft, name: str) -> None:
    draft.faults.pop(_fault(name), None)
    text = str(typed or "").replace(" ", "")
    try:
        text = text.replace(",", "") if number_signs() == (".", ",") else typed_numeral(text)
        amount = float(text) if text else None
        if amount is not None and not 0 <= amount <= MOST_WORTH:
            raise ValueError(text)
    except ValueError:
        draft.faults[_fault(name)] = (text,)
        return
    wish(draft, name, amount)
