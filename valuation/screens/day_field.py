"""A field for a day, typed as figures: the year first, as files have it, or as the language writes it."""

from __future__ import annotations

from datetime import date

import streamlit as st

from valuation.language import ENGLISH, language, say
from valuation.report.labels import short_day


def day_field(label: str, key: str, usual: date) -> date | None:
    """Draw a field for a day and return it; None, and say why, where it can't be read."""
    text = st.text_input(label, value=short_day(usual), key=key, max_chars=20)
    day = read_day(text)
    if day is None:
        with st.container(key=f"fault_{key}"):
            st.text(say("'{text}' is not a day; write it like {day}", text=text[:20], day=short_day(usual)))
    return day


def read_day(text: str) -> date | None:
    """Return a typed day, None where it is none.

    Examples
    --------
    >>> read_day(" 2026-05-04 "), read_day("soon")
    (datetime.date(2026, 5, 4), None)
    """
    text = text.strip()
    try:
        return date.fromisoformat(text)
    except ValueError:
        if language() == ENGLISH:
            return None
    # here, not above: English needs none of it
    from babel.dates import parse_date

    try:
        return parse_date(text, locale=language())
    except (ValueError, IndexError):
        return None
