"""Which sales are on the table: the invented ones, the shop's own file, or an upload; every fault of it told."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.errors import UserError
from valuation.language import later, say
from valuation.sales import PriceIndex, SalesRead
from valuation.sales.words import duplicate_words
from valuation.screens import frame, shop
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft
from valuation.service.sales import DEMO, SalesBook, make_book, open_sales, parse_index_bytes, read_sales_bytes

_DEMO, _OWN, _FILE = later("The invented sales"), later("The shop's own file"), later("A file of yours")


def choose_sales(draft: Draft, book: Tables) -> None:
    """Draw the choice of sales; put those that a person took on the table."""
    with st.expander(say("Other sales") if draft.sales else say("Which sales")):
        sources = [_DEMO, *([_OWN] if shop.own_sales() else []), _FILE]
        source = st.pills(say("Where they come from"), sources, format_func=say, key=draft.key("sales_from"))
        try:
            path = {_DEMO: DEMO, _OWN: shop.own_sales()}.get(source or "")
            if path is not None:
                _offer(draft, *open_sales(path, book, shop.today(), keep_good=True))
            elif source == _FILE:
                _upload(draft, book)
        except UserError as error:
            frame.tell(error)
        if draft.sales is not None and st.button(say("Take the sales off the table"), key="sales_off"):
            draft.sales, draft.use_sales = None, False
            st.rerun()


def _upload(draft: Draft, book: Tables) -> None:
    file = st.file_uploader(
        say("Sales (CSV or XLSX, as the manual describes)"),
        type=["csv", "xlsx"],
        key=draft.key("sales_file"),
        max_upload_size=5,
    )
    index = st.file_uploader(
        say("Price index (CSV), if you keep one"), type=["csv"], key=draft.key("index_file"), max_upload_size=1
    )
    if file is None:
        return
    prices_moved = parse_index_bytes(index.getvalue(), index.name) if index else PriceIndex()
    read = read_sales_bytes(file.getvalue(), file.name, book, shop.today())
    _offer(draft, make_book(file.name, read.sales, prices_moved), read)


def _offer(draft: Draft, sales: SalesBook, read: SalesRead) -> None:
    """Tell what was read; good rows of a faulty file go on the table only when a person asks for that."""
    count = len(sales.sales)
    if read.problems:
        frame.tell(UserError(read.problems))
    else:
        st.text(say("{file}: {count} sales read without a fault.", file=sales.name, count=count))
    if read.duplicates:
        st.markdown(say("**Perhaps told twice.** Both count until you take one out."))
        st.markdown(bullets(md(duplicate_words(one)) for one in read.duplicates))
    if not count or (draft.sales is not None and draft.sales.hash == sales.hash):
        return
    keep, put = later("Keep the {count} good rows"), later("Put these {count} sales on the table")
    label = say(keep if read.problems else put, count=count)
    if st.button(label, key="take_sales", type="primary"):
        draft.sales = sales
        st.rerun()
