"""The page: `streamlit run app.py`."""

from __future__ import annotations

import streamlit as st

from valuation.language import say, speak
from valuation.screens.frame import FIRST, PAGES
from valuation.screens.shop import chosen_language

speak(chosen_language())
st.set_page_config(page_title=say("Is an old piano worth it?"), page_icon="🎹", layout="wide")

pages = [st.Page(path, title=say(title), default=path == FIRST) for path, title in PAGES.items()]
st.navigation(pages, position="hidden").run()
