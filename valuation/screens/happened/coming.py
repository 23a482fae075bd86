"""The hours of work that are coming, against what the shop can do in a month."""

from __future__ import annotations

import streamlit as st

from valuation.language import say
from valuation.report.format import exact, of_100
from valuation.report.typed import read_hours_a_month
from valuation.screens import marks
from valuation.screens.happened import charts
from valuation.screens.looks import in_these_looks
from valuation.screens.safe import md
from valuation.screens.state import fill, held, session_catching
from valuation.service.outcomes import CAPACITY, Happened, work_coming
from valuation.service.visits import Shop


def coming(store: Shop, found: Happened) -> None:
    """Draw the months ahead, and ask for what the shop can do."""
    key = "capacity"
    usual = store.setting(CAPACITY)
    session_catching().watch(key, "" if usual is None else f"{usual:g}", _keep_capacity, store, key)
    st.text_input(
        say("Hours of work that the shop can do in a month"), key=key, placeholder=say("such as 240"),
    )  # fmt: skip
    if fault := held("capacity_fault"):
        with st.container(key="fault_capacity"):
            st.text(fault)
    capacity = float(store.setting(CAPACITY) or 0)
    months = work_coming(found, capacity=capacity)
    st.markdown(
        md(say("In hand, accepted and not yet begun: about {hours} hours.", hours=exact(found.in_hand)))
    )  # fmt: skip
    rows = [
        [
            charts.month_words(month),
            exact(month.coming),
            f"{exact(month.coming_low)} – {exact(month.coming_high)}",
            exact(month.capacity) if capacity else "–",
            exact(month.left) if capacity else "–",
            of_100(month.short) if capacity else "–",
        ]
        for month in months
    ]
    headers = [say("Month"), say("Hours coming"), say("8 in 10"), say("The shop can do"), say("Left at its end"),
               say("Too little to do")]  # fmt: skip
    caption = say(
        "Hours of jobs expected to be accepted, from open evaluations and from those yet to come, as in the year before"
    )
    told = "; ".join(say("{month}: {hours} hours", month=row[0], hours=f"{row[1]} ({row[2]})") for row in rows)
    words = say("Hours that come, with 8 in 10 in brackets: {months}.", months=told)
    figure = in_these_looks(charts.coming_chart(months))
    st.plotly_chart(figure, theme=None, key="coming_chart", alt=words, config={"staticPlot": True})
    st.html(marks.table(caption, headers, rows, dense=True))
    if any(month.coming > month.coming_high for month in months):
        st.markdown(
            say("Where most likely no job is accepted, the hours lie above their band: they count in the small chance "
                "of a large one.")
        )  # fmt: skip
    if not capacity:
        st.markdown(say("Say what the shop can do in a month, and the rest of the table fills."))


def _keep_capacity(store: Shop, key: str) -> None:
    hours, fault = read_hours_a_month(held(key) or "")
    fill("capacity_fault", fault)
    if not fault:
        store.set_setting(CAPACITY, hours)
