"""What turning figures does to every way: net and chance, before and now, as a table and as a picture."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.language import say
from valuation.report.format import money, of_100
from valuation.report.labels import option_name
from valuation.screens import charts, marks
from valuation.screens.looks import in_these_looks


def table(before: Appraisal, after: Appraisal) -> None:
    """Draw the ways with their nets and chances, before and now."""
    rows, ahead = [], say("just ahead") if after.clarity == "close" else say("the verdict")
    for option in after.options:
        was, earlier = _net(before, option.option), before.option(option.option)
        name = option_name(option.option)
        rows.append(
            [
                f"{name} ({ahead})" if option.option == after.verdict else name,
                say("none") if was is None else money(was),
                money(option.expected_net),
                "" if was is None else money(option.expected_net - was),
                say("none") if earlier is None else of_100(earlier.chance_best),
                of_100(option.chance_best),
            ]
        )
    headers = [
        say("Option"),
        say("Net before"),
        say("Net now"),
        say("Moved by"),
        say("Best in, before"),
        say("Best in, now"),
    ]
    caption = say("Money in {currency}. Net: what it comes to over the years, all counted.", currency=after.currency)
    st.html(marks.table(caption, headers, rows))


def chart(before: Appraisal, after: Appraisal) -> None:
    """Draw the nets now, with a ring where each stood."""
    bars = [
        charts.Bar(option_name(o.option), o.net, o.expected_net, o.option == after.verdict, _net(before, o.option))
        for o in after.options
    ]
    figure, said = charts.chart(say("Net"), bars, after.currency)
    st.markdown(say("Line: 8 of 10 lie on it. Dot: expected now. Ring: at the visit's figures."))
    st.plotly_chart(in_these_looks(figure), theme=None, key="what_if_chart", alt=said, config={"staticPlot": True})


def _net(appraisal: Appraisal, option: str) -> float | None:
    found = appraisal.option(option)
    return found.expected_net if found else None
