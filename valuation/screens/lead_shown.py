"""What moves the lead, and what each sum spent can bring: pictures with their words beside them, on the verdict."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.frontier import cost_and_result
from valuation.engine.rows import Tables
from valuation.engine.study import Study
from valuation.engine.swings import swings as swings_of
from valuation.language import say
from valuation.report.format import money
from valuation.report.labels import option_name
from valuation.report.lead_words import frontier_sentences, swing_sentence, telling
from valuation.screens import lead_charts, marks
from valuation.screens.looks import in_these_looks
from valuation.screens.safe import bullets, md

_SHOWN = 8
_STATIC = {"staticPlot": True}


def what_moves_the_lead(study: Study, found: Appraisal) -> None:
    """Draw how far each figure that nobody knows for sure moves the verdict's lead."""
    st.header(md(say("What moves the lead")), anchor=False)
    swings = telling(swings_of(study))
    if not swings or found.next_option == found.verdict:
        st.markdown(md(say("Nothing within reach moves it.")))
        return
    st.markdown(md(_how_turned()))
    figure, words = lead_charts.swings_chart(swings, found.verdict, found.currency)
    st.plotly_chart(in_these_looks(figure), theme=None, key="swings_chart", alt=words, config=_STATIC)
    st.markdown(bullets(md(swing_sentence(swing, found.verdict, found.currency)) for swing in swings))


def _how_turned() -> str:
    return say(
        "Each bar turns one figure and leaves the rest. Value and hours go to where 1 in 10 and 9 in 10 lie, a year of "
        "playing by half, the years by five, keeping it from nothing to twice what was said. Dotted: the lead today. "
        "Left of the full line another option is best."
    )


def what_money_can_bring(study: Study, found: Appraisal, book: Tables) -> None:
    """Draw the frontier of price against net, with today's options on it."""
    st.header(md(say("What each sum can bring")), anchor=False)
    spots = cost_and_result(study)
    st.markdown(md(say("Each point is the plan that brings most for its price. Marks: the options of today.")))
    figure, words = lead_charts.frontier_chart(spots, found.verdict, found.currency)
    st.plotly_chart(in_these_looks(figure), theme=None, key="frontier_chart", alt=words, config=_STATIC)
    st.markdown(bullets(map(md, frontier_sentences(spots, found.currency))))
    names = {row.id: say(row.name) for row in book.operations}
    step = max(1, -(-len(spots.frontier) // _SHOWN))
    rows = [
        [
            money(spot.price),
            money(spot.net),
            option_name(spot.option),
            "; ".join(names[operation] for operation in spot.treatments.values()),
        ]
        for spot in spots.frontier[::step]
    ]
    if rows:
        with st.expander(md(say("Some of these plans"))):
            caption = say("Money in {currency}, expected, with tax.", currency=found.currency)
            st.html(marks.table(caption, [say("Price"), say("Net"), say("Kind"), say("What is done")], rows))
