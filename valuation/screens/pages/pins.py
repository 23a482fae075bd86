"""Tuning pins: readings as fast as they are read aloud, and at once what they say of all pins and of the block."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import CheckRow, Tables
from valuation.facts.visit import Finding
from valuation.language import say
from valuation.readings.grade import row_of
from valuation.readings.pin_field import PATTERN, look_at_field
from valuation.readings.pins import TORQUE, loose_below, read_pins
from valuation.readings.result import Reading, told_of
from valuation.report.air import air_words
from valuation.report.format import shown_unit
from valuation.screens import frame, marks, page_list
from valuation.screens.fact_fields import typed
from valuation.screens.pins import pattern, says
from valuation.screens.pins.deal import deal
from valuation.screens.pins.entry import Asked
from valuation.screens.pins.fields import entry, units
from valuation.screens.pins.grid import wait_for_a_pause
from valuation.screens.pins.piano import this_piano
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft
from valuation.service import UserError

_HERE = f"{page_list.FOLDER}/pins.py"


def page() -> None:
    """Draw the page."""
    wait_for_a_pause()
    draft, book = frame.begin(_HERE)
    st.title(say("Tuning pins"), anchor=False)
    check = row_of(book, draft.visit.piano.kind, TORQUE)
    if check is None:
        st.markdown(say("The tables have no check for the torque of tuning pins, so there is nothing to enter here."))
    else:
        _pins(draft, check, book)
    frame.end(book)


def _pins(draft: Draft, check: CheckRow, book: Tables) -> None:
    _air(draft)
    asked = Asked(check, draft.visit, book, units(draft))
    deal(draft, say(check.how))
    entry(draft, asked)
    in_all = this_piano(draft)
    finding = draft.finding(TORQUE)
    if finding is None or not finding.readings:
        if finding is not None:
            st.markdown(say("It is marked as **can't be seen**. A reading entered here takes the place of that."))
        else:
            st.markdown(say("No pin is entered yet. That counts as not looked at, never as good."))
        return
    try:
        said = _said(finding, asked, in_all)
    except UserError as error:
        with st.container(border=True, key="fault_pins"):
            for problem in error.problems:
                st.markdown(say("**Not reckoned:** {problem}", problem=md(problem)))
        return
    field = look_at_field(finding.readings, book, draft.visit.piano.kind, asked.system)
    says.what_it_says(said, field, asked, book)
    limit = loose_below(check)
    with st.expander(say("By torque, against the range of the tables")):
        says.histogram(finding, asked, limit)
    with st.expander(say("Map of the pin field")):
        says.field_map(draft, finding, field, asked, limit)
    if asks_where := row_of(book, draft.visit.piano.kind, PATTERN):
        with st.expander(md(say(asks_where.name))):
            pattern.pattern(draft, asks_where, field, book)
    st.subheader(say("What it doesn't say"), anchor=False)
    st.markdown(bullets(md(sentence) for sentence in said.does_not_say))
    for listing in said.listings:
        with st.expander(md(listing.caption)):
            st.html(marks.table(listing.caption, listing.headers, listing.rows, dense=True))


def _air(draft: Draft) -> None:
    """Show the day's air at the piano, which the readings carry, and take it down where nobody has yet."""
    with st.expander(md(air_words(draft.visit)), key=draft.key("pins_air")):
        typed(draft, "humidity")
        typed(draft, "temperature")


def _said(finding: Finding, asked: Asked, in_all: int | None) -> Reading:
    unit = shown_unit(asked.check.unit, asked.system)
    with told_of(say("pins of the piano")):
        return read_pins({}, unit, asked.tables, asked.visit.piano.kind, taken=finding.readings, in_all=in_all)


if __name__ == "__main__":
    page()
