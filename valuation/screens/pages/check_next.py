"""The three checks most worth making now, each with the way to it on the walk; or that one may stop looking."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import CheckRow, Tables
from valuation.language import say
from valuation.report.checks import checks_of, part_names, results_of
from valuation.report.labels import PLACE_NAMES, in_sentence, with_capital
from valuation.report.not_yet import look_first
from valuation.report.words import check_sentence, settle_sentence
from valuation.screens import frame, page_list, walk_door
from valuation.screens.safe import md
from valuation.screens.saved import saved_line
from valuation.screens.state import Draft
from valuation.screens.what_stands import what_stands

_MOST = 3


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(page_list.NEXT)
    found = frame.appraised(draft, book)
    st.title(say("Check next"), anchor=False)
    saved_line(draft, book)
    rows = {check.id: check for check in checks_of(draft.visit, book)}
    if not found.ready:
        _before_any_verdict(draft, found, rows, book)
        return
    worth = [] if found.stop_looking else [check for check in found.next_checks if check.gain >= 1 or check.swing >= 1]
    if not worth:
        st.markdown(f"**{md(settle_sentence(found))}**")
    parts, results = part_names(book), results_of(found, book, draft.visit)
    for check in sorted(worth, key=lambda check: -check.gain_per_minute)[:_MOST]:
        place = in_sentence(say(PLACE_NAMES[check.access]))
        row = rows[_asked(check.check, book)]
        st.markdown(f"{md(check_sentence(check, found))}: {place}. {md(say(row.why))}")
        what_stands(draft, row, parts[row.id], results.get(row.id, []), book)
        walk_door.at_check(draft, row.id, say(row.name))
    if worth and st.button(say("Back to the walk"), key="back_to_walk"):
        frame.go(page_list.INSPECT)
    frame.end(book)


def _before_any_verdict(draft: Draft, found: Appraisal, rows: dict[str, CheckRow], book: Tables) -> None:
    """Draw the next of the checks that come before any verdict."""
    first = look_first(found, draft.visit, book)
    st.markdown(md(first.why))
    if first.locked:
        st.markdown(md(first.locked))
    st.markdown(f"**{md(first.minutes)}**")
    parts, results = part_names(book), results_of(found, book, draft.visit)
    for check in [check for check in found.musts if check in rows][:_MOST]:
        row = rows[check]
        st.markdown(f"{md(with_capital(say(PLACE_NAMES[row.access])))}. {md(say(row.why))}")
        what_stands(draft, row, parts[row.id], results.get(row.id, []), book)
        walk_door.at_check(draft, row.id, say(row.name))
    if st.button(say("Back to the walk"), key="back_to_walk"):
        frame.go(page_list.INSPECT)
    frame.end(book)


def _asked(check: str, book: Tables) -> str:
    """Return the check that is entered for this one: its own, or the one whose readings it uses."""
    row = next(row for row in book.checks if row.id == check)
    return row.readings_of or row.id


if __name__ == "__main__":
    page()
