"""A field for each fact of a visit; what is given is stored at once, what can't be read stays as it was typed."""

from __future__ import annotations

from typing import Any

import streamlit as st

from valuation.language import numeral, say
from valuation.report.format import plain_measure
from valuation.screens import clashes, shop
from valuation.screens.facts import read_fact
from valuation.screens.recorded import FACT_NAMES
from valuation.screens.safe import md
from valuation.screens.state import Draft, held

_MOST_LETTERS = 10_000


def typed(draft: Draft, field: str, *, label: str = "", hint: str = "", unit: str = "", long: bool = False) -> None:
    """Draw a field that is typed.

    Parameters
    ----------
    field : str
        Its field in the store.
    label, hint, unit : str
        What stands above and in it; the name of the fact if left out.
    long : bool
        Several lines.
    """
    key = _key(draft, field)
    name = label or say(FACT_NAMES[field])
    name = f"{name} ({unit})" if unit else name
    draft.watch(key, draft.typed.get(key, shown(draft, field)), _take, draft, field, key)
    if long:
        st.text_area(md(name), key=key, placeholder=hint or None, max_chars=_MOST_LETTERS)
    else:
        st.text_input(md(name), key=key, placeholder=hint or None, max_chars=_MOST_LETTERS)
    _told(draft, field)


def choose(draft: Draft, field: str, choices: dict[str, str], *, required: bool = False) -> None:
    """Draw a choice of one; `choices` are ids and their words. Tapped again, a choice is taken back to 'not known'."""
    key = _key(draft, field)
    draft.watch(key, _stored(draft, field), _keep, draft, field, key)
    st.pills(
        md(say(FACT_NAMES[field])), list(choices), format_func=lambda name: md(choices[name]), key=key,
        required=required,
    )  # fmt: skip
    _told(draft, field)


def pick_many(draft: Draft, field: str, choices: dict[str, str]) -> None:
    """Draw a choice of several; `choices` are ids and their words."""
    key = _key(draft, field)
    chosen = [name for name in _stored(draft, field) or [] if name in choices]
    draft.watch(key, chosen, _keep, draft, field, key)
    st.pills(
        md(say(FACT_NAMES[field])), list(choices), format_func=lambda name: md(choices[name]), key=key,
        selection_mode="multi",
    )  # fmt: skip
    _told(draft, field)


def tick(draft: Draft, field: str, *, usual: bool = False) -> None:
    """Draw a yes or no; `usual` is what holds where nothing is said."""
    key = _key(draft, field)
    stored = _stored(draft, field)
    draft.watch(key, usual if stored is None else stored, _keep, draft, field, key)
    st.toggle(md(say(FACT_NAMES[field])), key=key)
    _told(draft, field)


def shown(draft: Draft, field: str) -> str:
    """Return a stored fact as it stands in its field."""
    value = _stored(draft, field)
    if value is None:
        return ""
    if field == "piano.size_mm":
        return plain_measure(value, "mm", draft.system)
    return numeral(f"{value:g}") if isinstance(value, float) else str(value)


def _key(draft: Draft, field: str) -> str:
    system = f"_{draft.system}" if field == "piano.size_mm" else ""
    return draft.field_key(f"fact_{field.replace('.', '_')}{system}", field)


def _stored(draft: Draft, field: str) -> Any:
    return draft.stored(field)


def _take(draft: Draft, field: str, key: str) -> None:
    value, faults = read_fact(field, held(key), draft.visit, draft.book, shop.today(), draft.system)
    draft.faults.pop(field, None)
    draft.typed.pop(key, None)
    if faults:
        draft.faults[field] = faults
        draft.typed[key] = held(key)
    else:
        draft.keep(field, value)


def _keep(draft: Draft, field: str, key: str) -> None:
    value = held(key)
    draft.keep(field, list(value) if isinstance(value, list | tuple) else value)


def _told(draft: Draft, field: str) -> None:
    for index, fault in enumerate(draft.faults.get(field, ())):
        with st.container(key=draft.key(f"fault_{field.replace('.', '_')}_{index}")):
            st.markdown(f"**{say('Not taken down:')}** {md(fault)}.")
    clashes.settle(draft, field, draft.book)
