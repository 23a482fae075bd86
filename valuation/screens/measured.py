"""A reading on the page: figures, sentences, a chart where it helps, and the button that takes it over."""

from __future__ import annotations

from dataclasses import replace

import plotly.graph_objects as go
import streamlit as st

from valuation.engine.rows import Tables
from valuation.facts.visit import Finding
from valuation.language import number_signs, numeral, say
from valuation.readings.result import Found, Reading, Series
from valuation.report.format import measure
from valuation.report.labels import in_sentence, severity_words
from valuation.screens import marks
from valuation.screens.charts import FAINT, INK, PAPER
from valuation.screens.looks import in_these_looks
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft


def show_reading(draft: Draft, reading: Reading, book: Tables) -> None:
    """Draw what a measurement comes to.

    Parameters
    ----------
    draft : Draft
        The visit that takes the findings over.
    reading : Reading
        What was measured.
    book : Tables
        The shop's tables, for the names of the checks.
    """
    rows = [[figure.name, figure.text] for figure in reading.figures]
    st.html(marks.table(reading.title, [say("Figure"), say("Value")], rows))
    for problem in reading.refused:
        with st.container(key=draft.key(f"fault_{problem.file}")):
            st.markdown(say("**Not read:** {problem}", problem=md(problem)))
    st.subheader(say("What it says"), anchor=False)
    st.markdown(bullets(md(sentence) for sentence in reading.says))
    st.subheader(say("What it doesn't say"), anchor=False)
    st.markdown(bullets(md(sentence) for sentence in reading.does_not_say))
    _take_over(draft, reading.found, book)
    for number, series in enumerate(reading.series):
        st.plotly_chart(
            in_these_looks(chart(series)), theme=None, key=draft.key(f"measure_chart_{number}"), alt=in_words(series),
            config={"staticPlot": True},
        )  # fmt: skip
    for listing in reading.listings:
        with st.expander(md(listing.caption)):
            st.html(marks.table(listing.caption, listing.headers, listing.rows, dense=True))


def _take_over(draft: Draft, found: tuple[Found, ...], book: Tables) -> None:
    st.subheader(say("As a finding"), anchor=False)
    if not found:
        st.markdown(say("The tables have no check for this."))
        return
    names = {row.id: say(row.name) for row in book.checks}
    for one in found:
        st.markdown(f"**{md(names[one.finding.check])}**: {md(_reads(one, names, draft.system))}")
        if (before := draft.finding(one.finding.check)) and not _same(before, one.finding):
            check = md(in_sentence(names[one.finding.check]))
            st.markdown(say("This replaces what was entered for {check}.", check=check))
    if all((before := draft.finding(one.finding.check)) and _same(before, one.finding) for one in found):
        st.markdown(say("**Taken over**: it stands among the findings of this visit."))
        return
    label = say("Take over as finding")
    st.button(label, key=draft.key("take_over"), type="primary", on_click=draft.press, args=(_take, draft, found))


def _reads(found: Found, names: dict[str, str], system: str) -> str:
    own, *taken = [
        say(
            "{measure} reads {grade}",
            measure=measure(grade.number, grade.check.unit, system),
            grade=severity_words(grade.grade),
        )
        for grade in found.grades
    ]
    others = [in_sentence(names[grade.check.id]) for grade in found.grades[1:]]
    return "; ".join([own, *(f"{name} {words}" for name, words in zip(others, taken, strict=True))])


def _same(before: Finding, finding: Finding) -> bool:
    return replace(before, note="") == replace(finding, note="")


def _take(draft: Draft, found: tuple[Found, ...]) -> None:
    for one in found:
        before = draft.finding(one.finding.check)
        draft.record(one.finding.check, replace(one.finding, note=before.note if before else ""))
        draft.faults.pop(one.finding.check, None)


def chart(series: Series) -> go.Figure:
    """Return the figure of a series: its points, or how many of them there are by size, and the lines to compare."""
    figure = go.Figure()
    if series.counted:
        figure.add_trace(go.Histogram(x=series.x, marker={"color": INK, "line": {"color": PAPER, "width": 2}}))
    else:
        marked = series.marked or (False,) * len(series.x)
        sizes = [15 if mark else 9 for mark in marked]
        symbols = ["diamond" if mark else "circle" for mark in marked]
        marker = {"color": INK, "size": sizes, "symbol": symbols}
        figure.add_trace(go.Scatter(x=series.x, y=series.y, mode="markers", marker=marker))
    for name, at in series.limits:
        line = {"color": FAINT, "width": 2, "dash": "dash"}
        text = {"text": name, "font": {"size": 14}, "bgcolor": PAPER}
        if series.counted:
            figure.add_vline(x=at, line=line, annotation=text, annotation_position="top right")
        else:
            figure.add_hline(y=at, line=line, annotation=text, annotation_position="top left")
    axis = {"gridcolor": "#ddd5c3", "zeroline": False, "fixedrange": True, "tickfont": {"size": 14}, "automargin": True}
    figure.update_xaxes(title=series.across, **axis)
    figure.update_yaxes(**axis)
    title = f"{series.title} ({in_sentence(series.up)})"
    figure.update_layout(
        title={"text": title, "font": {"size": 16}, "x": 0, "xanchor": "left"}, showlegend=False, height=340,
        margin={"l": 4, "r": 16, "t": 48, "b": 34}, paper_bgcolor=PAPER, plot_bgcolor=PAPER, hovermode=False,
        separators="".join(number_signs()),
        font={"color": "#22262b", "size": 15, "family": "Source Sans, sans-serif"},
    )  # fmt: skip
    return figure


def in_words(series: Series) -> str:
    """Return what the chart shows, for those who don't see it."""
    if series.counted:
        shown = say(
            "{count} readings from {low} to {high}",
            count=len(series.x),
            low=numeral(f"{min(series.x):.3g}"),
            high=numeral(f"{max(series.x):.3g}"),
        )
    else:
        points = zip(series.x, series.y, strict=True)
        shown = "; ".join(numeral(f"{across:g}: {up:.1f}") for across, up in points)
    lines = "".join(" " + say("Line, {name}: {at}.", name=name, at=numeral(f"{at:.3g}")) for name, at in series.limits)
    return f"{series.title}. {series.across}; {series.up}. {shown}.{lines}"
