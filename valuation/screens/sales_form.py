"""The table of sales, one sale entered or changed by hand, and the way out as a file."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import streamlit as st

from valuation.engine.rows import KINDS, STATES, Tables
from valuation.facts.columns import columns_of
from valuation.language import later, numeral, say
from valuation.report.format import exact, typed_numeral
from valuation.report.labels import day_words
from valuation.sales import Sale, cells_of, to_bytes
from valuation.sales.read_sales import Duplicate
from valuation.sales.sale import PRICE_KINDS, RESTORED, SALE_KINDS
from valuation.sales.words import duplicate_words, sale_words
from valuation.screens import marks, shop
from valuation.screens.safe import md
from valuation.screens.state import Draft
from valuation.service.sales import SalesBook, check_row, make_book

_NEW = later("A new sale")
_AT_ONCE = 20
_NUMBERS = ("price", "size_mm")
"""Columns whose numbers are typed and shown with the signs of the language."""
_LABELS = {
    "id": later("Short name"),
    "sold_on": later("Day of the sale, such as 2026-05-04"),
    "price": later("Price, tax included"),
    "currency": later("Currency"),
    "kind": later("Kind"),
    "size_mm": later("Height or length, in mm"),
    "year_built": later("Year built"),
    "tier": later("Reputation"),
    "state": later("Condition on that day"),
    "restored": later("Restored before"),
    "restored_by": later("Restored by"),
    "sale_kind": later("How it was sold"),
    "price_kind": later("Asked or achieved"),
    "finish": later("Finish"),
    "source": later("Where the sale is known from"),
    "note": later("Remark"),
}


def table_of_sales(draft: Draft, sales: SalesBook, currency: str) -> None:
    """Draw the sales, the newest first, some at once."""
    newest = sorted(sales.sales, key=lambda s: (s.sold_on, s.id), reverse=True)
    starts = list(range(0, len(newest), _AT_ONCE))
    first = starts[0]
    if len(starts) > 1:
        first = st.selectbox(
            say("Which of them, the newest first"),
            starts,
            format_func=lambda at: say(
                "{first} to {last} of {count}", first=at + 1, last=min(at + _AT_ONCE, len(newest)), count=len(newest)
            ),
            key=draft.key("sales_page"),
        )
    rows = [
        [sale.id, day_words(sale.sold_on), exact(sale.price), sale_words(sale)]
        for sale in newest[first : first + _AT_ONCE]
    ]
    caption = say("Prices in {currency} as they were paid or asked on the day.", currency=currency)
    headers = [say("Sale"), say("Day"), say("Price"), say("What was sold, and how")]
    st.html(marks.table(caption, headers, rows, dense=True))


def edit_sale(draft: Draft, sales: SalesBook, book: Tables) -> None:
    """Draw the form of one sale, a new one or one of those on the table; what is saved counts at once."""
    names = [_NEW, *(sale.id for sale in sales.sales)]
    chosen = st.selectbox(
        say("Enter or change one"),
        names,
        format_func=lambda name: say(name) if name is _NEW else name,
        key=draft.key(f"sale_chosen_{sales.hash}"),
    )
    at = names.index(chosen) - 1
    others = [sale for i, sale in enumerate(sales.sales) if i != at]
    cells = cells_of(sales.sales[at]) if at >= 0 else _fresh(sales, book)
    typed = {}
    with st.form(draft.key(f"sale_form_{chosen}_{sales.hash}")):
        halves = st.columns(2, gap="medium")
        for i, (name, (_, column)) in enumerate(columns_of(Sale).items()):
            with halves[i * 2 // len(_LABELS)]:
                key = draft.key(f"sale_{name}_{chosen}_{sales.hash}")
                typed[name] = _field(name, cells[name], key, md(say(column.says)), book)
        saved = st.form_submit_button(say("Save this sale"), type="primary")
    if saved:
        _save(draft, sales, at, typed, others, book)
    if at >= 0 and st.button(say("Take out the sale {sale}", sale=md(chosen)), key=draft.key("sale_out")):
        draft.sales = make_book(sales.name, others, sales.index)
        st.rerun()


def _save(draft: Draft, sales: SalesBook, at: int, typed: dict[str, str], others: list[Sale], book: Tables) -> None:
    sale: Sale | None = None
    faults: tuple[str, ...] = ()
    duplicates: tuple[Duplicate, ...] = ()
    try:
        numbers = {name: typed_numeral(typed[name]) for name in _NUMBERS}
    except ValueError as fault:
        faults = (str(fault),)
    else:
        sale, faults, duplicates = check_row(typed | numbers, others, book, shop.today())
    if sale is None:
        with st.container(border=True, key="fault_sale"):
            st.markdown(say("**Not saved: {count} to mend.**", count=len(faults)))
            for told in faults:
                st.text(told)
        return
    place = at if at >= 0 else len(others)
    draft.sales = make_book(sales.name, [*others[:place], sale, *others[place:]], sales.index)
    look = [say("Look: {what}.", what=duplicate_words(one)) for one in duplicates]
    draft.said = " ".join([say("Saved: {sale}.", sale=sale.id), *look])
    st.rerun()


def _field(name: str, cell: str, key: str, says: str, book: Tables) -> str:
    choices = _choices(name, book)
    label = say(_LABELS[name])
    if choices:
        return st.selectbox(label, choices, choices.index(cell), format_func=say, key=key, help=says)
    return st.text_input(label, numeral(cell) if name in _NUMBERS else cell, key=key, help=says)


def _choices(name: str, book: Tables) -> tuple[str, ...]:
    return {
        "kind": KINDS,
        "tier": tuple(row.id for row in book.tiers),
        "state": STATES,
        "restored": RESTORED,
        "sale_kind": SALE_KINDS,
        "price_kind": PRICE_KINDS,
    }.get(name, ())


def _fresh(sales: SalesBook, book: Tables) -> dict[str, str]:
    """Return what the form of a new sale begins with: what is true of most, and a name that is free."""
    taken = {sale.id for sale in sales.sales}
    number = next(n for n in range(len(taken) + 1, 2 * len(taken) + 2) if f"sale_{n}" not in taken)
    usual = next(row.id for row in book.tiers if row.usual)
    cells = dict.fromkeys(columns_of(Sale), "")
    return cells | {
        "id": f"sale_{number}",
        "currency": book.settings.currency,
        "kind": KINDS[0],
        "tier": usual,
        "state": "serviceable",
        "restored": "no",
        "sale_kind": "private",
        "price_kind": "achieved",
    }


def take_along(draft: Draft, sales: SalesBook) -> None:
    """Draw the buttons that give the sales out as a file."""
    st.markdown(
        say("What is entered here lives in this session: take it along to keep it. No cell of it is a formula.")
    )
    stem = Path(sales.name).stem
    with st.container(horizontal=True):
        for suffix, name, kind in (
            (".csv", say("Sales, as CSV"), "text/csv"),
            (".xlsx", say("Sales, as XLSX"), "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
        ):
            st.download_button(
                name, partial(to_bytes, sales.sales, suffix), f"{stem}{suffix}", kind,
                key=draft.key(f"sales_out{suffix}"), on_click="ignore",
            )  # fmt: skip
