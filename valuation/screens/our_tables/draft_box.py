"""The draft of the next tables: what is in it, by whom, what is wrong with it, and where two people differ."""

from __future__ import annotations

import streamlit as st

from valuation.language import say, say_many
from valuation.report.table_names import row_name, table_name
from valuation.screens import kit, shop
from valuation.screens.our_tables import words
from valuation.screens.our_tables.versions import SAID
from valuation.screens.safe import bullets, md
from valuation.screens.state import fill, session_catching, who
from valuation.service import UserError
from valuation.service.tables_draft import Clash, Drafted, choose, drop
from valuation.service.visits import Shop

_MOST_LINES, _MOST_FAULTS = 40, 20


def draft_box(store: Shop, drafted: Drafted) -> None:
    """Draw what the draft changes; nothing where it is empty."""
    if not drafted.draft.edits:
        return
    lines = words.lines(drafted.draft)
    st.header(say_many("Draft: {count} change, not in force yet", "Draft: {count} changes, not in force yet",
                       len(lines)), anchor=False)  # fmt: skip
    with st.container(border=True, key="tables_draft"):
        for line in lines[:_MOST_LINES]:
            with st.container(horizontal=True, vertical_alignment="center", key=f"draft_{line.edits[0][:12]}"):
                st.text(f"{line.words} ({line.by})")
                kit.action(session_catching(), f"drop_{line.edits[0][:12]}", say("Take out"), _drop, store, line.edits,
                           about=line.words)  # fmt: skip
        if len(lines) > _MOST_LINES:
            st.markdown(say("And {count} more.", count=len(lines) - _MOST_LINES))
        if len(lines) > 1:
            kit.action(session_catching(), "drop_all", say("Let the whole draft go"), _drop, store,
                       tuple(edit.id for edit in drafted.draft.edits))  # fmt: skip
    _clashes(store, drafted)
    _faults(drafted)


def _clashes(store: Shop, drafted: Drafted) -> None:
    for clash in drafted.draft.clashes:
        key = f"{clash.edit.id[:12]}_{clash.column}"
        with st.container(key=f"clash_tables_{key}"):
            where = f"{table_name(clash.edit.table)} · {row_name(clash.edit.row, {})}"
            st.markdown(f"**{md(say('Two entries differ: {where}', where=where))}**")
            st.markdown(say("Neither is lost. Choose one."))
            column = f"{words.column_name(clash.column, clash.edit.table)} " if clash.column else ""
            sides = {
                False: f"{column}{clash.stands or say('taken out')} ({clash.by or say('in force')})",
                True: f"{column}{clash.wanted or say('taken out')} ({clash.edit.who or say('somebody')})",
            }
            with st.container(horizontal=True):
                for wanted, label in sides.items():
                    kit.action(session_catching(), f"choose_{key}_{wanted}", label, _choose, store, drafted, clash,
                               wanted)  # fmt: skip


def _faults(drafted: Drafted) -> None:
    """Tell what the reader of the tables says: as long as it says anything, the draft can't be in force."""
    told = [problem for problem in drafted.problems if not drafted.draft.clashes or problem.line]
    if not told:
        return
    with st.container(border=True, key="fault_draft"):
        counted = say_many("{count} thing to mend before it can be in force:",
                           "{count} things to mend before it can be in force:", len(told))  # fmt: skip
        st.markdown(f"**{counted}**")
        st.markdown(bullets(md(str(problem)) for problem in told[:_MOST_FAULTS]))


def _drop(store: Shop, edits: tuple[str, ...]) -> None:
    try:
        drop(store.store, edits)
        fill(SAID, "")
    except UserError as error:
        fill(SAID, str(error))


def _choose(store: Shop, drafted: Drafted, clash: Clash, wanted: bool) -> None:
    try:
        choose(store.store, drafted, clash, wanted=wanted, who=who(), now=shop.now())
    except UserError as error:
        fill(SAID, str(error))
