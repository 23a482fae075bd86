"""The lists from before this tool that can be brought in: how each is read, and how it is entered."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import streamlit as st

from valuation.engine.rows import Tables
from valuation.errors import Problem
from valuation.files.old_lists import OldList, PastRow, Row
from valuation.files.past_hours import HOURS, past_hours
from valuation.files.past_prices import PRICES, past_prices
from valuation.files.past_rows import PIANOS, past_rows
from valuation.language import say
from valuation.report.labels import with_capital
from valuation.screens import shop
from valuation.screens.safe import md
from valuation.service import past as service_past
from valuation.service.past import BroughtIn
from valuation.service.tables_draft import draft_of
from valuation.service.visits import Shop

_MOST_WORDS = 24
"""Unknown words that are asked about at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Read:
    """One kind of list: its columns, what reads rows into what they come to, and what enters these."""

    columns: OldList
    read: Callable[[Sequence[Row], Sequence[str], Mapping[str, int], str, str], tuple[list[PastRow], list[Problem]]]
    enter: Callable[..., BroughtIn]


def _pianos(store: Shop, _book: Tables) -> Read:
    def read(rows, head, columns, name, _key):
        return past_rows(rows, head, columns, name, today=shop.today())

    return Read(columns=PIANOS, read=read, enter=lambda rows, **by: service_past.bring_in(store, rows, **by))


def _hours(store: Shop, book: Tables) -> Read:
    known = service_past.operations_by_name(book)
    names = {row.id: with_capital(say(row.name)) for row in book.operations}

    def read(rows, head, columns, name, key):
        said = _words(rows, columns.get("operation"), known, names, key)
        pianos = service_past.pianos_by_name(store)
        return past_hours(rows, head, columns, name, pianos=pianos, operations=said, today=shop.today())

    return Read(columns=HOURS, read=read, enter=lambda rows, **by: service_past.bring_in_hours(store, rows, **by))


def _prices(store: Shop, book: Tables) -> Read:
    drafted = draft_of(store.store, shop.tables_in_force())
    known = service_past.listed(book, drafted.texts, shop.today())
    names = {row.id: with_capital(say(row.name)) for row in book.materials}
    names |= {row.id: with_capital(say(row.name)) for row in book.operations}

    def read(rows, head, columns, name, key):
        said = _words(rows, columns.get("what"), {word: word for word in known}, names, key)
        listed = {word: known.get(id_) for word, id_ in said.items()}
        return past_prices(rows, head, columns, name, listed=listed)

    def enter(rows, *, who, now, device, heard):  # noqa: ARG001 - as for the other lists
        return service_past.bring_in_prices(store, drafted, rows, who=who, now=now)

    return Read(columns=PRICES, read=read, enter=enter)


KINDS: Mapping[str, Callable[[Shop, Tables], Read]] = {"pianos": _pianos, "hours": _hours, "prices": _prices}


def _words(
    rows: Sequence[Row], place: int | None, known: Mapping[str, str], names: Mapping[str, str], key: str
) -> dict[str, Any]:
    """Ask of each word that nobody knows what it is; return all words with their ids, '' for what is left out."""
    if place is None:
        return dict(known)
    cells = (row[place] for _, row in rows if place < len(row))
    unknown = [word for word in dict.fromkeys(cells) if word and word.casefold() not in known]
    if not unknown:
        return dict(known)
    said = dict(known)
    st.header(say("What our tables call it"), anchor=False)
    left, right = st.columns(2)
    for number, word in enumerate(unknown[:_MOST_WORDS]):
        chosen = (left if number % 2 == 0 else right).selectbox(
            md(word), ["", *names], index=None, format_func=lambda id_: names.get(id_) or say("leave these rows out"),
            key=f"past_word_{word}_{key}", placeholder=say("choose one"),
        )  # fmt: skip
        if chosen is not None:
            said[word.casefold()] = chosen
    if unknown[_MOST_WORDS:]:
        st.markdown(say("{count} more words come when these are settled.", count=len(unknown) - _MOST_WORDS))
    return said
