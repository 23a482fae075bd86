"""Files about jobs: for whatever calendar the workshop has, and for the owner's own tools."""

from __future__ import annotations

from functools import partial

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import number_signs, say
from valuation.screens import shop
from valuation.service import due as service_due
from valuation.service.job_files import ENDINGS, file_of
from valuation.service.visits import Shop

_TYPES = {
    ".csv": "text/csv",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    ".parquet": "application/vnd.apache.parquet",
}


def offer(store: Shop, book: Tables) -> None:
    """Draw the buttons; a file is made when one is tapped, not before."""
    with st.expander(say("Take along"), key="job_files"):
        st.markdown(
            say(
                "All that is to be done, with its day, as a calendar file (ICS). Read in again later it replaces what "
                "was there; nothing stands twice."
            )
        )
        st.download_button(
            say("Calendar of what is to be done"), lambda: _calendar(store, book), f"jobs-{shop.today()}.ics",
            "text/calendar", key="jobs_ics", on_click="ignore",
        )  # fmt: skip
        st.markdown(
            say(
                "Every evaluation and what became of it, one row each; the workbook has a sheet for each thing: lines, "
                "hours, materials, money, what came back. No cell is a formula; the manual says what each column means."
            )
        )
        with st.container(horizontal=True):
            for ending in ENDINGS:
                st.download_button(
                    say("As {ending}", ending=ending.removeprefix(".").upper()),
                    partial(_file, store, ending), f"evaluations-{shop.today()}{ending}",
                    _TYPES[ending], key=f"jobs_out{ending}", on_click="ignore",
                )  # fmt: skip


def _file(store: Shop, ending: str) -> bytes:
    shop.speak_as_chosen()  # it is made after the page, in a thread that has chosen no language
    return file_of(store, ending, decimal=number_signs()[0])


def _calendar(store: Shop, book: Tables) -> bytes:
    shop.speak_as_chosen()  # it is made after the page, in a thread that has chosen no language
    words = {row.what: say(row.what) for row in book.follow_ups}
    return service_due.calendar(store, book, now=shop.now(), name=say("Jobs"), words=words)
