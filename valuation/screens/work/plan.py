"""The plan by its parts, each level to be set by hand, and what that does to price and verdict."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.report.format import money
from valuation.report.labels import in_sentence, option_name, with_capital
from valuation.report.words import verdict_sentence
from valuation.screens import frame, hand_changes_shown, marks, shop
from valuation.screens.safe import md
from valuation.screens.state import Draft, held
from valuation.service.visits import offered_levels

_FREE = later("free")


def plan(draft: Draft, option: OptionResult, found: Appraisal, book: Tables) -> None:
    """Draw the plan, part by part."""
    st.markdown(say("Left free, the tool picks each level. Set one, and see what it moves."))
    with st.container():  # always there: what comes and goes above a widget would take a tap on it back
        _effect(draft, option, found, book)
    names = {row.id: say(row.name) for row in book.operations}
    offered = offered_levels(draft.visit, book)
    for part in found.parts:
        if part.part not in option.plan:
            continue
        done = names.get(option.treatments.get(part.part, ""), "")
        level = say(option.plan[part.part])
        told = f"{level}: {done}" if done else level
        with st.container(key=draft.key(f"plan_{part.part}"), gap=None):
            line = f"**{md(with_capital(say(part.name)))}** · {md(told)}"
            st.markdown(f"{line}{hand_changes_shown.mark(draft, part.part)}")
            _level(draft, part.part, say(part.name), offered.get(part.part, ()))
            hand_changes_shown.ask_why(draft, part.part, say(part.name))


def _level(draft: Draft, part: str, name: str, levels: tuple[str, ...]) -> None:
    key = draft.field_key(f"pin_{part}", f"pin.{part}")
    set_levels = draft.set_levels.get(part)
    shown = set_levels if set_levels in levels else _FREE
    draft.catching.follow(key, shown, _take_level, draft, part, key)
    st.pills(
        md(say("Set {part} by hand", part=name)), [_FREE, *levels], format_func=say, key=key, required=True,
        label_visibility="collapsed",
    )  # fmt: skip


def _take_level(draft: Draft, part: str, key: str) -> None:
    level = held(key)
    draft.set_level(part, None if level == _FREE else level)


def _effect(draft: Draft, option: OptionResult, found: Appraisal, book: Tables) -> None:
    """Show the option and the verdict with what is set by hand beside what they are without."""
    if not draft.set_levels:
        return
    free = shop.appraisal_of(draft.visit, {}, book, frame.sold(draft, book))
    before = free.option(option.option)
    rows = [
        [say("Verdict"), verdict_sentence(free), verdict_sentence(found)],
        [
            say("Fixed price"),
            money(before.fixed_price) if before else say("none"),
            money(option.fixed_price),
        ],
        [say("Net"), money(before.expected_net) if before else say("none"), money(option.expected_net)],
    ]
    gone = {o.option for o in free.options} - {o.option for o in found.options}
    caption = say(
        "{option}, without and with what is set by hand. Money in {currency}.",
        option=option_name(option.option), currency=found.currency,
    )  # fmt: skip
    st.html(marks.table(caption, ["", say("Left to the tool"), say("With what is set by hand")], rows))
    for name in sorted(gone):
        said = say(
            "With what is set by hand there is no plan that is a **{option}**.", option=in_sentence(option_name(name))
        )
        st.markdown(said)
    st.button(say("Leave all to the tool again"), key="clear_levels", on_click=draft.press, args=(draft.clear_levels,))
