"""What the pins say: sentences and figures, how many read which torque, and where they are."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.facts.visit import Finding
from valuation.language import say
from valuation.readings.pin_field import PinField, pins_in_words
from valuation.readings.result import Reading
from valuation.report.format import measure, unit_words
from valuation.report.labels import severity_words
from valuation.screens import marks
from valuation.screens.pins import charts
from valuation.screens.pins.entry import Asked, spans
from valuation.screens.pins.piano import ends_of
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft

_FIRST = 3
"""So many sentences are read before anything is opened: the middle, the loose ones, and whether that settles it."""


def what_it_says(said: Reading, field: PinField, asked: Asked, book: Tables) -> None:
    """Draw what the readings come to, in sentences first."""
    if field.read_again:
        again = md(pins_in_words(field.read_again, asked.check.unit, asked.system))
        st.markdown(say("**Read again, or mistyped?** Far from the others: {pins}.", pins=again))
    st.header(say("What it says"), anchor=False)
    sentences = [md(sentence) for sentence in [*said.says, *field.says]]
    st.markdown(bullets(sentences[:_FIRST]))
    names = {row.id: say(row.name) for row in book.checks}
    graded = [
        say("{check}: reads {grade}", check=md(names[grade.check.id]), grade=severity_words(grade.grade))
        for found in said.found
        for grade in found.grades
    ]
    with st.expander(say("More that it says, and the figures")):
        st.markdown(bullets(sentences[_FIRST:]))
        st.html(marks.table(said.title, [say("Figure"), say("Value")], [[f.name, f.text] for f in said.figures]))
        if graded:  # pins that only felt soft read nothing
            st.markdown(say("By the cut points of the tables: {graded}.", graded="; ".join(graded)))


def histogram(finding: Finding, asked: Asked, limit: float | None) -> None:
    """Draw how many pins read which torque."""
    st.markdown(
        say(
            "Torque in {unit}, and how many pins read so. Hatched: loose. Dashed lines: the cut points of the tables.",
            unit=unit_words(asked.check.unit, asked.system),
        )
    )
    counted = charts.bars(finding.readings, limit, asked.check.unit, asked.system)
    st.html(charts.histogram(counted, asked.check, asked.system))


def field_map(draft: Draft, finding: Finding, field: PinField, asked: Asked, limit: float | None) -> None:
    """Draw where the loose and the soft pins are."""
    marked = asked.check.cut_marked
    soft = "–" if marked is None else measure(marked, asked.check.unit, asked.system)
    signs = charts.SIGNS
    legend = say(
        "{mark} loose · {soft} soft, under {limit} · {firm} firm. Across: keys; up: strings, 1 the left one. Pins "
        "without a place follow in the order read. A box holds loose neighbours.",
        mark=signs[charts.LOOSE], soft=signs[charts.SOFT], firm=signs[charts.FIRM], limit=soft,
    )  # fmt: skip
    st.markdown(md(legend))
    drawn = charts.strips(finding.readings, spans(ends_of(draft, finding)), asked.check, limit)
    st.html(charts.field_map(drawn, field.runs))
    if field.loose:
        st.markdown(say("**Loose:** {pins}.", pins=md(pins_in_words(field.loose, asked.check.unit, asked.system))))
