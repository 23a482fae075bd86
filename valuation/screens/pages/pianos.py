"""Choose one of the invented pianos, or open a visit file."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from valuation.core.rows import Tables
from valuation.core.visit import Visit
from valuation.report.words import verdict_sentence
from valuation.screens import frame, shop
from valuation.screens.safe import md
from valuation.screens.state import put_on_the_table
from valuation.service import NotInForce, UserError, demo_visits, read_visit_bytes, read_visit_file


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(frame.FIRST)
    st.title("Is an old piano worth it?", anchor=False)
    st.markdown(
        "From what was found on it to a verdict that explains itself: "
        "rebuild it, repair it in part, keep it as it is, or retire it."
    )
    if draft is not None:
        st.text(f"On the table now: {draft.visit.title}")
    _upload(book)
    st.header("Pianos to try it on", anchor=False)
    with st.container(key="mark"):
        st.markdown("**Invented demo data**: an invented workshop in an invented town; nothing here is a real piano.")
    if draft is not None and draft.use_sales:
        st.markdown("The verdicts of this list come from the table of price bands alone.")
    for name, path in demo_visits():
        _card(name, path, book)
    frame.end(book)


def _card(name: str, path: Path, book: Tables) -> None:
    try:
        visit = read_visit_file(path, book, shop.today())
    except UserError as error:  # the shop's own tables may not know what the demo was written with
        frame.tell(error)
        return
    with st.container(border=True, key=f"card_{path.stem}"):
        st.subheader(md(visit.title), anchor=False)
        st.text(frame.facts(visit))
        _verdict(visit, book)
        st.text(" ".join(visit.story.split()))
        if st.button(f"Open: {md(name)}", key=f"open_{path.stem}"):
            frame.open_demo(path, book)
            st.switch_page(frame.VERDICT)


def _verdict(visit: Visit, book: Tables) -> None:
    try:
        found = shop.appraisal_of(visit, {}, book)
    except NotInForce as error:
        st.text(str(error))
    else:
        st.markdown(f"**{md(verdict_sentence(found))}** {found.clarity.capitalize()}.")


def _upload(book: Tables) -> None:
    st.header("Open a visit file", anchor=False)
    file = st.file_uploader(
        "A visit file (TOML, as the README describes)", type=["toml"], key="visit_file", max_upload_size=1
    )
    if file is None:
        return
    try:
        visit = read_visit_bytes(file.getvalue(), file.name, book, shop.today())
    except UserError as error:
        frame.tell(error)
        return
    with st.container(border=True, key="read_well"):
        st.text(f"{file.name}: read without a fault. {visit.title}")
        if st.button("Put it on the table", key="open_upload", type="primary"):
            put_on_the_table(visit, file.name, demo=False)
            st.switch_page(frame.VERDICT)


if __name__ == "__main__":
    page()
