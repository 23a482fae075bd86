"""A bare page with as many elements as another one, in the environment; no stylesheet, no visit, nothing worked out."""

from __future__ import annotations

import json
import os

import streamlit as st

MARK = "at the end"
"""Key of the last element."""


def start() -> None:
    """Draw the page that leads to the bare one."""
    if st.button("go", key="go_there"):
        st.switch_page(there)
    st.container(key="foot").write(MARK)


def bare() -> None:
    """Draw the elements."""
    counts = json.loads(os.environ["BARE"])
    if st.button("go", key="go_back"):
        st.switch_page(here)
    for i in range(counts["buttons"]):
        st.button(f"button {i}", key=f"button_{i}")
    for i in range(counts["choices"]):
        st.pills(f"choice {i}", ["one", "two", "three"], key=f"choice_{i}")
    for i in range(counts["fields"]):
        st.text_input(f"field {i}", key=f"field_{i}")
    for i in range(counts["boxes"]):
        st.expander(f"box {i}").write("in it")
    for i in range(counts["texts"]):
        st.markdown(f"Some words of number **{i}**, about as long as a sentence on such a page is.")
    st.container(key="foot").write(MARK)


here, there = st.Page(start, title="here", default=True), st.Page(bare, title="there")
st.set_page_config(layout="wide")
st.navigation([here, there], position="hidden").run()
