"""A paper held against today's tables, drawn: what moved, which rows differ, what is not in the comparison."""

from __future__ import annotations

from collections.abc import Sequence

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say, say_many
from valuation.report.labels import day_words
from valuation.screens import marks, shop
from valuation.screens.paper_making import refused
from valuation.screens.recorded import field_words
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft
from valuation.service import NotInForce, UserError
from valuation.service.moved import ChangedRow, Compared, paper_today
from valuation.service.written import Paper

_MOST_ROWS = 40
_HOW = {"new": later("a new row"), "gone": later("the row is gone"), "changed": later("changed")}


def with_todays_tables(draft: Draft, book: Tables, paper: Paper) -> None:
    """Work the paper out with today's tables and prices, and draw what moved. Nothing is stored."""
    try:
        told = paper_today(draft.store, paper.id, book, today=shop.today())
    except UserError as error:
        refused(error)
        return
    except NotInForce as error:
        st.text(str(error))
        return
    with st.container(key=f"compared_{paper.id}"):
        st.markdown(f"**{md(told.moved.sentence)}**")
        st.markdown(
            md(
                say(
                    "Then: prices of {then}, tables {hash}. Now: prices of {now}, tables {hash_now}.",
                    then=day_words(paper.priced_on), hash=paper.tables_hash[:8],
                    now=day_words(shop.today()), hash_now=book.hash[:8],
                )
            )
        )  # fmt: skip
        _figures(told)
        _rows(told)
        _left_out(draft, book, told)


def _figures(told: Compared) -> None:
    if not told.moved.figures:
        st.markdown(say("No figure moved."))
        return
    headers = [say("Figure"), say("Then"), say("Now"), say("Moved by")]
    rows = [[figure.name, figure.then, figure.now, figure.by] for figure in told.moved.figures]
    st.html(marks.table(say("Figures that moved; a range holds 8 of 10"), headers, rows))


def _rows(told: Compared) -> None:
    if told.same_tables:
        if told.moved.figures:
            st.markdown(say("The tables are the same as then; what moved comes from the day alone."))
        else:
            st.markdown(say("The tables are the same as then."))
        return
    if told.fault:
        st.text(say("The rows can't be compared: {fault}", fault=told.fault))
        return
    bearing, others = [r for r in told.rows if r.bears], [r for r in told.rows if not r.bears]
    if bearing:
        st.html(_table(say("Rows that differ and on which this piano's figures rest"), bearing))
    else:
        st.markdown(say("No row differs on which this piano's figures rest by name."))
    if others:
        words = say_many("{count} other row differs", "{count} other rows differ", len(others))
        with st.expander(words):
            st.html(_table(say("Other rows that differ"), others[:_MOST_ROWS]))
            if len(others) > _MOST_ROWS:
                st.markdown(say("And {count} more.", count=len(others) - _MOST_ROWS))


def _table(caption: str, rows: Sequence[ChangedRow]) -> str:
    headers = [say("Row"), say("Column"), say("Then"), say("Now")]
    cells = []
    for row in rows:
        name = say("{file}: {row}", file=row.file, row=row.name)
        cells += [[name, *cell] for cell in row.cells] or [[name, say(_HOW[row.how]), "", ""]]
    return marks.table(caption, headers, cells)


def _left_out(draft: Draft, book: Tables, told: Compared) -> None:
    """Say what the comparison leaves out, and why."""
    said = []
    if told.changed_since:
        names = ", ".join(field_words(draft.visit, field, book) for field in told.changed_since)
        said.append(say("Entered since then, and not in this comparison: {names}.", names=names))
    if told.set_aside:
        names = ", ".join(field_words(draft.visit, field, book) for field in told.set_aside)
        said.append(say("Left out, because today's tables don't know it: {names}.", names=names))
    if told.levels_gone:
        parts = {row.id: say(row.name) for row in book.parts}
        names = ", ".join(parts.get(part, part) for part in told.levels_gone)
        said.append(say("Set by hand then, in a way that today's tables don't have: {names}.", names=names))
    if told.prices_kept:
        said.append(say("Its prices came from your own sales; in this comparison they are those of then."))
    if said:
        st.markdown(bullets(map(md, said)))
