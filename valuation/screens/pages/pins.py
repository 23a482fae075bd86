"""Tuning pins: readings as fast as they are read aloud, and at once what they say of all pins and of the block."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import CheckRow, Tables
from valuation.facts.answers import CANNOT_SEE, NOT_LOOKED_AT
from valuation.facts.visit import Finding, Visit
from valuation.language import say
from valuation.readings.grade import row_of
from valuation.readings.pin_field import PATTERN, PinField, look_at_field, pins_in_words
from valuation.readings.pins import TORQUE, loose_below, read_pins
from valuation.readings.result import Reading, told_of
from valuation.report.format import measure, number, shown_unit, unit_words
from valuation.report.labels import choice_looks, choice_word, severity_words
from valuation.screens import answers, clashes, frame, marks, page_list
from valuation.screens.fact_fields import typed
from valuation.screens.pins import charts as pin_charts
from valuation.screens.pins.deal import deal
from valuation.screens.pins.entry import Asked, spans
from valuation.screens.pins.fields import entry, units
from valuation.screens.pins.grid import wait_for_a_pause
from valuation.screens.pins.piano import ends_of, this_piano
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft, held
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
    st.markdown(md(say(check.how)))
    _air(draft)
    asked = Asked(check, draft.visit, book, units(draft))
    deal(draft)
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
    _what_it_says(said, field, asked, book)
    limit = loose_below(check)
    _histogram(finding, asked, limit)
    _map(draft, finding, field, asked, limit)
    pattern = row_of(book, draft.visit.piano.kind, PATTERN)
    if pattern:
        _pattern(draft, pattern, field, book)
    st.subheader(say("What it doesn't say"), anchor=False)
    st.markdown(bullets(md(sentence) for sentence in said.does_not_say))
    for listing in said.listings:
        with st.expander(md(listing.caption)):
            st.html(marks.table(listing.caption, listing.headers, listing.rows, dense=True))


def _air(draft: Draft) -> None:
    """Show the day's air at the piano, which the readings carry, and take it down where nobody has yet."""
    st.text(air_words(draft.visit))
    with st.expander(say("The air at the piano"), key=draft.key("pins_air")):
        typed(draft, "humidity")
        typed(draft, "temperature")


def air_words(visit: Visit) -> str:
    """Return the day's air at the piano; where it isn't told, that."""
    not_told = say("not told")
    humidity = not_told if visit.humidity is None else say("{humidity} %", humidity=number(visit.humidity))
    warmth = not_told if visit.temperature is None else say("{degrees} °C", degrees=number(visit.temperature))
    return say(
        "Air at the piano that day: humidity {humidity}, temperature {warmth}.", humidity=humidity, warmth=warmth
    )


def _said(finding: Finding, asked: Asked, in_all: int | None) -> Reading:
    unit = shown_unit(asked.check.unit, asked.system)
    with told_of(say("pins of the piano")):
        return read_pins({}, unit, asked.tables, asked.visit.piano.kind, taken=finding.readings, in_all=in_all)


def _what_it_says(said: Reading, field: PinField, asked: Asked, book: Tables) -> None:
    if field.read_again:
        again = md(pins_in_words(field.read_again, asked.check.unit, asked.system))
        st.markdown(say("**Read again, or mistyped?** Far from the others: {pins}.", pins=again))
    st.header(say("What it says"), anchor=False)
    st.markdown(bullets(md(sentence) for sentence in [*said.says, *field.says]))
    st.html(marks.table(said.title, [say("Figure"), say("Value")], [[f.name, f.text] for f in said.figures]))
    names = {row.id: say(row.name) for row in book.checks}
    graded = [
        say("{check}: reads {grade}", check=md(names[grade.check.id]), grade=severity_words(grade.grade))
        for found in said.found
        for grade in found.grades
    ]
    if graded:  # pins that only felt soft read nothing
        st.markdown(say("By the cut points of the tables: {graded}.", graded="; ".join(graded)))


def _histogram(finding: Finding, asked: Asked, limit: float | None) -> None:
    st.subheader(say("By torque, against the range of the tables"), anchor=False)
    st.markdown(
        say(
            "Torque in {unit}, and how many pins read so. Hatched: loose. Dashed lines: the cut points of the tables.",
            unit=unit_words(asked.check.unit, asked.system),
        )
    )
    counted = pin_charts.bars(finding.readings, limit, asked.check.unit, asked.system)
    st.html(pin_charts.histogram(counted, asked.check, asked.system))


def _map(draft: Draft, finding: Finding, field: PinField, asked: Asked, limit: float | None) -> None:
    st.header(say("Map of the pin field"), anchor=False)
    marked = asked.check.cut_marked
    soft = "–" if marked is None else measure(marked, asked.check.unit, asked.system)
    signs = pin_charts.SIGNS
    legend = say(
        "{mark} loose · {soft} soft, under {limit} · {firm} firm. Across: keys; up: strings, 1 the left one. Pins "
        "without a place follow in the order read. A box holds loose neighbours.",
        mark=signs[pin_charts.LOOSE], soft=signs[pin_charts.SOFT], firm=signs[pin_charts.FIRM], limit=soft,
    )  # fmt: skip
    st.markdown(md(legend))
    drawn = pin_charts.strips(finding.readings, spans(ends_of(draft, finding)), asked.check, limit)
    st.html(pin_charts.field_map(drawn, field.runs))
    if field.loose:
        st.markdown(say("**Loose:** {pins}.", pins=md(pins_in_words(field.loose, asked.check.unit, asked.system))))


def _pattern(draft: Draft, check: CheckRow, field: PinField, book: Tables) -> None:
    """Offer the check that asks where the loose pins are; the person answers it, never the tool."""
    st.subheader(md(say(check.name)), anchor=False)
    st.markdown(md(say(check.why)))
    if field.pattern in check.choices:
        word = md(choice_word(check, field.pattern))
        st.markdown(say("The readings speak for **{word}**: {why}. You answer it.", word=word, why=md(field.because)))
    else:
        st.markdown(say("The readings can't tell."))
    field_of_store = f"finding.{check.id}"
    key = draft.field_key(f"pins_{check.id}", field_of_store)
    finding = draft.finding(check.id)
    said = NOT_LOOKED_AT
    if finding:
        said = CANNOT_SEE[0] if finding.cannot_see else check.choices[finding.grade]
    draft.watch(key, said, _take_pattern, draft, check, key)
    words = {word: choice_word(check, grade) for grade, word in check.choices.items()}
    shown = {NOT_LOOKED_AT: say(NOT_LOOKED_AT), **words, CANNOT_SEE[0]: say(CANNOT_SEE[0])}
    st.pills(
        md(say(check.name)), list(shown), format_func=lambda said: md(shown[said]), key=key, required=True,
        label_visibility="collapsed",
    )  # fmt: skip
    clashes.settle(draft, field_of_store, book)
    st.markdown(
        bullets(f"**{md(choice_word(check, grade))}**: {md(choice_looks(check, grade))}" for grade in check.choices)
    )


def _take_pattern(draft: Draft, check: CheckRow, key: str) -> None:
    finding, said = draft.finding(check.id), held(key)
    if said is not None:
        note = finding.note if finding and said != NOT_LOOKED_AT else ""
        draft.record(check.id, answers.read_choice(check, said, note, draft.visit, draft.book)[0])


if __name__ == "__main__":
    page()
