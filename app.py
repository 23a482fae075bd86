"""The page, and what serves it: `streamlit run app.py`."""

from __future__ import annotations

import streamlit as st
from starlette.middleware import Middleware

from valuation.access.log_privacy import keep_people_out_of_logs
from valuation.access.middleware import Access
from valuation.language import say
from valuation.screens import own_files, shop
from valuation.screens.frame import pages
from valuation.screens.page_list import FIRST
from valuation.screens.sign_in import require_sign_in
from valuation.walk import Walk


def page() -> None:
    """Draw the page for one person."""
    shop.speak_as_chosen()
    st.set_page_config(page_icon="🎹", layout="wide")
    require_sign_in()
    theirs = [st.Page(path, title=say(title), default=path == FIRST) for path, title in pages().items()]
    chosen = st.navigation(theirs, position="hidden")
    st.set_page_config(page_title=f"{chosen.title} · {say('Is an old piano worth it?')}")
    chosen.run()
    shop.keep_loaded_things_for_good()


if __name__ == "__main__":  # Streamlit runs this file so, anew for each person and each tap
    page()
else:  # its server imports it once
    keep_people_out_of_logs()
    walk = Walk(store=shop.store, tables=shop.tables).routes(st.get_option("server.baseUrlPath") or "")
    routes = [*own_files.routes(), *walk]
    app = st.App(__file__, routes=routes, middleware=[Middleware(Access, open_paths=("/walk/",))])
