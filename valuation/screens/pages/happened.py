"""What happened: how far evaluations get, how long clients take, which may become jobs, what is coming."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.learn.decisions import Curve
from valuation.report.format import exact, of_100, typed_numeral
from valuation.screens import frame, marks, page_list, shop
from valuation.screens.happened import charts as happened_charts
from valuation.screens.happened import tables as happened_tables
from valuation.screens.looks import in_these_looks
from valuation.screens.safe import bullets, md
from valuation.screens.state import fill, held, session_catching
from valuation.service.outcomes import CAPACITY, Happened, work_coming
from valuation.service.visits import Shop

_PARTS = {
    "way": later("How far they get"),
    "time": later("How long it takes"),
    "open": later("The open ones"),
    "coming": later("What is coming"),
}
_STILL = {"staticPlot": True}


def page() -> None:
    """Draw the page."""
    _, book = frame.begin(page_list.HAPPENED)
    store = frame.open_store()
    st.title(say("What happened"), anchor=False)
    found = shop.what_happened(store, book)
    if found.invented:
        with st.container(key="mark"):
            st.markdown(f"**{say('Invented demo data')}**: {say('so far there are no evaluations of your own.')}")
    if not found.evaluations:
        st.markdown(
            say("No evaluation is known yet with what its client was told: that is kept when the stage 'evaluated' "
                "begins on the page of a job.")
        )  # fmt: skip
        frame.end(book)
        return
    part = st.pills(
        say("Show"), list(_PARTS), format_func=lambda part: say(_PARTS[part]), key="happened_part", default="way",
        required=True, label_visibility="collapsed",
    )  # fmt: skip
    _draw(part or "way", store, found, book)
    frame.end(book)


def _draw(part: str, store: Shop, found: Happened, book: Tables) -> None:
    currency = book.settings.currency
    if part == "way":
        _way(found, book, currency)
    elif part == "time" and found.yes and found.no and found.undecided:
        _time(found.yes, found.no, found.undecided)
    elif part == "open" and found.carry is not None:
        st.markdown(bullets(map(md, happened_tables.carry_words(found.carry))))
        happened_tables.open_ones(found, currency)
        happened_tables.reliability(found.carry)
        st.markdown(say("These chances are the workshop's own business. They never enter what a client is told."))
    elif part == "coming":
        _coming(store, found)


def _way(found: Happened, book: Tables, currency: str) -> None:
    happened_tables.way(found, book)
    st.header(say("What became of them"), anchor=False)
    by = st.pills(
        say("By"), list(happened_tables.BY), format_func=lambda one: say(happened_tables.BY[one]), key="happened_by",
        default="month", required=True,
    )  # fmt: skip
    happened_tables.conversions(found, by or "month", currency)
    happened_tables.reasons_lost(found, book)


def _time(yes: Curve, no: Curve, undecided: Curve) -> None:
    words = happened_charts.decisions_words(yes, no, undecided)
    st.markdown(
        say("Who hasn't decided by today is counted as undecided, not left out and not as a no. A no ends it as a yes "
            "does: the two compete. Bands: 9 in 10.")
    )  # fmt: skip
    figure = in_these_looks(happened_charts.decisions_chart(yes, no, undecided))
    st.plotly_chart(figure, theme=None, key="decisions_chart", alt=" ".join(words), config=_STILL)
    st.markdown(bullets(map(md, words)))


def _coming(store: Shop, found: Happened) -> None:
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
            happened_charts.month_words(month),
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
    st.plotly_chart(
        in_these_looks(happened_charts.coming_chart(months)), theme=None, key="coming_chart", alt=words, config=_STILL
    )  # fmt: skip
    st.html(marks.table(caption, headers, rows, dense=True))
    if any(month.coming > month.coming_high for month in months):
        st.markdown(
            say("Where most likely no job is accepted, the hours lie above their band: they count in the small chance "
                "of a large one.")
        )  # fmt: skip
    if not capacity:
        st.markdown(say("Say what the shop can do in a month, and the rest of the table fills."))


def _keep_capacity(store: Shop, key: str) -> None:
    text = (held(key) or "").strip()
    fill("capacity_fault", "")
    if not text:
        store.set_setting(CAPACITY, None)
        return
    try:
        hours = float(typed_numeral(text))
        if not 0 < hours < 100_000:
            raise ValueError
    except ValueError:
        fill("capacity_fault", say("'{text}' is not a number of hours; write one such as 240", text=text[:20]))
        return
    store.set_setting(CAPACITY, hours)


if __name__ == "__main__":
    page()
